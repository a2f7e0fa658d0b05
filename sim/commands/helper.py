"""`rampwalk helper`: the least support at the pelvis with which a walk succeeds."""

from __future__ import annotations

import argparse
from typing import Any

from sim.commands.outputs import add_output_options
from sim.commands.scenario_options import add_settings
from sim.commands.study_options import add_parser as add_study_parser
from sim.commands.study_options import give, study_scenario

#: Option -> setting.
HELPER_OPTIONS = {
    "--support": "helper.support",
    "--fade-steps": "helper.fade_steps",
    "--hold-stiffness-n-per-m": "helper.hold_stiffness_n_per_m",
    "--hold-damping-n-s-per-m": "helper.hold_damping_n_s_per_m",
}
COLUMNS = (
    ("helper", 0, "helper"),
    ("lifted|share", 3, "lifted_share"),
    ("outcome", 0, "outcome"),
    ("steps", 0, "steps"),
    ("speed|[m/s]", 2, "speed_m_s"),
    ("sound peak|[BW]", 2, "sound_peak_force_bw"),
    ("prosth. peak|[BW]", 2, "prosthetic_peak_force_bw"),
    ("knee rate|[deg/s]", 0, "knee_loaded_peak_rate_deg_s"),
    ("helper up|[BW]", 3, "helper_up_bw"),
    ("helper forward|[BW]", 3, "helper_forward_bw"),
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.scenario import Scenario

    parser = add_study_parser(
        subparsers,
        "helper",
        "the least support at the pelvis with which a walk succeeds",
        "Walk without help and with hands at the pelvis that lift a share of the weight, and find the least share with "
        "which the walk succeeds. A fall is a result: the exit status is 0.",
    )
    add_settings(parser, Scenario, HELPER_OPTIONS)
    add_output_options(parser, "outcome and loads over the lifted share")


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.helper import helper_study
    from sim.plots.studies import helper_figure

    scenario = study_scenario(options, HELPER_OPTIONS)
    return give(options, lambda: helper_study(scenario), COLUMNS, lambda s: (helper_figure(s), s.to_dataframe()))
