"""Options and output that the commands of the activities in place share."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from sim.caution import CAUTION
from sim.commands.scenario_options import number_or_text
from sim.errors import RampwalkError
from sim.files import check_target, new_files, path_text, write_file
from sim.posture_scenario import InPlace
from sim.settings import Setting, described, replaced
from sim.settings_file import from_toml_file

if TYPE_CHECKING:
    from sim.posture_result import PostureResult

#: Option -> setting of a section; the activity's own settings are options too, under their names.
SECTION_OPTIONS = {
    "--flexion-resistance": "knee.flexion_resistance",
    "--law": "knee.law",
    "--lock": "lock.kind",
    "--mass-kg": "person.mass_kg",
    "--stature-m": "person.stature_m",
    "--limbs": "person.limbs",
}
FIGURE_KINDS = (".png", ".svg", ".pdf")


class Rows(NamedTuple):
    """Short table of an activity: label, digits, metric."""

    rows: Sequence[tuple[str, int, str]]


def option_names(kind: type[InPlace]) -> dict[str, str]:
    """Option -> full name of the setting."""
    own = {f"--{s.name.replace('_', '-')}": s.name for s in described(kind) if "." not in s.name}
    return own | SECTION_OPTIONS


def add_options(parser: argparse.ArgumentParser, kind: type[InPlace]) -> None:
    """Add `--settings FILE`, one option per setting, and where the result goes."""
    parser.add_argument("--settings", metavar="FILE.toml", help="settings from a file; the other options override it")
    known = {setting.name: setting for setting in described(kind)}
    for option, name in option_names(kind).items():
        setting = known[name]
        metavar = "|".join(setting.choices) if setting.choices else "VALUE"
        parser.add_argument(option, metavar=metavar, dest=name, help=_help(setting))
    parser.add_argument("--json", metavar="FILE|-", help="write the result as one JSON object; - is standard output")
    parser.add_argument("--figure", metavar="FILE.png", help="poses and curves, with a CSV of them")
    parser.add_argument("--force", action="store_true", help="replace files that exist")


def _help(setting: Setting) -> str:
    if setting.choices:
        return f"default {setting.default}"
    unit = f" {setting.unit}" if setting.unit else ""
    return f"default {setting.default:g}{unit}; {setting.low:g} to {setting.high:g}{unit}".replace("%", "%%")


def settings_from(options: argparse.Namespace, kind: type[InPlace]) -> Any:
    """Settings of a file, or the defaults, with the given options laid over them.

    Raises
    ------
    RampwalkError
        If the file cannot be used or a value is not allowed.
    """
    start = kind() if options.settings is None else from_toml_file(kind, options.settings)
    words = {setting.name for setting in described(kind) if setting.choices}
    given = {name: getattr(options, name) for name in option_names(kind).values()}
    return replaced(
        start,
        {
            name: text if name in words else number_or_text(text)
            for name, text in given.items()
            if text is not None
        },
    )


def run_activity(
    options: argparse.Namespace, kind: type[InPlace], act: Callable[[Any], PostureResult], table: Rows
) -> int:
    """Do it, and write what was asked for."""
    settings = settings_from(options, kind)
    figure = _figure_path(options.figure, options.force)
    target = None if options.json in {None, "-"} else check_target(options.json, "--json", options.force)
    if figure and target and target in {figure, figure.with_suffix(".csv")}:
        raise RampwalkError(f"--json and --figure both write {path_text(target)}; give two names.", "--json", target)
    result = act(settings)
    if figure:
        from sim.plots import save_figure
        from sim.plots.activities import activity_data, activity_figure

        with new_files(figure.parent, options.force, "--figure") as scratch:
            save_figure(activity_figure(result), scratch / figure.name, activity_data(result))
    if options.json is None:
        print(summary(result, table))
    else:
        text = json.dumps(result.to_json_dict(), indent=2, allow_nan=False)
        write_file(target, text + "\n", options.force, "--json") if target else print(text)
    return 0


def _figure_path(given: str | None, force: bool) -> Path | None:
    if given is None:
        return None
    path = check_target(given, "--figure", force)
    if path.suffix.lower() not in FIGURE_KINDS:
        allowed = ", ".join(FIGURE_KINDS)
        raise RampwalkError(f"--figure = {given!r} must end in one of {allowed}; change its ending.", "--figure", given)
    check_target(path.with_suffix(".csv"), "--figure", force)
    return path


def summary(result: PostureResult, table: Rows) -> str:
    """Outcome, reason, short table and the caution."""
    lines = [f"{result.activity}: {result.outcome}", result.reason, ""]
    for label, digits, name in table.rows:
        value = result.metrics[name]
        if value is not None:
            lines.append(f"{label:58}{value + 0.0:>10.{digits}f}")
    return "\n".join([*lines, "", CAUTION])
