"""A band kept as JSON beside the scenario it was made for, and read back only if it still belongs to it."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from sim.caution import CAUTION
from sim.errors import RampwalkError, is_number
from sim.files import path_text, read_limited, write_file
from sim.scenario import Scenario, to_dict
from sim.settings import as_dict
from sim.table import code_version
from sim.window_band import GROUPS, MOST, SEED, Band, Member, model_spreads, people_spreads
from sim.window_criteria import Criteria

ENDING = ".band.json"
LARGEST_FILE = 4_000_000
"""Largest band file that is read [bytes]; 500 members of each group take under 1 MB."""


def band_path(scenario_file: str | Path) -> Path:
    """Where the band of a scenario file is kept: `person.toml` has `person.band.json` beside it."""
    return Path(scenario_file).with_suffix(ENDING)


def made_for(scenario: Scenario, criteria: Criteria) -> dict[str, Any]:
    """What a band belongs to: everything that changes its walks and its judgement."""
    plain = to_dict(scenario)
    plain.pop("name", None)
    plain["knee"].pop("flexion_resistance", None)  # it is what the windows are over
    return {"scenario": plain, "criteria": as_dict(criteria), "code_version": code_version()}


def write_band(path: Path, band: Band, scenario: Scenario, criteria: Criteria) -> None:
    """Write it, whole, in the place of an older one. Raises RampwalkError."""
    spreads = {"people": people_spreads(scenario), "model": model_spreads()}
    sources = {
        group: {name: {"range": list(each.ends), "source": each.source} for name, each in found.items()}
        for group, found in spreads.items()
    }
    content = {"caution": CAUTION, "seed": SEED, "varied": sources, **made_for(scenario, criteria), **asdict(band)}
    write_file(path, json.dumps(content, indent=1, allow_nan=False) + "\n", force=True, option="--band")


def read_band(path: Path, scenario: Scenario, criteria: Criteria) -> tuple[Band | None, str]:
    """Band of a file, or None and why not, in a sentence; an empty one if there is no file.

    A file that cannot be read or is made for something else is no error: the report goes without it and says so.
    """
    if not path.exists():
        return None, ""
    try:
        data = json.loads(read_limited(path, LARGEST_FILE, "band file"))
        mine = made_for(scenario, criteria)
        other = [name for name in mine if data.get(name) != json.loads(json.dumps(mine[name]))]
        if other:
            what = {"scenario": "other settings", "criteria": "other criteria", "code_version": "other code or gains"}
            made = " and ".join(what[name] for name in other)
            return None, f"{path_text(path.name)} was made with {made}; make it again with rampwalk window --band."
        return _band(data), ""
    except (RampwalkError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None, f"{path_text(path.name)} cannot be read as a band; make it again with rampwalk window --band."


def _band(data: Mapping[str, Any]) -> Band:
    groups = {group: tuple(_member(each) for each in data["groups"][group][: MOST]) for group in GROUPS}
    start = None if data["start"] is None else _positive(data["start"])
    refused = {group: int(_at_least_0(data["refused"][group])) for group in GROUPS}
    return Band(start, _positive(data["mass"]), groups, refused, _at_least_0(data["seconds"]))


def _member(data: Mapping[str, Any]) -> Member:
    pieces = tuple((_positive(low), _positive(high)) for low, high in data["pieces"])
    return Member(dict(data["settings"]), _positive(data["mass"]), pieces)


def _positive(value: object) -> float:
    number = _at_least_0(value)
    if number == 0.0:
        raise ValueError
    return number


def _at_least_0(value: object) -> float:
    if not is_number(value) or not math.isfinite(float(value)) or float(value) < 0.0:  # type: ignore[arg-type]
        raise ValueError
    return float(value)  # type: ignore[arg-type]
