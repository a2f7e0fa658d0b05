"""`rampwalk bend`: bending in place: knee rate and load share."""

from __future__ import annotations

import argparse
from typing import Any

from sim.caution import CAUTION, EPILOG
from sim.commands.posture_options import Rows, add_options, run_activity, settings_from
from sim.commands.scenario_options import number_or_text
from sim.errors import RampwalkError, check_range

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
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Bend)
    parser.add_argument(
        "--ramp-deg", metavar="VALUE", help="instead: beside it what a walk down this slope asks of the knee, as -8"
    )


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.bend import Bend, bend

    if options.ramp_deg is not None:
        return _beside_the_ramp(options)
    return run_activity(options, Bend, bend, TABLE)


def _beside_the_ramp(options: argparse.Namespace) -> int:
    from sim.activities.bend import Bend
    from sim.activities.bend_and_ramp import beside_the_ramp

    if options.figure or options.json:
        raise RampwalkError("--ramp-deg only prints; leave out --figure and --json.", "--ramp-deg", options.ramp_deg)
    slope = check_range("--ramp-deg", number_or_text(options.ramp_deg), -20.0, 0.0, "deg", "downhill is negative")
    told, rows = beside_the_ramp(settings_from(options, Bend), slope)
    print(f"{told}\n\n{'':46}{'bend':>10}{f'{slope:g} deg':>10}{'ratio':>8}")
    for row in rows:
        one, other, ratio = ("-" if value is None else f"{value:.2f}" for value in row[1:])
        print(f"{row.label:46}{one:>10}{other:>10}{ratio:>8}")
    print(f"\n{CAUTION}")
    return 0
