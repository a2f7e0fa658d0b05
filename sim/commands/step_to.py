"""`rampwalk step-to`: step-to descent: one foot leads down the slope, the other closes up."""

from __future__ import annotations

import argparse
from typing import Any

from sim.caution import EPILOG
from sim.commands.posture_options import Rows, add_options, run_activity

#: Short table: label, digits, metric.
TABLE = Rows(
    (
        ("from the start to the landing of the leading foot [s]", 2, "lead_landing_time_s"),
        ("from that to the landing of the closing foot [s]", 2, "close_landing_time_s"),
        ("step of the leading foot [m]", 2, "lead_step_m"),
        ("margin of stability when it lands [m]", 2, "lead_margin_of_stability_m"),
        ("loaded prosthetic knee rate, peak [deg/s]", 1, "knee_peak_rate_deg_s"),
        ("loaded prosthetic knee, deepest [deg]", 1, "knee_peak_flexion_deg"),
        ("peak force of the sound leg [BW]", 2, "sound_peak_force_bw"),
        ("peak force of the prosthetic leg [BW]", 2, "prosthetic_peak_force_bw"),
        ("hip torque on the prosthetic side, peak [N m]", 1, "prosthetic_hip_peak_torque_nm"),
        ("speed of the mass centre at the end [m/s]", 2, "mass_centre_speed_at_end_m_s"),
    )
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.activities.step_to import StepTo

    parser = subparsers.add_parser(
        "step-to",
        help="step-to descent: one foot leads, the other closes up",
        description="One step down a slope with the leading foot, one that closes up. A fall is a result.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, StepTo)


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.step_to import StepTo, step_to

    return run_activity(options, StepTo, step_to, TABLE)
