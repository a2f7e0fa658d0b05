"""Options and output that the commands with a few walks side by side share."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.outputs import add_output_options, deliver, outputs_from
from sim.commands.scenario_options import SETTING_OF, add_scenario_options, number_or_text, scenario_from
from sim.scenario import Scenario, replace_by_name
from sim.settings import Setting, described, replaced

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


def add_settings(parser: argparse.ArgumentParser, kind: type[Any], names: Mapping[str, str]) -> None:
    """Add an option for each named setting of a class, read as text; option -> full name of the setting."""
    known = {setting.name: setting for setting in described(kind)}
    for option, name in names.items():
        setting = known[name]
        metavar = "|".join(setting.choices) if setting.choices else "VALUE"
        parser.add_argument(option, metavar=metavar, dest=name, help=_help(setting))


def _help(setting: Setting) -> str:
    if setting.choices:
        return f"default {setting.default}"
    unit = f" {setting.unit}" if setting.unit else ""
    default = "by the rule of the scenario" if setting.default is None else f"{setting.default:g}{unit}"
    return f"default {default}; {setting.low:g} to {setting.high:g}{unit}".replace("%", "%%")


def add_outputs(parser: argparse.ArgumentParser, picture: str) -> None:
    """Add where the result goes."""
    add_output_options(parser, picture)


def asked(options: argparse.Namespace, names: Mapping[str, str], kind: type[Any]) -> dict[str, object]:
    """Full setting name -> value of the options that were given."""
    words = {setting.name for setting in described(kind) if setting.choices}
    given = {name: getattr(options, name) for name in names.values()}
    return {
        name: text if name in words else number_or_text(text) for name, text in given.items() if text is not None
    }


def study_scenario(options: argparse.Namespace, more: Mapping[str, str] | None = None) -> Scenario:
    """Scenario of the options, with `STRIDES` strides unless a file or an option says otherwise.

    Raises
    ------
    RampwalkError
        If a value is not allowed.
    """
    if options.strides is None and options.scenario is None:
        options.strides = STRIDES
    names = {option: name for option, name in (more or {}).items() if option not in SETTING_OF}
    return replace_by_name(scenario_from(options), asked(options, names, Scenario))


def settings_of(options: argparse.Namespace, kind: type[Any], names: Mapping[str, str]) -> Any:
    """Settings of another class from its options. Raises RampwalkError."""
    return replaced(kind(), asked(options, names, kind))


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
