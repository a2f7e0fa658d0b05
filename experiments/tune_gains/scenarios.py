"""Scenarios for the search: random triples of neighbours over everything that a walk is asked to cover."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sim.body import build_body
from sim.pack import pack_plant, pack_settings
from sim.scenario import Knee, Person, Scenario

#: Resistance that a slope and step ask for, as the middle of the window: rows Q05 and issue text, 75 kg.
MIDDLE = (25.0, 50.0)


def draw(count: int, seed: int) -> list[Scenario]:
    """`count` triples of scenarios; the members of a triple differ in slope, step length or resistance alone."""
    rng = np.random.default_rng(seed)
    out: list[Scenario] = []
    for i in range(count):
        share = (i + rng.random()) / count
        kind = i % 16
        person, spread = Person(), 1.0
        slope, step = -3.0 - 10.5 * ((share * 5.0) % 1.0), rng.uniform(0.38, 0.62)
        pace = rng.uniform(1.42, 1.58)
        resistance = math.exp(rng.uniform(math.log(27.0), math.log(125.0)))
        if kind in (1, 6, 11):  # the middle of the window more often
            resistance = rng.uniform(26.0, 50.0)
        if kind == 3:  # level and uphill
            slope, resistance = rng.uniform(-1.5, 5.5), rng.uniform(26.0, 60.0)
        if kind == 8:  # very steep
            slope, resistance = rng.uniform(-15.5, -12.0), rng.uniform(40.0, 70.0)
        if kind in (5, 13):  # other people; the resistance scales with mass
            mass, stature = rng.uniform(52.0, 105.0), rng.uniform(1.55, 1.95)
            person = Person(mass_kg=mass, stature_m=stature)
            resistance *= mass / 75.0
            step *= stature / 1.75
        if kind in (7, 15):  # able-bodied, at usual speeds
            person, slope = Person(limbs="both-sound"), rng.choice([0.0, rng.uniform(-10.0, 0.0)])
            step, spread = rng.uniform(0.50, 0.70), 0.5
            pace = rng.uniform(1.5, 1.95)
        along = ("slope", "step", "resistance")[int(rng.integers(3))]
        for k in (-1, 0, 1):
            a = slope + (k * 1.3 * spread if along == "slope" else 0.0)
            b = step + (k * 0.033 * spread if along == "step" else 0.0)
            c = resistance * (1.25**k if along == "resistance" else 1.0)
            out.append(
                Scenario(
                    slope_deg=float(a),
                    step_length_m=float(b),
                    speed_m_s=float(pace * b),
                    person=person,
                    knee=Knee(flexion_resistance=float(c)),
                )
            )
    return out


def draw_main(count: int, seed: int) -> list[Scenario]:
    """The main job, spread evenly over slope, step and resistance: `count` - 2 triples, then level and able-bodied."""
    rng = np.random.default_rng(seed)
    out: list[Scenario] = []
    n = count - 2
    steps, resistances = rng.permutation(n), rng.permutation(n)
    for i in range(n):
        slope = -3.8 - 8.6 * (i + rng.random()) / n
        step = 0.395 + 0.21 * (steps[i] + rng.random()) / n
        low, high = math.log(27.0), math.log(105.0)
        resistance = math.exp(low + (high - low) * (resistances[i] + rng.random()) / n)
        along = int(rng.integers(3))
        for k in (-1, 0, 1):
            length = step + (0.033 * k if along == 1 else 0.0)
            out.append(
                Scenario(
                    slope_deg=slope + (1.3 * k if along == 0 else 0.0),
                    step_length_m=length,
                    speed_m_s=1.5 * length,
                    knee=Knee(flexion_resistance=resistance * (1.25**k if along == 2 else 1.0)),
                )
            )
    out += [
        Scenario(slope_deg=2.0 + 2.5 * k, step_length_m=0.5, speed_m_s=0.75, knee=Knee(flexion_resistance=45.0))
        for k in (-1, 0, 1)
    ]
    able = Person(limbs="both-sound")
    out += [
        Scenario(slope_deg=slope, step_length_m=step, speed_m_s=speed, person=able)
        for slope, step, speed in ((0.0, 0.672, 1.25), (-5.0, 0.65, 1.25), (-9.5, 0.62, 1.2))
    ]
    return out


#: Ways to draw scenarios, by name.
DRAWS = {"broad": draw, "main": draw_main}

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
