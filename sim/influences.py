"""Over which ranges the usual sensitivity study varies what, and where each range comes from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from sim.errors import RampwalkError
from sim.parameters import (
    Sourced,
    foot_length_hansen2004,
    ours,
    prosthesis_parts_recalled,
    prosthesis_sup2009,
    residual_hip_strength_2014,
)
from sim.spreads import Spread, Uniform

#: Shares at which the ends of an endless distribution are taken (ours).
FAR_ENDS = (0.05, 0.95)


@dataclass(frozen=True)
class Influence:
    """A setting that varies: full name, how it is spread, where that comes from."""

    name: str
    spread: Spread
    source: str = "given by the user"

    @property
    def ends(self) -> tuple[object, object]:
        """Low and high value; of an endless distribution those at `FAR_ENDS`."""
        ends = (self.spread.ppf(0.0), self.spread.ppf(1.0))
        if all(not isinstance(end, float) or math.isfinite(end) for end in ends):
            return ends
        return (self.spread.ppf(FAR_ENDS[0]), self.spread.ppf(FAR_ENDS[1]))


def default_influences() -> dict[str, Influence]:
    """Person, knee, foot, floor and gait over the bands of the parameter tables (see each `source`)."""
    person, knee, contact, walk = ours.person(), ours.knee(), ours.contact(), ours.walk()
    device, part = prosthesis_sup2009.parameters(), prosthesis_parts_recalled.parameters()
    hip = residual_hip_strength_2014.parameters()
    pace = walk["steps_per_second"]
    active, inactive = hip["active_users"], hip["inactive_users"]
    weaker = Sourced(active.value, "1", active.source, "seen", inactive.value, 1.0)  # to as strong as the sound hip
    rows = {
        "person.mass_kg": _band(person["mass"]),
        "person.stature_m": _band(person["stature"]),
        "person.residual_limb_fraction": _band(person["residual_limb_fraction"]),
        "person.residual_hip_strength_fraction": _band(weaker),
        "components.socket_mass_kg": _band(part["socket_with_liner"]),
        "knee.flexion_resistance": _band(knee["flexion_resistance"], log=True),
        # its whole band reaches below load_off_n, which it must not
        "knee.load_on_n": _band(knee["load_on"], low=120.0),
        "knee.swing_flexion_resistance": _band(device["swing_flexion_damping"]),
        "knee.extension_assist_nm": _band(knee["extension_assist"]),
        "foot.ankle_stiffness": _band(device["ankle_stiffness"]),
        "foot.effective_length": _band(foot_length_hansen2004.parameters()["prosthetic"]),
        "contact.sound_stiffness_bw_per_leg_length": _band(contact["stiffness_sound"], log=True),
        "contact.prosthetic_stiffness_bw_per_leg_length": _band(contact["stiffness_prosthetic"], log=True),
        "step_length_m": _band(walk["step_length"]),
        "cadence_steps_per_min": (_range(60.0 * _low(pace), 60.0 * _high(pace)), pace.source),
        "trunk_lean_deg": _band(walk["trunk_lean"]),
    }
    return {name: Influence(name, spread, source) for name, (spread, source) in rows.items()}


def _range(low: float, high: float, log: bool = False) -> Spread:
    return Uniform(low, high, log)


def _low(row: Sourced) -> float:
    assert row.low is not None  # every row above has a band, a test sees to it
    return row.low


def _high(row: Sourced) -> float:
    assert row.high is not None
    return row.high


def _band(row: Sourced, log: bool = False, low: float | None = None) -> tuple[Spread, str]:
    return _range(_low(row) if low is None else low, _high(row), log), f"{row.source} ({row.how_known})"


def influences_of(spreads: Mapping[str, Spread]) -> dict[str, Influence]:
    """Influences of spreads that a user gave by full name. Raises RampwalkError for fewer than two."""
    if len(spreads) < 2:
        raise RampwalkError("a sensitivity study compares two settings or more; give another --over NAME=LOW:HIGH.")
    return {name: Influence(name, spread) for name, spread in spreads.items()}


def share_of(influence: Influence, value: float) -> float:
    """Share of a spread of numbers below a value, 0 to 1: the inverse of its `ppf`, found by bisection."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if influence.spread.ppf(middle) < value:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
