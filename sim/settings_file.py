"""Settings as TOML files: read with all faults at once, each with its line, and written."""

import dataclasses
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from sim.errors import RampwalkError, raise_together
from sim.files import path_text, read_limited
from sim.settings import from_mapping, names_of
from sim.toml_lines import key_lines

LARGEST_FILE = 100_000
"""Largest settings file that is read [bytes]; a real one has some hundred lines."""

LONGEST_LINE = 2_000
"""Longest line in it [characters]; the parser takes minutes for a key of thousands of parts."""

T = TypeVar("T")


def from_toml_file(kind: type[T], path: str | Path) -> T:
    """Settings from a TOML file; all faults of the file are reported at once, each with its line.

    Raises
    ------
    RampwalkError
        If the file cannot be read, is larger than `LARGEST_FILE`, is not TOML, or holds values not allowed.
    """
    raw, shown_path = read_limited(path, LARGEST_FILE, "TOML file"), path_text(path)
    try:
        text = raw.decode("utf-8-sig")  # some editors begin a file with a byte-order mark
        _check_line_lengths(text)
        data = tomllib.loads(text)
    except RecursionError as err:
        raise RampwalkError(f"{shown_path} is nested too deeply; give a settings file.", "path", str(path)) from err
    except ValueError as err:  # not UTF-8, not TOML, a date that does not exist, a number of thousands of digits
        raise RampwalkError(f"{shown_path} is not TOML: {err}; correct it there.", "path", str(path)) from err
    try:
        return from_mapping(kind, data)
    except RampwalkError as err:
        raise _with_places(err, kind, shown_path, key_lines(text, data)) from err


def _check_line_lengths(text: str) -> None:
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            raise ValueError(f"line {number} has {len(line)} characters, more than {LONGEST_LINE}")


def _with_places(err: RampwalkError, kind: type[Any], path: str, lines: Mapping[str, int]) -> RampwalkError:
    """The error (not raised), its message behind the file, every fault behind the lines that it is about."""
    known = names_of(kind)
    told = []
    for fault in err.faults:
        names = fault.names if fault.name in known else (fault.name,)
        where = _where(sorted({lines[name] for name in names if name in lines}))
        told.append(RampwalkError(f"{where}: {fault}", fault.name, fault.value, fault.names))
    if len(told) == 1:
        return RampwalkError(f"{path}, {told[0]}", err.name, err.value, err.names)
    try:
        raise_together(told)
    except RampwalkError as all_of_them:
        listed = str(all_of_them).replace("\n", "\n  ")
        return RampwalkError(f"{path} has {len(told)} faults:\n  {listed}", err.name, err.value, err.names, told)
    raise AssertionError  # an error has at least one fault


def _where(lines: list[int]) -> str:
    if not lines:
        return "as a whole"  # what is wrong follows from defaults
    return f"line {lines[0]}" if len(lines) == 1 else f"lines {', '.join(map(str, lines[:-1]))} and {lines[-1]}"


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
