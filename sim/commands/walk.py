"""`rampwalk walk`: one walk as a short table, as JSON, as a figure."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.outputs import add_output_options, deliver, outputs_from
from sim.commands.scenario_options import add_scenario_options, scenario_from

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from sim.result import WalkResult



def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "walk",
        help="one walk: outcome, table, JSON, figure",
        description="Walk once and say how it went. A fall is a result: the exit status is 0.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    add_output_options(parser, "stick figures and force curves")


def run(options: argparse.Namespace) -> int:
    """Walk, and write what was asked for."""
    scenario = scenario_from(options)
    outputs = outputs_from(options)
    from sim.activities.walk import walk

    result = walk(scenario)

    def draw() -> tuple[Figure, pd.DataFrame]:
        from sim.plots import walk_figure
        from sim.plots.data import walk_data

        return walk_figure(result), walk_data(result)

    deliver(outputs, result, draw, summary(result))
    return 0


#: Rows of the short table: label, digits, metric with * for the leg.
_BOTH_LEGS = (
    ("step length [m]", 3, "*_step_length_m"),
    ("step time [s]", 3, "*_step_time_s"),
    ("peak force [body weights]", 2, "*_peak_force_bw"),
    ("stance share", 2, "*_stance_share"),
    ("knee flexion at landing [deg]", 1, "*_knee_flexion_at_landing_deg"),
    ("knee flexion in swing [deg]", 1, "*_knee_swing_peak_deg"),
    ("toe clearance [m]", 3, "*_toe_clearance_m"),
)
_WHOLE = (
    ("speed [m/s]", 2, "speed_m_s"),
    ("cadence [steps/min]", 1, "cadence_steps_per_min"),
    ("mass-centre travel over the first leg [m]", 2, "com_forward_travel_m"),
    ("trunk lean, forward positive [deg]", 1, "trunk_lean_deg"),
    ("knee flexion at sound landing [deg]", 1, "knee_flexion_at_sound_landing_deg"),
    ("knee flexion rate under load [deg/s]", 0, "knee_loaded_peak_rate_deg_s"),
    ("energy taken by the knee per step [J]", 1, "knee_energy_per_step_j"),
)


def summary(result: WalkResult) -> str:
    """Short table of a walk, with its reason and the caution."""
    metrics, scenario = result.metrics, result.scenario
    legs = ("prosthetic", "sound") if scenario.person.has_prosthesis else ("first", "second")
    what = f"{scenario.slope_deg:g} deg, steps of {scenario.mean_step_length:g} m, {scenario.speed:g} m/s"
    lines = [f"{result.outcome}: {what}", result.reason]
    if metrics["measured_strides"] is not None:
        lines += ["", f"{'':42}{legs[0]:>12}{legs[1]:>12}"]
        for label, digits, name in _BOTH_LEGS:
            values = [_number(metrics[name.replace("*", side)], digits) for side in ("prosthetic", "sound")]
            lines.append(f"{label:42}{values[0]:>12}{values[1]:>12}")
        lines.append("")
        lines += [f"{label:42}{_number(metrics[name], digits):>12}" for label, digits, name in _WHOLE]
    return "\n".join([*lines, "", CAUTION])


def _number(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{value:.{digits}f}"
