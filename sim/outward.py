"""A grid walked outward: what does not walk from the standing pose is tried from the last landing of a neighbour.

First every cell is walked from the standing pose. Then, in rounds, every cell that fell or stalled is walked again from
a neighbour that walked in the round before, until a round brings no new one. Which neighbour is a matter of the grid
and of these outcomes alone, never of who was done first, so any number of workers gives the same table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from sim.compact import Replaced
from sim.design import Design
from sim.errors import RampwalkError, check_choice, is_number
from sim.grid import STARTS, Axes, Cell, ContinuedCell, via_of

#: Walks cells and returns their outcomes in the same order.
Outcomes = Callable[[Sequence[Cell]], list[str]]
#: What another start may change.
TRIED_AGAIN = frozenset({"fell", "stalled"})


def checked_start(start: str, design: Design) -> str:
    """The start, if this design can have it. Raises RampwalkError."""
    check_choice("start", start, STARTS)
    if start == STARTS[1] and design.kind != "grid":
        message = f"start = 'neighbour' needs a grid, where every walk has neighbours, not the design {design.kind!r}; "
        raise RampwalkError(message + "use the design 'grid', or start = 'standing'.", "start", start)
    return start


def walked_outward(cells: Sequence[Cell], axes: Axes, outcomes_of: Outcomes) -> Sequence[Cell]:
    """Walk a grid outward.

    Parameters
    ----------
    cells : sequence of dict
        Of the whole grid over the axes, as of `sim.grid.cells_of`.
    axes : dict of str to tuple
    outcomes_of : callable
        Called once with all cells, then once per round with cells to be begun from a neighbour.

    Returns
    -------
    sequence of dict
        One cell per cell, in their order: itself where it walked from the standing pose, or no neighbour walked, else
        a `ContinuedCell`, begun from the neighbour of its last try.
    """
    continued: dict[int, Cell] = {}
    last = Replaced(cells, continued)
    outcomes = outcomes_of(cells)
    beside = neighbours(axes)
    new = {index for index, outcome in enumerate(outcomes) if outcome == "walked"}
    while new:
        tried: dict[int, Cell] = {}
        for index, outcome in enumerate(outcomes):
            if outcome in TRIED_AGAIN:
                source = next((other for other in beside(index) if other in new), None)
                if source is not None:
                    tried[index] = ContinuedCell(cells[index], (*via_of(last[source]), dict(cells[source])))
        found = outcomes_of(list(tried.values())) if tried else []
        new = set()
        for (index, cell), outcome in zip(tried.items(), found, strict=True):
            continued[index], outcomes[index] = cell, outcome
            if outcome == "walked":
                new.add(index)
    return last


def neighbours(axes: Axes) -> Callable[[int], list[int]]:
    """Function that gives the neighbours of a cell by its number: next in value along one axis of numbers, the axes in
    their order, the lower value first. Words have no neighbours.
    """
    sizes = [len(values) for values in axes.values()]
    strides = [1] * len(sizes)
    for k in range(len(sizes) - 2, -1, -1):
        strides[k] = strides[k + 1] * sizes[k + 1]
    steps = [_steps(values) for values in axes.values()]

    def beside(index: int) -> list[int]:
        found = []
        for stride, size, step in zip(strides, sizes, steps, strict=True):
            place = index // stride % size
            found += [index + (other - place) * stride for other in step.get(place, ())]
        return found

    return beside


def _steps(values: Sequence[object]) -> Mapping[int, tuple[int, ...]]:
    """Place of a value on its axis -> places of the next lower and the next higher value."""
    numbers = [place for place, value in enumerate(values) if is_number(value)]
    order = sorted(numbers, key=lambda place: float(str(values[place])))
    return {
        place: tuple(order[other] for other in (at - 1, at + 1) if 0 <= other < len(order))
        for at, place in enumerate(order)
    }
