"""The one error of this package, and the checks that raise it.

A message is one sentence: which input, its value, what is allowed, what to do.
"""

import difflib
import math
import numbers
import re
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
    names : tuple of str
        All inputs that take part, where several contradict each other; else the one name, if there is one.
    faults : tuple of RampwalkError
        The single faults, where several are told at once; else the error itself.
    """

    def __init__(
        self,
        message: str,
        name: str = "",
        value: object = None,
        names: Iterable[str] = (),
        faults: Iterable["RampwalkError"] = (),
    ) -> None:
        super().__init__(message)
        self.name = name
        self.value = value
        self.names = tuple(names) or ((name,) if name else ())
        self._faults = tuple(faults)

    @property
    def faults(self) -> tuple["RampwalkError", ...]:
        """The single faults; not kept as an attribute, since an error that holds itself is never freed."""
        return self._faults or (self,)


MOST_FAULTS = 20
"""Most faults that one error tells; of a file full of nonsense the rest is only counted."""


def raise_together(faults: Iterable[RampwalkError]) -> None:
    """Raise the one fault there is, or one error whose lines are all of them; return if there are none."""
    single = [fault for group in faults for fault in group.faults]
    if len(single) == 1:
        raise single[0]
    if single:
        lines = [str(fault) for fault in single[:MOST_FAULTS]]
        if len(single) > MOST_FAULTS:
            lines.append(f"and {len(single) - MOST_FAULTS} more.")
        raise RampwalkError("\n".join(lines), single[0].name, single[0].value, single[0].names, single)


_DECIMAL_COMMA = re.compile(r"\s*[+-]?\d*,\d+\s*")
LONGEST_NAME = 100
"""Names longer than this are nonsense and are compared with nothing [characters]."""


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """Known name that looks most like `name`, or None if nothing comes close."""
    if len(name) > LONGEST_NAME:
        return None
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
    meant = (name, near) if near else (name,)
    return RampwalkError(f"there is no {kind} named {shown(name)}; {advice}", name, name, meant)


_SHORT = reprlib.Repr()
_SHORT.maxstring = _SHORT.maxother = 60


def number_text(value: float) -> str:
    """Number for a message, short and without trailing zeros."""
    return f"{value:.6g}"


def shown(value: object) -> str:
    """Value for a message, cut short if it is long."""
    try:
        return _SHORT.repr(value)
    except Exception:  # noqa: BLE001  # a whole number of many digits has no text; another's __repr__ may do anything
        return f"<{type(value).__name__}>"


def is_number(value: object) -> bool:
    """True for int, float and numpy's like, false for bool, text, arrays and None."""
    return isinstance(value, numbers.Real) and not isinstance(value, bool)


def check_range(
    name: str, value: object, low: float, high: float, unit: str, remedy: str, setting: str | None = None
) -> float:
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
    setting : str, optional
        Name of the input that the error carries, if `name` is a description of something computed from it.

    Raises
    ------
    RampwalkError
        If the value is not a finite number in the range.
    """
    blamed = name if setting is None else setting
    allowed = f"{number_text(low)} to {number_text(high)} {unit}".rstrip()
    if not is_number(value):
        comma = " (write a point, not a comma)" if isinstance(value, str) and _DECIMAL_COMMA.fullmatch(value) else ""
        raise RampwalkError(f"{name} = {shown(value)} is not a number{comma}; give {allowed}: {remedy}.", blamed, value)
    try:
        number = float(value)  # type: ignore[arg-type]  # is_number has seen a real number
    except (OverflowError, TypeError, ValueError):  # too large, or it only calls itself a number
        number = math.inf
    if not math.isfinite(number):
        raise RampwalkError(f"{name} = {number} is not finite; give {allowed}: {remedy}.", blamed, value)
    if not low <= number <= high:
        short = number_text(number)
        exact = repr(number) if short in (number_text(low), number_text(high)) else short  # just outside an end
        given = f"{name} = {exact} {unit}".rstrip()
        raise RampwalkError(f"{given} is outside {allowed}: {remedy}.", blamed, value)
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
