"""Options and output that the commands of the activities in place share."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from sim.caution import CAUTION
from sim.commands.outputs import add_output_options, deliver, outputs_from
from sim.commands.scenario_options import add_settings, given_settings
from sim.posture_scenario import InPlace
from sim.settings import described, replaced
from sim.settings_file import from_toml_file

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

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
    add_settings(parser, kind, option_names(kind))
    add_output_options(parser, "poses and curves")


def settings_from(options: argparse.Namespace, kind: type[InPlace]) -> Any:
    """Settings of a file, or the defaults, with the given options laid over them.

    Raises
    ------
    RampwalkError
        If the file cannot be used or a value is not allowed.
    """
    start = kind() if options.settings is None else from_toml_file(kind, options.settings)
    return replaced(start, given_settings(options, kind, option_names(kind)))


def run_activity(
    options: argparse.Namespace, kind: type[InPlace], act: Callable[[Any], PostureResult], table: Rows
) -> int:
    """Do it, and write what was asked for."""
    settings = settings_from(options, kind)
    outputs = outputs_from(options)
    result = act(settings)

    def draw() -> tuple[Figure, pd.DataFrame]:
        from sim.plots.activities import activity_data, activity_figure

        return activity_figure(result), activity_data(result)

    deliver(outputs, result, draw, summary(result, table))
    return 0


def summary(result: PostureResult, table: Rows) -> str:
    """Outcome, reason, short table and the caution."""
    lines = [f"{result.activity}: {result.outcome}", result.reason, ""]
    for label, digits, name in table.rows:
        value = result.metrics[name]
        if value is not None:
            lines.append(f"{label:58}{value + 0.0:>10.{digits}f}")
    return "\n".join([*lines, "", CAUTION])
