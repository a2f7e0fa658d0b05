"""One cell of a design to one row of the table, whatever happens; what a worker does."""

from __future__ import annotations

import dataclasses
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import RampwalkError
from sim.grid import Cell, ContinuedCell, via_of
from sim.scenario import Scenario, replace_by_name
from sim.table import Row, cell_key, code_version, failed_row, input_row, result_row, row_key, setting_values

if TYPE_CHECKING:
    from sim.result import WalkResult

PACKAGE = Path(__file__).resolve().parent
#: Makes the row of a cell; never raises.
RowMaker = Callable[[Scenario, Cell], Row]
Numbered = list[tuple[int, Cell]]
#: Walks to begin after that a process keeps (ours: 10 kB each).
MOST_KEPT = 64
_KEPT: dict[str, WalkResult] = {}


class OtherCodeError(RampwalkError):
    """A worker has other code than the process that sent it work."""


def run_chunk(make: RowMaker, base: Scenario, chunk: Numbered, code: str) -> list[tuple[int, Row]]:
    """Rows of some cells, if this process has the code of this version. Raises OtherCodeError."""
    if code_version() != code:
        message = (
            f"a worker has other code, gains or libraries ({code_version()}) than this process ({code}): they changed "
            "while it ran, or differ between machines; install the same everywhere and run again."
        )
        raise OtherCodeError(message)
    return [(index, make(base, cell)) for index, cell in chunk]


def run_cell(base: Scenario, cell: Cell) -> Row:
    """Walk one cell."""
    try:
        scenario = replace_by_name(base, cell)
    except RampwalkError as err:
        key = cell_key(setting_values(base), cell)
        return failed_row(base, cell, key, "scenario", " ".join(str(err).split("\n")))
    try:
        result = walk_cell(base, cell)
    except Exception as err:  # noqa: BLE001  # a crash is a row, not the end of the sweep
        return crash_row(base, cell, "walk", err)
    try:
        return result_row(result, row_key(scenario, result.started_from))
    except Exception as err:  # noqa: BLE001  # as above
        return crash_row(base, cell, "row", err)


def walk_cell(base: Scenario, cell: Cell) -> WalkResult:
    """Walk one cell, after those that it begins after; raises RampwalkError if one of these is not completed."""
    from sim.activities.walk import walk

    via = via_of(cell)
    start = _walked_before(base, via) if via else None
    return walk(replace_by_name(base, cell), start) if start else walk(replace_by_name(base, cell))


def _walked_before(base: Scenario, via: tuple[Cell, ...]) -> WalkResult:
    """The walk to begin after, without its time series; the last few are kept, because neighbours share them."""
    values = setting_values(base)
    key = cell_key(values, ContinuedCell(via[-1], via[:-1]))
    if key not in _KEPT:
        result = walk_cell(base, ContinuedCell(via[-1], via[:-1]))
        if len(_KEPT) >= MOST_KEPT:
            _KEPT.pop(next(iter(_KEPT)), None)
        _KEPT[key] = dataclasses.replace(result, frames=result.frames[:0], step_records=result.step_records[:0])
    return _KEPT[key]


def crash_row(base: Scenario, cell: Cell, stage: str, err: BaseException, note: str = "") -> Row:
    """Row of a walk that failed; the message says which line failed, without naming folders."""
    ours = [at for at in traceback.extract_tb(err.__traceback__) if Path(at.filename).is_relative_to(PACKAGE)]
    message = f"{type(err).__name__}: {' '.join(str(err).split())}{note}"
    if ours:
        message += f" ({Path(ours[-1].filename).relative_to(PACKAGE.parent).as_posix()} line {ours[-1].lineno})"
    key = cell_key(setting_values(base), cell)
    try:
        row = failed_row(base, cell, key, stage, message)
        return row | input_row(replace_by_name(base, cell))  # with what follows from the cell
    except RampwalkError:
        return failed_row(base, cell, key, stage, message)
