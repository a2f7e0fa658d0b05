"""An outcome over two settings, and the edge between walks that are completed and walks that are not.

A coarse grid finds between which neighbours the edge runs; bisection there finds it to a stated share of the axis. All
edges are halved together, so that the walks of a round can be made at the same time.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.errors import RampwalkError, is_number
from sim.grid import Axes, Cell, known_settings, rounded

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
#: Walks cells and returns their rows in the same order, with `outcome`.
Walk = Callable[[Sequence[Cell]], "pd.DataFrame"]


@dataclass(frozen=True)
class Scale:
    """Values of one axis as places from 0 to 1, even or by ratios.

    Attributes
    ----------
    low, high : float
        Ends of the axis.
    log : bool
        By ratios.
    """

    low: float
    high: float
    log: bool

    def place(self, value: float) -> float:
        """Place of a value."""
        if self.log:
            return math.log(value / self.low) / math.log(self.high / self.low)
        return (value - self.low) / (self.high - self.low)

    def value(self, place: float) -> float:
        """Value at a place, 12 digits."""
        if self.log:
            return rounded(self.low * (self.high / self.low) ** place)
        return rounded(self.low + place * (self.high - self.low))


def scale_of(name: str, values: Sequence[object]) -> Scale:
    """Scale of an axis: by ratios if its values are spaced so. Raises RampwalkError for words or a single value."""
    if len(values) < 2 or not all(is_number(value) for value in values):
        raise RampwalkError(f"{name} needs two numbers or more to be an axis of a surface; give a range.", name)
    if known_settings()[name].kind == "whole":
        raise RampwalkError(f"{name} has whole values only, which cannot be halved; choose another axis.", name)
    numbers = sorted(float(str(value)) for value in values)
    low, high = numbers[0], numbers[-1]
    ratios = [b / a for a, b in itertools.pairwise(numbers)] if low > 0.0 else [1.0, 2.0]
    return Scale(low, high, len(numbers) > 2 and max(ratios) < 1.0001 * min(ratios))


@dataclass(frozen=True)
class Crossing:
    """Part of a grid line on which the edge lies.

    Attributes
    ----------
    fixed : dict
        Setting name -> value of the grid line (and of the panel).
    name : str
        Setting that changes along it.
    walked, ended : float
        Its value at the end where the walk was completed, and at the other.
    width : float
        Distance of the two as a share of the axis.
    """

    fixed: Cell
    name: str
    walked: float
    ended: float
    width: float

    @property
    def middle(self) -> Cell:
        """The edge as found: half-way between both ends, as a cell."""
        return {**self.fixed, self.name: 0.5 * (self.walked + self.ended)}


def crossings_of(axes: Axes, names: Sequence[str], walked: Mapping[tuple[object, ...], bool]) -> list[Crossing]:
    """Grid lines between neighbours of which one walk was completed and the other was not.

    Parameters
    ----------
    axes : dict of str to tuple
    names : sequence of str
        Axes along which the edge is looked for.
    walked : dict
        Values of all axes in their order -> whether the walk was completed.
    """
    order, found = list(axes), []
    for name in names:
        scale, at = scale_of(name, axes[name]), order.index(name)
        line = sorted(axes[name], key=lambda value: float(str(value)))
        following = dict(itertools.pairwise(line))
        for values, here in walked.items():
            other = following.get(values[at])
            if other is None:
                continue
            there = walked[(*values[:at], other, *values[at + 1 :])]
            if here != there:
                fixed = {key: value for key, value in zip(order, values, strict=True) if key != name}
                ends = [float(str(value)) for value in ((values[at], other) if here else (other, values[at]))]
                width = abs(scale.place(ends[0]) - scale.place(ends[1]))
                found.append(Crossing(fixed, name, ends[0], ends[1], width))
    return found


def refined(crossings: Sequence[Crossing], scales: Mapping[str, Scale], width: float, walk: Walk) -> list[Crossing]:
    """Halve crossings until each is at most `width` of its axis.

    Parameters
    ----------
    crossings : sequence of Crossing
    scales : dict of str to Scale
    width : float
        Share of the axis, above 0.
    walk : callable
        Called once per round with a cell per crossing.
    """
    done = list(crossings)
    while True:
        open_ones = [index for index, crossing in enumerate(done) if crossing.width > width * (1.0 + 1e-9)]
        if not open_ones:
            return done
        tried = [_half_way(done[index], scales[done[index].name]) for index in open_ones]
        cells = [{**done[index].fixed, done[index].name: value} for index, value in zip(open_ones, tried, strict=True)]
        outcomes = walk(cells)["outcome"].tolist()
        for index, value, outcome in zip(open_ones, tried, outcomes, strict=True):
            crossing = done[index]
            halved = replace(crossing, width=0.5 * crossing.width)
            done[index] = replace(halved, walked=value) if outcome == "walked" else replace(halved, ended=value)


def _half_way(crossing: Crossing, scale: Scale) -> float:
    return scale.value(0.5 * (scale.place(crossing.walked) + scale.place(crossing.ended)))


def edge_table(crossings: Sequence[Crossing]) -> pd.DataFrame:
    """One row per crossing: where the edge is, between which values, how wide that is in percent of the axis."""
    import pandas as pd

    rows = [
        {
            **crossing.middle,
            "along": crossing.name,
            "completed_at": crossing.walked,
            "not_completed_at": crossing.ended,
            "width_percent_of_axis": 100.0 * crossing.width,
        }
        for crossing in crossings
    ]
    return pd.DataFrame(rows)


def edge_segments(crossings: Sequence[Crossing], axes: Axes, x: str, y: str) -> list[tuple[Array, Array]]:
    """The edge of one panel as pieces of line through the cells of the grid: pairs of points, shape (2,) each.

    Every cell of the grid has an even number of crossings on its four sides; two are joined, four by their order.
    """
    by_cell: dict[tuple[int, int], list[Array]] = {}
    places = {name: sorted(float(str(value)) for value in axes[name]) for name in (x, y)}
    for crossing in crossings:
        middle = np.array([float(str(crossing.middle[name])) for name in (x, y)])
        other = y if crossing.name == x else x
        along = int(np.searchsorted(places[crossing.name], middle[0 if crossing.name == x else 1])) - 1
        line = places[other].index(float(str(crossing.fixed[other])))
        for beside in (line - 1, line):
            if 0 <= beside < len(places[other]) - 1:
                cell = (along, beside) if crossing.name == x else (beside, along)
                by_cell.setdefault(cell, []).append(middle)
    found = []
    for points in by_cell.values():
        ordered = sorted(points, key=lambda point: (point[0], point[1]))
        found += [(ordered[k], ordered[k + 1]) for k in range(0, len(ordered) - 1, 2)]
    return found
