"""Many walks: one row per walk of a design, the same numbers however many workers walk, kept on disk on request.

A fall is a row. A walk that crashes is a row too, with stage and message, and the rest goes on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from sim.cell import RowMaker, run_cell
from sim.design import Design, design_of
from sim.errors import RampwalkError
from sim.grid import Cell
from sim.interrupt import Stop, stop_on_interrupt
from sim.progress import Progress, progress_bar
from sim.scatter import Executor, rows_as_they_come
from sim.scenario import Scenario
from sim.store import Store, open_store
from sim.table import Row, as_table, cell_key, read_table, setting_values

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
    if folder is not None:
        with open_store(Path(folder), base, fresh) as store:
            keys = fill(store, base, design.cells, executor, progress)
            path = Path(folder) / "table.csv"
            store.write_table(keys, path)
        return read_table(path)
    rows: list[Row | None] = [None] * len(design.cells)
    with stop_on_interrupt() as stop, _shown(progress) as show:
        done = 0
        for found in rows_as_they_come(base, design.cells, executor, stop):
            for index, row in found:
                rows[index] = row
            done += len(found)
            if show:
                show(done, len(rows))
    kept = [row for row in rows if row is not None]
    if stop.asked:
        raise Stopped(len(kept), len(rows))
    assert len(kept) == len(rows)  # every cell has a row, whatever happened to it
    if all(row["stage"] == "scenario" for row in kept):
        raise RampwalkError(str(kept[0]["message"]))
    return as_table(kept)


def fill(
    store: Store,
    base: Scenario,
    cells: Sequence[Cell],
    executor: Executor | None = None,
    progress: Progress | bool | None = None,
    stop: Stop | None = None,
    make: RowMaker = run_cell,
) -> list[str]:
    """Walk the cells that have no row in a store; returns the keys of all, in their order.

    Parameters
    ----------
    store : Store
        Of `sim.store.open_store`, with the same base.
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
    todo = {key: index for index, key in enumerate(keys) if key not in store}  # one walk for cells that are the same
    cells_left = [cells[index] for index in todo.values()]
    done = len(keys) - len(todo)
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


def keys_of(base: Scenario, cells: Iterable[Cell]) -> list[str]:
    """Row keys of cells with full names."""
    values = setting_values(base)
    return [cell_key(values, cell) for cell in cells]


def _shown(progress: Progress | bool | None) -> AbstractContextManager[Progress | None]:
    return progress_bar() if progress is True else nullcontext(progress or None)
