"""`rampwalk stop`: walk down a slope, stop on it, stand, and walk on."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sim.caution import EPILOG
from sim.commands.outputs import deliver, outputs_from
from sim.commands.posture_options import Rows, add_options, settings_from, summary

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

#: Short table: label, digits, metric.
TABLE = Rows(
    (
        ("lean back in the last step [deg]", 1, "lean_back_deg"),
        ("steps to stop", 0, "steps_to_stop"),
        ("distance to rest [m]", 2, "distance_to_stop_m"),
        ("time until the feet have closed up [s]", 2, "time_to_close_s"),
        ("time to rest [s]", 2, "time_to_rest_s"),
        ("peak force of the sound leg, walking [BW]", 2, "sound_peak_force_walking_bw"),
        ("peak force of the sound leg, stopping [BW]", 2, "sound_peak_force_stopping_bw"),
        ("share of the prosthetic leg at rest", 2, "prosthetic_load_share_at_rest"),
        ("prosthetic knee flexion at rest [deg]", 1, "prosthetic_knee_flexion_at_rest_deg"),
        ("prosthetic ahead of sound foot at rest [m]", 2, "feet_apart_at_rest_m"),
        ("fastest mass centre at rest [m/s]", 3, "fastest_mass_centre_at_rest_m_s"),
        ("from rest to the first lift [s]", 2, "time_to_set_off_s"),
        ("first step of the new walk [m]", 2, "first_step_length_m"),
        ("first step of the new walk [s]", 2, "first_step_time_s"),
        ("second step [m]", 2, "second_step_length_m"),
        ("speed before [m/s]", 2, "speed_before_m_s"),
        ("speed after [m/s]", 2, "speed_after_m_s"),
    )
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.activities.stop import Stop

    parser = subparsers.add_parser(
        "stop",
        help="stop on a slope, stand, and walk on",
        description="Walk down a slope, stop, stand at rest on both feet, and walk on: one run. A fall is a result.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Stop)


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.stop import Stop, stop

    settings = settings_from(options, Stop)
    outputs = outputs_from(options)
    result = stop(settings)

    def draw() -> tuple[Figure, pd.DataFrame]:
        from sim.plots.stops import stop_figure

        return stop_figure(result), result.to_dataframe()

    deliver(outputs, result, draw, summary(result, TABLE))
    return 0
