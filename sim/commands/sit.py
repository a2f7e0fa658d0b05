"""`rampwalk sit`: sitting down and standing up: load share, seat contact, knee rate."""

from __future__ import annotations

import argparse
from typing import Any

from sim.caution import EPILOG
from sim.commands.posture_options import Rows, add_options, run_activity

#: Short table: label, digits, metric.
TABLE = Rows(
    (
        ("time of the move [s]", 2, "move_time_s"),
        ("load share of the prosthetic leg", 3, "prosthetic_load_share"),
        ("the same half way", 3, "prosthetic_load_share_at_half_way"),
        ("speed onto the seat [m/s]", 3, "seat_contact_speed_m_s"),
        ("prosthetic knee rate, peak [deg/s]", 1, "knee_peak_rate_deg_s"),
        ("prosthetic knee at the seat [deg]", 1, "knee_flexion_at_seat_deg"),
        ("energy taken by the knee [J]", 1, "knee_energy_j"),
        ("peak load of the sound leg [BW]", 2, "sound_peak_load_bw"),
        ("sound knee torque, share of its strength", 2, "sound_knee_peak_torque_share_of_strength"),
    )
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.activities.sit import Sit

    parser = subparsers.add_parser(
        "sit",
        help="sitting down and standing up: load share, seat contact, knee rate",
        description="Sit down on a seat, or stand up from it with --move up. A fall is a result: the exit status is 0.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Sit)


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.sit import Sit, sit

    return run_activity(options, Sit, sit, TABLE)
