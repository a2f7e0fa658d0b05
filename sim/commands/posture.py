"""`rampwalk posture`: trunk lean and mass centre over the foot: knee rate, loads, falls."""

from __future__ import annotations

import argparse
from typing import Any

from sim.commands.outputs import add_output_options
from sim.commands.scenario_options import add_settings
from sim.commands.study_options import SUPPORT_OPTIONS, give, study_scenario
from sim.commands.study_options import add_parser as add_study_parser

#: Option -> setting.
POSTURE_OPTIONS = {"--trunk-lean-deg": "trunk_lean_deg", "--mass-centre-shift-m": "mass_centre_shift_m"}
COLUMNS = (
    ("varied", 0, "varied"),
    ("wanted lean|[deg]", 1, "trunk_lean_wanted_deg"),
    ("mass centre|ahead by [m]", 2, "mass_centre_shift_m"),
    ("outcome", 0, "outcome"),
    ("steps", 0, "steps"),
    ("lean|[deg]", 1, "trunk_lean_deg"),
    ("ahead of prosth. foot|at sound landing [m]", 3, "prosthetic_com_ahead_at_other_landing_m"),
    ("knee rate|[deg/s]", 0, "knee_loaded_peak_rate_deg_s"),
    ("sound peak|[BW]", 2, "sound_peak_force_bw"),
    ("prosth. peak|[BW]", 2, "prosthetic_peak_force_bw"),
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.scenario import Scenario

    parser = add_study_parser(
        subparsers,
        "posture",
        "trunk lean and mass centre over the foot: knee rate, loads, falls",
        "Walk with the trunk leaning back and forward, then with the mass centre further back and ahead over the "
        "standing foot. A fall is a result: the exit status is 0.",
    )
    add_settings(parser, Scenario, POSTURE_OPTIONS | SUPPORT_OPTIONS)
    add_output_options(parser, "peaks and knee rate over lean and shift")


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.posture import posture_study
    from sim.plots.studies import posture_figure

    scenario = study_scenario(options, POSTURE_OPTIONS | SUPPORT_OPTIONS)
    return give(options, lambda: posture_study(scenario), COLUMNS, lambda s: (posture_figure(s), s.to_dataframe()))
