"""A number that knows where it comes from."""

import math
from dataclasses import dataclass

HOW_KNOWN = ("seen", "derived", "from memory", "common practice", "ours")
"""seen: read at the source. derived: our arithmetic on seen numbers or exact mechanics. from memory: recalled, not
looked up. common practice: what people of the trade say. ours: a guess or choice of the authors."""


@dataclass(frozen=True)
class Sourced:
    """Value with unit, source and spread.

    Parameters
    ----------
    value : float
        The number, in `unit`.
    unit : str
        Unit; "1" for a pure number.
    source : str
        Publication, or for a guess the reasoning. Never empty.
    how_known : str
        One of `HOW_KNOWN`.
    low, high : float, optional
        Band of the source, or for a guess the range we would accept [unit].
    note : str
        What to mind when using the number.

    Raises
    ------
    ValueError
        If the source is empty, the kind unknown, the value not finite or outside its own band, or if a guess
        comes without a range.
    """

    value: float
    unit: str
    source: str
    how_known: str
    low: float | None = None
    high: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise ValueError(f"a parameter of value {self.value} needs a source")
        if not self.unit.strip():
            raise ValueError(f"a parameter of value {self.value} needs a unit ('1' for a pure number)")
        if self.how_known not in HOW_KNOWN:
            raise ValueError(f"how_known = {self.how_known!r} is not one of {', '.join(HOW_KNOWN)}")
        if not math.isfinite(self.value):
            raise ValueError(f"a parameter must be finite, got {self.value}")
        if self.how_known == "ours" and (self.low is None or self.high is None):
            raise ValueError(f"our own guess {self.value} {self.unit} needs the range we would accept")
        below = self.low is not None and self.value < self.low
        above = self.high is not None and self.value > self.high
        if below or above:
            raise ValueError(f"value {self.value} {self.unit} is outside its own band {self.low} to {self.high}")
