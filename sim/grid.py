"""Which walks a sweep makes: axes by setting name, checked before anything runs, and the full grid over them."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Mapping, Sequence

from sim.compact import CellGrid
from sim.errors import RampwalkError, check_choice, check_range, is_number, number_text, shown
from sim.scenario import Scenario, settings
from sim.settings import Setting, full_name

#: A cell of the grid: full setting name -> value, one entry per axis.
Cell = dict[str, object]
#: Where a walk begins: the standing pose, or after a landing of a neighbour.
STARTS = ("standing", "neighbour")
#: Axes of a grid: full setting name -> its values.
Axes = dict[str, tuple[object, ...]]

LARGEST_GRID = 1_000_000
"""Most walks in one sweep (ours: a day on eight cores)."""
LONGEST_AXIS = 10_000
"""Most values on one axis (ours)."""
RANGE_HELP = "start:stop:count, start:stop:count:log, or a comma list"


class ContinuedCell(dict[str, object]):
    """A cell whose walk begins after the last landing of another cell's.

    Attributes
    ----------
    via : tuple of dict
        Cells walked before it: the first from the standing pose, each other from the last landing of the one before.
    """

    def __init__(self, cell: Cell, via: tuple[Cell, ...]) -> None:
        super().__init__(cell)
        self.via = via

    def __reduce__(self) -> tuple[type[ContinuedCell], tuple[Cell, tuple[Cell, ...]]]:
        return ContinuedCell, (dict(self), self.via)


def via_of(cell: Cell) -> tuple[Cell, ...]:
    """Cells whose walks come before this one's; none if it begins from the standing pose."""
    return cell.via if isinstance(cell, ContinuedCell) else ()


def axes_of(over: Mapping[str, Iterable[object]]) -> Axes:
    """Axes under their full names, every value checked against the range of its setting.

    Parameters
    ----------
    over : mapping of str to iterable
        Setting name (`knee.flexion_resistance`, or the last part where only one setting ends so) -> values.

    Raises
    ------
    RampwalkError
        If a name is unknown (the nearest is offered) or given twice, an axis is empty or names a value twice, a value
        is not allowed, or the grid is larger than `LARGEST_GRID`.
    """
    known = known_settings()
    axes: Axes = {}
    for given, values in over.items():
        name = full_name(Scenario, given)
        if name in axes:
            raise RampwalkError(f"{name} is given as an axis twice; give it once.", name)
        axes[name] = _checked_axis(known[name], values)
    count = grid_size(axes)
    if count > LARGEST_GRID:
        raise RampwalkError(f"the grid has {count} walks, more than {LARGEST_GRID}; give fewer values.", value=count)
    return axes


@functools.cache
def known_settings() -> Mapping[str, Setting]:
    """All settings by full name."""
    return {setting.name: setting for setting in settings()}


def _checked_axis(setting: Setting, values: Iterable[object]) -> tuple[object, ...]:
    if isinstance(values, str) or not isinstance(values, Iterable):
        message = f"{setting.name} = {shown(values)} is not a list of values; give a list."
        raise RampwalkError(message, setting.name, values)
    checked = tuple(checked_value(setting, value) for value in values)
    if not checked:
        raise RampwalkError(f"the axis {setting.name} has no values; give at least one.", setting.name)
    twice = next((value for i, value in enumerate(checked) if value in checked[:i]), None)
    if twice is not None:
        raise RampwalkError(f"the axis {setting.name} has {shown(twice)} twice; give it once.", setting.name, twice)
    return checked


def checked_value(setting: Setting, value: object) -> object:
    """Value in its one type, if it is allowed whatever the other settings are. Raises RampwalkError."""
    if setting.kind == "choice":
        return check_choice(setting.name, value, setting.choices)
    if setting.kind == "text" or (setting.kind == "optional" and value is None):
        return value
    number = check_range(setting.name, value, setting.low, setting.high, setting.unit, setting.remedy)
    if setting.kind == "whole":
        if not number.is_integer():
            message = f"{setting.name} = {shown(value)} is not a whole number; round it."
            raise RampwalkError(message, setting.name, value)
        return int(number)
    return number


def grid_size(axes: Mapping[str, Sequence[object]]) -> int:
    """Number of cells; 1 without axes."""
    return math.prod(len(values) for values in axes.values())


def cells_of(axes: Mapping[str, Sequence[object]]) -> Sequence[Cell]:
    """All cells, the last axis changing fastest."""
    return CellGrid(axes)


# -------------------------------------------------------------------------------- ranges written as text
def is_range(text: str) -> bool:
    """True for text that means several values, not one."""
    return ":" in text or "," in text


def parse_range(name: str, text: str) -> tuple[object, ...]:
    """Values of `start:stop:count[:log]` or of a comma list.

    Parameters
    ----------
    name : str
        What is given, for messages.
    text : str
        Numbers are rounded to 12 digits, so that 0.35:0.65:7 has 0.4 and not its neighbour.

    Raises
    ------
    RampwalkError
        If it is neither.
    """
    if ":" not in text:
        return tuple(_word(name, word, text) for word in text.split(","))
    parts = text.split(":")
    if len(parts) not in {3, 4} or (len(parts) == 4 and parts[3] != "log"):
        raise _bad_range(name, text, f"is not {RANGE_HELP}; write for example 20:300:8:log")
    start, stop = (_number(name, part, text) for part in parts[:2])
    try:
        count = int(parts[2])
    except ValueError:
        raise _bad_range(name, text, f"has {parts[2]!r} values; give a whole number, 2 or more") from None
    if not 2 <= count <= LONGEST_AXIS:
        raise _bad_range(name, text, f"has {count} values; give 2 to {LONGEST_AXIS}, or a single value")
    if start == stop:
        raise _bad_range(name, text, f"starts and stops at {number_text(start)}; give two different ends")
    if len(parts) == 4:
        if start * stop <= 0.0:
            raise _bad_range(name, text, "cannot be spaced by ratios; give two ends above 0, or leave out :log")
        ratio = (stop / start) ** (1.0 / (count - 1))
        return tuple(rounded(start * ratio**i) for i in range(count))
    return tuple(rounded(start + (stop - start) * i / (count - 1)) for i in range(count))


def rounded(value: float) -> float:
    """Number without the last bits that spacing leaves: 12 digits."""
    return float(f"{value:.12g}")


def _number(name: str, word: str, text: str) -> float:
    try:
        value = float(word)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise _bad_range(name, text, f"has {word!r} where a number belongs; give {RANGE_HELP}")
    return value


def _word(name: str, word: str, text: str) -> object:
    """A number where the word is one, else the word: some settings are words."""
    word = word.strip()
    if not word:
        raise _bad_range(name, text, "has an empty place in its list; take out a comma")
    try:
        value = float(word)
    except ValueError:
        return word
    return int(value) if value.is_integer() and abs(value) < 1e15 and "." not in word else value


def _bad_range(name: str, text: str, what: str) -> RampwalkError:
    return RampwalkError(f"{name} = {shown(text)} {what}.", name, text)


def value_text(value: object) -> str:
    """Axis value for labels and messages, short."""
    return f"{float(value):.4g}" if is_number(value) else str(value)  # type: ignore[arg-type]  # a real number
