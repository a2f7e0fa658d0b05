"""One walk as one row, many rows as a table, a table as a CSV file with units in its column names and back.

An input has the name of its setting (`slope_deg`, `person.mass_kg`). Seven settings have the name of a metric too
(`WANTED`): in a table the plain name is what was measured, and `wanted_<name>` what the person wanted, filled in also
where the scenario leaves it to a rule.
"""

from __future__ import annotations

import csv
import functools
import hashlib
import io
import json
import math
from collections.abc import Iterable, Mapping
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.files import plain_cell, safe_cell
from sim.grid import STARTS, Cell, ContinuedCell, via_of
from sim.scenario import Scenario, names, settings, to_dict

if TYPE_CHECKING:
    import pandas as pd

    from sim.result import WalkResult

Row = dict[str, Any]

WANTED = (
    "speed_m_s",
    "cadence_steps_per_min",
    "sound_step_length_m",
    "prosthetic_step_length_m",
    "sound_step_time_s",
    "prosthetic_step_time_s",
    "trunk_lean_deg",
)
"""Settings whose column is called `wanted_<name>`."""
OUTCOMES = ("walked", "fell", "stalled", "invalid", "crashed")
"""All that a row can say of its walk: those of a result, and that there is no result."""
TEXTS = ("outcome", "reason", "stage", "message")
"""`stage` and `message` are empty unless the walk crashed, left the finite range or was stopped at its limit."""
START = ("start", "start_key")
"""One of `sim.grid.STARTS`, and the key of the walk after whose last landing this one began; else empty."""
#: The last frame of a run is at most this far from its end [s] (frames are 2.5 ms apart).
_LAST_FRAME_S = 0.01
_UNIT_ENDINGS = ("_deg", "_m", "_kg", "_nm", "_n", "_s", "_per_min", "_min", "_per_leg_length")


def column_of(name: str) -> str:
    """Column of a table that holds the setting with this full name."""
    return f"wanted_{name}" if name in WANTED else name


@functools.cache
def columns() -> tuple[str, ...]:
    """All columns of a table, in order; the same for every sweep."""
    from sim.law.records import LEDGER
    from sim.ledger import energy_book
    from sim.metrics import METRICS

    energy = energy_book(np.zeros(1, LEDGER)[0])
    return (
        "key",
        *(column_of(name) for name in names()),
        *START,
        *TEXTS,
        "steps_made",
        "duration_s",
        *METRICS,
        *(f"energy_{name}" for name in energy),
    )


# -------------------------------------------------------------------------------- rows
def input_row(scenario: Scenario) -> Row:
    """All inputs of a walk as plain values."""
    plain = setting_values(scenario)
    wanted: Mapping[str, Any] = {
        "speed_m_s": scenario.speed,
        "cadence_steps_per_min": scenario.cadence_steps_per_min or 60.0 / scenario.step_time,
        "prosthetic_step_length_m": scenario.step_lengths[0],
        "sound_step_length_m": scenario.step_lengths[1],
        "prosthetic_step_time_s": scenario.step_times[0],
        "sound_step_time_s": scenario.step_times[1],
        "trunk_lean_deg": scenario.trunk_lean_deg,
    }
    return {column_of(name): wanted.get(name, value) for name, value in plain.items()}


def result_row(result: WalkResult, key: str) -> Row:
    """Row of a walk that ended, however; without its time series."""
    stage, message = _trouble(result)
    row: Row = {"key": key} | input_row(result.scenario) | {"start": result.start, "start_key": ""}
    if result.started_from:
        row["start_key"] = row_key(result.started_from[-1], result.started_from[:-1])
    row |= {"outcome": result.outcome, "reason": result.reason, "stage": stage, "message": message}
    row |= {"steps_made": len(result.step_records), "duration_s": _duration(result)}
    return row | result.metrics | {f"energy_{name}": value for name, value in result.energy.items()}


def _trouble(result: WalkResult) -> tuple[str, str]:
    """Stage and message of a walk that needs a look: numbers that are none, or stopped at its limit."""
    from sim.activities.walk import LONGEST, SPARE_SECONDS, wanted_landings

    if result.outcome == "invalid":
        return "walk", result.reason
    numbers = result.metrics | {f"energy_{name}": value for name, value in result.energy.items()}
    broken = [name for name, value in numbers.items() if value is not None and not math.isfinite(value)]
    if broken:
        return "metrics", f"not a finite number: {', '.join(broken)}"
    scenario = result.scenario
    limit = LONGEST * wanted_landings(scenario, bool(result.started_from)) * scenario.step_time + SPARE_SECONDS
    if result.outcome == "stalled" and _duration(result) > limit - _LAST_FRAME_S:
        count = round(_duration(result) / scenario.numerics.time_step_s)
        return "limit", f"stopped after {count} time steps ({_duration(result):.1f} s), more than twice the wanted time"
    return "", ""


def failed_row(base: Scenario, cell: Cell, key: str, stage: str, message: str) -> Row:
    """Row of a walk that has no result: its inputs, where it failed and why."""
    via = via_of(cell)
    row: Row = {"key": key} | input_row(base) | {"start": STARTS[1] if via else STARTS[0], "start_key": ""}
    if via:
        row["start_key"] = cell_key(setting_values(base), _continued(via))
    row |= {column_of(name): value for name, value in cell.items()}
    reason = f"No result: the program failed in the stage {stage!r}, see message."
    return row | {"outcome": "crashed", "reason": reason, "stage": stage, "message": message}


def _duration(result: WalkResult) -> float:
    return float(result.frames[-1]["time"]) if len(result.frames) else 0.0


def setting_values(scenario: Scenario) -> dict[str, Any]:
    """All settings by full name, as they were given."""
    return _flat(to_dict(scenario))


def _flat(nested: Mapping[str, Any], prefix: str = "") -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for name, value in nested.items():
        flat |= _flat(value, f"{prefix}{name}.") if isinstance(value, dict) else {prefix + name: value}
    return flat


# -------------------------------------------------------------------------------- what makes a row repeatable
def row_key(scenario: Scenario, started_from: Iterable[Scenario] = ()) -> str:
    """Short hash of everything a row follows from: all settings, the walks before whose last landing it began after
    (the first from the standing pose), and the code, gains and libraries that compute it.
    """
    return _chain_key([*map(setting_values, started_from), setting_values(scenario)])


def cell_key(base_values: Mapping[str, Any], cell: Cell) -> str:
    """`row_key` of a base scenario, given by its `setting_values`, with the settings of a cell by their full names;
    also where these contradict each other and there is no such scenario.
    """
    return _chain_key([{**base_values, **walked} for walked in (*via_of(cell), cell)])


def _chain_key(walks: Iterable[Mapping[str, Any]]) -> str:
    """Key of the last of some walks, each but the first begun after the one before."""
    key = ""
    for values in walks:
        text = json.dumps(values, sort_keys=True) + code_version() + key
        key = hashlib.sha256(text.encode()).hexdigest()[:16]
    return key


def _continued(cells: tuple[Cell, ...]) -> Cell:
    """The last of some cells, begun after the others."""
    return ContinuedCell(cells[-1], cells[:-1]) if len(cells) > 1 else cells[-1]


@functools.cache
def code_version() -> str:
    """Hash of every file that can change a number in a row, and of the versions of the numeric libraries."""
    package = Path(__file__).resolve().parent
    folders = ("activities", "data", "drivers", "law", "metrics", "parameters")
    files = [*package.glob("*.py"), *(path for folder in folders for path in (package / folder).rglob("*.*"))]
    digest = hashlib.sha256()
    for path in sorted(path for path in files if path.suffix in {".py", ".json"}):
        digest.update(path.relative_to(package).as_posix().encode() + path.read_bytes())
    for library in ("llvmlite", "numba", "numpy", "pymunk", "scipy"):
        digest.update(f"{library}={version(library)}".encode())
    return digest.hexdigest()[:16]


# -------------------------------------------------------------------------------- tables
def as_table(rows: Iterable[Row]) -> pd.DataFrame:
    """Rows as a DataFrame with all `columns`; numbers as float64 with NaN for what was not measured."""
    import pandas as pd

    table = pd.DataFrame(list(rows), columns=list(columns()))
    words = _words()
    numbers = {name: "float64" for name in table.columns if name not in words}
    return table.astype(numbers).astype(dict.fromkeys(words, object)).fillna(dict.fromkeys(words, "")).copy()


@functools.cache
def _words() -> frozenset[str]:
    """Columns that hold no numbers."""
    named = (column_of(setting.name) for setting in settings() if setting.kind in {"choice", "text"})
    return frozenset({"key", *START, *TEXTS, *named})


def is_words(column: str) -> bool:
    """Whether a column holds texts."""
    return column in _words()


def number_columns() -> tuple[str, ...]:
    """Columns that hold numbers."""
    return tuple(name for name in columns() if name not in _words())


def with_unit(column: str) -> str:
    """Column name that says its unit: the name itself where it ends in one, else `name [unit]`."""
    unit = _units().get(column, "")
    return f"{column} [{unit}]" if unit and not column.endswith(_UNIT_ENDINGS) else column


@functools.cache
def _units() -> dict[str, str]:
    return {column_of(setting.name): setting.unit for setting in settings()}


def write_table(table: pd.DataFrame, path: Path) -> None:
    """CSV with units in the column names; numbers keep every bit, no text is a formula for a spreadsheet program."""
    texts = {name: table[name].map(_safe) for name in table.columns if table[name].dtype == object}
    table.assign(**texts).rename(columns=with_unit).to_csv(path, index=False, lineterminator="\n")


def csv_header() -> str:
    """First line of the CSV of a sweep, as `write_table` writes it, without its end."""
    return _csv_line([with_unit(name) for name in columns()])


def csv_row(row: Row) -> str:
    """One row as the line that `write_table` writes for it, without its end; texts on one line."""
    return _csv_line([_field(name, row.get(name)) for name in columns()])


def _csv_line(fields: list[str]) -> str:
    line = io.StringIO()
    csv.writer(line, lineterminator="").writerow(fields)
    return line.getvalue()


def _safe(value: Any) -> Any:
    return safe_cell(value) if isinstance(value, str) else value


def _field(name: str, value: Any) -> str:
    if name in _words():
        return "" if value is None else safe_cell(" ".join(str(value).splitlines()))
    return "" if value is None or value != value else repr(float(value))  # noqa: PLR0124  # NaN is not itself


def as_column(name: str, texts: Iterable[str]) -> np.ndarray[Any, Any]:
    """Texts of a CSV as the column of this name: words, or numbers with NaN for an empty text."""
    if name in _words():
        return np.array([plain_cell(text) for text in texts], object)
    return np.array([float(text or "nan") for text in texts], float)


def outcome_counts(table: pd.DataFrame) -> dict[str, int]:
    """How many walks ended in each way, all `OUTCOMES`."""
    found = table["outcome"].value_counts()
    return {outcome: int(found.get(outcome, 0)) for outcome in OUTCOMES}


def stage_counts(table: pd.DataFrame) -> dict[str, int]:
    """How many walks failed, or were stopped, at each stage; empty if none was."""
    stages = table.loc[table["stage"] != "", "stage"].value_counts()
    return {str(stage): int(count) for stage, count in sorted(stages.items(), key=str)}
