"""Which walks a sweep makes: every combination, lists in step with each other, or points spread over ranges.

A Latin hypercube has one value in each of `count` equal shares of every setting; Sobol' points fill all settings
together evenly (scipy.stats.qmc; scrambled with a seed, so the same seed gives the same walks).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from sim.compact import CellColumns
from sim.errors import RampwalkError, is_number
from sim.grid import LARGEST_GRID, Axes, Cell, axes_of, cells_of, checked_value, known_settings, rounded
from sim.scenario import Scenario
from sim.settings import full_name
from sim.spreads import spread_of, spread_text

DESIGNS = ("grid", "paired", "latin-hypercube", "sobol")


@dataclass(frozen=True, eq=False)
class Design:
    """Walks to make.

    Attributes
    ----------
    kind : str
        One of `DESIGNS`.
    cells : sequence of dict
        Full setting name -> value, in the order of the rows.
    axes : dict of str to tuple
        The values of a grid or of paired lists by full name; of sampled designs only the names, with no values.
    details : dict
        What is needed to make it again: spreads as text, count, seed.
    """

    kind: str
    cells: Sequence[Cell]
    axes: Axes
    details: dict[str, Any] = field(default_factory=dict)


def design_of(over: Mapping[str, Iterable[object]] | Design) -> Design:
    """The design itself, or the full grid over a mapping."""
    return over if isinstance(over, Design) else grid_design(over)


def grid_design(over: Mapping[str, Iterable[object]]) -> Design:
    """Every combination, the last axis changing fastest; see `sim.grid.axes_of`. Raises RampwalkError."""
    axes = axes_of(over)
    return Design("grid", cells_of(axes), axes)


def paired_design(over: Mapping[str, Iterable[object]]) -> Design:
    """Lists of the same length in step: the first walk has the first value of each.

    Parameters
    ----------
    over : mapping of str to iterable
        Setting name -> values; a value may come again.

    Raises
    ------
    RampwalkError
        If the lists are not equally long, or a name or value is not allowed.
    """
    known = known_settings()
    lists: dict[str, tuple[object, ...]] = {}
    for name, values in _by_full_name(over).items():
        if isinstance(values, str) or not isinstance(values, Iterable):
            raise RampwalkError(f"{name} is not a list of values; give a list.", name, values)
        lists[name] = tuple(checked_value(known[name], value) for value in values)
    lengths = {name: len(values) for name, values in lists.items()}
    if len(set(lengths.values())) > 1 or 0 in lengths.values():
        told = ", ".join(f"{name} has {length}" for name, length in lengths.items())
        raise RampwalkError(f"paired lists need equally many values, one or more: {told}; make them equally long.")
    rows = (dict(zip(lists, values, strict=True)) for values in zip(*lists.values(), strict=True))
    return Design("paired", CellColumns(tuple(lists), rows) if lists else [{}], lists)


def latin_hypercube_design(over: Mapping[str, object], count: int, seed: int = 0) -> Design:
    """Latin hypercube over ranges or distributions.

    Parameters
    ----------
    over : mapping of str to Spread, (low, high) or list
        Setting name -> how it is spread, see `sim.spreads.spread_of`. A whole setting is rounded.
    count : int
        Walks.
    seed : int
        Start of the random numbers.

    Raises
    ------
    RampwalkError
        If a name is unknown, a spread reaches beyond what is allowed, or the count is not 1 to `LARGEST_GRID`.
    """
    from scipy.stats import qmc

    _check_count(count)
    spread = _by_full_name(over)
    shares = qmc.LatinHypercube(len(spread), rng=_seeded(seed)).random(count) if spread else np.empty((count, 0))
    return _sampled("latin-hypercube", spread, shares, seed)


def sobol_design(over: Mapping[str, object], count: int, seed: int = 0) -> Design:
    """Scrambled Sobol' points over ranges or distributions; parameters as of `latin_hypercube_design`.

    Raises
    ------
    RampwalkError
        As there, and if the count is not a power of two: only then are the points balanced.
    """
    from scipy.stats import qmc

    _check_count(count)
    spread = _by_full_name(over)
    power = round(math.log2(count))
    if 2**power != count:
        below = 2 ** math.floor(math.log2(count))
        message = f"Sobol' points are balanced only for a power of two, not for {count}; give {below} or {2 * below}."
        raise RampwalkError(message, "count", count)
    shares = qmc.Sobol(len(spread), rng=_seeded(seed)).random_base2(power) if spread else np.empty((count, 0))
    return _sampled("sobol", spread, shares, seed)


def _seeded(seed: int) -> np.random.Generator:
    if not is_number(seed) or int(seed) != seed or seed < 0:
        raise RampwalkError(f"seed = {seed!r} is not a whole number of 0 or more; give one.", "seed", seed)
    return np.random.default_rng(int(seed))


def _check_count(count: int) -> None:
    if not is_number(count) or int(count) != count or not 1 <= count <= LARGEST_GRID:
        message = f"count = {count!r} is not a whole number of 1 to {LARGEST_GRID}; give one."
        raise RampwalkError(message, "count", count)


def _by_full_name(over: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for given, what in over.items():
        name = full_name(Scenario, given)
        if name in found:
            raise RampwalkError(f"{name} is given as an axis twice; give it once.", name)
        found[name] = what
    return found


def _sampled(kind: str, over: Mapping[str, object], shares: np.ndarray[Any, Any], seed: int) -> Design:
    spreads = {name: spread_of(name, given) for name, given in over.items()}
    details = {
        "spreads": {name: spread_text(spread) for name, spread in spreads.items()},
        "count": len(shares),
        "seed": int(seed),
    }
    cells = CellColumns(tuple(spreads), (cell_at(spreads, row) for row in shares))
    return Design(kind, cells, dict.fromkeys(spreads, ()), details)


def cell_at(spreads: Mapping[str, Any], shares: Sequence[float] | np.ndarray[Any, Any]) -> Cell:
    """Cell at a point of the unit cube, one share per setting; numbers are rounded to 12 digits.

    Raises
    ------
    RampwalkError
        If a value is not allowed.
    """
    known = known_settings()
    cell: Cell = {}
    for (name, spread), share in zip(spreads.items(), shares, strict=True):
        value = spread.ppf(float(share))
        if is_number(value):
            value = round(float(value)) if known[name].kind == "whole" else rounded(float(value))
        try:
            cell[name] = checked_value(known[name], value)
        except RampwalkError as err:
            raise RampwalkError(f"{str(err).rstrip('.')}; cut the spread of {name} there.", name, value) from err
    return cell
