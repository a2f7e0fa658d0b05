"""`rampwalk stair`: one stair down over the yielding prosthetic knee."""

from __future__ import annotations

import argparse
from typing import Any

from sim.caution import EPILOG
from sim.commands.posture_options import Rows, add_options, run_activity

#: Short table: label, digits, metric.
TABLE = Rows(
    (
        ("time from lift to landing of the sound foot [s]", 2, "landing_time_s"),
        ("prosthetic knee rate, peak [deg/s]", 1, "knee_peak_rate_deg_s"),
        ("prosthetic knee at landing [deg]", 1, "knee_flexion_at_landing_deg"),
        ("energy taken by the knee [J]", 1, "knee_energy_j"),
        ("peak load of the landing foot [BW]", 2, "landing_peak_bw"),
        ("speed of the hip down at landing [m/s]", 2, "landing_speed_m_s"),
        ("peak force of the edge on the prosthetic foot [BW]", 2, "edge_peak_force_bw"),
    )
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.activities.stair import Stair

    parser = subparsers.add_parser(
        "stair",
        help="one stair down over the yielding prosthetic knee",
        description="Step down one stair, the sound foot landing below. A fall is a result: the exit status is 0.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Stair)


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.stair import Stair, stair

    return run_activity(options, Stair, stair, TABLE)
