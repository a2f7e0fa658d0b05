"""The window of flexion resistance: where no criterion is broken, and which one closes each end.

A grid by equal ratios finds between which neighbours a criterion changes; halving there finds the limit. Every walk
that is made counts for all criteria, and brackets are looked for anew in each round, so an island that halving hits
upon is kept, and the window may come in pieces. An island narrower than the grid that no halving hits is not seen.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from sim.errors import RampwalkError
from sim.grid import Cell, rounded
from sim.scenario import Scenario, replace_by_name
from sim.window_criteria import BESTS, CRITERIA, Criteria, Row, excess_of
from sim.window_found import Limit, Piece, Window, broken

RESISTANCE = "knee.flexion_resistance"
LOW, HIGH = 8.0, 500.0
"""Ends of the scanned resistance [N m s/rad] (ours: half of the least and ten times the largest balance of row Q05)."""
GRID, WIDTH = 17, 0.005
"""Walks of the first grid; ratio less 1 within which a limit is found (both ours)."""
GUARDS = (0.01, 0.02, 0.04, 0.07)
"""How far inside its ends the first window is looked at once more, by ratio (ours)."""
BEST_ROUNDS, START_ROUNDS, MOST_ROUNDS = 3, 2, 40
#: Walks cells, full setting names, and returns a row with `sim.window_criteria.COLUMNS` for each, in their order.
Walk = Callable[[Sequence[Cell]], Sequence[Row]]


class _Search:
    """One window under way. Each generator yields the resistances that it wants walked next."""

    def __init__(self, base: Scenario, changes: Cell, criteria: Criteria, each: bool, width: float) -> None:
        self.scenario = replace_by_name(base, changes)
        self.changes, self.criteria, self.each, self.width = changes, criteria, each, width
        self.rows: dict[float, Row] = {}
        self.best: dict[str, float] = {}

    def steps(self, grid: Sequence[float]) -> Any:
        """Resistances to walk next, round after round: grid, beside the best, limits, just inside, first trial."""
        yield grid
        for _ in range(BEST_ROUNDS):
            yield self._beside_best()
        self.best = {name: self._least(name)[1] for name in BESTS}
        yield from self._halving()
        if self.each:
            yield self._just_inside()
            yield from self._halving()
        piece = self.window().main
        if piece is not None:
            low, high = self._inside(piece)
            yield [rounded(low * (high / low) ** (k / 6)) for k in range(7)]
            for _ in range(START_ROUNDS):
                start = self.window().first_trial
                assert start is not None
                yield [value for value in self._halves(start) if low <= value <= high]

    def _halving(self) -> Any:
        for _ in range(MOST_ROUNDS):
            wanted = {middle(a, b) for _, a, b in self.brackets() if abs(math.log(b / a)) > math.log1p(self.width)}
            if not wanted:
                return
            yield sorted(wanted)

    def _just_inside(self) -> list[float]:
        """Resistances a little inside each end: on a rough map a criterion may be broken there once more."""
        found = set()
        for piece in self.window().pieces:
            for share in GUARDS:
                inward = (piece.low * (1.0 + share), piece.high / (1.0 + share))
                found |= {rounded(value) for value in inward if piece.low < value < piece.high}
        return sorted(found)

    def _least(self, name: str) -> tuple[float, float]:
        known = [(float(row[name]), at) for at, row in self.rows.items() if row["outcome"] == "walked" and row[name] is
                 not None and not math.isnan(float(row[name]))]
        value, at = min(known, default=(math.nan, math.nan))
        return at, value

    def _beside_best(self) -> list[float]:
        places = [self._least(name)[0] for name in BESTS]
        return sorted({value for at in places if not math.isnan(at) for value in self._halves(at)})

    def _halves(self, at: float) -> list[float]:
        known = sorted(self.rows)
        place = known.index(at)
        beside = [known[k] for k in (place - 1, place + 1) if 0 <= k < len(known)]
        return [middle(at, other) for other in beside if abs(math.log(other / at)) > math.log1p(self.width)]

    def excess(self) -> dict[float, dict[str, float]]:
        return {at: excess_of(self.rows[at], self.scenario, self.criteria, self.best) for at in sorted(self.rows)}

    def brackets(self) -> list[tuple[str, float, float]]:
        """Criterion, resistance where it is kept, neighbouring one where it is broken."""
        excess, found = self.excess(), []
        names = list(CRITERIA) if self.each else []
        for name in names:  # a criterion that a fall leaves unknown has no limit there: the fall has
            known = [at for at in excess if not math.isnan(excess[at][name])]
            for a, b in itertools.pairwise(known):
                if (excess[a][name] > 0.0) != (excess[b][name] > 0.0):
                    found.append((name, a, b) if excess[b][name] > 0.0 else (name, b, a))
        for a, b in itertools.pairwise(excess):
            if bool(broken(excess[a])) != bool(broken(excess[b])):
                found.append(("any", a, b) if broken(excess[b]) else ("any", b, a))
        return found

    def window(self) -> Window:
        """What is known so far."""
        excess = self.excess()
        limits = {Limit(*bracket) for bracket in self.brackets() if bracket[0] != "any"}
        pieces: list[Piece] = []
        for kept, run in itertools.groupby(excess, lambda at: not broken(excess[at])):
            if kept:
                pieces.append(self._piece(list(run), list(excess), excess))
        for piece in pieces:
            places = list(excess)
            inside = [at for at in places if piece.low <= at <= piece.high]
            for end, step, names in ((inside[0], -1, piece.closed_low), (inside[-1], 1, piece.closed_high)):
                limits |= {Limit(name, end, places[places.index(end) + step]) for name in names}
        ordered = tuple(sorted(limits, key=lambda limit: (limit.value, limit.criterion)))
        found = Window(self.scenario, tuple(pieces), None, ordered, dict(self.rows), excess, dict(self.best))
        return replace(found, first_trial=self._first_trial(found))

    @staticmethod
    def _piece(run: list[float], places: list[float], excess: Mapping[float, Mapping[str, float]]) -> Piece:
        first, last = places.index(run[0]), places.index(run[-1])
        below = places[first - 1] if first else None
        above = places[last + 1] if last + 1 < len(places) else None
        return Piece(
            run[0] if below is None else middle(below, run[0]),
            run[-1] if above is None else middle(run[-1], above),
            () if below is None else broken(excess[below]),
            () if above is None else broken(excess[above]),
        )

    def _inside(self, piece: Piece) -> tuple[float, float]:
        ratio = (piece.high / piece.low) ** self.criteria.keep_from_ends_share
        return piece.low * ratio, piece.high / ratio

    def _first_trial(self, found: Window) -> float | None:
        if found.main is None:
            return None
        low, high = self._inside(found.main)
        centre = math.sqrt(low * high)
        inside = [at for at in found.rows if low * (1 - 1e-9) <= at <= high * (1 + 1e-9)]
        inside = [at for at in inside if not broken(found.excess[at])]
        rule = self.criteria.first_trial_rule
        if rule == "middle" or not inside:
            return rounded(centre)

        def peak(at: float) -> float:
            return float(found.rows[at]["sound_peak_force_bw"])

        def unevenness(at: float) -> float:
            return abs(float(found.rows[at]["sound_impulse_share"]) - 0.5)

        if rule == "even-impulse":
            least = min(unevenness(at) for at in inside)
            inside = [at for at in inside if unevenness(at) <= least + self.criteria.even_enough_share]
        return min(inside, key=lambda at: (peak(at), at))


def middle(a: float, b: float) -> float:
    """Half-way between two resistances by ratio, 12 digits."""
    return rounded(math.sqrt(a * b))


def find_windows(
    base: Scenario,
    changes: Sequence[Cell],
    walk: Walk,
    criteria: Criteria | None = None,
    low: float = LOW,
    high: float = HIGH,
    count: int = GRID,
    coarse_count: int = 11,
    thorough: bool = True,
) -> list[Window]:
    """Windows of several scenarios, their walks made together.

    Parameters
    ----------
    base : Scenario
    changes : sequence of dict
        Settings laid over the base, full names, one dict per window. Of the first every criterion's limits are found
        and from a finer grid; of the others only the ends of the window.
    walk : callable
        Called once per round with the cells of all windows.
    criteria : Criteria, optional
    low, high : float
        Ends of the scan [N m s/rad].
    count, coarse_count : int
        Walks of the grid of the first window and of the others.
    thorough : bool
        False: the first window is found as coarsely as the others.

    Raises
    ------
    RampwalkError
        If nobody in the scenario has a prosthesis, the scan is not one, or a change is not allowed.
    """
    if not 0.0 < low < high:
        raise RampwalkError(f"resistance from {low:g} to {high:g} N m s/rad is no range above 0; give 8 to 500.", "low")
    if min(count, coarse_count) < 3:
        raise RampwalkError("a window needs a grid of 3 walks or more; give 17.", "count")
    criteria = criteria or Criteria()
    searches = [
        _Search(base, dict(change), criteria, fine, WIDTH if fine else 2 * WIDTH)
        for change, fine in ((change, thorough and k == 0) for k, change in enumerate(changes))
    ]
    for search in searches:
        if not search.scenario.person.has_prosthesis:
            raise RampwalkError(
                "person.limbs = 'both-sound' has no prosthetic knee and so no window; use 'one-prosthetic'.",
                "person.limbs",
            )
        replace_by_name(search.scenario, {RESISTANCE: low})
        replace_by_name(search.scenario, {RESISTANCE: high})
    counts = [count if search.each else coarse_count for search in searches]
    todo = [(search, search.steps(grid_of(low, high, n))) for search, n in zip(searches, counts, strict=True)]
    while todo:
        asked = []
        for search, steps in list(todo):
            wanted = next(steps, None)
            if wanted is None:
                todo.remove((search, steps))
            else:
                asked += [(search, value) for value in wanted if value not in search.rows]
        rows = walk([{**search.changes, RESISTANCE: value} for search, value in asked]) if asked else []
        for (search, value), row in zip(asked, rows, strict=True):
            search.rows[value] = row
    return [search.window() for search in searches]


def grid_of(low: float, high: float, count: int) -> list[float]:
    """Resistances from low to high by equal ratios."""
    return [rounded(low * (high / low) ** (k / (count - 1))) for k in range(count)]
