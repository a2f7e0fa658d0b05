"""Many walks: a full grid over named settings, one row per walk, the same numbers however many workers walk.

A fall is a row. A walk that crashes is a row too, with stage and message, and the rest goes on.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from itertools import islice
from pathlib import Path
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any, Protocol

from sim.errors import RampwalkError
from sim.grid import Cell, axes_of, cells_of
from sim.progress import Progress, progress_bar
from sim.scenario import Scenario, replace_by_name
from sim.table import Row, as_table, failed_row, result_row, row_key

if TYPE_CHECKING:
    import pandas as pd

#: Most walks that travel to a worker together. A walk takes 0.1 s or more, handing one over about 1 ms.
LARGEST_CHUNK = 16
#: At least this many chunks, where there are enough walks, so that no worker waits long for the last one.
LEAST_CHUNKS = 64
#: Chunks handed over and not yet done: enough for any pool, few enough to keep a large grid out of the queue.
IN_FLIGHT = 256

PACKAGE = Path(__file__).resolve().parent
Numbered = list[tuple[int, Cell]]


class Executor(Protocol):
    """What a sweep needs of an executor; `concurrent.futures` pools and others have it."""

    def submit(self, function: Callable[..., Any], /, *arguments: Any) -> Any:
        """Future with `result`, `cancel` and `add_done_callback`."""
        ...


def sweep(
    base: Scenario,
    over: Mapping[str, Iterable[object]],
    executor: Executor | None = None,
    progress: Progress | bool | None = None,
) -> pd.DataFrame:
    """Walk every cell of a grid.

    Parameters
    ----------
    base : Scenario
        What all walks share.
    over : mapping of str to iterable
        Setting name -> values: full names (`person.mass_kg`), or the last part where only one setting ends so
        (`flexion_resistance`). The grid is full, the last axis changing fastest.
    executor : Executor, optional
        Where to walk, for example `sim.pool.worker_pool(2)` or any `concurrent.futures` pool. None: here, one by one.
    progress : callable or bool, optional
        Called with (done, total); True shows a bar on standard error.

    Returns
    -------
    DataFrame
        One row per walk in the order of the grid, with the columns of `sim.table.columns`: all inputs, outcome,
        reason, stage, message, metrics, energy. The same bits for any executor.

    Raises
    ------
    RampwalkError
        If a name or a value is not allowed, or no cell of the grid is. A single cell whose values contradict each
        other is a row with `outcome = "crashed"` and `stage = "scenario"`.
    """
    cells = cells_of(axes_of(over))
    rows: list[Row | None] = [None] * len(cells)
    shown: AbstractContextManager[Progress | None]
    shown = progress_bar() if progress is True else nullcontext(progress or None)
    with shown as show:
        for done, (index, row) in enumerate(rows_as_they_come(base, cells, executor), start=1):
            rows[index] = row
            if show:
                show(done, len(cells))
    kept = [row for row in rows if row is not None]
    assert len(kept) == len(cells)  # every cell has a row, whatever happened to it
    if all(row["stage"] == "scenario" for row in kept):
        raise RampwalkError(kept[0]["message"])
    return as_table(kept)


def rows_as_they_come(
    base: Scenario, cells: Sequence[Cell], executor: Executor | None = None
) -> Iterator[tuple[int, Row]]:
    """Rows with the index of their cell, in the order in which walks end."""
    if executor is None:
        for index, cell in enumerate(cells):
            yield index, run_cell(base, cell)
        return
    todo = iter(_chunks(cells))
    waiting: dict[Any, Numbered] = {}
    done: SimpleQueue[Any] = SimpleQueue()
    try:
        while True:
            for chunk in islice(todo, IN_FLIGHT - len(waiting)):
                future = _submit(executor, base, chunk)
                waiting[future] = chunk
                future.add_done_callback(done.put)
            if not waiting:
                return
            future = done.get()
            yield from _rows_of(future, base, waiting.pop(future))
    finally:
        for future in waiting:
            future.cancel()


def _chunks(cells: Sequence[Cell]) -> Iterator[Numbered]:
    size = max(1, min(LARGEST_CHUNK, len(cells) // LEAST_CHUNKS))
    numbered = iter(enumerate(cells))
    return iter(lambda: list(islice(numbered, size)), [])


def _submit(executor: Executor, base: Scenario, chunk: Numbered) -> Any:
    """Future of a chunk; already failed if the executor does not take it, as a broken pool."""
    try:
        return executor.submit(run_chunk, base, chunk)
    except RuntimeError as err:  # broken or shut down
        from concurrent.futures import Future

        failed: Future[Any] = Future()
        failed.set_exception(err)
        return failed


def _rows_of(future: Any, base: Scenario, chunk: Numbered) -> list[tuple[int, Row]]:
    try:
        rows: list[tuple[int, Row]] = future.result()
    except Exception as err:  # noqa: BLE001  # whatever kills a worker is a row, not the end of the sweep
        return [(index, _crash(base, cell, "worker", err)) for index, cell in chunk]
    return rows


def run_chunk(base: Scenario, chunk: Numbered) -> list[tuple[int, Row]]:
    """Rows of some cells; what a worker does."""
    return [(index, run_cell(base, cell)) for index, cell in chunk]


def run_cell(base: Scenario, cell: Cell) -> Row:
    """Row of one cell, whatever happens."""
    try:
        scenario = replace_by_name(base, cell)
    except RampwalkError as err:
        return failed_row(base, cell, "", "scenario", " ".join(str(err).split("\n")))
    try:
        from sim.activities.walk import walk

        result = walk(scenario)
    except Exception as err:  # noqa: BLE001  # a crash is a row, not the end of the sweep
        return _crash(scenario, {}, "walk", err)
    try:
        return result_row(result, row_key(scenario))
    except Exception as err:  # noqa: BLE001  # as above
        return _crash(scenario, {}, "row", err)


def _crash(scenario: Scenario, cell: Cell, stage: str, err: Exception) -> Row:
    """Row of a walk that failed; the message says which line failed, without naming folders."""
    ours = [at for at in traceback.extract_tb(err.__traceback__) if Path(at.filename).is_relative_to(PACKAGE)]
    message = f"{type(err).__name__}: {' '.join(str(err).split())}"
    if ours:
        message += f" ({Path(ours[-1].filename).relative_to(PACKAGE.parent).as_posix()} line {ours[-1].lineno})"
    try:
        key = row_key(replace_by_name(scenario, cell))
    except RampwalkError:
        key = ""
    return failed_row(scenario, cell, key, stage, message)
