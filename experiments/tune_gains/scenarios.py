"""Scenarios for the search: random triples of neighbours over everything that a walk is asked to cover."""

from __future__ import annotations

from typing import Any

import numpy as np

from sim.body import build_body
from sim.pack import pack_plant, pack_settings
from sim.scenario import Knee, Person, Scenario

#: Resistance that a slope and step ask for, as the middle of the window: rows Q05 and issue text, 75 kg.
MIDDLE = (25.0, 50.0)


def draw(count: int, seed: int, slopes: tuple[float, float], others: float = 0.2) -> list[Scenario]:
    """`count` triples of scenarios; the members of a triple differ in slope, step length or resistance alone.

    Parameters
    ----------
    slopes : lowest and highest slope [degrees]
    others : share of triples with people of other mass and stature than the default person
    """
    rng = np.random.default_rng(seed)
    low, high = slopes
    order, resistances = rng.permutation(count), rng.permutation(count)
    out: list[Scenario] = []
    for i in range(count):
        person = Person()
        slope = low + 1.0 + (high - low - 2.0) * (i + rng.random()) / count  # neighbours stay inside as well
        step = 0.39 + 0.22 * (order[i] + rng.random()) / count
        share = (resistances[i] + rng.random()) / count
        ends = (26.0, 50.0) if i % 2 else (30.0, 115.0)  # the middle of the window more often
        if slope < -11.0:
            ends = (max(ends[0], 32.0), max(ends[1], 60.0))
        resistance = ends[0] * (ends[1] / ends[0]) ** share
        if rng.random() < others:  # the resistance scales with mass, the step with stature
            mass, stature = rng.uniform(53.0, 102.0), rng.uniform(1.58, 1.92)
            person = Person(mass_kg=mass, stature_m=stature)
            resistance *= mass / 75.0
            step *= stature / 1.75
        along = int(rng.integers(3))
        for k in (-1, 0, 1):
            length = step + (0.033 * k if along == 1 else 0.0)
            out.append(
                Scenario(
                    slope_deg=float(slope + (1.0 * k if along == 0 else 0.0)),
                    step_length_m=float(length),
                    speed_m_s=float(1.5 * length),
                    person=person,
                    knee=Knee(flexion_resistance=float(resistance * (1.25**k if along == 2 else 1.0))),
                )
            )
    return out


Array = np.ndarray[Any, Any]


def pack(scenarios: list[Scenario]) -> tuple[Array, Array, dict[str, Array]]:
    """Settings, plants and what the score needs to know of each scenario."""
    settings = np.concatenate([pack_settings(s) for s in scenarios])
    plants = np.concatenate([pack_plant(build_body(s.person, s.components, s.foot)) for s in scenarios])
    known = {
        "step": settings["task"]["step_length"].mean(1),
        "speed": settings["task"]["speed"],
        "step_time": settings["task"]["step_time"].mean(1),
        "slope": np.radians([s.slope_deg for s in scenarios]),
        "weight": settings["person"]["weight"],
        "passive": settings["person"]["passive"][:, 0].astype(float),
        "middle": np.array(
            [MIDDLE[0] <= s.knee.flexion_resistance * 75.0 / s.person.mass_kg <= MIDDLE[1] for s in scenarios]
        ).astype(float),
    }
    return settings, plants, known
