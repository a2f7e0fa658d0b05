"""The person's gains: one set for everybody, read from `data/gains.json` and scaled to the person by dimensions.

A gain depends on what the person sees and wants (slope, step length, step time) and on how far the prosthetic leg
gave way in the steps before, which is felt; never on the knee's setting.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np

from sim.law.records import GAIN_NAMES, GAIN_TABLE, GRAVITY

GAINS_FILE = Path(__file__).parent / "data" / "gains.json"
#: Terms of the dependence, in the order of GAIN_TABLE.coefficients.
TERMS = ("value", "per_step", "per_step_time", "per_yield", "per_little_yield")
#: Powers of weight, leg length and time unit in each dimension.
DIMENSIONS = {
    "1": (0, 0, 0),
    "length": (0, 1, 0),
    "time": (0, 0, 1),
    "1/time": (0, 0, -1),
    "speed": (0, 1, -1),
    "force": (1, 0, 0),
    "stiffness": (1, -1, 0),
    "damping": (1, -1, 1),
    "torque": (1, 1, 0),
    "torque time": (1, 1, 1),
}


def read_gains(path: Path = GAINS_FILE) -> dict[str, Any]:
    """The file as it is: notes, references and a row per gain."""
    table: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return table


def gain_scale(dimension: str, mass: float, leg_length: float, reference: dict[str, float]) -> float:
    """Factor from the reference person to this one, by dimensional analysis (same gait at equal Froude number).

    Parameters
    ----------
    dimension : one of `DIMENSIONS`
    mass, leg_length : of this person [kg, m]
    reference : `mass_kg` and `leg_length_m` of the person the gains were found for
    """
    weight, length, time = DIMENSIONS[dimension]
    size = leg_length / reference["leg_length_m"]
    return float((mass / reference["mass_kg"]) ** weight * size ** (length + 0.5 * time))


def gain_table(table: dict[str, Any]) -> np.ndarray[Any, Any]:
    """The file as the record that the law reads (`GAIN_TABLE`, one row)."""
    record = np.zeros(1, GAIN_TABLE)
    row = record[0]
    row["slope"] = np.radians(table["knots_deg"])
    for i, name in enumerate(GAIN_NAMES):
        gain = table["gains"][name]
        for k, term in enumerate(TERMS):
            row["coefficients"][k, :, i] = gain[term]  # one number, or one for each knot
        row["low"][i], row["high"][i] = gain["low"], gain["high"]
    for k, name in enumerate(("step_per_leg_length", "step_time_units")):
        row["reference"][k] = table["reference"][name]
        row["span"][k] = table["span"][name]
    return record


def gain_scales(table: dict[str, Any], mass: float, leg_length: float) -> np.ndarray[Any, Any]:
    """Factor of each gain for a person of this mass and leg length, shape (gains,)."""
    reference = table["reference_person"]
    names = (table["gains"][name]["dimension"] for name in GAIN_NAMES)
    return np.array([gain_scale(name, mass, leg_length, reference) for name in names])


def time_unit(leg_length: float) -> float:
    """Time in which a mass falls half a leg length [s]; walking speeds and times compare in it (Froude)."""
    return math.sqrt(leg_length / GRAVITY)
