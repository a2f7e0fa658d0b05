"""Many walks: one row per walk of a design, the same numbers however many workers walk, kept on disk on request.

A fall is a row. A walk that crashes is a row too, with stage and message, and the rest goes on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from sim.cell import RowMaker, run_cell
from sim.compact import Chosen, KeyList
from sim.design import Design, design_of
from sim.errors import RampwalkError
from sim.grid import STARTS, Cell
from sim.interrupt import Stop, stop_on_interrupt
from sim.outward import checked_start, walked_outward
from sim.progress import Progress, progress_bar
from sim.scatter import Executor, rows_as_they_come
from sim.scenario import Scenario
from sim.store import Store, open_store
from sim.table import Row, as_table, cell_key, setting_values
from sim.table_reader import read_table

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Executor", "Stopped", "fill", "keys_of", "rows_as_they_come", "run_cell", "sweep"]


class Stopped(KeyboardInterrupt):
    """Someone asked to stop.

    Attributes
    ----------
    done, total : int
        Walks that have their row, and all.
    """

    def __init__(self, done: int, total: int) -> None:
        super().__init__(f"stopped with {done} of {total} walks done")
        self.done, self.total = done, total


def sweep(
    base: Scenario,
    over: Mapping[str, Iterable[object]] | Design,
    executor: Executor | None = None,
    progress: Progress | bool | None = None,
    folder: str | Path | None = None,
    fresh: bool = False,
    start: str = STARTS[0],
) -> pd.DataFrame:
    """Walk every cell of a design.

    Parameters
    ----------
    base : Scenario
        What all walks share.
    over : mapping of str to iterable, or Design
        Setting name -> values: full names (`person.mass_kg`), or the last part where only one setting ends so
        (`flexion_resistance`). The grid is full, the last axis changing fastest. Other designs: `sim.design`.
    executor : Executor, optional
        Where to walk: `sim.pool.worker_pool(2)`, any `concurrent.futures` pool, a client of `dask.distributed`. None:
        here, one by one.
    progress : callable or bool, optional
        Called with (done, total); True shows a bar on standard error.
    folder : path, optional
        Keep every row there as it comes, and begin with those that are there; `table.csv` is written at the end.
    fresh : bool
        Delete what is there and start over.
    start : str
        "standing": every walk begins from the standing pose of its scenario. "neighbour": walks of a grid that do not
        get through from there are tried from the last landing of a neighbour that does, see `sim.outward`; the columns
        `start` and `start_key` say which start a row has.

    Returns
    -------
    DataFrame
        One row per walk in the order of the design, with the columns of `sim.table.columns`: all inputs, outcome,
        reason, stage, message, metrics, energy. The same bits for any executor.

    Raises
    ------
    RampwalkError
        If a name or a value is not allowed, or no cell of the design is, or the folder holds rows of other code or
        settings. A single cell whose values contradict each other is a row with `outcome = "crashed"` and
        `stage = "scenario"`.
    Stopped
        After an interrupt (a KeyboardInterrupt); with a folder, the same call goes on from there.
    """
    design = design_of(over)
    checked_start(start, design)
    if folder is not None:
        with open_store(Path(folder), base, fresh) as store:
            cells = filled_cells(store, base, design, executor, progress, start)
            path = Path(folder) / "table.csv"
            store.write_table(keys_of(base, cells), path)
        return read_table(path, most_bytes=None)
    held = _Held()
    cells = filled_cells(held, base, design, executor, progress, start)
    return as_table(held.rows[key] for key in keys_of(base, cells))


class _Held:
    """Rows of a sweep in memory."""

    def __init__(self) -> None:
        self.rows: dict[str, Row] = {}

    def __contains__(self, key: str) -> bool:
        return key in self.rows

    def add(self, rows: Iterable[Row]) -> None:
        """Take rows."""
        self.rows |= {str(row["key"]): row for row in rows}

    def outcome(self, key: str) -> str:
        """How a walk ended."""
        return str(self.rows[key]["outcome"])

    def sync(self) -> None:
        """There is nothing to put on a disk."""


def filled_cells(
    store: Store | _Held,
    base: Scenario,
    design: Design,
    executor: Executor | None = None,
    progress: Progress | bool | None = None,
    start: str = STARTS[0],
) -> Sequence[Cell]:
    """Walk the cells of a design that have no row, from the start that is asked for; returns the cells as they were
    walked (`sim.grid.ContinuedCell` after a neighbour), for `keys_of`. Parameters and errors as of `sweep` and `fill`.
    """
    if checked_start(start, design) == STARTS[0]:
        fill(store, base, design.cells, executor, progress)
        return design.cells

    def outcomes_of(cells: Sequence[Cell]) -> list[str]:
        return [store.outcome(key) for key in fill(store, base, cells, executor, progress)]

    return walked_outward(design.cells, design.axes, outcomes_of)


def fill(
    store: Store | _Held,
    base: Scenario,
    cells: Sequence[Cell],
    executor: Executor | None = None,
    progress: Progress | bool | None = None,
    stop: Stop | None = None,
    make: RowMaker = run_cell,
) -> KeyList:
    """Walk the cells that have no row in a store; returns the keys of all, in their order.

    Parameters
    ----------
    store : Store
        Of `sim.store.open_store`, with the same base; or what holds rows in memory.
    base, cells, executor, progress
        As of `sweep`; cells have full names.
    stop : Stop, optional
        None: catches interrupts itself.
    make : callable
        Makes the row of a cell.

    Raises
    ------
    RampwalkError
        If no cell is allowed.
    Stopped
        After an interrupt; all walks that were finished have their rows.
    """
    keys = keys_of(base, cells)
    first = keys.first_places()  # one walk for cells that are the same
    cells_left = Chosen(cells, (index for index in first if keys[index] not in store))
    done = len(keys) - len(cells_left)
    refused, message = 0, ""
    catcher: AbstractContextManager[Stop] = nullcontext(stop) if stop else stop_on_interrupt()
    with catcher as caught, _shown(progress) as show:
        if show and done:
            show(done, len(keys))
        for found in rows_as_they_come(base, cells_left, executor, caught, make):
            rows = [row for _, row in found]
            store.add(rows)
            done += len(rows)
            for row in rows:
                if row["stage"] == "scenario":
                    refused, message = refused + 1, str(row["message"])
            if show:
                show(done, len(keys))
    store.sync()
    if caught.asked and done < len(keys):
        raise Stopped(done, len(keys))
    if refused == len(keys):
        raise RampwalkError(message)
    return keys


def keys_of(base: Scenario, cells: Iterable[Cell]) -> KeyList:
    """Row keys of cells with full names."""
    values = setting_values(base)
    return KeyList(cell_key(values, cell) for cell in cells)


def _shown(progress: Progress | bool | None) -> AbstractContextManager[Progress | None]:
    return progress_bar() if progress is True else nullcontext(progress or None)
