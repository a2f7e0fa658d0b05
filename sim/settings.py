"""Frozen settings: declared with range and source, checked when built, reached by name, kept as TOML.

Nothing here knows what the settings mean; `sim.scenario` does. A settings class is a frozen dataclass whose
fields are made by `number`, `whole`, `optional`, `choice`, `text` or `section`, and whose `__post_init__` calls
`check`.
"""

import dataclasses
import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar, cast

from sim.errors import RampwalkError, check_choice, check_range, shown, unknown_name
from sim.parameters import Sourced

LARGEST_FILE = 1_000_000
"""Largest settings file that is read [bytes]; a real one has some hundred lines."""
LONGEST_TEXT = 200

T = TypeVar("T")


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
            raise RampwalkError(f"{name} is not {allowed}; shorten or retype it.", name, value)
        return value
    if kind == "optional" and value is None:
        return None
    result = check_range(name, value, details["low"], details["high"], details["unit"], details["remedy"])
    if kind == "whole":
        if not result.is_integer():
            raise RampwalkError(f"{name} = {value} is not a whole number; {details['remedy']}.", name, value)
        return int(result)
    return result


def raise_together(faults: list[RampwalkError]) -> None:
    """Raise the one fault there is, or one error whose lines are all of them; return if there are none."""
    if len(faults) > 1:
        lines = [str(fault) for fault in faults]
        raise RampwalkError("\n".join(lines), faults[0].name, faults[0].value)
    if faults:
        raise faults[0]


def check(settings: Any, prefix: str = "") -> None:
    """Check every field of a settings object and bring numbers to their one type; for `__post_init__`.

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
    ending = [candidate for candidate in known if candidate.rpartition(".")[2] == name]
    if len(ending) > 1:
        raise RampwalkError(f"{name!r} could be {' or '.join(ending)}; give the full name.", name, name)
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
    nested: dict[str, dict[str, object]] = {}
    own: dict[str, object] = {}
    seen: dict[str, str] = {}
    for name, value in changes.items():
        full = full_name(kind, name)
        if full in seen:
            twice = f"{seen[full]!r} and {name!r} are the same setting; give one of them."
            raise RampwalkError(twice, full, value)
        seen[full] = name
        head, dot, rest = full.partition(".")
        if dot:
            nested.setdefault(head, {})[rest] = value
        else:
            own[full] = value
    faults = []
    for head, inner in nested.items():
        try:
            own[head] = replaced(getattr(settings, head), inner)
        except RampwalkError as fault:
            faults.append(fault)
    raise_together(faults)
    return cast(T, dataclasses.replace(cast(Any, settings), **own))


# -------------------------------------------------------------------------------- dict and TOML
def as_dict(settings: Any) -> dict[str, Any]:
    """Settings as nested plain values, sections as dicts."""
    return dataclasses.asdict(settings)


def from_mapping(kind: type[T], data: Mapping[str, Any], prefix: str = "") -> T:
    """Settings from nested plain values; what is left out keeps its default.

    Raises
    ------
    RampwalkError
        Naming every unknown name and every value at fault, one line each.
    """
    faults: list[RampwalkError] = []
    arguments: dict[str, object] = {}
    for name, value in data.items():
        try:
            arguments[name] = _from_plain(kind, name, value, prefix)
        except RampwalkError as fault:
            faults.append(fault)
    raise_together(faults)
    return kind(**arguments)


def _from_plain(kind: type[Any], name: str, value: object, prefix: str) -> object:
    """One field of a settings class from its plain value. Raises RampwalkError."""
    entries = {entry.name: entry for entry in dataclasses.fields(kind)}
    if name not in entries:
        known = [setting.name for setting in described(kind, prefix)]
        raise unknown_name(f"{prefix}{name}", [*known, *(prefix + entry for entry in entries)])
    entry = entries[name]
    if entry.metadata["kind"] != "section":
        return _checked(prefix, entry, value)
    if not isinstance(value, Mapping):
        raise RampwalkError(f"{prefix}{name} = {shown(value)} is not a section; write [{name}].", prefix + name, value)
    return from_mapping(entry.metadata["class"], value, f"{prefix}{name}.")


def from_toml_file(kind: type[T], path: str | Path) -> T:
    """Settings from a TOML file; all faults of the file are reported at once.

    Raises
    ------
    RampwalkError
        If the file cannot be read, is larger than `LARGEST_FILE`, is not TOML, or holds values not allowed.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as err:
        why = err.strerror or str(err)
        raise RampwalkError(f"cannot read {path}: {why}; give a TOML file.", "path", str(path)) from err
    if len(raw) > LARGEST_FILE:
        too_large = f"{path} is larger than {LARGEST_FILE} bytes; give a settings file."
        raise RampwalkError(too_large, "path", str(path))
    try:
        data = tomllib.loads(raw.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as err:
        raise RampwalkError(f"{path} is not TOML: {err}; correct it there.", "path", str(path)) from err
    try:
        return from_mapping(kind, data)
    except RampwalkError as err:
        lines = str(err).split("\n")
        start = f"{path}: " if len(lines) == 1 else f"{path} has {len(lines)} faults:\n  "
        raise RampwalkError(start + "\n  ".join(lines), err.name, err.value) from err


def as_toml(settings: Any) -> str:
    """Settings as TOML text, sections last; what is None (follows its default) is left out."""
    own: list[str] = []
    sections: list[str] = []
    for entry in dataclasses.fields(settings):
        value = getattr(settings, entry.name)
        if entry.metadata["kind"] == "section":
            sections += ["", f"[{entry.name}]", as_toml(value).rstrip("\n")]
        elif value is not None:
            own.append(f"{entry.name} = {_toml_value(value)}")
    return "\n".join(own + sections) + "\n"


def _toml_value(value: object) -> str:
    """One value as TOML; printable text needs only quotes and backslashes escaped."""
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    return repr(value)
