"""`rampwalk bend`: bending in place: knee rate and load share."""

from __future__ import annotations

import argparse
from typing import Any

from sim.caution import CAUTION
from sim.commands.posture_options import Rows, add_options, run_activity

#: Short table: label, digits, metric.
TABLE = Rows(
    (
        ("whole bends", 0, "bends"),
        ("time down [s]", 2, "down_time_s"),
        ("prosthetic knee, deepest [deg]", 1, "depth_reached_deg"),
        ("its flexion rate, peak [deg/s]", 1, "knee_peak_rate_deg_s"),
        ("its flexion rate, mean while yielding [deg/s]", 1, "knee_mean_rate_deg_s"),
        ("its moment, mean while yielding [N m]", 1, "knee_mean_moment_nm"),
        ("rate x resistance / moment of the ground force", 3, "knee_rate_times_resistance_over_moment"),
        ("load share of the prosthetic leg, down", 3, "prosthetic_load_share_down"),
        ("load share of the prosthetic leg, up", 3, "prosthetic_load_share_up"),
        ("energy taken by the knee per bend [J]", 1, "knee_energy_per_bend_j"),
        ("peak load of the sound leg [BW]", 2, "sound_peak_load_bw"),
    )
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.activities.bend import Bend

    parser = subparsers.add_parser(
        "bend",
        help="bending in place: knee rate and load share",
        description="Bend slowly on both legs, on level ground. A fall is a result: the exit status is 0.",
        epilog=CAUTION,
        allow_abbrev=False,
    )
    add_options(parser, Bend)


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.bend import Bend, bend

    return run_activity(options, Bend, bend, TABLE)
