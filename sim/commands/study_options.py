"""Options and output that the commands with a few walks side by side share."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.outputs import deliver, outputs_from
from sim.commands.scenario_options import add_scenario_options, given_settings, scenario_from
from sim.errors import RampwalkError
from sim.scenario import Scenario, replace_by_name
from sim.settings import replaced

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from sim.study import Study

#: Strides of each walk of a study, unless asked otherwise: six settle and give a mean (ours).
STRIDES = "6"
#: Option -> setting of rail and helper, for commands that are about something else.
SUPPORT_OPTIONS = {
    "--rail-side": "rail.side",
    "--rail-share": "rail.carried_share",
    "--helper-support": "helper.support",
    "--helper-share": "helper.lifted_share",
}
#: Label, digits and column of a table.
Columns = Sequence[tuple[str, int, str]]


def add_parser(subparsers: Any, name: str, line: str, description: str) -> argparse.ArgumentParser:
    """Parser of a command with the options of a scenario."""
    parser: argparse.ArgumentParser = subparsers.add_parser(
        name, help=line, description=description, epilog=EPILOG, allow_abbrev=False
    )
    add_scenario_options(parser)
    return parser


def study_scenario(options: argparse.Namespace, more: Mapping[str, str]) -> Scenario:
    """Scenario of the options, with `STRIDES` strides unless a file or an option says otherwise.

    Parameters
    ----------
    options : Namespace
    more : dict of str to str
        Further options of `add_settings` -> settings of the scenario.

    Raises
    ------
    RampwalkError
        If a value is not allowed, or has no effect.
    """
    if options.strides is None and options.scenario is None:
        options.strides = STRIDES
    scenario = replace_by_name(scenario_from(options), given_settings(options, Scenario, more))
    _check_supports(options, scenario, more)
    return scenario


def _check_supports(options: argparse.Namespace, scenario: Scenario, names: Mapping[str, str]) -> None:
    """Raise RampwalkError if a share is given for a rail or a helper that nobody uses."""
    for share, on, switch, used in (
        ("--rail-share", "sound", "--rail-side", scenario.rail.on),
        ("--helper-share", "constant", "--helper-support", scenario.helper.on),
    ):
        if share in names and getattr(options, names[share]) is not None and not used:
            told = f"{share} has no effect without {switch}; add for example {switch} {on}, or leave it out."
            raise RampwalkError(told, share, getattr(options, names[share]))


def settings_of(options: argparse.Namespace, kind: type[Any], names: Mapping[str, str]) -> Any:
    """Settings of another class from its options. Raises RampwalkError."""
    return replaced(kind(), given_settings(options, kind, names))


def give(
    options: argparse.Namespace, study: Callable[[], Study], columns: Columns,
    draw: Callable[[Study], tuple[Figure, pd.DataFrame]],
) -> int:  # fmt: skip
    """Do it, and write what was asked for."""
    outputs = outputs_from(options)
    result = study()
    deliver(outputs, result, lambda: draw(result), summary(result, columns))
    return 0


def summary(study: Study, columns: Columns) -> str:
    """What was found, a table, the caution."""
    cells = [[cell(row[name], digits) for _, digits, name in columns] for row in study.rows]
    table = table_lines([label for label, _, _ in columns], cells)
    return "\n".join([f"{study.activity}: {study.told}", "", *table, "", CAUTION])


def table_lines(labels: Sequence[str], cells: Sequence[Sequence[str]]) -> list[str]:
    """Lines of a table: headings, of which `|` breaks the lines, and cells, all flush right."""
    heads = [label.split("|") for label in labels]
    depth = max(len(head) for head in heads)
    heads = [[""] * (depth - len(head)) + head for head in heads]
    texts = [*([head[line] for head in heads] for line in range(depth)), *cells]
    widths = [max(len(row[k]) for row in texts) + 2 for k in range(len(labels))]
    return ["".join(text.rjust(width) for text, width in zip(row, widths, strict=True)) for row in texts]


def cell(value: object, digits: int) -> str:
    """Text of one cell; a dash where there is nothing."""
    if value is None:
        return "-"
    return f"{round(value, digits) + 0.0:.{digits}f}" if isinstance(value, float) else str(value)
