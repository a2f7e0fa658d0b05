"""The tables of `docs/model.md`, made from settings, parameters and gains.

`python -m sim.model_tables docs/model.md` puts them between the marks in the page.
"""

from __future__ import annotations

import sys
from pathlib import Path

from sim.errors import number_text
from sim.gains import read_gains
from sim.parameters import all_parameters
from sim.scenario import settings
from sim.settings import Setting

BEGIN, END = "<!-- made by sim.model_tables, do not edit: begin -->\n", "<!-- end -->\n"


def settings_table() -> str:
    """Every setting: default, allowed range, unit, source."""
    lines = ["| setting | default | allowed | unit | source | how known |", "|---|---|---|---|---|---|"]
    lines += [
        f"| `{row.name}` | {_default(row)} | {_allowed(row)} | {row.unit or '-'} | {row.source or '-'} "
        f"| {row.how_known or '-'} |"
        for row in settings()
    ]
    return "\n".join(lines)


def _default(row: Setting) -> str:
    if row.default is None:
        return "by rule"
    return number_text(row.default) if isinstance(row.default, int | float) else str(row.default) or "empty"


def _allowed(row: Setting) -> str:
    if row.choices:
        return ", ".join(row.choices)
    return "text" if row.kind == "text" else f"{number_text(row.low)} to {number_text(row.high)}"


def parameters_table() -> str:
    """Every number of `sim/parameters`: value, band, unit, source."""
    lines = ["| file: parameter | value | band | unit | source | how known |", "|---|---|---|---|---|---|"]
    for file, rows in all_parameters().items():
        for name, row in rows.items():
            low, high = ("" if end is None else number_text(end) for end in (row.low, row.high))
            band = f"{low} to {high}" if low or high else "-"
            value = number_text(row.value)
            lines.append(f"| {file}: `{name}` | {value} | {band} | {row.unit} | {row.source} | {row.how_known} |")
    return "\n".join(lines)


def gains_table() -> str:
    """Every gain of the person: dimension and bounds; values for the reference person, all found by search."""
    lines = ["| gain | dimension | least | most |", "|---|---|---|---|"]
    for name, gain in read_gains()["gains"].items():
        lines.append(f"| `{name}` | {gain['dimension']} | {number_text(gain['low'])} | {number_text(gain['high'])} |")
    return "\n".join(lines)


def tables() -> str:
    """All tables with their headings."""
    parts = [
        f"### Settings\n\n{settings_table()}",
        f"### Parameters by source\n\n{parameters_table()}",
        f"### Gains of the person (ours, found by search)\n\n{gains_table()}",
    ]
    return "\n\n".join(parts) + "\n"


def with_tables(page: str) -> str:
    """A page with what lies between its marks made anew. Raises ValueError if the marks are not there once each."""
    if page.count(BEGIN) != 1 or page.count(END) != 1:
        raise ValueError("the page needs both marks of sim.model_tables once")
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}{tables()}{END}{after}"


if __name__ == "__main__":
    target = Path(sys.argv[1])
    target.write_text(with_tables(target.read_text(encoding="utf-8")), encoding="utf-8")
