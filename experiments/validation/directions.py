"""Rows C01 to C08: directions that people of the trade expect, never sizes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from statistics import mean

import numpy as np

from experiments.validation.standing import more_flexed_than_level, resistances, tasks_in_place
from experiments.validation.targets import Finding, Row, not_applicable
from experiments.validation.walks import Walks, downhill, metric
from sim.activities.rail import rail_study
from sim.result import WalkResult
from sim.scenario import Knee, Scenario, replace_by_name

SLOPES = (-6.0, -7.0, -8.0, -9.0)  # deg: the change is the mean over those on which both walks hold (ours)
START = Knee().flexion_resistance
LESS, MORE, LOCKED = 0.7 * START, 1.4 * START, 1000.0  # N m s/rad (ours)
RATE, FIRST, LOADED = "knee_loaded_peak_rate_deg_s", "sound_first_peak_bw", "knee_loaded_peak_flexion_deg"
FALLS = ("fell", "stalled")
OnSlope = Callable[[float], Scenario]


def change(walks: Walks, before: OnSlope, after: OnSlope, of: Callable[[WalkResult], float]) -> float:
    """Mean change of a quantity over `SLOPES`; nan if on none of them both walks hold."""
    pairs = [(walks.of(before(slope)), walks.of(after(slope))) for slope in SLOPES]
    held = [of(b) - of(a) for a, b in pairs if (a.outcome, b.outcome) == ("walked", "walked")]
    return mean(held) if held else math.nan


def signs(target: float, changes: dict[str, float]) -> Finding:
    """`target` if every change has its sign, else the opposite."""
    told = ", ".join(f"{name} {value:+.3g}" for name, value in changes.items())
    how = f"mean change over {SLOPES[0]:g} to {SLOPES[-1]:g} deg: {told}"
    if any(math.isnan(value) for value in changes.values()):
        return Finding(None, how, fell="on no slope both walks held")
    met = all(value * target > 0.0 for value in changes.values())
    return Finding(target if met else -target, how, direction=met)


def peak_rate(result: WalkResult) -> float:
    return metric(result, RATE)


def speed(result: WalkResult) -> float:
    return metric(result, "speed_m_s")


def higher_peak(result: WalkResult) -> float:
    return max(metric(result, f"{side}_peak_force_bw") for side in ("sound", "prosthetic"))


def c01(walks: Walks) -> Finding:
    """The person answers what is felt of the knee; what the same gait on both knees brings is told beside it."""

    def less(slope: float) -> Scenario:
        return downhill(slope, resistance=LESS)

    def alike(slope: float) -> Scenario:
        return downhill(slope, yield_felt_share=0.0)

    def less_alike(slope: float) -> Scenario:
        return downhill(slope, resistance=LESS, yield_felt_share=0.0)

    def first_peak(result: WalkResult) -> float:
        return metric(result, FIRST)

    def peak(result: WalkResult) -> float:
        return metric(result, "sound_peak_force_bw")

    found = signs(
        1.0,
        {
            "peak knee rate [deg/s]": change(walks, downhill, less, peak_rate),
            "first peak of the sound foot [BW]": change(walks, downhill, less, first_peak),
        },
    )
    told = (
        f"{found.how}; highest peak of the whole stance {change(walks, downhill, less, peak):+.3g}; first peak with "
        f"the same gait on both knees (yield_felt_share 0) {change(walks, alike, less_alike, first_peak):+.3g}"
    )
    return replace(found, how=told)


def c02(walks: Walks) -> Finding:
    """The speed is a setting that the controller holds: a change below 1 % is none, and the far end must stall."""

    def more(slope: float) -> Scenario:
        return downhill(slope, resistance=MORE)

    faster = change(walks, downhill, more, speed)
    locked = locked_failures(walks)
    progress = faster if not abs(faster) < 0.01 * downhill(SLOPES[0]).speed else -float(locked or -1)
    found = signs(-1.0, {"peak knee rate [deg/s]": change(walks, downhill, more, peak_rate), "progress": progress})
    told = f"{found.how}; speed [m/s] {faster:+.2g}, a locked knee fails on {locked} of {len(SLOPES)} slopes"
    return replace(found, how=told)


def locked_failures(walks: Walks) -> int:
    """Slopes on which the start resistance walks and a locked knee does not."""
    yielding = [slope for slope in SLOPES if walks.of(downhill(slope)).outcome == "walked"]
    return sum(walks.of(downhill(slope, resistance=LOCKED)).outcome in FALLS for slope in yielding)


def c03(walks: Walks) -> Finding:
    """Shorter steps at the same speed; and even steps against uneven ones of the same mean."""

    def long(slope: float) -> Scenario:
        return downhill(slope, step=0.55)

    def short(slope: float) -> Scenario:
        return downhill(slope, step=0.45)

    def uneven(slope: float) -> Scenario:
        return downhill(slope, sound_step_length_m=0.45, prosthetic_step_length_m=0.55)

    return signs(
        -1.0,
        {
            "shorter: first peak of the sound foot [BW]": change(walks, long, short, lambda r: metric(r, FIRST)),
            "shorter: work taken by the sound leg [J/m]": change(
                walks, long, short, lambda r: metric(r, "sound_leg_work_out_j_per_m")
            ),
            "even: larger peak [BW]": change(walks, uneven, downhill, higher_peak),
        },
    )


def c05(walks: Walks) -> Finding:
    """Steeper: more flexion under load; a locked knee must fail where the yielding one walks; and in standing, a knee
    that the hip lets go bends where it stays straight on the level.
    """
    steep = change(walks, downhill, lambda slope: downhill(slope - 2.0), lambda r: metric(r, LOADED))
    return signs(
        1.0,
        {
            "2 deg steeper: loaded flexion [deg]": steep,
            "slopes on which a locked knee fails": float(locked_failures(walks) or -1),
            "standing, knee let go: least bend beyond that on the level [deg]": more_flexed_than_level(SLOPES),
        },
    )


def c07(walks: Walks) -> Finding:
    """Torque / rate of the loaded, bending knee in every frame of walking, bending in place, sitting and a stair."""
    found: dict[str, np.ndarray] = {}
    for slope in (SLOPES[0], SLOPES[-1]):
        result = walks.of(downhill(slope))
        if result.outcome == "walked":
            found[f"walking {slope:g} deg"] = resistances(result.series, result.scenario.knee)
    found |= {name: resistances(task.series, task.settings.knee) for name, task in tasks_in_place(Knee()).items()}
    told = ", ".join(f"{name} {len(values)}" for name, values in found.items())
    how = f"largest / smallest torque per rate in the recorded frames of all tasks: {told} frames"
    missing = [name for name, values in found.items() if not len(values)]
    if missing or not any(name.startswith("walking") for name in found):
        return Finding(None, how, fell=f"the loaded knee did not bend in {', '.join(missing) or 'any walk'}")
    values = np.concatenate(list(found.values()))
    return Finding(float(values.max() / values.min()), how)


def c04(_walks: Walks) -> Finding:
    """Rail on the prosthetic side less on the sound side, 5 % of the weight on it, trunk in the middle; statics."""
    base = replace_by_name(downhill(SLOPES[-1]), {"rail.side": "prosthetic", "rail.carried_share": 0.05})
    study = rail_study(base, shares=(0.05,))
    ends = {
        "hip moment across the way in single support [N m]": "prosthetic_hip_frontal_nm_rail_there_less_other_side",
        "prosthetic share on both feet": "prosthetic_share_both_feet_rail_there_less_other_side",
    }
    found = {name: study.found[key] for name, key in ends.items()}
    how = f"on {SLOPES[-1]:g} deg, 5 % of the weight on the rail: "
    if not all(isinstance(value, float) for value in found.values()):
        return Finding(None, how, fell="no step of the walk was measured")
    met = all(float(str(value)) > 0.0 for value in found.values())
    how += ", ".join(f"{name} {value:+.3g}" for name, value in found.items())
    return Finding(1.0 if met else -1.0, how, direction=met)


def c08(_walks: Walks) -> Finding:
    where = "sim/scenario.py and sim/parameters/ours.py call every default a start and give its range"
    return Finding(None, f"{where}; `rampwalk sweep` shows results over ranges", "rule")


def rows() -> dict[str, Row]:
    """All rows of common practice."""
    return {
        "C01": c01,
        "C02": c02,
        "C03": c03,
        "C04": c04,
        "C05": c05,
        "C06": not_applicable("step lengths are settings of a walk here, the walker does not choose them"),
        "C07": c07,
        "C08": c08,
    }
