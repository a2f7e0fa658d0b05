"""Polish gains on the processor: one number at a time, up and down, on a fixed set of walks of the main job.

    python -m experiments.tune_gains.polish --start sim/data/gains.json --out gains.json --seconds 600

Where the evolution strategy leaves a good set, this pattern search takes what is left. Deterministic for a given number
of rounds; nothing is drawn at random but the order of the numbers (seeded).
"""

from __future__ import annotations

import argparse
import itertools
import json
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from experiments.tune_gains.encode import (
    STEP,
    TIME,
    VALUE,
    YIELD,
    Coordinate,
    as_file,
    coordinates,
    encode,
    read,
    tables,
)
from experiments.tune_gains.scenarios import pack
from experiments.tune_gains.score import bumps
from experiments.tune_gains.score import terms as score_terms
from experiments.tune_gains.search import knot_at
from sim.gains import GAINS_FILE
from sim.law.records import GAIN_NAMES
from sim.parameters import ours_support
from sim.profile import Part, Profile, profile_of
from sim.scenario import Knee, Person, Scenario, replace_by_name

#: What is weighed otherwise than in the score: the misses that are left, and what a polish cannot change.
WEIGHT = {
    "yield": 2.0, "loading knee": 2.0, "double support": 2.0, "scuffs": 0.2, "effort": 0.2, "positive work": 0.5,
    "speed": 3.0, "trunk": 2.5,
}  # fmt: skip
#: What is weighed of a walk over a profile: its steps are not alike.
ON_A_WAY = ("fall", "step", "peak 0", "peak 1", "spike", "trunk", "knee landing", "crouch", "stops", "clearance")
#: How long a walk over a profile lasts [s].
WAY_SECONDS = 15.0
#: Weight of the roughness of the map, of which the score knows nothing.
ROUGH = 30.0
#: Steps after which a gait has settled, as far as the roughness goes: step by step people correct their reach.
SETTLED = 9
TIME_STEP = 5e-4


class OnWay(NamedTuple):
    """A walk over a profile instead of an even slope."""

    scenario: Scenario
    profile: Profile


def one(slope: float, step: float, resistance: float, person: Person | None = None) -> Scenario:
    return Scenario(
        slope_deg=slope, step_length_m=step, speed_m_s=1.5 * step, person=person or Person(),
        knee=Knee(flexion_resistance=resistance),
    )  # fmt: skip


def main_job() -> list[Scenario]:
    """The middle of the main job, its corners, and two other people."""
    middle = itertools.product((-5.0, -8.0, -10.0), (0.45, 0.5, 0.55), (26.0, 36.0, 50.0))
    between = itertools.product((-6.5, -9.0), (0.475,), (30.0, 42.0))
    corners = [(-4.0, 0.6, 30.0), (-4.0, 0.4, 110.0), (-11.0, 0.4, 30.0), (-11.0, 0.6, 110.0)]
    people = (Person(mass_kg=55.0, stature_m=1.6), Person(mass_kg=100.0, stature_m=1.9))
    return [
        *(one(*cell) for cell in (*middle, *between, *corners)),
        *(one(-8.0, 0.5 * p.stature_m / 1.75, 40.0 * p.mass_kg / 75.0, p) for p in people),
        one(0.0, 0.5, 40.0),
        one(-12.0, 0.5, 50.0),
    ]


def steep() -> list[Scenario]:
    """Slopes beyond the main job."""
    cells = itertools.product((-13.3, -15.0), (0.42, 0.5, 0.57), (40.0, 80.0))
    return [one(*cell) for cell in cells]


def uphill() -> list[Scenario]:
    """Up to +5 degrees; the knee setting hardly matters there."""
    return [one(*cell, 60.0) for cell in itertools.product((2.5, 4.0, 5.0, 5.5), (0.42, 0.5, 0.58))]


def long_walks() -> list[Scenario]:
    """Short steps on a stiff knee, where a walk on -12 degrees fell late, and some others to hold."""
    stiff = itertools.product((-12.0,), (0.4, 0.41, 0.45, 0.5, 0.57, 0.6), (75.0, 110.0))
    return [*(one(*cell) for cell in stiff), one(-11.3, 0.44, 105.0), one(-12.0, 0.45, 45.0), one(-12.0, 0.52, 36.0)]


def even() -> list[Scenario]:
    """The main job at even distances of slope, so that also the ground between two knots is walked, and its corners."""
    slopes = tuple(np.linspace(-12.0, -4.0, 7))
    columns = ((0.43, 36.0), (0.5, 36.0), (0.57, 36.0), (0.5, 75.0), (0.43, 95.0), (0.57, 60.0))
    lattice = (one(slope, step, resistance) for step, resistance in columns for slope in slopes)
    middle = itertools.product((-8.0, -10.0), (0.45, 0.55), (27.0, 50.0))
    corners = [(-4.0, 0.6, 30.0), (-4.0, 0.4, 110.0), (-11.0, 0.4, 30.0), (-12.0, 0.4, 110.0), (-12.0, 0.6, 110.0)]
    people = (Person(mass_kg=55.0, stature_m=1.6), Person(mass_kg=100.0, stature_m=1.9))
    return [
        *lattice,
        *(one(*cell) for cell in (*middle, *corners)),
        *(one(-8.0, 0.5 * p.stature_m / 1.75, 40.0 * p.mass_kg / 75.0, p) for p in people),
        one(0.0, 0.5, 40.0),
    ]


def any_step() -> list[Scenario]:
    """Short and long steps at both ends of the resistance, at even distances of slope."""
    slopes = tuple(np.linspace(-12.0, -6.0 - 2.0 / 3.0, 5))
    columns = ((0.42, 50.0), (0.5, 28.0), (0.5, 50.0), (0.58, 36.0), (0.6, 105.0), (0.45, 105.0), (0.55, 28.0))
    lattice = (one(slope, step, resistance) for step, resistance in columns for slope in slopes)
    cells = [(-10.0, 0.5, 38.0), (-10.0, 0.55, 50.0), (-8.0, 0.45, 38.0), (-5.0, 0.5, 38.0), (-12.0, 0.4, 110.0)]
    people = (Person(mass_kg=55.0, stature_m=1.6), Person(mass_kg=100.0, stature_m=1.9))
    return [
        *lattice,
        *(one(*cell) for cell in cells),
        *(one(-8.0, 0.5 * p.stature_m / 1.75, 40.0 * p.mass_kg / 75.0, p) for p in people),
    ]


def nine() -> list[Scenario]:
    """Around -9 degrees, where the gait of -8 meets that of -10: short and long steps, both ends of the resistance."""
    slopes = (-10.0 - 2.0 / 3.0, -9.0 - 1.0 / 3.0, -8.0), (-9.0 - 2.0 / 3.0, -9.0, -8.0 - 1.0 / 3.0)
    columns = ((0.42, 50.0), (0.5, 28.0), (0.5, 50.0), (0.58, 36.0), (0.6, 105.0), (0.45, 105.0), (0.55, 75.0))
    lattice = [one(slope, *column) for column in columns for three in slopes for slope in three]
    late = [(-9.0, 0.4, 70.0), (-9.0, 0.4, 110.0), (-9.4, 0.4, 80.0), (-8.6, 0.4, 80.0), (-8.9, 0.41, 95.0)]
    return [*lattice, *(one(*cell) for cell in late)]  # short steps on a stiff knee fell after 11 s


def around_nine() -> list[Scenario | OnWay]:
    """Down to -12 degrees every 2/3 of a degree, both ends of the window, and some walks to hold."""
    here = tuple(-12.0 + 4.0 / 3.0 * k for k in range(6))
    between = tuple(-12.0 + 4.0 / 3.0 * (k + 0.5) for k in range(5))
    columns = ((0.43, 33.0), (0.5, 40.0), (0.57, 50.0), (0.45, 85.0), (0.6, 75.0))
    lattice = [one(slope, *column) for column in columns for slopes in (here, between) for slope in slopes]
    ends = [one(*cell) for cell in itertools.product((-8.0, -10.0), (0.45, 0.5, 0.55), (25.0, 50.0))]
    hold = [one(-12.0, 0.6, 110.0), one(-9.3, 0.6, 100.0), one(-11.0, 0.4, 100.0), *otherwise()[2:5]]
    return [*lattice, *ends, *hold, OnWay(one(0.0, 0.5, 40.0), way(-7.1))]


def uneven() -> list[Scenario]:
    """Where the map was uneven after a joint search, along slope, step and resistance, and walks to hold."""
    here = tuple(-12.0 + 4.0 / 3.0 * k for k in range(5))
    between = tuple(-12.0 + 4.0 / 3.0 * (k + 0.5) for k in range(4))
    columns = ((0.41, 100.0), (0.43, 75.0), (0.5, 38.0), (0.6, 46.0), (0.59, 95.0))
    found = [one(slope, *column) for column in columns for slopes in (here, between) for slope in slopes]
    steps = tuple(0.4 + k / 30.0 for k in range(1, 6))
    found += [one(slope, step, r) for slope, r in ((here[1], 50.0), (here[2], 95.0)) for step in steps]
    found += [one(-12.0, step, 37.0 * 1.24**k) for step in (0.43, 0.58) for k in range(3)]
    ends = [(-8.0, 0.45, 40.0), (-8.0, 0.5, 40.0), (-8.0, 0.5, 50.0), (-10.0, 0.45, 40.0), (-10.0, 0.55, 25.0),
            (-10.0, 0.55, 50.0), (-10.0, 0.5, 50.0), (-10.0, 0.55, 40.0)]  # fmt: skip
    return [*found, *(one(*cell) for cell in ends), one(-12.0, 0.6, 110.0), one(-11.0, 0.4, 100.0)]


def otherwise() -> list[Scenario]:
    """People, knees, leans and paces other than usual, and usual walks to hold.

    One thing at a time is far from usual: what a walk that is near a fall does not survive.
    """
    most: tuple[dict[str, float], ...] = (
        {"trunk_lean_deg": 5.0}, {"trunk_lean_deg": 9.0}, {"trunk_lean_deg": -8.0}, {"knee.extension_assist_nm": 3.0},
        {"cadence_steps_per_min": 100.0}, {"cadence_steps_per_min": 108.0}, {"cadence_steps_per_min": 78.0},
        {"cadence_steps_per_min": 100.0, "step_length_m": 0.42}, {"person.stature_m": 1.55}, {"person.stature_m": 1.92},
        {"person.mass_kg": 100.0},
    )  # fmt: skip
    few = ({"trunk_lean_deg": 5.0}, {"cadence_steps_per_min": 103.0}, {"knee.extension_assist_nm": 3.0})
    knee = Knee(flexion_resistance=38.0)
    plain = {slope: Scenario(slope_deg=slope, knee=knee) for slope in (-10.0, -9.0, -8.0, -6.5)}
    changed = [replace_by_name(plain[slope], change) for slope in (-10.0, -8.0) for change in most]
    changed += [replace_by_name(plain[slope], change) for slope in (-9.0, -6.5) for change in few]
    usual = itertools.product((-8.0, -10.0), (0.45, 0.55), (27.0, 36.0, 50.0))
    stiff = itertools.product((-8.0, -10.0), (0.4, 0.6), (110.0,))
    columns = ((0.5, 36.0), (0.5, 75.0), (0.43, 60.0), (0.57, 60.0))
    slopes = (-10.0 - 2.0 / 3.0, -9.0 - 1.0 / 3.0, -8.0, -6.0 - 2.0 / 3.0)
    lattice = [one(slope, *column) for column in columns for slope in slopes]
    return [*changed, *(one(*cell) for cell in (*usual, *stiff)), *lattice]


def way(slope: float, on_slope: bool = False) -> Profile:
    """Level, slope, landing, slope, level, each just long enough to get into trouble at its end."""
    before = [] if on_slope else [Part("level before", 1.5, 0.0)]
    run = 4.0 if on_slope else 2.5
    rest = [Part("one", run, slope), Part("landing", 1.5, 0.0), Part("two", 2.5, slope), Part("level after", 2.5, 0.0)]
    return profile_of([*before, *rest], ours_support.ramp()["bend"].value)


def ways() -> list[Scenario | OnWay]:
    """Ramps with ends for several people and paces, and usual walks on gentle slopes to hold."""
    plain = Scenario(knee=Knee(flexion_resistance=40.0))
    heavy, light = Person(mass_kg=105.0, stature_m=1.8), Person(mass_kg=56.0, stature_m=1.62)
    walkers = (
        (plain, (-2.9, -3.4, -4.8, -5.7, -7.1, 2.9, 4.8)),
        (one(0.0, 0.45, 50.0), (-2.9, -4.8, -7.1, 2.9)),
        (replace(one(0.0, 0.58, 36.0), speed_m_s=0.95), (-2.9, -4.8, -7.1)),
        (one(0.0, 0.5, 45.0, heavy), (-2.9, -4.8, -7.1, 2.9)),
        (one(0.0, 0.4, 35.0, light), (-2.9, -4.8, -7.1, 2.9)),
    )
    found: list[Scenario | OnWay] = [OnWay(walker, way(slope)) for walker, slopes in walkers for slope in slopes]
    found += [OnWay(plain, way(slope, on_slope=True)) for slope in (-6.0, -8.0)]
    found += [one(*cell) for cell in itertools.product((-5.0, -8.0), (0.45, 0.55), (27.0, 45.0))]
    found += [one(-4.0, 0.6, 30.0), one(-4.0, 0.4, 110.0), one(-6.5, 0.5, 36.0), one(0.0, 0.55, 40.0)]
    found += [one(slope, step, 60.0) for slope, step in ((0.0, 0.5), (2.5, 0.5), (4.8, 0.5), (4.8, 0.42))]
    return found


def starts() -> list[Scenario | OnWay]:
    """First steps from rest on a slope; the gains of a start on a slope are used nowhere else."""
    heavy, light = Person(mass_kg=105.0, stature_m=1.8), Person(mass_kg=56.0, stature_m=1.62)
    usual = [one(0.0, 0.5, 40.0), one(0.0, 0.44, 36.0), one(0.0, 0.56, 48.0)]
    others = [one(0.0, 0.5, 55.0, heavy), one(0.0, 0.45, 32.0, light)]
    slopes = (-2.5, -3.5, -5.0, -6.3, -7.2, -8.3, -9.5, -10.5)
    walks: list[Scenario | OnWay] = [OnWay(usual[0], way(slope, on_slope=True)) for slope in slopes]
    walks += [OnWay(who, way(slope, on_slope=True)) for who in usual[1:] + others for slope in (-3.0, -6.0, -9.0)]
    return walks


def neighbours(scenarios: list[Scenario]) -> np.ndarray[Any, Any]:
    """Triples of walks that follow each other at even distances of one quantity alone, shape (n, 3).

    It is slope, step (with the speed that goes with it), or the logarithm of the resistance.
    """

    def place(s: Scenario) -> Any:
        return np.array([s.slope_deg, s.step_length_m, np.log(s.knee.flexion_resistance)])

    def moved(s: Scenario, to: Scenario) -> Scenario:
        return replace(
            s, slope_deg=to.slope_deg, step_length_m=to.step_length_m, speed_m_s=to.speed_m_s, knee=to.knee
        )

    found = []
    for i, (a, b, c) in enumerate(zip(scenarios, scenarios[1:], scenarios[2:], strict=False)):
        before, after = place(b) - place(a), place(c) - place(b)
        even = np.abs(after - before).max() < 1e-6 and (np.abs(before) > 1e-6).sum() == 1
        if even and moved(a, b) == b == moved(c, b):
            found.append((i, i + 1, i + 2))
    return np.array(found, np.int64).reshape(-1, 3)


def brisk() -> list[Scenario]:
    """Quick steps: able-bodied people at 1.0 to 1.3 m/s with steps as people take, and people with a prosthesis.

    Row S01 gives 0.67 m at 1.25 m/s.
    """
    able = Person(limbs="both-sound")
    level = ((0.0, 0.60, 1.0), (0.0, 0.67, 1.25), (0.0, 0.66, 1.3), (0.0, 0.70, 1.3))
    down = ((-5.0, 0.66, 1.25), (-9.0, 0.63, 1.25), (-9.0, 0.56, 1.0))
    quick = itertools.product((-4.7, -6.3, -8.0, -9.3), ((0.44, 0.75), (0.52, 0.9)))
    return [
        *(Scenario(slope_deg=a, step_length_m=b, speed_m_s=v, person=able) for a, b, v in level + down),
        *(replace(one(slope, step, 38.0), speed_m_s=speed) for slope, (step, speed) in quick),
    ]


def brisk_down() -> list[Scenario]:
    """Quick steps on -8 degrees and steeper, some of them for longer than others look."""
    able = Person(limbs="both-sound")
    down = ((-10.0, 0.60, 1.0), (-9.5, 0.60, 1.0), (-10.9, 0.63, 1.2), (-9.0, 0.63, 1.25), (-9.0, 0.62, 1.3),
            (-8.0, 0.60, 1.1), (-9.0, 0.49, 0.75), (-10.0, 0.55, 0.9))  # fmt: skip
    quick = itertools.product((-8.0, -9.3, -10.0), ((0.44, 0.75), (0.52, 0.9)))
    return [
        *(Scenario(slope_deg=a, step_length_m=b, speed_m_s=v, person=able) for a, b, v in down),
        *(replace(one(slope, step, 38.0), speed_m_s=speed) for slope, (step, speed) in quick),
    ]


def whole() -> list[Scenario | OnWay]:
    """All at once: the main job at even distances of slope, what is otherwise than usual, and ways with ends."""
    columns = (
        (0.43, 36.0), (0.5, 36.0), (0.57, 36.0), (0.5, 75.0), (0.43, 95.0), (0.57, 60.0), (0.5, 30.0), (0.57, 31.0),
    )  # fmt: skip
    lattice = [one(slope, *column) for column in columns for slope in np.linspace(-12.0, -4.0, 7)]
    middle = itertools.product((-8.0, -10.0), (0.45, 0.55), (27.0, 50.0))
    people = (Person(mass_kg=55.0, stature_m=1.6), Person(mass_kg=100.0, stature_m=1.9))
    return [
        *lattice,
        *(one(*cell) for cell in middle),
        *(one(-8.0, 0.5 * p.stature_m / 1.75, 40.0 * p.mass_kg / 75.0, p) for p in people),
        *(walker for walker in otherwise() if walker.knee.flexion_resistance == 38.0),
        *(walker for walker in ways()[::2] if isinstance(walker, OnWay)),
    ]


#: Each job: its walks, the slopes of the knots that it moves, how long it walks [s], and which
#: terms of the gains it moves. Uphill the step slowly loses its speed, and a fall comes late.
JOBS = {
    "main": (main_job, (-4.0, -8.0, -10.0), 8.0, (VALUE,)),
    "steep": (steep, (-16.0,), 14.0, (VALUE,)),
    "uphill": (uphill, (5.0,), 22.0, (VALUE,)),
    "even": (even, (-4.0, -6.0, -8.0, -10.0, -12.0), 8.0, (VALUE,)),
    "any step": (any_step, (-8.0, -10.0, -12.0), 11.0, (VALUE, STEP)),
    "nine": (nine, (-9.0,), 14.0, (VALUE, STEP)),
    "long": (long_walks, (-12.0,), 20.0, (VALUE,)),
    "otherwise": (otherwise, (-6.0, -8.0, -9.0, -10.0), 9.0, (VALUE, TIME)),
    "ways": (ways, (5.0, 0.0, -4.0, -6.0, -8.0), 15.0, (VALUE,)),
    "whole": (whole, (-4.0, -6.0, -8.0, -9.0, -10.0, -12.0), 10.0, (VALUE,)),
    "brisk down": (brisk_down, (-12.0, -10.0, -9.0, -8.0), 15.0, (TIME,)),
    "starts": (starts, (-4.0, -6.0, -8.0, -9.0, -10.0, -12.0), WAY_SECONDS, (VALUE,)),
    "around nine": (around_nine, (-12.0, -10.0, -9.0, -8.0), 10.0, (VALUE,)),
    "uneven": (uneven, (-12.0, -10.0, -9.0, -8.0), 10.0, (VALUE, YIELD)),
    "brisk": (brisk, (-10.0, -9.0, -8.0, -6.0, -4.0, 0.0), 12.0, (TIME,)),
}


class Group(NamedTuple):
    """Walks of a job that last equally long, ready to run."""

    walks: Any
    known: dict[str, Any]
    triples: Any
    seconds: float
    judged: tuple[str, ...] | None  # terms of the score; None is all


def groups_of(walkers: Sequence[Scenario | OnWay], seconds: float) -> list[Group]:
    """Walks on even slopes, and walks on ways if there are any."""
    from experiments.tune_gains.walks import ProcessorWalks

    even = [walker for walker in walkers if isinstance(walker, Scenario)]
    on_way = [walker for walker in walkers if isinstance(walker, OnWay)]
    found = []
    if even:
        settings, plants, known = pack(even)
        found.append(Group(ProcessorWalks(settings, plants), known, neighbours(even), seconds, None))
    if on_way:
        settings, plants, known = pack([walker.scenario for walker in on_way])
        for row, walker in zip(settings, on_way, strict=True):
            walker.profile.fill(row["ground"])
        nothing = np.zeros((0, 3), np.int64)
        found.append(Group(ProcessorWalks(settings, plants), known, nothing, WAY_SECONDS, ON_A_WAY))
    return found


_GROUPS: list[Group] | None = None
_JOB = "main"


def take(job: str) -> None:
    """Choose the job of this process."""
    global _JOB  # noqa: PLW0603  (a worker process has one job)
    _JOB = job


def cost(gains: Any) -> tuple[float, dict[str, float]]:
    """Mean score of the walks of the job, and its parts."""
    global _GROUPS  # noqa: PLW0603  (each worker process packs once)
    walkers, _, seconds, _ = JOBS[_JOB]
    if _GROUPS is None:
        _GROUPS = groups_of(walkers(), seconds)
    each, rough, sums = np.zeros(0), 0.0, dict[str, float]()
    for group in _GROUPS:
        steps, status, lasted = group.walks.run(np.array([gains]), group.seconds, TIME_STEP)
        parts = score_terms(np, steps, status, lasted, group.known, group.seconds)
        if group.judged:
            parts = {name: parts[name] for name in group.judged}
        total = sum(WEIGHT.get(name, 1.0) * value for name, value in parts.items())
        each = np.concatenate([each, total])
        for name, value in parts.items():
            sums[name] = sums.get(name, 0.0) + float(value.sum())
        if len(group.triples):
            rough = ROUGH * float(bumps(np, steps, status, group.known["weight"], group.triples, SETTLED).mean())
    means = {name: value / len(each) for name, value in sums.items()} | {"rough": rough}
    worst = np.sort(each)[-max(1, len(each) // 7) :].mean()
    return float(each.mean() + 0.3 * worst + rough), means


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--step", type=float, default=0.03, help="first step, as a share of each gain's range")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--together", type=int, default=1, help="numbers tried at a time")
    parser.add_argument("--tied", action="store_true", help="move a gain at all knots of the job by the same amount")
    parser.add_argument("--only", default="", help="comma list of gains; all if empty")
    parser.add_argument("--job", choices=tuple(JOBS), default="main")
    polish(parser.parse_args())


def numbers_of(job: str, only: str, row: Any) -> list[Coordinate]:
    """What a job moves, or of it the gains of a comma list."""
    knots = [(knot_at(row, slope),) for slope in JOBS[job][1]]
    names = [name for name in only.split(",") if name] or GAIN_NAMES
    return [number for number in coordinates(knots, JOBS[job][3], habits=True) if GAIN_NAMES[number.gain] in names]


def polish(options: argparse.Namespace) -> None:
    """Try numbers up and down until the time is over; what is best so far is always in `options.out`."""
    template = json.loads(options.start.read_text())
    row = read(template)
    moved = numbers_of(options.job, options.only, row)
    point = encode(row, moved)
    low, high = np.array([(0.01, 0.99) if number.term == VALUE else (-3.0, 3.0) for number in moved]).T
    moves = directions(moved, options.tied)
    pace = np.full(len(moves), options.step)
    begin, rounds, tried = time.time(), 0, 0
    order = np.random.default_rng(options.seed)
    with ProcessPoolExecutor(options.workers, initializer=take, initargs=(options.job,)) as pool:
        take(options.job)
        best, parts = cost(row)
        print(f"start {best:.3f}", shown(parts), flush=True)
        while time.time() - begin < options.seconds:
            rounds += 1
            # a few numbers at a time, each up and down from the same point; then all that helped, together
            for some in np.array_split(order.permutation(len(moves)), max(1, len(moves) // options.together)):
                if time.time() - begin > options.seconds:
                    break
                sides = np.repeat(point[None], 2 * len(some), 0)
                for i, k in enumerate(some):
                    move = moves[k]
                    sides[2 * i, move] = np.minimum(high[move], point[move] + pace[k])
                    sides[2 * i + 1, move] = np.maximum(low[move], point[move] - pace[k])
                results = list(pool.map(cost, tables(sides, row, moved)))
                tried += len(results)
                better, single = point.copy(), None
                for i, k in enumerate(some):
                    side = 2 * i + int(results[2 * i + 1][0] < results[2 * i][0])
                    if results[side][0] < best - 1e-6:
                        better[moves[k]], pace[k] = sides[side, moves[k]], 1.6 * pace[k]
                        if single is None or results[side][0] < results[single][0]:
                            single = side
                    else:
                        pace[k] *= 0.5
                if single is None:
                    continue
                both = cost(tables(better[None], row, moved)[0])
                tried += 1
                if both[0] < results[single][0]:
                    point, (best, parts) = better, both
                else:
                    point, (best, parts) = sides[single], results[single]
                print(f"{time.time() - begin:.0f} s tried {tried} cost {best:.3f}", flush=True)
                keep(tables(point[None], row, moved)[0], template, note_of(options, rounds, tried, best), options.out)
            spent = time.time() - begin
            print(f"round {rounds} {spent:.0f} s tried {tried} cost {best:.3f} {shown(parts)}", flush=True)
            keep(tables(point[None], row, moved)[0], template, note_of(options, rounds, tried, best), options.out)


def shown(parts: dict[str, float]) -> dict[str, float]:
    """Parts of a score that are worth a look."""
    return {name: round(value, 2) for name, value in parts.items() if value > 0.05}


def directions(moved: list[Coordinate], tied: bool) -> list[np.ndarray[Any, Any]]:
    """Which numbers move together: each alone, or those of one term of one gain at all knots."""
    if not tied:
        return [np.array([k]) for k in range(len(moved))]
    alike: dict[tuple[int, int], list[int]] = {}
    for k, number in enumerate(moved):
        alike.setdefault((number.term, number.gain), []).append(k)
    return [np.array(numbers) for numbers in alike.values()]


def note_of(options: argparse.Namespace, rounds: int, tried: int, score: float) -> dict[str, Any]:
    """How the gains were found, for their file."""
    note = {"stage": f"polish {options.job}", "rounds": rounds, "tried": tried, "seed": options.seed}
    return note | {"score": round(score, 3)}


def keep(row: Any, template: dict[str, Any], note: dict[str, Any], out: Path) -> None:
    """Write the gains file; `note` tells how it was found."""
    table = as_file(row, template)
    table["found"].setdefault("stages", []).append(note)
    out.write_text(json.dumps(table, indent=1) + "\n")


if __name__ == "__main__":
    main()
