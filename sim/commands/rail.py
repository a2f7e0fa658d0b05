"""`rampwalk rail`: a hand on a rail: how much it carries, and what its side changes."""

from __future__ import annotations

import argparse
from typing import Any

from sim.commands.outputs import add_output_options
from sim.commands.scenario_options import add_settings
from sim.commands.study_options import add_parser as add_study_parser
from sim.commands.study_options import give, settings_of, study_scenario

#: Option -> setting of the scenario, and of the lateral distances.
RAIL_OPTIONS = {
    "--carried-share": "rail.carried_share",
    "--braking-share": "rail.braking_share",
    "--rail-height-m": "rail.height_m",
    "--reach-m": "rail.reach_m",
}
FRONTAL_OPTIONS = {
    "--hip-distance-m": "hip_distance_m",
    "--foot-distance-m": "foot_distance_m",
    "--hand-distance-m": "hand_distance_m",
    "--trunk-shift-m": "trunk_shift_m",
}
COLUMNS = (
    ("carried|share", 3, "carried_share"),
    ("rail on|side", 0, "rail_side"),
    ("outcome", 0, "outcome"),
    ("sound peak|[BW]", 2, "sound_peak_force_bw"),
    ("prosth. peak|[BW]", 2, "prosthetic_peak_force_bw"),
    ("knee rate|[deg/s]", 0, "knee_loaded_peak_rate_deg_s"),
    ("prosth. hip across|[N m]", 0, "prosthetic_hip_frontal_nm"),
    ("sound hip across|[N m]", 0, "sound_hip_frontal_nm"),
    ("prosth. share,|both feet", 2, "prosthetic_share_both_feet"),
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.frontal import Frontal
    from sim.scenario import Scenario

    parser = add_study_parser(
        subparsers,
        "rail",
        "a hand on a rail: how much it carries, and what its side changes",
        "Walk with a hand on a rail that carries 0 to 0.15 of the weight. In the plane both sides act alike; what the "
        "side changes comes from statics across the way. A fall is a result: the exit status is 0.",
    )
    add_settings(parser, Scenario, RAIL_OPTIONS)
    add_settings(parser, Frontal, FRONTAL_OPTIONS)
    add_output_options(parser, "loads and hip moments over the carried share")


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.rail import rail_study
    from sim.frontal import Frontal
    from sim.plots.studies import rail_figure

    scenario = study_scenario(options, RAIL_OPTIONS)
    frontal = settings_of(options, Frontal, FRONTAL_OPTIONS)
    return give(options, lambda: rail_study(scenario, frontal), COLUMNS, lambda s: (rail_figure(s), s.to_dataframe()))
