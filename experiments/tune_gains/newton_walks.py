"""Walks that the search by Gauss-Newton steps looks at: drawn ones, and those of the acceptance report."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from experiments.acceptance.run import HUMAN_CELLS, map_axes
from experiments.tune_gains.joint import Draw, able_walks, odd_steps, other_walks, quick_walks, spread
from experiments.tune_gains.polish import one

#: Weight of the walks of a draw.
DRAWS = {
    "even": 1.0, "otherwise": 0.3, "quick": 0.5, "odd steps": 0.1, "window": 1.0, "stiff": 0.3, "able": 1.0, "map": 0.1,
    "steep": 1.0,
}  # fmt: skip
#: Walks along each axis of the report's map.
MAP = 7
#: Seconds of a walk of 12 strides.
TWELVE_STRIDES = 16.5


def window_walks(rng: np.random.Generator, size: int) -> Draw:
    """The stiff half of the window where the knee has to bend."""
    count = 8 * size
    slopes, steps = spread(rng, count, -10.3, -7.7), spread(rng, count, 0.44, 0.56)
    shares = spread(rng, count, 0.0, 1.0) ** 0.5
    walkers = [one(*cell) for cell in zip(slopes, steps, 33.0 + 18.0 * shares, strict=True)]
    return Draw("window", DRAWS["window"], 12.5, walkers, False)


def stiff_walks(rng: np.random.Generator, size: int) -> Draw:
    """Knees far stiffer than the window, short and long steps."""
    count = 4 * size
    slopes, steps, shares = spread(rng, count, -12.0, -6.5), spread(rng, count, 0.4, 0.6), spread(rng, count, 0.0, 1.0)
    walkers = [one(*cell) for cell in zip(slopes, steps, 58.0 * 2.0**shares, strict=True)]
    return Draw("stiff", DRAWS["stiff"], 12.5, walkers, False)


def steep_walks(rng: np.random.Generator, size: int) -> Draw:
    """Steeper than the map, most at about the step and resistance that the acceptance report takes there."""
    count = 12 * size
    slopes, steps = spread(rng, count, -15.3, -12.3), 0.5 + 0.07 * spread(rng, count, -1.0, 1.0) ** 3
    resistances = 45.0 * 1.6 ** (spread(rng, count, -1.0, 1.0) ** 3)
    walkers = [one(*cell) for cell in zip(slopes, steps, resistances, strict=True)]
    return Draw("steep", DRAWS["steep"], TWELVE_STRIDES, walkers, False)


def able_level(rng: np.random.Generator, size: int) -> Draw:
    """Able-bodied people on level ground."""
    count = 4 * size
    return Draw("able", DRAWS["able"], 10.0, able_walks(rng, np.zeros(count), spread(rng, count, 0.95, 1.35)), False)


def able_down(rng: np.random.Generator, size: int) -> Draw:
    """The same downhill, from slow to quick."""
    count = 8 * size
    walkers = able_walks(rng, spread(rng, count, -11.0, -1.0), spread(rng, count, 0.9, 1.33))
    return Draw("able", DRAWS["able"], 10.0, walkers, False)


#: What is walked; `None` are the triples of neighbours between the slopes that are asked for.
SOME: dict[str, tuple[Callable[[np.random.Generator, int], Draw] | None, ...]] = {
    "all": (None, other_walks, quick_walks, odd_steps), "alone": (None,), "window": (None, window_walks, stiff_walks),
    "steep": (steep_walks,), "able level": (able_level,), "able": (able_level, able_down, quick_walks),
}  # fmt: skip


class Cells(NamedTuple):
    """Walks of the acceptance report: slope [deg], step [m] and resistance [N m s/rad] of each, and neighbours."""

    cells: tuple[tuple[float, float, float], ...]
    map_cells: int  # so many of them, the first, are of the map
    triples: tuple[tuple[int, int, int], ...]

    def draws(self) -> list[Draw]:
        """The map and the others, ready to be packed."""
        walkers = [one(*cell) for cell in self.cells]
        parts = {"map": walkers[: self.map_cells], "window": walkers[self.map_cells :]}
        return [Draw(name, DRAWS[name], TWELVE_STRIDES, some, False) for name, some in parts.items()]

    def among(self, kept: Sequence[int]) -> Cells:
        """These triples and what is no neighbour."""
        triples = [self.triples[k] for k in kept]
        old = sorted({cell for triple in triples for cell in triple})
        new = {cell: i for i, cell in enumerate(old)}
        cells = tuple(self.cells[cell] for cell in old) + self.cells[self.map_cells :]
        return Cells(cells, len(old), tuple((new[a], new[b], new[c]) for a, b, c in triples))


def cells_of_report() -> Cells:
    """The map and the walks that its human lines look at."""
    cells = [tuple(float(v) for v in cell) for cell in itertools.product(*map_axes(MAP))]
    index = np.arange(len(cells)).reshape(MAP, MAP, MAP)
    along = [np.moveaxis(index, axis, 0) for axis in range(3)]
    triples = np.concatenate([np.stack([i[:-2], i[1:-1], i[2:]], -1).reshape(-1, 3) for i in along])
    human = itertools.product(*HUMAN_CELLS)
    return Cells((*cells, *human), len(cells), tuple((int(a), int(b), int(c)) for a, b, c in triples))
