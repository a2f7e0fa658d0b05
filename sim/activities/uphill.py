"""Walking up: how steep, at what effort, what it takes to come over the prosthetic foot, and the way of its toe."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sim.activities.walk import walk
from sim.bisect import edge_between, last_in_a_row
from sim.errors import RampwalkError, number_text
from sim.parameters import ours_support
from sim.result import WalkResult
from sim.scenario import GRAVITY, Scenario, replace_by_name
from sim.study import Study, Value, judged_frames, walk_row

_OURS = ours_support.uphill()
#: Slopes that are walked [deg], differences of the steps [m], and how closely the steepest is found [deg] (ours).
SLOPES = tuple(float(slope) for slope in range(11))
DIFFERENCES = (-0.15, -0.10, -0.05, 0.0, 0.05, 0.10, 0.15)
PRECISION = 0.05
#: Toe clearance that is wanted [m].
CLEARANCE = _OURS["clearance"].value


def uphill_study(scenario: Scenario, slopes: Sequence[float] = SLOPES) -> Study:
    """Walk up ever steeper, and find the steepest slope that is walked.

    Parameters
    ----------
    scenario : Scenario
        Its slope is not used.
    slopes : sequence of float
        Rising [deg].

    Returns
    -------
    Study
        A row per walk. `steepest_walked_deg` is the end of the slopes that were walked without a gap from the first
        on, found by halving (None if the first one fell); `falls_at_deg` the nearest one that was not.
    """
    results: dict[float, WalkResult] = {}

    def succeeds(slope: float) -> bool:
        results[slope] = walk(replace_by_name(scenario, {"slope_deg": slope}))
        return results[slope].outcome == "walked"

    tried = [(slope, succeeds(slope)) for slope in slopes]
    steepest, beyond = last_in_a_row(tried)
    if steepest is not None and beyond is not None:
        beyond, steepest = edge_between(succeeds, beyond, steepest, PRECISION)
    again = [slope for slope, good in tried if good and steepest is not None and slope > steepest]
    rows = [uphill_row(results[slope]) for slope in sorted(results)]
    found: dict[str, Value] = {"varied": "slope", "steepest_walked_deg": steepest, "falls_at_deg": beyond}
    found["walked_again_at_deg"] = again[0] if again else None
    software = next(iter(results.values())).software
    return Study("uphill", scenario, _told(results, found), found, tuple(rows), software)


def step_difference_study(scenario: Scenario, differences: Sequence[float] = DIFFERENCES) -> Study:
    """Walk up one slope with the prosthetic step shorter and longer than the sound one, at the same mean.

    Parameters
    ----------
    scenario : Scenario
        `step_length_m` is the mean.
    differences : sequence of float
        Prosthetic less sound step length [m].

    Returns
    -------
    Study
        A row per walk; `least_effort_difference_m` is the difference of the completed walk with the least effort.
    """
    mean = scenario.mean_step_length
    base = replace_by_name(scenario, {"sound_step_length_m": None, "prosthetic_step_length_m": None})
    if min(mean - 0.5 * abs(difference) for difference in differences) < 0.15:
        raise RampwalkError(
            f"step_length_m = {number_text(mean)} m is too short for uneven steps: one would be below 0.15 m; "
            "give a longer step.",
            "step_length_m",
            mean,
        )
    results = []
    for difference in differences:
        steps = {"prosthetic_step_length_m": mean + 0.5 * difference, "sound_step_length_m": mean - 0.5 * difference}
        results.append(walk(replace_by_name(base, {name: round(step, 6) for name, step in steps.items()})))
    rows = [uphill_row(result) for result in results]
    walked = [
        (float(str(row["effort_j_per_m_kg"])), difference)
        for row, difference in zip(rows, differences, strict=True)
        if row["outcome"] == "walked" and row["effort_j_per_m_kg"] is not None
    ]
    least = min(walked)[1] if walked else None
    found: dict[str, Value] = {"varied": "step difference", "least_effort_difference_m": least}
    told = f"{len(walked)} of {len(rows)} walks with uneven steps were completed on {scenario.slope_deg:g} deg."
    if least is not None:
        than = "longer" if least > 0.0 else "shorter"
        what = "even steps" if least == 0.0 else f"the prosthetic step {abs(least):g} m {than} than the sound one"
        told += f" The least positive work per metre came with {what}."
    return Study("uphill", base, told, found, tuple(rows), results[0].software)


#: What of the prosthetic side's swing is tried: what it is called, setting, values (ours).
SWING_HABITS = (
    ("unloaded earlier", "early_unloading_share", (0.0, 0.2, 0.4, 0.6)),
    ("held back longer", "late_hold_back_nm", (0.0, 10.0, 20.0, 30.0, 40.0)),
    ("sharper hip flexion", "swing_start_hip_flexion_nm", (0.0, 10.0, 20.0, 30.0, 40.0)),
)


def swing_study(scenario: Scenario) -> Study:
    """On one slope: unload the prosthesis earlier, hold the limb back longer, flex the hip sharper as swing starts.

    Parameters
    ----------
    scenario : Scenario
        Of each of the three settings one is varied while the others stay as they are here.

    Returns
    -------
    Study
        A row per walk; `found` has for each habit the change of the prosthetic knee's greatest flexion in swing and of
        toe clearance from the first value to the last one that was walked, None if none beside the first was.
    """
    rows: list[dict[str, Value]] = []
    software: dict[str, str | float | int] = {}
    found: dict[str, Value] = {"varied": "swing"}
    said: list[str] = []
    done: dict[Scenario, WalkResult] = {}
    for what, name, values in SWING_HABITS:
        own = []
        for value in values:
            one = replace_by_name(scenario, {name: value})
            if one not in done:  # the first values make the same walk
                done[one] = walk(one)
            result = done[one]
            software = result.software
            own.append({"habit": what, "value": value, **uphill_row(result)})
        rows += own
        found |= _change(what.replace(" ", "_"), own)
        walked = sum(row["outcome"] == "walked" for row in own)
        change = found[f"{what.replace(' ', '_')}_changes_swing_flexion_deg"]
        told = "" if change is None else f", knee flexion in swing {change:+.1f} deg"
        said.append(f"{what.capitalize()}: {walked} of {len(own)} walked{told}.")
    return Study("uphill", scenario, f"On {scenario.slope_deg:g} deg. {' '.join(said)}", found, tuple(rows), software)


def _change(what: str, rows: Sequence[dict[str, Value]]) -> dict[str, Value]:
    """Last completed walk less the first value's, of knee flexion in swing and of toe clearance."""
    out: dict[str, Value] = {}
    good = [row for row in rows if row["outcome"] == "walked"]
    for name, ending in (
        ("prosthetic_knee_swing_peak_deg", "swing_flexion_deg"),
        ("prosthetic_toe_clearance_mm", "toe_clearance_mm"),
    ):
        out[f"{what}_changes_{ending}"] = None
        if len(good) > 1 and good[0] is rows[0]:
            before, after = good[0][name], good[-1][name]
            if isinstance(before, float) and isinstance(after, float):
                out[f"{what}_changes_{ending}"] = after - before
    return out


def uphill_row(result: WalkResult) -> dict[str, Value]:
    """One walk up in a row: `walk_row` and what is asked of a way up."""
    scenario, metrics = result.scenario, result.metrics
    prosthetic, sound = scenario.step_lengths
    row: dict[str, Value] = {"slope_deg": scenario.slope_deg, "step_difference_m": round(prosthetic - sound, 6)}
    work = metrics["positive_work_j_per_m"]
    clearance = metrics["prosthetic_toe_clearance_m"]
    row |= walk_row(result)
    row["effort_j_per_m_kg"] = None if work is None else work / scenario.person.mass_kg
    row["lifting_j_per_m_kg"] = GRAVITY * math.sin(math.radians(scenario.slope_deg))
    row["prosthetic_toe_clearance_mm"] = None if clearance is None else 1000.0 * clearance
    row["prosthetic_knee_swing_peak_deg"] = metrics["prosthetic_knee_swing_peak_deg"]
    row["scuffs"] = metrics["scuffs"]
    row["hip_lift_for_clearance_mm"] = None if clearance is None else max(0.0, 1000.0 * (CLEARANCE - clearance))
    return row | barrier(result)


def barrier(result: WalkResult) -> dict[str, Value]:
    """Energy to bring the mass centre over the prosthetic foot, mean over its steps in the judged frames.

    Returns
    -------
    dict
        `barrier_j_per_kg`: from the landing of the prosthetic foot to when the mass centre is plumb over its ankle,
        the highest place less that at landing, x g. `motion_j_per_kg`: half the squared speed of the mass centre at
        that landing. `barrier_over_motion`: their ratio; above 1 what carries the body over is not its speed.
        `came_over_share`: share of the prosthetic steps in which the mass centre came over the ankle before the sound
        foot landed. All None without such steps.
    """
    names = ("barrier_j_per_kg", "motion_j_per_kg", "barrier_over_motion", "came_over_share")
    part = judged_frames(result)
    if part is None:
        return dict.fromkeys(names)
    frames, series, rows = result.frames["time"], result.series, result.step_records
    landings = np.searchsorted(frames, rows["time"])
    rises, motions, over = [], [], []
    for k in range(len(rows) - 1):
        first, last = int(landings[k]), int(min(landings[k + 1], len(frames)))
        if rows["leg"][k] != 0 or first < part.start or last > part.stop or last - first < 2:
            continue
        ankle = float(np.median(series.ankle[first:last, 0, 0]))
        passed = np.flatnonzero(series.mass_centre[first:last, 0] >= ankle)
        over.append(float(len(passed) > 0))
        end = first + int(passed[0]) + 1 if len(passed) else last
        heights = series.mass_centre[first:end, 1]
        rises.append(GRAVITY * float(heights.max() - heights[0]))
        motions.append(0.5 * float((series.mass_centre_velocity[first] ** 2).sum()))
    if not rises:
        return dict.fromkeys(names)
    rise, motion = float(np.mean(rises)), float(np.mean(motions))
    return dict(zip(names, (rise, motion, rise / motion if motion > 0.0 else None, float(np.mean(over))), strict=True))


def _told(results: dict[float, WalkResult], found: dict[str, Value]) -> str:
    steepest, beyond = found["steepest_walked_deg"], found["falls_at_deg"]
    first = min(results)
    if not isinstance(steepest, float):
        return f"Not even {first:g} deg was walked. {results[first].reason}"
    if not isinstance(beyond, float):
        return f"All slopes up to {steepest:g} deg were walked."
    said = f"Walked from {first:g} up to {steepest:.2f} deg; on {beyond:.2f} deg: {results[beyond].reason}"
    if found["walked_again_at_deg"] is not None:
        said += f" {found['walked_again_at_deg']} deg was walked again: the edge is not a clean one."
    return said
