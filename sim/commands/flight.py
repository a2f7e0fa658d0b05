"""`rampwalk flight`: down a flight of stairs step over step."""

from __future__ import annotations

import argparse
from typing import Any

from sim.caution import EPILOG
from sim.commands.posture_options import Rows, add_options, run_activity

#: Short table: label, digits, metric.
TABLE = Rows(
    (
        ("landings made", 0, "landings"),
        ("stride, from one sound landing to the next [s]", 2, "stride_time_s"),
        ("prosthetic knee rate, peak [deg/s]", 1, "knee_peak_rate_deg_s"),
        ("prosthetic knee as the sound foot lands, most [deg]", 1, "knee_flexion_at_sound_landing_deg"),
        ("prosthetic knee as its foot lands, most [deg]", 1, "knee_flexion_at_prosthetic_landing_deg"),
        ("energy taken by the knee, per step [J]", 1, "knee_energy_per_step_j"),
        ("peak load of the sound foot as it lands [BW]", 2, "sound_landing_peak_bw"),
        ("peak load of the prosthetic foot as it lands [BW]", 2, "prosthetic_landing_peak_bw"),
        ("speed of the hip down at landing, most [m/s]", 2, "landing_speed_m_s"),
        ("sound knee, deepest [deg]", 1, "sound_knee_peak_flexion_deg"),
        ("peak force of an edge on the prosthetic foot [BW]", 2, "edge_peak_force_bw"),
    )
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.activities.flight import Flight

    parser = subparsers.add_parser(
        "flight",
        help="down a flight of stairs step over step",
        description="Go down a flight of stairs step over step, the sound foot first: the prosthetic knee yields, the "
        "sound foot lands below, the prosthetic foot is swung past it. A fall is a result: the exit status is 0.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Flight)


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.flight import Flight, flight

    return run_activity(options, Flight, flight, TABLE)
