"""Time series of chosen walks of a sweep as one netCDF file with units, for xarray and whatever else reads netCDF."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor as Pool
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.cell import walk_cell
from sim.errors import RampwalkError, shown
from sim.grid import Cell
from sim.scenario import Scenario
from sim.table import cell_key, column_of, setting_values

if TYPE_CHECKING:
    import pandas as pd

MOST_WALKS = 200
"""Most walks in one file (ours: 0.6 GB for walks of 12 strides, twice that in memory while it is written)."""
KEEP_HELP = "all, walked, fell, stalled, steady, or row numbers of table.csv from 0, as 0,5,12"
#: Ending of a column of `sim.series.named_columns` -> unit. The longest that fits counts.
UNITS = {"_s": "s", "_m": "m", "_deg": "deg", "_deg_s": "deg/s", "_bw": "body weights", "_nm": "N m", "_ankle_m": "m"}


def chosen_rows(given: str, table: pd.DataFrame) -> list[int]:
    """Rows of a sweep's table whose series are kept.

    Parameters
    ----------
    given : str
        See `KEEP_HELP`.
    table : DataFrame
        With columns `outcome` and `steady`.

    Raises
    ------
    RampwalkError
        If the text is neither, a row does not exist, or it would be more than `MOST_WALKS` walks.
    """
    rows: list[int]
    if given in {"walked", "fell", "stalled"}:
        rows = np.flatnonzero(table["outcome"] == given).tolist()
    elif given == "steady":
        rows = np.flatnonzero((table["outcome"] == "walked") & (table["steady"] == 1.0)).tolist()
    elif given == "all":
        rows = np.flatnonzero(table["outcome"] != "crashed").tolist()
    else:
        rows = numbered_rows(given)
        if max(rows) >= len(table):
            last = len(table) - 1
            raise RampwalkError(f"--keep-series has row {max(rows)}; the last row is {last}, give 0 to {last}.")
    if len(rows) > MOST_WALKS:
        raise RampwalkError(f"--keep-series = {given!r} is {len(rows)} walks; choose at most {MOST_WALKS} row numbers.")
    return rows


def check_choice_of_rows(given: str) -> None:
    """What can be checked before any walk: the words, and that the file can be written. Raises RampwalkError."""
    if given not in {"all", "walked", "fell", "stalled", "steady"}:
        numbered_rows(given)
    if find_spec("xarray") is None:
        message = "--keep-series needs xarray; install it with: pip install 'rampwalk[export]'."
        raise RampwalkError(message, "--keep-series", given)


def numbered_rows(given: str) -> list[int]:
    """Row numbers of a comma list, sorted, each once. Raises RampwalkError."""
    words = [word.strip() for word in given.split(",")]
    if not all(word.isascii() and word.isdecimal() and len(word) < 10 for word in words):
        raise RampwalkError(f"--keep-series = {shown(given)} is not {KEEP_HELP}; give one.", "--keep-series", given)
    return sorted({int(word) for word in words})


def series_of_cell(base: Scenario, cell: Cell) -> dict[str, Any]:
    """Time series of one cell, walked again (the same bits), one array per column."""
    from sim.series import named_columns

    result = walk_cell(base, cell)
    return dict(named_columns(result.series, result.scenario.person.weight))


def write_series(
    path: Path,
    base: Scenario,
    cells: Mapping[int, Cell],
    outcomes: Sequence[str],
    executor: Pool | Any | None = None,
) -> None:
    """Walk the cells again and write their series.

    Parameters
    ----------
    path : Path
        `.nc`; dimensions `walk` and `frame`. Shorter walks are filled up with NaN behind their end.
    base : Scenario
    cells : dict of int to dict
        Row number -> cell.
    outcomes : sequence of str
        One per cell.
    executor : optional
        As of `sim.sweep.sweep`.
    """
    import xarray as xr

    if executor is None:
        walks = [series_of_cell(base, cell) for cell in cells.values()]
    else:
        futures = [executor.submit(series_of_cell, base, cell) for cell in cells.values()]
        walks = [future.result() for future in futures]
    length = max((len(walk["time_s"]) for walk in walks), default=0)
    names = list(walks[0]) if walks else []
    data: dict[str, Any] = {}
    for name in names:
        filled = np.full((len(walks), length), np.nan)
        for row, walk in enumerate(walks):
            filled[row, : len(walk[name])] = walk[name]
        data[name] = (("walk", "frame"), filled, {"units": unit_of(name)})
    values = setting_values(base)
    keys = [cell_key(values, cell) for cell in cells.values()]
    coordinates: dict[str, Any] = {"walk": ("walk", np.array(list(cells), int), {"long_name": "row of table.csv"})}
    coordinates |= {"key": ("walk", np.array(keys, object)), "outcome": ("walk", np.array(list(outcomes), object))}
    for name in sorted({name for cell in cells.values() for name in cell}):
        coordinates[column_of(name)] = ("walk", _column([cell.get(name) for cell in cells.values()]))
    about = {"title": "rampwalk: time series of chosen walks", "comment": "angles and signs: docs/metrics.md"}
    dataset = xr.Dataset(data, coordinates, about)
    part = path.with_name(f"{path.name}.part")
    dataset.to_netcdf(part, engine="scipy", format="NETCDF3_64BIT")
    part.replace(path)


def _column(values: list[object]) -> np.ndarray[Any, Any]:
    """Values of a setting as numbers (None is NaN), or as words."""
    if any(isinstance(value, str) for value in values):
        return np.array([str(value) for value in values], object)
    return np.array([np.nan if value is None else value for value in values], float)


def unit_of(column: str) -> str:
    """Unit of a column of a time series, by the ending of its name."""
    fitting = [ending for ending in UNITS if column.endswith(ending)]
    return UNITS[max(fitting, key=len)] if fitting else "1"
