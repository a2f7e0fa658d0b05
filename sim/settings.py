"""Frozen settings: declared with range and source, checked when built, reached by name.

Nothing here knows what the settings mean; `sim.scenario` does. A settings class is a frozen dataclass that inherits
`Settings`, whose fields are made by `number`, `whole`, `optional`, `choice`, `text` or `section`, and whose
`__post_init__` calls `check`. `sim.settings_file` keeps settings as TOML.
"""

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple, Self, TypeVar, cast

from sim.errors import MOST_FAULTS, RampwalkError, check_choice, check_range, raise_together, shown, unknown_name
from sim.parameters import Sourced

LONGEST_TEXT = 200

T = TypeVar("T")


class Rule(NamedTuple):
    """A contradiction to look for: a function that raises RampwalkError, and the full names of what it reads."""

    holds: Callable[[Any], None]
    reads: tuple[str, ...]


class Settings:
    """Base of settings classes: `rules` over several fields, and an answer to names that do not exist."""

    rules: ClassVar[tuple[Rule, ...]] = ()

    def __new__(cls, *arguments: object, **given: object) -> Self:
        """Object without values, if all names are known; `__init__` of the dataclass fills it."""
        del arguments
        known = [entry.name for entry in dataclasses.fields(cls)]  # type: ignore[arg-type]  # subclasses are dataclasses
        raise_together([unknown_name(name, known) for name in given if name not in known])
        return super().__new__(cls)


@dataclass(frozen=True)
class Setting:
    """What is known about one setting: name, kind, default, allowed range, where the default comes from."""

    name: str
    kind: str
    default: object
    unit: str
    low: float
    high: float
    remedy: str
    source: str
    how_known: str
    choices: tuple[str, ...] = ()


def _declared(kind: str, default: object, **rest: Any) -> Any:
    details = {"low": -math.inf, "high": math.inf, "unit": "", "remedy": "", "choices": ()}
    source = rest.pop("sourced", None)
    details |= rest | {"kind": kind}
    details |= {"source": source.source if source else "", "how_known": source.how_known if source else ""}
    return dataclasses.field(default=default, metadata=details)


def number(sourced: Sourced, low: float, high: float, remedy: str) -> float:
    """Field for a finite number in `low` to `high`; default and unit come from `sourced`."""
    unit = "" if sourced.unit == "1" else sourced.unit
    field = _declared(
        "number", float(sourced.value), sourced=sourced, low=low, high=high, unit=unit, remedy=remedy
    )
    return cast(float, field)


def whole(sourced: Sourced, low: int, high: int, remedy: str) -> int:
    """Field for a whole number in `low` to `high`."""
    field = _declared("whole", int(sourced.value), sourced=sourced, low=low, high=high, remedy=remedy)
    return cast(int, field)


def optional(unit: str, low: float, high: float, remedy: str) -> float | None:
    """Field for a number in `low` to `high`, or None: follow the default rule of the class."""
    return cast("float | None", _declared("optional", None, low=low, high=high, unit=unit, remedy=remedy))


def choice(*choices: str) -> str:
    """Field for one of some words; the first is the default."""
    return cast(str, _declared("choice", choices[0], choices=choices))


def text(default: str = "") -> str:
    """Field for a short line of text."""
    return cast(str, _declared("text", default))


def section(kind: type[T]) -> T:
    """Field that holds another settings class, all defaults."""
    field: T = dataclasses.field(default_factory=kind, metadata={"kind": "section", "class": kind})
    return field


def _checked(prefix: str, entry: "dataclasses.Field[Any]", value: object) -> object:
    """Value of one field in its one type. Raises RampwalkError."""
    details = entry.metadata
    name, kind = prefix + entry.name, details["kind"]
    if kind == "section":
        if not isinstance(value, details["class"]):
            raise RampwalkError(f"{name} = {shown(value)} is not a {details['class'].__name__}.", name, value)
        return value
    if kind == "choice":
        return check_choice(name, value, details["choices"])
    if kind == "text":
        if not isinstance(value, str) or len(value) > LONGEST_TEXT or not value.isprintable():
            allowed = f"one line of at most {LONGEST_TEXT} printable characters"
            raise RampwalkError(f"{name} = {shown(value)} is not {allowed}; shorten or retype it.", name, value)
        return value
    if kind == "optional" and value is None:
        return None
    result = check_range(name, value, details["low"], details["high"], details["unit"], details["remedy"])
    if kind == "whole":
        if not result.is_integer():
            raise RampwalkError(f"{name} = {shown(value)} is not a whole number; {details['remedy']}.", name, value)
        return int(result)
    return result


def check(settings: Any, prefix: str = "") -> None:
    """Check every field of a settings object and bring numbers to their one type, then its rules; for `__post_init__`.

    Raises
    ------
    RampwalkError
        Naming all fields at fault, one line each.
    """
    faults = []
    for entry in dataclasses.fields(settings):
        try:
            value = _checked(prefix, entry, getattr(settings, entry.name))
        except RampwalkError as fault:
            faults.append(fault)
        else:
            object.__setattr__(settings, entry.name, value)
    raise_together(faults)
    for rule in getattr(settings, "rules", ()):
        try:
            rule.holds(settings)
        except RampwalkError as fault:
            reads = (fault.name, *(name for name in rule.reads if name != fault.name))
            faults.append(RampwalkError(str(fault), fault.name, fault.value, reads))
    raise_together(faults)


# -------------------------------------------------------------------------------- by name
def described(kind: type[Any], prefix: str = "") -> Iterator[Setting]:
    """All settings of a class, those of its sections as `section.name`."""
    for entry in dataclasses.fields(kind):
        details = dict(entry.metadata)
        if details["kind"] == "section":
            yield from described(details["class"], f"{prefix}{entry.name}.")
        else:
            yield Setting(name=prefix + entry.name, default=entry.default, **details)


def names_of(kind: type[Any]) -> tuple[str, ...]:
    """Full names of all settings of a class."""
    return tuple(setting.name for setting in described(kind))


def full_name(kind: type[Any], name: str) -> str:
    """Full name of a setting given by its full name, or by its last part if only one setting ends so.

    Raises
    ------
    RampwalkError
        If there is no such setting (the nearest is offered) or more than one.
    """
    known = names_of(kind)
    if name in known:
        return name
    if not isinstance(name, str):
        raise RampwalkError(f"{shown(name)} is not the name of a setting; give a text.", "", name)
    ending = [candidate for candidate in known if candidate.rpartition(".")[2] == name]
    if len(ending) > 1:
        raise RampwalkError(f"{shown(name)} could be {' or '.join(ending)}; give the full name.", name, name)
    if not ending:
        raise unknown_name(name, known)
    return ending[0]


def replaced(settings: T, changes: Mapping[str, object]) -> T:
    """Copy with the named settings changed and nothing else; checked as a whole, after all changes.

    Raises
    ------
    RampwalkError
        If a name is unknown or given twice, or the changed settings are not allowed.
    """
    kind = type(settings)
    if not isinstance(changes, Mapping):
        raise RampwalkError(f"{shown(changes)} is not a mapping of setting names to values; give a dict.", "", changes)
    data = as_dict(settings)
    seen: dict[str, str] = {}
    faults = []
    for name, value in changes.items():
        try:
            full = full_name(kind, name)
        except RampwalkError as fault:
            faults.append(fault)
            continue
        if full in seen:
            twice = f"{seen[full]!r} and {name!r} are the same setting; give one of them."
            faults.append(RampwalkError(twice, full, value))
        seen[full] = name
        place = data
        *sections, last = full.split(".")
        for section_name in sections:
            place = place[section_name]
        place[last] = value
    return _built(kind, data, "", faults)


# -------------------------------------------------------------------------------- dict
def as_dict(settings: Any) -> dict[str, Any]:
    """Settings as nested plain values, sections as dicts."""
    return dataclasses.asdict(settings)


def from_mapping(kind: type[T], data: Mapping[str, Any], prefix: str = "") -> T:
    """Settings from nested plain values; what is left out keeps its default.

    Raises
    ------
    RampwalkError
        Naming every unknown name, every value at fault and every contradiction among the others, one line each.
    """
    return _built(kind, data, prefix, [])


def _built(kind: type[T], data: Mapping[str, Any], prefix: str, faults: list[RampwalkError]) -> T:
    """Settings from plain values, unless there are faults, here or already. Raises RampwalkError."""
    built, more = _gathered(kind, data, prefix, {name for fault in faults for name in fault.names})
    raise_together(faults + more)
    assert built is not None  # nothing was raised
    return built


def _gathered(
    kind: type[T], data: object, prefix: str, doubtful: set[str]
) -> tuple[T | None, list[RampwalkError]]:
    """Settings (None if they contradict each other) from all values that can be used, and what is wrong with the rest.

    A contradiction in which a faulty or `doubtful` name takes part is not told: it may be gone once that is corrected.
    """
    if not isinstance(data, Mapping):
        name = prefix.rstrip(".")
        advice = f"write [{name}]" if name else "give a dict of names and values"
        start = f"{name} = " if name else ""
        return None, [RampwalkError(f"{start}{shown(data)} is not a section; {advice}.", name, data)]
    entries = {entry.name: entry for entry in dataclasses.fields(cast(Any, kind))}
    faults: list[RampwalkError] = []
    arguments: dict[str, object] = {}
    for name, value in data.items():
        if len(faults) > 10 * MOST_FAULTS:
            break  # nonsense; looking for near names takes time
        if name not in entries:
            faults.append(_unknown(kind, name, prefix))
        elif entries[name].metadata["kind"] == "section":
            inner, more = _gathered(entries[name].metadata["class"], value, f"{prefix}{name}.", doubtful)
            faults += more
            if inner is not None:
                arguments[name] = inner
        else:
            try:
                arguments[name] = _checked(prefix, entries[name], value)
            except RampwalkError as fault:
                faults.append(fault)
    faulty = doubtful | {name for fault in faults for name in fault.names}
    try:
        return kind(**arguments), faults
    except RampwalkError as err:
        return None, faults + [fault for fault in err.faults if not faulty & set(fault.names)]


def _unknown(kind: type[Any], name: object, prefix: str) -> RampwalkError:
    """Error (not raised) for a name that a settings class does not have."""
    known = [setting.name for setting in described(kind, prefix)]
    own = [prefix + entry.name for entry in dataclasses.fields(kind)]
    return unknown_name(f"{prefix}{name}", [*known, *own])
