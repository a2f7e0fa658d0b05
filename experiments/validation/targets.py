"""Outside numbers, what our walker has beside them, and the verdict."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from experiments.validation.walks import Walks

DATA = Path(__file__).resolve().parents[2] / "tests" / "data"
NEAR = 0.5  # widths of the band outside it (ours)
GROSS = 2.0  # widths of the band outside it; beyond, a test fails (ours)
STATUSES = ("pass", "near", "miss", "warn", "not applicable", "input", "rule")


@dataclass(frozen=True)
class Target:
    """One row of the table; `low` and `high` are None for a sign or a rule."""

    id: str
    what: str
    condition: str
    slope_deg: float | None
    side: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    use: str
    confidence: str
    source: str
    note: str

    @property
    def recalled(self) -> bool:
        return self.confidence == "from memory"


@dataclass(frozen=True)
class Finding:
    """What our walker has: `ours` None if it did not walk, `direction` False if it goes the wrong way.

    `kind` is "check", or one of the last three statuses, which need no number.
    """

    ours: float | None
    how: str
    kind: str = "check"
    direction: bool | None = None
    fell: str = ""


Row = Callable[[Walks], Finding]


@dataclass(frozen=True)
class Answer:
    """A target, our finding, the verdict, and the likely cause if it is not met."""

    target: Target
    finding: Finding
    cause: str = field(default="")

    @property
    def distance(self) -> float:
        """How far outside the band, in widths of the band; infinite without a number or with the wrong sign."""
        ours, low, high = self.finding.ours, self.target.low, self.target.high
        if ours is None:
            return math.inf
        if low is None or high is None:
            return 0.0 if ours == self.target.value else math.inf
        return max(low - ours, ours - high, 0.0) / (high - low)

    @property
    def status(self) -> str:
        if self.finding.kind != "check":
            return self.finding.kind
        wrong = self.finding.direction is False
        if self.distance == 0.0 and not wrong:
            return "pass"
        if self.target.recalled:
            return "warn"
        return "near" if self.distance <= NEAR and not wrong else "miss"

    @property
    def gross(self) -> bool:
        """A gross miss or a wrong direction, the only thing on which a comparison with people fails.

        A recalled number fails nothing; a direction that goes with it may be firm.
        """
        if self.finding.kind != "check" or "no pass/fail" in self.target.note:
            return False
        far = self.distance > GROSS and not self.target.recalled
        return far or self.finding.direction is False


def table(*path: str) -> list[dict[str, str]]:
    """Rows of a CSV file under `tests/data`."""
    with DATA.joinpath(*path).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def targets() -> dict[str, Target]:
    """All rows of the table by id, in its order."""
    numbers = ("slope_deg", "value", "low", "high")
    rows = [
        Target(**{name: (float(text) if text else None) if name in numbers else text for name, text in row.items()})  # type: ignore[arg-type]
        for row in table("reference", "targets.csv")
    ]
    return {row.id: row for row in rows}


def not_applicable(reason: str) -> Row:
    return lambda _walks: Finding(None, reason, "not applicable")
