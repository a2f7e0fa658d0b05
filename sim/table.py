"""One walk as one row, many rows as a table, a table as a CSV file with units in its column names and back.

An input has the name of its setting (`slope_deg`, `person.mass_kg`). Five settings have the name of a metric too
(`WANTED`): in a table the plain name is what was measured, and `wanted_<name>` what the person wanted, filled in also
where the scenario leaves it to a rule.
"""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Iterable, Mapping
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.grid import Cell
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
    "trunk_lean_deg",
)
"""Settings whose column is called `wanted_<name>`."""
OUTCOMES = ("walked", "fell", "stalled", "invalid", "crashed")
"""All that a row can say of its walk: those of a result, and that there is no result."""
TEXTS = ("outcome", "reason", "stage", "message")
"""`stage` and `message` are empty unless the walk crashed or left the finite range."""
_UNIT_ENDINGS = ("_deg", "_m", "_kg", "_nm", "_n", "_s", "_per_min", "_min", "_per_leg_length")


def column_of(name: str) -> str:
    """Column of a table that holds the setting with this full name."""
    return f"wanted_{name}" if name in WANTED else name


def columns() -> tuple[str, ...]:
    """All columns of a table, in order; the same for every sweep."""
    from sim.law.records import LEDGER
    from sim.ledger import energy_book
    from sim.metrics import METRICS

    energy = energy_book(np.zeros(1, LEDGER)[0])
    return (
        "key",
        *(column_of(name) for name in names()),
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
        "trunk_lean_deg": scenario.trunk_lean_deg,
    }
    return {column_of(name): wanted.get(name, value) for name, value in plain.items()}


def result_row(result: WalkResult, key: str) -> Row:
    """Row of a walk that ended, however; without its time series."""
    finite = result.outcome != "invalid"
    row: Row = {"key": key} | input_row(result.scenario)
    row |= {"outcome": result.outcome, "reason": result.reason}
    row |= {"stage": "" if finite else "walk", "message": "" if finite else result.reason}
    row |= {"steps_made": len(result.step_records), "duration_s": _duration(result)}
    return row | result.metrics | {f"energy_{name}": value for name, value in result.energy.items()}


def failed_row(base: Scenario, cell: Cell, key: str, stage: str, message: str) -> Row:
    """Row of a walk that has no result: its inputs, where it failed and why."""
    row: Row = {"key": key} | input_row(base)
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
def row_key(scenario: Scenario) -> str:
    """Short hash of everything a row follows from: all settings, and the code, gains and libraries that compute it."""
    text = json.dumps(to_dict(scenario), sort_keys=True) + code_version()
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@functools.cache
def code_version() -> str:
    """Hash of every file that can change a number in a row, and of the versions of the numeric libraries."""
    package = Path(__file__).resolve().parent
    folders = ("activities", "data", "drivers", "law", "metrics", "parameters")
    files = [*package.glob("*.py"), *(path for folder in folders for path in (package / folder).rglob("*.*"))]
    digest = hashlib.sha256()
    for path in sorted(path for path in files if path.suffix in {".py", ".json"}):
        digest.update(path.relative_to(package).as_posix().encode() + path.read_bytes())
    for library in ("numba", "numpy", "pymunk"):
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
    return frozenset({"key", *TEXTS, *named})


def with_unit(column: str) -> str:
    """Column name that says its unit: the name itself where it ends in one, else `name [unit]`."""
    unit = _units().get(column, "")
    return f"{column} [{unit}]" if unit and not column.endswith(_UNIT_ENDINGS) else column


@functools.cache
def _units() -> dict[str, str]:
    return {column_of(setting.name): setting.unit for setting in settings()}


def write_table(table: pd.DataFrame, path: Path) -> None:
    """CSV with units in the column names; numbers keep every bit."""
    table.rename(columns=with_unit).to_csv(path, index=False, lineterminator="\n")


def read_table(path: Path) -> pd.DataFrame:
    """Table as it was before `write_table`."""
    import pandas as pd

    table = pd.read_csv(path, dtype=str, keep_default_na=False)
    table = table.rename(columns=lambda column: str(column).partition(" [")[0])
    numbers = {name: [float(text or "nan") for text in table[name]] for name in table.columns if name not in _words()}
    rows: Any = table.assign(**numbers).to_dict("records")
    return as_table(rows)


def outcome_counts(table: pd.DataFrame) -> dict[str, int]:
    """How many walks ended in each way, all `OUTCOMES`."""
    found = table["outcome"].value_counts()
    return {outcome: int(found.get(outcome, 0)) for outcome in OUTCOMES}
