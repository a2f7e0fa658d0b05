"""One setting everywhere: which flexion resistance each activity bears, and where all of them meet.

The same grid by equal ratios for each activity; between neighbours of which one keeps all criteria and the other does
not, halving. A range narrower than the grid that no halving hits is not seen.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from sim.caution import CAUTION
from sim.errors import RampwalkError
from sim.overlap_criteria import ACTIVITIES, WELL, Excess, Overlap, Row
from sim.result import software_of
from sim.settings import as_dict
from sim.window import grid_of, middle
from sim.window_found import broken

LOW, HIGH, GRID, WIDTH, MOST_ROUNDS = 10.0, 320.0, 11, 0.03, 6
"""Ends of the range [N m s/rad], runs of the grid, ratio less 1 to which an end is found (all ours)."""
#: Runs pairs of activity and resistance, in their order.
Runs = Callable[[Sequence[tuple[str, float]]], Sequence[Row]]


@dataclass(frozen=True)
class Kept:
    """A range of resistance in which an activity keeps all its criteria.

    Attributes
    ----------
    low, high : float
        [N m s/rad]; the end of the scan where no criterion closes it.
    closed_low, closed_high : tuple of str
        Criteria broken just outside; empty where the scan ended.
    """

    low: float
    high: float
    closed_low: tuple[str, ...] = ()
    closed_high: tuple[str, ...] = ()


@dataclass(frozen=True)
class Asked:
    """What one activity asks for.

    Attributes
    ----------
    activity : str
        Of `ACTIVITIES`.
    windows : tuple of Kept
        From low to high; none if some criterion is broken everywhere.
    rows, excess : dict
        Resistance -> row of the run, and excess of each criterion; rising.
    """

    activity: str
    windows: tuple[Kept, ...]
    rows: Mapping[float, Row]
    excess: Mapping[float, Excess]

    def nearest(self) -> tuple[float, tuple[str, ...]]:
        """Resistance of the run with the fewest broken criteria, and those; runs that went well first."""

        def how_broken(at: float) -> tuple[bool, int, float]:
            over = [value for value in self.excess[at].values() if value > 0.0]
            return self.rows[at]["outcome"] != WELL[self.activity], len(over), sum(over)

        at = min(self.excess, key=how_broken)
        return at, broken(self.excess[at])

    @property
    def main(self) -> Kept | None:
        """The widest window, by ratio."""
        return max(self.windows, key=lambda kept: kept.high / kept.low, default=None)


def run_in_line(settings: Overlap) -> Runs:
    """Runs one after the other, in this process."""
    return lambda pairs: [ACTIVITIES[name].run(settings, resistance) for name, resistance in pairs]


def ask(
    settings: Overlap, names: Sequence[str] = tuple(ACTIVITIES), runs: Runs | None = None,
    low: float = LOW, high: float = HIGH, count: int = GRID,
) -> list[Asked]:
    """What each activity asks for.

    Parameters
    ----------
    settings : Overlap
    names : sequence of str
        Activities.
    runs : callable, optional
        Makes the runs of a round; None: `run_in_line`.
    low, high : float
        Ends of the range [N m s/rad].
    count : int
        Runs of the grid.

    Raises
    ------
    RampwalkError
        If nobody has a prosthesis, or an activity cannot be set up (a seat too high, a step too long).
    """  # fmt: skip
    if not settings.person.has_prosthesis:
        raise RampwalkError(
            "person.limbs = 'both-sound' has no prosthetic knee to set; use 'one-prosthetic'.", "person.limbs"
        )
    runs = runs or run_in_line(settings)
    rows: dict[str, dict[float, Row]] = {name: {} for name in names}
    wanted = [(name, at) for name in names for at in grid_of(low, high, count)]
    for _ in range(MOST_ROUNDS):
        for (name, at), row in zip(wanted, runs(wanted), strict=True):
            rows[name][at] = row
        wanted = [(name, at) for name in names for at in _between(settings, name, rows[name])]
        if not wanted:
            break
    return [_asked(settings, name, rows[name]) for name in names]


def excess_in(settings: Overlap, name: str, rows: Mapping[float, Row]) -> dict[float, Excess]:
    """Excess of each criterion at each resistance, rising."""
    activity, best = ACTIVITIES[name], {}
    for metric in activity.best:
        known = [row[metric] for row in rows.values() if row["outcome"] == WELL[name] and row[metric] is not None]
        best[metric] = min(known, default=math.nan)
    return {at: activity.judge(settings, rows[at], best) for at in sorted(rows)}


def _between(settings: Overlap, name: str, rows: Mapping[float, Row]) -> list[float]:
    excess = excess_in(settings, name, rows)
    return [
        middle(a, b)
        for a, b in itertools.pairwise(excess)
        if bool(broken(excess[a])) != bool(broken(excess[b])) and b / a > 1.0 + WIDTH
    ]


def _asked(settings: Overlap, name: str, rows: Mapping[float, Row]) -> Asked:
    excess = excess_in(settings, name, rows)
    places, windows = list(excess), []
    for kept, group in itertools.groupby(places, lambda at: not broken(excess[at])):
        run = list(group)
        if not kept:
            continue
        first, last = places.index(run[0]), places.index(run[-1])
        below = places[first - 1] if first else None
        above = places[last + 1] if last + 1 < len(places) else None
        windows.append(
            Kept(
                run[0] if below is None else middle(below, run[0]),
                run[-1] if above is None else middle(run[-1], above),
                () if below is None else broken(excess[below]),
                () if above is None else broken(excess[above]),
            )
        )
    return Asked(name, tuple(windows), {at: rows[at] for at in places}, excess)


@dataclass(frozen=True)
class SameSetting:
    """What all activities ask for, with the settings it was asked with."""

    settings: Overlap
    asked: tuple[Asked, ...]

    @property
    def common(self) -> list[tuple[float, float]]:
        """Ranges in a window of every activity."""
        return common(self.asked)

    def to_json_dict(self) -> dict[str, Any]:
        """Windows, criteria and rows as plain values."""
        (low, high), left_out = most_together(self.asked)
        found, numerics = not math.isnan(low), self.settings.numerics
        return {
            "settings": as_dict(self.settings),
            "activities": {each.activity: _plain(each) for each in self.asked},
            "common": self.common,
            "most_together": {"range": [low, high] if found else None, "left_out": left_out},
            "software": software_of(numerics.time_step_s, numerics.iterations, numerics.loop),
            "caution": CAUTION,
        }


def _plain(each: Asked) -> dict[str, Any]:
    at, names = each.nearest()
    runs = [
        {"resistance": place, "outcome": each.rows[place]["outcome"], "broken": broken(each.excess[place])}
        for place in each.rows
    ]
    return {
        "windows": [asdict(kept) for kept in each.windows],
        "fewest_broken": {"resistance": at, "criteria": names},
        "criteria": {name: told for name, (_, told) in ACTIVITIES[each.activity].criteria.items()},
        "runs": runs,
    }


def same_setting(settings: Overlap, runs: Runs | None = None, **grid: Any) -> SameSetting:
    """`ask` for all activities; nothing is random."""
    return SameSetting(settings, tuple(ask(settings, runs=runs, **grid)))


def common(asked: Sequence[Asked]) -> list[tuple[float, float]]:
    """Ranges of resistance that lie in a window of every activity, from low to high; empty if there are none."""
    ranges = [(0.0, math.inf)]
    for each in asked:
        ranges = [
            (max(low, kept.low), min(high, kept.high))
            for low, high in ranges
            for kept in each.windows
            if max(low, kept.low) < min(high, kept.high)
        ]
    return sorted(ranges)


def most_together(asked: Sequence[Asked]) -> tuple[tuple[float, float], tuple[str, ...]]:
    """The widest range that the most activities bear, and the activities that it leaves out.

    Returns
    -------
    ((float, float), tuple of str)
        Ends [N m s/rad] and names; NaN and all names if no activity has a window.
    """
    edges = sorted({end for each in asked for kept in each.windows for end in (kept.low, kept.high)})
    best: tuple[int, float, tuple[float, float], tuple[str, ...]] | None = None
    for low, high in itertools.pairwise(edges):
        centre = math.sqrt(low * high)
        out = tuple(each.activity for each in asked if not any(k.low <= centre <= k.high for k in each.windows))
        found = (-len(out), high / low, (low, high), out)
        if best is None or found[:2] > best[:2]:
            best = found
    if best is None:
        return (math.nan, math.nan), tuple(each.activity for each in asked)
    return best[2], best[3]
