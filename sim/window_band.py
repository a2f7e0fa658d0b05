"""How far a window can be trusted: the same search over virtual people and over the guesses of the model.

Two groups, each a Latin hypercube. "people": body and residual limb differ within `people_spreads`, the steps stay the
same share of the leg and the cadence scales with the leg's pendulum. "model": the same person, while numbers that the
model only guesses vary within `model_spreads`. A group says how far the ends of its windows lie apart and how many of
its members can use the first trial value of the scenario itself.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass

from sim.errors import RampwalkError, check_range
from sim.grid import Cell, rounded
from sim.influences import Influence, default_influences
from sim.parameters import ours
from sim.scenario import Scenario, replace_by_name
from sim.spreads import Uniform
from sim.window import Walk, find_windows
from sim.window_criteria import Criteria
from sim.window_found import Window

LEAST, MOST = 3, 500
"""Fewest and most members of a group (ours: two ends and a middle; more takes hours)."""
SEED = 1
GROUPS = {
    "people": "virtual people who differ in body and residual limb",
    "model": "draws of what the model guesses, for this person",
}
_PEOPLE = (
    "person.mass_kg",
    "person.stature_m",
    "person.residual_limb_fraction",
    "person.residual_hip_strength_fraction",
    "components.socket_mass_kg",
)
_MODEL = (
    "knee.load_on_n",
    "knee.swing_flexion_resistance",
    "knee.extension_assist_nm",
    "foot.ankle_stiffness",
    "foot.effective_length",
    "contact.sound_stiffness_bw_per_leg_length",
    "contact.prosthetic_stiffness_bw_per_leg_length",
)
_STRENGTHS = ("hip_strength_nm_per_kg", "knee_extensor_strength_nm_per_kg", "ankle_plantarflexor_strength_nm_per_kg")
_STRENGTH_SHARE = 0.3


@dataclass(frozen=True)
class Member:
    """One of a group.

    Attributes
    ----------
    settings : dict
        What differs from the scenario.
    mass : float
        [kg]
    pieces : tuple of (float, float)
        Parts of its window [N m s/rad]; empty if it has none.
    """

    settings: Mapping[str, object]
    mass: float
    pieces: tuple[tuple[float, float], ...]

    def can_use(self, resistance: float | None) -> bool:
        """Whether a resistance [N m s/rad] is inside the window; None is in none."""
        return resistance is not None and any(low <= resistance <= high for low, high in self.pieces)

    @property
    def main(self) -> tuple[float, float] | None:
        """The widest part, by ratio."""
        return max(self.pieces, key=lambda piece: piece[1] / piece[0], default=None)


@dataclass(frozen=True)
class Band:
    """Both groups, and what they were made for.

    Attributes
    ----------
    start : float or None
        First trial value of the scenario itself [N m s/rad].
    mass : float
        Of the scenario's person [kg].
    groups : dict
        Name of `GROUPS` -> members.
    refused : dict
        Name of `GROUPS` -> how many draws no scenario allowed.
    seconds : float
    """

    start: float | None
    mass: float
    groups: Mapping[str, tuple[Member, ...]]
    refused: Mapping[str, int]
    seconds: float


def people_spreads(base: Scenario) -> dict[str, Influence]:
    """What differs between the virtual people: bands of the parameter tables, strengths by the band of their source."""
    known = default_influences()
    found = {name: known[name] for name in _PEOPLE}
    for name in _STRENGTHS:
        own = getattr(base.person, name)
        spread = Uniform((1.0 - _STRENGTH_SHARE) * own, (1.0 + _STRENGTH_SHARE) * own)
        source = "ours: -/+ 30 % about the scenario's, as the bands of the recalled strengths"
        found[f"person.{name}"] = Influence(f"person.{name}", spread, source)
    return found


def model_spreads() -> dict[str, Influence]:
    """What the model only guesses, or has from one device: bands of the parameter tables."""
    known = default_influences()
    found = {name: known[name] for name in _MODEL}
    row = ours.contact()["dissipation"]
    assert row.low is not None
    assert row.high is not None
    name = "contact.dissipation_s_per_m"
    found[name] = Influence(name, Uniform(row.low, row.high), f"{row.source} ({row.how_known})")
    return found


def members_of(base: Scenario, group: str, count: int, seed: int = SEED) -> tuple[list[Cell], int]:
    """Settings of the members of a group that the scenario allows, and how many it does not.

    Raises
    ------
    RampwalkError
        If the count is not `LEAST` to `MOST`, or none is allowed.
    """
    from sim.design import latin_hypercube_design

    check_range("--band", count, LEAST, MOST, "", "fewer say nothing, more take hours")
    spreads = people_spreads(base) if group == "people" else model_spreads()
    over = {name: each.spread for name, each in spreads.items()}
    drawn = latin_hypercube_design(over, count, seed).cells
    found, refused, why = [], 0, None
    for cell in drawn:
        try:
            full = {**cell, **scaled_steps(base, cell)}
            replace_by_name(base, full)
        except RampwalkError as err:
            refused, why = refused + 1, err
            continue
        found.append(full)
    if not found and why is not None:
        raise why
    return found, refused


def scaled_steps(base: Scenario, cell: Mapping[str, object]) -> Cell:
    """Step lengths and pace of a member: steps the same share of the leg, times as its pendulum.

    Legs are a share of stature, so their ratio is that of the statures.
    """
    ratio = float(str(cell.get("person.stature_m", base.person.stature_m))) / base.person.stature_m
    if ratio == 1.0:
        return {}
    pace = math.sqrt(ratio)
    steps: Cell = {"step_length_m": rounded(ratio * base.step_length_m)}
    for name in ("prosthetic_step_length_m", "sound_step_length_m"):
        own = getattr(base, name)
        steps[name] = None if own is None else rounded(ratio * own)
    times = {name: getattr(base, name) for name in ("prosthetic_step_time_s", "sound_step_time_s")}
    steps |= {name: None if own is None else rounded(pace * own) for name, own in times.items()}
    speed = rounded(ratio / pace * base.speed) if None in times.values() else None
    return {**steps, "speed_m_s": speed, "cadence_steps_per_min": None, "walk_ratio_m_min": None}


def find_band(
    base: Scenario, start: float | None, walk: Walk, count: int, criteria: Criteria | None = None, seed: int = SEED
) -> Band:
    """Windows of all members of both groups, their walks made together.

    Parameters
    ----------
    base : Scenario
    start : float or None
        First trial value of the scenario itself [N m s/rad].
    walk : callable
        See `sim.window.Walk`.
    count : int
        Members of each group.
    criteria : Criteria, optional
    seed : int

    Raises
    ------
    RampwalkError
        As `members_of` and `find_windows`.
    """
    begun = time.perf_counter()
    drawn = {group: members_of(base, group, count, seed) for group in GROUPS}
    cells = [cell for found, _ in drawn.values() for cell in found]
    windows = iter(find_windows(base, cells, walk, criteria, thorough=False))
    groups = {group: tuple(_member(cell, next(windows)) for cell in found) for group, (found, _) in drawn.items()}
    refused = {group: count for group, (_, count) in drawn.items()}
    return Band(start, base.person.mass_kg, groups, refused, time.perf_counter() - begun)


def _member(cell: Cell, window: Window) -> Member:
    pieces = tuple((piece.low, piece.high) for piece in window.pieces)
    return Member(cell, window.scenario.person.mass_kg, pieces)
