"""Windows of a scenario with what single changes do to its present walk: one study for command, notes and report."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim.grid import Cell
from sim.scenario import Scenario, replace_by_name
from sim.table import setting_values
from sim.window import RESISTANCE, Walk, find_windows
from sim.window_criteria import COLUMNS, Criteria, Row
from sim.window_found import Window
from sim.window_help import HELP_COLUMNS, ranked, single_changes

if TYPE_CHECKING:
    import pandas as pd

    from sim.scatter import Executor

STUDY_COLUMNS = tuple(dict.fromkeys((*COLUMNS, *HELP_COLUMNS)))
"""Columns of a sweep's table that a study needs."""


@dataclass(frozen=True, eq=False)
class WindowStudy:
    """What was found.

    Attributes
    ----------
    windows : list of (str, Window)
        What is different, and the window; the scenario itself first.
    present : mapping
        Row of the walk at the scenario's own resistance.
    helps : DataFrame
        As of `sim.window_help.ranked`; empty if the present walk was not completed.
    seconds : float
        Time it took.
    """

    windows: list[tuple[str, Window]]
    present: Row
    helps: pd.DataFrame
    seconds: float

    @property
    def window(self) -> Window:
        """The window of the scenario itself."""
        return self.windows[0][1]


def study(
    base: Scenario, changes: Sequence[tuple[str, Cell]], walk: Walk, criteria: Criteria | None = None
) -> WindowStudy:
    """Find the windows, walk the present setting and single changes from it.

    Parameters
    ----------
    base : Scenario
    changes : sequence of (str, dict)
        What is different in each window; the first is the scenario itself, `("as given", {})`.
    walk : callable
        See `sim.window.Walk`; its rows have `STUDY_COLUMNS`.
    criteria : Criteria, optional

    Raises
    ------
    RampwalkError
        As `find_windows`.
    """
    start = time.perf_counter()
    found = find_windows(base, [cell for _, cell in changes], walk, criteria)
    present, helps = present_and_helps(base, walk)
    windows = list(zip((what for what, _ in changes), found, strict=True))
    return WindowStudy(windows, present, helps, time.perf_counter() - start)


def present_and_helps(base: Scenario, walk: Walk, resistance: float | None = None) -> tuple[Row, pd.DataFrame]:
    """Row of the walk at a resistance (None: the scenario's own) and what single changes from it do, ranked.

    The table is empty if the walk was not completed.
    """
    import pandas as pd

    at: Cell = {} if resistance is None else {RESISTANCE: resistance}
    own = replace_by_name(base, at)
    single = single_changes(own)
    cells: list[Cell] = [{RESISTANCE: own.knee.flexion_resistance}, *({**at, **each.settings} for each in single)]
    present, *rows = walk(cells)
    if present["outcome"] != "walked":
        return present, pd.DataFrame()
    return present, ranked(present, list(zip(single, rows, strict=True)))


def plain_cells(base: Scenario, cells: Sequence[Mapping[str, Any]]) -> list[Cell]:
    """Cells with values as the scenario holds them (-4.0, not -4): the key of a row is made from those."""
    held = [setting_values(replace_by_name(base, cell)) for cell in cells]
    return [{name: values[name] for name in cell} for cell, values in zip(cells, held, strict=True)]


def walk_in_memory(
    base: Scenario, executor: Executor | None = None, columns: Sequence[str] = STUDY_COLUMNS
) -> Walk:
    """Walk function that keeps these columns of its rows for the next call and writes nothing."""
    from sim.interrupt import stop_on_interrupt
    from sim.scatter import rows_as_they_come
    from sim.sweep import Stopped, keys_of

    known: dict[str, Row] = {}

    def walk(cells: Sequence[Cell]) -> list[Row]:
        plain = plain_cells(base, cells)
        keys = keys_of(base, plain)
        todo = {key: cell for key, cell in zip(keys, plain, strict=True) if key not in known}
        names, left = list(todo), list(todo.values())
        with stop_on_interrupt() as stop:
            for found in rows_as_they_come(base, left, executor, stop):
                for index, row in found:
                    known[names[index]] = {name: row.get(name) for name in columns}
            if stop.asked:
                raise Stopped(len(known), len(known) + len(left))
        return [known[key] for key in keys]

    return walk
