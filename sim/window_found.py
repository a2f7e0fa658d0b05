"""What a search for the window of flexion resistance found: limits, pieces, the window."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from sim.scenario import Scenario
from sim.window_criteria import CRITERIA, Row


@dataclass(frozen=True)
class Limit:
    """A place where a criterion changes.

    Attributes
    ----------
    criterion : str
    kept, broken : float
        Neighbouring resistances at which it is kept and broken [N m s/rad].
    """

    criterion: str
    kept: float
    broken: float

    @property
    def value(self) -> float:
        """The limit [N m s/rad]: half-way by ratio."""
        return math.sqrt(self.kept * self.broken)


@dataclass(frozen=True)
class Piece:
    """A range of resistance in which no criterion is broken.

    Attributes
    ----------
    low, high : float
        Its ends [N m s/rad]; where no criterion closes an end, that of the scan.
    closed_low, closed_high : tuple of str
        Criteria broken just outside; empty where the scan ended first.
    """

    low: float
    high: float
    closed_low: tuple[str, ...]
    closed_high: tuple[str, ...]


@dataclass(frozen=True)
class Window:
    """What was found for one scenario.

    Attributes
    ----------
    scenario : Scenario
    pieces : tuple of Piece
        From low to high; empty if some criterion is broken everywhere, more than one if the window splits.
    first_trial : float or None
        Of the widest piece (by ratio) [N m s/rad].
    limits : tuple of Limit
        Of every criterion, from low to high; of a coarse search only those of the pieces.
    rows, excess : dict
        Resistance -> row of the walk, and excess of each criterion.
    best : dict of str to float
        Least values of the quantities that are judged against their best.
    """

    scenario: Scenario
    pieces: tuple[Piece, ...]
    first_trial: float | None
    limits: tuple[Limit, ...]
    rows: Mapping[float, Row]
    excess: Mapping[float, Mapping[str, float]]
    best: Mapping[str, float]

    @property
    def main(self) -> Piece | None:
        """The widest piece, by ratio."""
        return max(self.pieces, key=lambda piece: piece.high / piece.low, default=None)

    def always_broken(self) -> list[str]:
        """Criteria that no completed walk keeps."""
        return [
            name for name in CRITERIA
            if (known := [each[name] for each in self.excess.values() if not math.isnan(each[name])])
            and min(known) > 0.0
        ]

    def nearest(self) -> tuple[float, tuple[str, ...]]:
        """Resistance of the completed walk with the fewest broken criteria, the least broken first among equals, and
        those criteria; NaN and none if no walk was completed.
        """
        completed = [at for at, row in self.rows.items() if row["outcome"] == "walked"]
        if not completed:
            return math.nan, ()

        def how_broken(at: float) -> tuple[int, float]:
            over = [value for value in self.excess[at].values() if value > 0.0]
            return len(over), sum(over)

        at = min(sorted(completed), key=how_broken)
        return at, broken(self.excess[at])


def broken(excess: Mapping[str, float]) -> tuple[str, ...]:
    """Names of the criteria that are broken."""
    return tuple(name for name, value in excess.items() if value > 0.0)
