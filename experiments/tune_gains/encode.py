"""The numbers that the search moves: gains at the knots of slope, and how they change with step length and time."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from sim.gains import TERMS, gain_table
from sim.law.records import GAIN_NAMES, GAIN_TABLE

VALUE, STEP, TIME, YIELD, LITTLE_YIELD = range(len(TERMS))
#: Habits: how firmly a path is held. A stage moves them only where it says so.
HABITS = (
    "trunk_stiffness", "trunk_damping", "drive_limit", "ankle_damping", "guard_angle", "guard_torque", "guard_damping",
    "swing_hip_stiffness", "swing_hip_damping", "swing_knee_stiffness", "swing_knee_damping",
    "swing_ankle_stiffness", "swing_ankle_damping", "toe_up_prosthetic", "thigh_stiffness", "thigh_damping",
    "swing_hip_limit", "start_behind", "reach_limit",
)  # fmt: skip
#: Gains that do not depend on the step length.
SAME_FOR_ALL_STEPS = ("release_power", "load_power", "hip_phase_gain", "speed_gain", "foot_flat", "late_reach_rate")
#: Gains of the first step from rest, and the yield that is wanted: they do not depend on the yield that is felt.
BEFORE_ANY_YIELD = ("start_hip", "start_speed", "start_phase", "start_behind", "wanted_yield")


class Coordinate(NamedTuple):
    """One number of the search: a term of a gain at one knot; knots listed together move together."""

    term: int
    gain: int
    knots: tuple[int, ...]


def coordinates(knots: Sequence[tuple[int, ...]], terms: Sequence[int], habits: bool) -> list[Coordinate]:
    """What a search moves: these terms of the gains at these knots, with or without the habits.

    Knots in one tuple move together.
    """
    out: list[Coordinate] = []
    for term in terms:
        for name in GAIN_NAMES:
            if name in HABITS and (not habits or term == STEP):
                continue
            if term == STEP and name in SAME_FOR_ALL_STEPS:
                continue
            if term in (YIELD, LITTLE_YIELD) and name in BEFORE_ANY_YIELD + HABITS:
                continue
            gain = GAIN_NAMES.index(name)
            out += [Coordinate(term, gain, tied) for tied in knots]
    return out


def encode(row: Any, moved: Sequence[Coordinate]) -> np.ndarray[Any, Any]:
    """A record of gains as a point of the search: in units of each gain's range, values from 0 to 1."""
    span = row["high"] - row["low"]
    return np.array(
        [
            (row["coefficients"][c.term, c.knots[0], c.gain] - (row["low"][c.gain] if c.term == VALUE else 0.0))
            / span[c.gain]
            for c in moved
        ]
    )


def tables(points: np.ndarray[Any, Any], row: Any, moved: Sequence[Coordinate]) -> np.ndarray[Any, Any]:
    """Gain records of many points, shape (points,); what is not moved stays as in `row`."""
    out = np.repeat(np.array([row], GAIN_TABLE), len(points))
    span = row["high"] - row["low"]
    for k, (term, gain, knots) in enumerate(moved):
        offset = row["low"][gain] if term == VALUE else 0.0
        for knot in knots:
            out["coefficients"][:, term, knot, gain] = offset + span[gain] * points[:, k]
    return out


def as_file(row: Any, template: dict[str, Any]) -> dict[str, Any]:
    """A record of gains as a gains file; notes of the template are kept."""
    out = copy.deepcopy(template)
    for i, name in enumerate(GAIN_NAMES):
        for term, key in enumerate(TERMS):
            numbers = [float(f"{value:.12g}") for value in row["coefficients"][term, :, i]]
            out["gains"][name][key] = numbers[0] if len(set(numbers)) == 1 else numbers
    return out


def read(template: dict[str, Any]) -> Any:
    """The record of a gains file, values inside their ranges."""
    row = gain_table(template)[0]
    row["coefficients"][VALUE] = np.clip(row["coefficients"][VALUE], row["low"], row["high"])
    return row
