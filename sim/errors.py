"""The one error of this package, and the checks that raise it.

A message is one sentence: which input, its value, what is allowed, what to do.
"""

import difflib
import math
import numbers
import reprlib
from collections.abc import Iterable, Sequence


class RampwalkError(ValueError):
    """An input that cannot be used.

    Attributes
    ----------
    name : str
        Name of the input at fault; empty if no single input is.
    value : object
        The value that was given.
    """

    def __init__(self, message: str, name: str = "", value: object = None) -> None:
        super().__init__(message)
        self.name = name
        self.value = value


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """Known name that looks most like `name`, or None if nothing comes close."""
    candidates = list(known)
    found = difflib.get_close_matches(name, candidates, n=1, cutoff=0.5)
    if found:
        return found[0]
    # A bare name is compared with the last part too: "mass" finds "person.mass_kg".
    endings = {candidate.rpartition(".")[2]: candidate for candidate in candidates}
    found = difflib.get_close_matches(name.rpartition(".")[2], endings, n=1, cutoff=0.5)
    return endings[found[0]] if found else None


def unknown_name(name: str, known: Iterable[str], kind: str = "setting") -> RampwalkError:
    """Error (not raised) for a name that does not exist; it offers the nearest known one."""
    near = nearest_name(name, known)
    advice = f"did you mean {near!r}?" if near else f"use one of the documented {kind} names."
    return RampwalkError(f"there is no {kind} named {name!r}; {advice}", name, name)


def number_text(value: float) -> str:
    """Number for a message, short and without trailing zeros."""
    return f"{value:.6g}"


def shown(value: object) -> str:
    """Value for a message, cut short if it is long."""
    return reprlib.repr(value)


def is_number(value: object) -> bool:
    """True for int, float and numpy's like, false for bool, text, arrays and None."""
    return isinstance(value, numbers.Real) and not isinstance(value, bool)


def check_range(name: str, value: object, low: float, high: float, unit: str, remedy: str) -> float:
    """Value as a float, if it is a finite number inside `low` to `high`, ends included.

    Parameters
    ----------
    name : str
        Name of the input, for the message.
    value : object
        What was given.
    low, high : float
        Allowed range [unit].
    unit : str
        Unit for the message; empty for a pure number.
    remedy : str
        What to do, or why the range ends there.

    Raises
    ------
    RampwalkError
        If the value is not a finite number in the range.
    """
    allowed = f"{number_text(low)} to {number_text(high)} {unit}".rstrip()
    if not is_number(value):
        raise RampwalkError(f"{name} = {shown(value)} is not a number; give {allowed}: {remedy}.", name, value)
    try:
        number = float(value)  # type: ignore[arg-type]  # is_number has seen a real number
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise RampwalkError(f"{name} = {number} is not finite; give {allowed}: {remedy}.", name, value)
    if not low <= number <= high:
        given = f"{name} = {number_text(number)} {unit}".rstrip()
        raise RampwalkError(f"{given} is outside {allowed}: {remedy}.", name, value)
    return number


def check_choice(name: str, value: object, choices: Sequence[str]) -> str:
    """Value, if it is one of `choices`.

    Raises
    ------
    RampwalkError
        If it is not; the nearest choice is offered.
    """
    if isinstance(value, str) and value in choices:
        return value
    near = nearest_name(value, choices) if isinstance(value, str) else None
    advice = f"; did you mean {near!r}?" if near else "."
    listed = ", ".join(repr(choice) for choice in choices)
    raise RampwalkError(f"{name} = {shown(value)} is not one of {listed}{advice}", name, value)
