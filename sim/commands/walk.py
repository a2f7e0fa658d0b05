"""`rampwalk walk`: one walk as a short table, as JSON, as a figure."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.scenario_options import add_scenario_options, scenario_from
from sim.errors import RampwalkError
from sim.files import check_target, new_files, path_text, write_file

if TYPE_CHECKING:
    from sim.result import WalkResult

FIGURE_KINDS = (".png", ".svg", ".pdf")


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
    parser.add_argument("--json", metavar="FILE|-", help="write the result as one JSON object; - is standard output")
    parser.add_argument("--figure", metavar="FILE.png", help="stick figures and force curves, with a CSV of them")
    parser.add_argument("--force", action="store_true", help="replace files that exist")


def run(options: argparse.Namespace) -> int:
    """Walk, and write what was asked for."""
    scenario = scenario_from(options)
    figure = _figure_path(options.figure, options.force)
    target = None if options.json in {None, "-"} else check_target(options.json, "--json", options.force)
    if figure and target and target in {figure, figure.with_suffix(".csv")}:
        raise RampwalkError(f"--json and --figure both write {path_text(target)}; give two names.", "--json", target)
    from sim.activities.walk import walk

    result = walk(scenario)
    if figure:
        from sim.plots import save_figure, walk_figure
        from sim.plots.data import walk_data

        with new_files(figure.parent, options.force, "--figure") as scratch:
            save_figure(walk_figure(result), scratch / figure.name, walk_data(result))
    if options.json is None:
        print(summary(result))
    else:
        text = json.dumps(result.to_json_dict(), indent=2, allow_nan=False)
        write_file(target, text + "\n", options.force, "--json") if target else print(text)
    return 0


def _figure_path(given: str | None, force: bool) -> Path | None:
    """Path of the figure; its table, of the same name, must be free too. Raises RampwalkError."""
    if given is None:
        return None
    path = check_target(given, "--figure", force)
    if path.suffix.lower() not in FIGURE_KINDS:
        allowed = ", ".join(FIGURE_KINDS)
        raise RampwalkError(f"--figure = {given!r} must end in one of {allowed}; change its ending.", "--figure", given)
    check_target(path.with_suffix(".csv"), "--figure", force)
    return path


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
