"""`rampwalk uphill`: walking up: how steep, effort, over the prosthetic foot, toe clearance."""

from __future__ import annotations

import argparse
from typing import Any

from sim.commands.outputs import add_output_options
from sim.commands.scenario_options import add_settings
from sim.commands.study_options import SUPPORT_OPTIONS, give, study_scenario
from sim.commands.study_options import add_parser as add_study_parser
from sim.errors import RampwalkError

COLUMNS = (
    ("slope|[deg]", 2, "slope_deg"),
    ("prosth. - sound|step [m]", 2, "step_difference_m"),
    ("outcome", 0, "outcome"),
    ("steps", 0, "steps"),
    ("effort|[J/m/kg]", 2, "effort_j_per_m_kg"),
    ("hip extension|[N m/kg]", 2, "prosthetic_hip_extension_peak_nm_per_kg"),
    ("rise over|foot [J/kg]", 3, "barrier_j_per_kg"),
    ("rise /|motion", 2, "barrier_over_motion"),
    ("toe clearance|[mm]", 0, "prosthetic_toe_clearance_mm"),
    ("scuffs", 0, "scuffs"),
    ("hip lift for|20 mm [mm]", 0, "hip_lift_for_clearance_mm"),
)

SWING_COLUMNS = (
    ("", 0, "habit"),
    ("by", 1, "value"),
    ("outcome", 0, "outcome"),
    ("steps", 0, "steps"),
    ("knee flexion|in swing [deg]", 0, "prosthetic_knee_swing_peak_deg"),
    ("toe clearance|[mm]", 0, "prosthetic_toe_clearance_mm"),
    ("scuffs", 0, "scuffs"),
    ("hip lift for|20 mm [mm]", 0, "hip_lift_for_clearance_mm"),
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.scenario import Scenario

    parser = add_study_parser(
        subparsers,
        "uphill",
        "walking up: how steep, effort, over the prosthetic foot, toe clearance",
        "Walk up 0 to 10 degrees and find the steepest slope that is walked; or, with --step-difference, one slope "
        "with the prosthetic step shorter and longer than the sound one. A fall is a result: the exit status is 0.",
    )
    add_settings(parser, Scenario, SUPPORT_OPTIONS)
    parser.add_argument(
        "--step-difference", action="store_true", help="vary the difference of the two steps on --slope-deg instead"
    )
    parser.add_argument(
        "--swing",
        action="store_true",
        help="on --slope-deg instead: unload the prosthesis earlier, hold the limb back, flex the hip sharper",
    )
    add_output_options(parser, "effort, rise over the foot, hip moment and toe clearance")


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.uphill import step_difference_study, swing_study, uphill_study
    from sim.parameters import ours_support
    from sim.plots.studies import swing_figure, uphill_figure

    if options.swing and options.step_difference:
        raise RampwalkError("--swing and --step-difference are two questions; ask one at a time.", "--swing")
    one_slope = bool(options.swing or options.step_difference)
    if options.slope_deg is None and options.scenario is None:
        options.slope_deg = str(ours_support.uphill()["slope"].value)
    elif not one_slope and options.slope_deg is not None:
        said = "--slope-deg has no effect when all slopes are walked; leave it out or add --swing or --step-difference."
        raise RampwalkError(said, "--slope-deg", options.slope_deg)
    scenario = study_scenario(options, SUPPORT_OPTIONS)
    if options.swing:
        return give(
            options, lambda: swing_study(scenario), SWING_COLUMNS, lambda s: (swing_figure(s), s.to_dataframe())
        )
    study = step_difference_study if options.step_difference else uphill_study
    return give(options, lambda: study(scenario), COLUMNS, lambda s: (uphill_figure(s), s.to_dataframe()))
