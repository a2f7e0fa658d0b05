"""The numbers that the search moves: values of gains and how they change with slope, step length and step time."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np

from sim.gains import TERMS, gain_table
from sim.law.records import GAIN_NAMES, GAIN_TABLE

#: Gains that may depend on the scenario, and on what.
SLOPE, SQUARE, STEP, TIME = TERMS[1:]
SCHEDULE: dict[str, tuple[str, ...]] = {
    "handover_share": (SLOPE, STEP, TIME),
    "release_power": (SLOPE, TIME),
    "load_power": (SLOPE, TIME),
    "hip_phase_gain": (SLOPE, TIME),
    "swing_share_sound": (SLOPE, STEP, TIME),
    "swing_share_prosthetic": (SLOPE, STEP, TIME),
    "speed_gain": (SLOPE, TIME),
    "height_stiffness": (SLOPE, TIME),
    "height_damping": (SLOPE, STEP, TIME),
    "mid_leg_fraction": (SLOPE, SQUARE, STEP, TIME),
    "landing_leg_fraction": (SLOPE, STEP, TIME),
    "landing_offset": (SLOPE, SQUARE, STEP, TIME),
    "redirect": (SLOPE, STEP, TIME),
    "trailing_push": (SLOPE, STEP, TIME),
    "trailing_damping": (SLOPE, TIME),
    "forefoot_share": (SLOPE, STEP, TIME),
    "foot_flat": (SLOPE, TIME),
    "hold_double": (SLOPE, STEP),
    "pull_off": (SLOPE, STEP, TIME),
    "bias_early": (SLOPE, SQUARE, STEP, TIME),
    "bias_late": (SLOPE, SQUARE, STEP, TIME),
    "bias_switch": (SLOPE, STEP),
    "clearance": (SLOPE, TIME),
    "toe_up": (SLOPE, STEP, TIME),
    "foothold_speed_gain": (SLOPE, STEP, TIME),
    "thigh_lead": (SLOPE, STEP, TIME),
    "thigh_overshoot": (SLOPE, SQUARE, STEP, TIME),
    "late_reach_rate": (SLOPE, TIME),
    "swing_hip_limit": (TIME,),
    "swing_hip_stiffness": (TIME,),
    "start_hip": (STEP, TIME),
    "start_speed": (STEP, TIME),
    "start_phase": (STEP, TIME),
}


def coordinates() -> list[tuple[int, int]]:
    """(term, gain) of every number that the search moves: all values first, then the dependences."""
    out = [(0, i) for i in range(len(GAIN_NAMES))]
    for name, wanted in SCHEDULE.items():
        out += [(TERMS.index(term), GAIN_NAMES.index(name)) for term in wanted]
    return out


def encode(table: dict[str, Any]) -> np.ndarray[Any, Any]:
    """A gains file as a point of the search: in units of each gain's range, values from 0 to 1."""
    row = gain_table(table)[0]
    span = row["high"] - row["low"]
    out = []
    for term, i in coordinates():
        value = row["coefficients"][term, i] - (row["low"][i] if term == 0 else 0.0)
        out.append(value / span[i])
    return np.array(out)


def tables(points: np.ndarray[Any, Any], template: dict[str, Any]) -> np.ndarray[Any, Any]:
    """Gain tables of many points, shape (points,)."""
    base = gain_table(template)
    out = np.repeat(base, len(points)).astype(GAIN_TABLE)
    span = base[0]["high"] - base[0]["low"]
    coefficients = out["coefficients"]
    for k, (term, i) in enumerate(coordinates()):
        offset = base[0]["low"][i] if term == 0 else 0.0
        coefficients[:, term, i] = offset + span[i] * points[:, k]
    return out


def decode(point: np.ndarray[Any, Any], template: dict[str, Any]) -> dict[str, Any]:
    """A point of the search as a gains file; notes of the template are kept."""
    row = tables(point[None], template)[0]
    out = copy.deepcopy(template)
    for i, name in enumerate(GAIN_NAMES):
        for term, key in enumerate(TERMS):
            out["gains"][name][key] = float(f"{row['coefficients'][term, i]:.6g}")
    return out
