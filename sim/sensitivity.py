"""Which setting moves which outcome, and how much: Sobol' indices and one-at-a-time differences.

A first index is the share of an outcome's variance that a setting explains alone, a total index the share in which it
takes part (Saltelli et al. 2010, doi 10.1016/j.cpc.2009.09.018, as in `scipy.stats.sobol_indices`). A fall has no step
length and no peak force, so those indices are taken over the largest range around the base walk in which every walk of
the design was completed; over the whole range only the index of not completing the walk itself is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.design import cell_at
from sim.errors import RampwalkError, is_number
from sim.grid import Cell
from sim.influences import Influence, share_of
from sim.scenario import Scenario
from sim.table import setting_values

if TYPE_CHECKING:
    import pandas as pd

OUTCOMES = (
    "sound_peak_force_bw",
    "sound_loading_rate_bw_s",
    "knee_loaded_peak_rate_deg_s",
    "knee_flexion_at_sound_landing_deg",
    "com_forward_travel_m",
    "speed_m_s",
)
"""Continuous outcomes that are studied."""
NOT_COMPLETED = "not_completed"
"""1 for a walk that fell, stalled or has no result, 0 for one that was completed."""
#: Parts of the whole range that are tried until every walk is completed (ours).
PARTS = (1.0, 0.7, 0.5, 0.35, 0.25, 0.18, 0.12, 0.08, 0.05)
CONFIDENCE, RESAMPLES = 0.95, 1000

Array = NDArray[np.float64]
#: Walks cells and returns a table of them, in their order, with `outcome` and the outcomes asked for.
Walk = Callable[[Sequence[Cell]], "pd.DataFrame"]


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """What a study found.

    Attributes
    ----------
    indices : DataFrame
        One row per outcome and setting: `outcome`, `setting`, `first`, `first_low`, `first_high`, `total`, `total_low`,
        `total_high` (95 %), `part` of the whole range over which they hold, `range_low`, `range_high` there, `walks`.
    tornado : DataFrame
        One row per setting: its ends, how the walk at each ended, and every outcome there and its `swing`.
    part : float or None
        Of the whole range in which all walks were completed; None if there is none among `PARTS`.
    completed : float
        Share of completed walks over the whole range.
    walks : int
    """

    indices: pd.DataFrame
    tornado: pd.DataFrame
    part: float | None
    completed: float
    walks: int


def study(
    base: Scenario, influences: Mapping[str, Influence], count: int, seed: int, walk: Walk
) -> Sensitivity:
    """Walk the design and take the indices.

    Parameters
    ----------
    base : Scenario
        The walk around which everything varies.
    influences : dict of str to Influence
        By full setting name.
    count : int
        Base points, a power of two; the design has count x (settings + 2) walks, and some more to find the range.
    seed : int
    walk : callable

    Raises
    ------
    RampwalkError
        If the count is not a power of two, or the base walk itself is not completed.
    """
    import pandas as pd

    if not 8 <= count <= 65536 or count & (count - 1):
        raise RampwalkError(f"--samples = {count} is not a power of two from 8 to 65536; give 64, for example.")
    tornado = tornado_of(influences, walk)
    centre = centre_of(base, influences)
    whole = _Design(influences, centre, 1.0, walk, (NOT_COMPLETED,))
    fall = whole.values(count, seed)
    completed = 1.0 - float(fall[0].mean())
    parts = [index_rows(fall, (NOT_COMPLETED,), whole, seed)]
    used = None
    walks = whole.walks
    for part in PARTS:
        design = _Design(influences, centre, part, walk, OUTCOMES)
        try:
            values = design.values(count, seed)
        except _NotAllCompleted:
            walks += design.walks if part < 1.0 else 0  # the whole range is walked already
            continue
        walks += design.walks if part < 1.0 else 0
        parts.append(index_rows(values, OUTCOMES, design, seed))
        used = part
        break
    return Sensitivity(pd.concat(parts, ignore_index=True), tornado, used, completed, walks + len(tornado) * 2 + 1)


class _NotAllCompleted(Exception):  # noqa: N818  # no error: the next smaller range is tried
    """Some walk of a range was not completed."""


class _Design:
    """Points of one part of the range."""

    def __init__(
        self, influences: Mapping[str, Influence], centre: Array, part: float, walk: Walk, outcomes: tuple[str, ...]
    ) -> None:
        self.influences, self.centre, self.part, self.walk, self.outcomes = influences, centre, part, walk, outcomes
        self.walks = 0

    def cells(self, shares: Array) -> list[Cell]:
        """Cells at points of the unit cube, shape (settings, points), drawn together around the base."""
        inside = self.centre[:, None] + self.part * (shares - self.centre[:, None])
        spreads = {name: influence.spread for name, influence in self.influences.items()}
        return [cell_at(spreads, point) for point in inside.T]

    def evaluate(self, shares: Array) -> Array:
        """Outcomes at points, shape (outcomes, points)."""
        cells = self.cells(shares)
        table = self.walk(cells)
        self.walks += len(cells)
        ended: Array = (table["outcome"] != "walked").to_numpy().astype(np.float64)
        if self.outcomes == (NOT_COMPLETED,):
            return ended[None]
        values = table[list(self.outcomes)].to_numpy(float).T
        if ended.any() or not np.isfinite(values).all():
            raise _NotAllCompleted
        return values

    def values(self, count: int, seed: int) -> tuple[Array, Array, Array]:
        """Outcomes at the points A and B, shape (outcomes, count), and AB, shape (settings, outcomes, count)."""
        from scipy.stats import sobol_indices, uniform

        found: list[Array] = []

        def evaluated(shares: Array) -> Array:
            found.append(self.evaluate(shares))
            return found[-1].copy()

        size = len(self.influences)
        shares: list[Any] = [uniform()] * size
        sobol_indices(func=evaluated, n=count, dists=shares, rng=np.random.default_rng(seed))
        first, second, mixed = found
        return first, second, np.moveaxis(mixed.reshape(-1, count, size), -1, 0)


def index_rows(
    values: tuple[Array, Array, Array], outcomes: Sequence[str], design: Any, seed: int
) -> pd.DataFrame:
    """Rows of `Sensitivity.indices` of some outcomes; an outcome that does not vary has no index."""
    import pandas as pd

    first, second, mixed = values
    count = first.shape[1]
    random = np.random.default_rng(seed)
    point = sobol_from(first, second, mixed)
    drawn = np.array(
        [sobol_from(first[:, i], second[:, i], mixed[..., i]) for i in random.integers(0, count, (RESAMPLES, count))]
    )
    tails = 50.0 * (1.0 - CONFIDENCE)
    low, high = np.percentile(drawn, [tails, 100.0 - tails], axis=0)
    rows = []
    for o, outcome in enumerate(outcomes):
        flat = np.ptp(np.concatenate([first[o], second[o]])) == 0.0
        for s, (name, influence) in enumerate(design.influences.items()):
            row: dict[str, Any] = {"outcome": outcome, "setting": name}
            for k, kind in enumerate(("first", "total")):
                found = [np.nan] * 3 if flat else [point[k, o, s], low[k, o, s], high[k, o, s]]
                row |= dict(zip((kind, f"{kind}_low", f"{kind}_high"), map(float, found), strict=True))
            ends = design.centre[s] + design.part * (np.array([0.0, 1.0]) - design.centre[s])
            if design.part == 1.0:
                row |= dict(zip(("range_low", "range_high"), influence.ends, strict=True))
            else:
                row |= {"range_low": influence.spread.ppf(ends[0]), "range_high": influence.spread.ppf(ends[1])}
            rows.append(row | {"part": design.part, "walks": design.walks})
    return pd.DataFrame(rows)


def sobol_from(first: Array, second: Array, mixed: Array) -> Array:
    """First and total indices, shape (2, outcomes, settings), of outcomes at A, B and AB."""
    from scipy.stats import sobol_indices

    found = sobol_indices(func={"f_A": first, "f_B": second, "f_AB": mixed}, n=first.shape[1])
    shape = (first.shape[0], mixed.shape[0])
    return np.array([np.reshape(found.first_order, shape), np.reshape(found.total_order, shape)])


def centre_of(base: Scenario, influences: Mapping[str, Influence]) -> Array:
    """Shares at which the spreads have the values of the base, shape (settings,); the middle for words."""
    given = setting_values(base) | {"cadence_steps_per_min": 60.0 / base.step_time, "speed_m_s": base.speed}
    return np.array(
        [
            share_of(influence, float(given[name])) if is_number(given[name]) else 0.5
            for name, influence in influences.items()
        ]
    )


def tornado_of(influences: Mapping[str, Influence], walk: Walk) -> pd.DataFrame:
    """One setting at a time at its two ends. Raises RampwalkError if the base walk is not completed."""
    import pandas as pd

    ends = [influence.ends for influence in influences.values()]
    spreads = {name: influence.spread for name, influence in influences.items()}
    cells: list[Cell] = [{}]
    for (name, _), pair in zip(spreads.items(), ends, strict=True):
        cells += [cell_at({name: _Fixed(end)}, [0.0]) for end in pair]
    table = walk(cells).reset_index(drop=True)
    if table["outcome"][0] != "walked":
        raise RampwalkError(
            f"the walk around which everything would vary {table['outcome'][0]}: choose another slope, step length or "
            "flexion resistance, with which the person walks."
        )
    rows = []
    for index, (name, pair) in enumerate(zip(spreads, ends, strict=True)):
        low, high = table.iloc[1 + 2 * index], table.iloc[2 + 2 * index]
        row: dict[str, Any] = {"setting": name, "range_low": pair[0], "range_high": pair[1]}
        row |= {"outcome_low": low["outcome"], "outcome_high": high["outcome"]}
        for outcome in OUTCOMES:
            values = [float(end[outcome]) if end["outcome"] == "walked" else np.nan for end in (low, high)]
            row |= {f"{outcome}_base": float(table[outcome][0])}
            row |= {f"{outcome}_low": values[0], f"{outcome}_high": values[1]}
            row |= {f"{outcome}_swing": values[1] - values[0]}
        rows.append(row)
    return pd.DataFrame(rows)


@dataclass(frozen=True)
class _Fixed:
    """Spread of one value."""

    value: object

    def ppf(self, share: float) -> object:
        """The value, at any share."""
        del share
        return self.value


def strongest(found: Sensitivity, outcome: str, count: int = 3) -> pd.DataFrame:
    """Rows of `Sensitivity.indices` of the settings with the largest total indices of an outcome."""
    rows = found.indices[found.indices["outcome"] == outcome].dropna(subset=["total"])
    return rows.sort_values("total", ascending=False, kind="stable").head(count)
