"""How a setting is spread over walks: a range, a distribution or words, each as values at shares of 0 to 1."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from sim.errors import RampwalkError, is_number, number_text, shown
from sim.grid import is_range, parse_range

if TYPE_CHECKING:
    from collections.abc import Callable

SPREAD_HELP = (
    "low:high, low:high:log, normal:mean:sd, normal:mean:sd:low:high, triangular:low:mode:high, or a comma list of "
    "words or numbers that are equally likely"
)


class Spread(Protocol):
    """Anything with an inverse distribution function; frozen distributions of `scipy.stats` have it."""

    def ppf(self, share: Any) -> Any:
        """Value below which this share of all values lies."""
        ...


@dataclass(frozen=True)
class Uniform:
    """Every value from low to high equally likely; with `log`, every ratio."""

    low: float
    high: float
    log: bool = False

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise _unusable(self, "needs a low end below its high end; swap or change them")
        if self.log and self.low <= 0.0:
            raise _unusable(self, "cannot be spaced by ratios; give two ends above 0, or leave out log")

    def ppf(self, share: float) -> float:
        """Value at a share of 0 to 1."""
        if self.log:
            return float(self.low * (self.high / self.low) ** share)
        return self.low + (self.high - self.low) * share


@dataclass(frozen=True)
class Normal:
    """Bell curve of this mean and standard deviation, cut off at low and high."""

    mean: float
    standard_deviation: float
    low: float = -math.inf
    high: float = math.inf

    def __post_init__(self) -> None:
        if self.standard_deviation <= 0.0:
            raise _unusable(self, "needs a standard deviation above 0; give one")
        if not self.low < self.high:
            raise _unusable(self, "needs a low end below its high end; swap or change them")

    def ppf(self, share: float) -> float:
        """Value at a share of 0 to 1."""
        from scipy.stats import truncnorm

        ends = [(end - self.mean) / self.standard_deviation for end in (self.low, self.high)]
        return float(truncnorm.ppf(share, *ends, loc=self.mean, scale=self.standard_deviation))


@dataclass(frozen=True)
class Triangular:
    """Most likely at the mode, less so towards low and high, where it ends."""

    low: float
    mode: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.mode <= self.high or self.low == self.high:
            raise _unusable(self, "needs low, mode and high in this order; sort them")

    def ppf(self, share: float) -> float:
        """Value at a share of 0 to 1."""
        width = self.high - self.low
        if share * width <= self.mode - self.low:
            return self.low + math.sqrt(share * width * (self.mode - self.low))
        return self.high - math.sqrt((1.0 - share) * width * (self.high - self.mode))


@dataclass(frozen=True)
class OneOf:
    """Some values, words or numbers, equally likely."""

    values: tuple[object, ...]

    def __post_init__(self) -> None:
        if not self.values:
            raise _unusable(self, "has no values; give at least one")

    def ppf(self, share: float) -> object:
        """Value at a share of 0 to 1."""
        return self.values[min(int(share * len(self.values)), len(self.values) - 1)]


def _unusable(spread: object, why: str) -> RampwalkError:
    return RampwalkError(f"{shown(spread)} {why}.", value=spread)


def spread_of(name: str, given: object) -> Spread:
    """Spread as it may be given from a script.

    Parameters
    ----------
    name : str
        Setting, for messages.
    given : Spread, (low, high) or list
        A pair of numbers is a range; a list holds values that are equally likely.

    Raises
    ------
    RampwalkError
        If it is none of these.
    """
    if hasattr(given, "ppf"):
        return given
    if isinstance(given, tuple) and len(given) == 2 and all(is_number(end) for end in given):
        return _named(name, lambda: Uniform(float(given[0]), float(given[1])))
    if isinstance(given, Sequence) and not isinstance(given, str):
        return _named(name, lambda: OneOf(tuple(given)))
    what = "a range (low, high), a list of equally likely values or a distribution"
    raise RampwalkError(f"{name} = {shown(given)} is not {what}; give one.", name, given)


def parse_spread(name: str, text: str) -> Spread:
    """Spread of a text, see `SPREAD_HELP`. Raises RampwalkError."""
    kinds: dict[tuple[str, int], Callable[..., Spread]] = {
        ("normal", 2): Normal,
        ("normal", 4): Normal,
        ("triangular", 3): Triangular,
    }
    if not is_range(text) or ":" not in text:
        return OneOf(parse_range(name, text))
    parts = text.split(":")
    kind = kinds.get((parts[0].strip(), len(parts) - 1))
    if kind is not None:
        values = [_number(name, part, text) for part in parts[1:]]
        return _named(name, lambda: kind(*values))
    if len(parts) == 2 or (len(parts) == 3 and parts[2] == "log"):
        low, high = (_number(name, part, text) for part in parts[:2])
        # written as for a grid, where steep slopes come last: -4:-12
        return _named(name, lambda: Uniform(min(low, high), max(low, high), len(parts) == 3))
    raise RampwalkError(f"{name} = {shown(text)} is not {SPREAD_HELP}; write for example 20:300:log.", name, text)


def _named(name: str, build: Callable[[], Spread]) -> Spread:
    try:
        return build()
    except RampwalkError as err:
        raise RampwalkError(f"{name}: {err}", name, err.value) from err


def _number(name: str, word: str, text: str) -> float:
    try:
        value = float(word)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        message = f"{name} = {shown(text)} has {word!r} where a number belongs; give {SPREAD_HELP}."
        raise RampwalkError(message, name, text)
    return value


def spread_text(spread: object) -> str:
    """Spread for a record of what was run."""
    if isinstance(spread, Uniform):
        return f"{number_text(spread.low)}:{number_text(spread.high)}{':log' if spread.log else ''}"
    return repr(spread)
