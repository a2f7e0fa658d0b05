"""What a stop on a slope and the walk after it were like."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sim.activities.stop_run import Course
from sim.body import PROSTHETIC, SOUND
from sim.metrics.strides import filtered_forces
from sim.posture_result import Metrics
from sim.series import Series

#: What `rampwalk stop` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "decided_at_s",
    "braked_at_s",
    "closed_at_s",
    "rest_at_s",
    "goes_over_at_s",
    "set_off_at_s",
    "lean_back_deg",
    "lean_trials",
    "steps_to_stop",
    "distance_to_stop_m",
    "time_to_close_s",
    "time_to_rest_s",
    "speed_before_m_s",
    "sound_peak_force_walking_bw",
    "sound_peak_force_stopping_bw",
    "prosthetic_peak_force_stopping_bw",
    "prosthetic_knee_peak_flexion_stopping_deg",
    "closing_foot_farthest_ahead_m",
    "mass_centre_margin_at_closing_m",
    "prosthetic_load_share_at_rest",
    "prosthetic_knee_flexion_at_rest_deg",
    "sound_knee_flexion_at_rest_deg",
    "feet_apart_at_rest_m",
    "fastest_mass_centre_at_rest_m_s",
    "mass_centre_creep_at_rest_mm",
    "set_off_trials",
    "time_to_set_off_s",
    "steps_after",
    "first_step_length_m",
    "first_step_time_s",
    "second_step_length_m",
    "second_step_time_s",
    "sound_peak_force_first_steps_bw",
    "loaded_knee_peak_rate_first_steps_deg_s",
    "speed_after_m_s",
)
#: Steps of the walk before that are compared, and after the stop that count as the first ones.
COMPARED, FIRST_STEPS = 4, 4


def stop_metrics(weight: float, stand_s: float, slope_deg: float, course: Course, series: Series) -> Metrics:
    """Metrics of a run; None for what it did not come to.

    Parameters
    ----------
    weight : float
        [N]
    stand_s : float
        For which it stood at rest [s].
    slope_deg : float
    course : Course
    series : Series
    """
    metrics: Metrics = dict.fromkeys(METRICS)
    metrics["time_s"] = course.relay.time
    for name, moment in (
        ("decided_at_s", course.told_at),
        ("braked_at_s", course.braked_at),
        ("closed_at_s", course.closed_at),
        ("rest_at_s", course.rest_at),
        ("goes_over_at_s", course.rose_at),
        ("set_off_at_s", course.off_at),
    ):
        metrics[name] = moment or None
    walks, time = course.relay.walks(), series.time
    smooth = filtered_forces(series)[:, :, 0] / weight if len(time) > 1 else np.zeros((len(time), 2))

    def during(begin: float, end: float) -> Any:
        return (time >= begin) & (time < end)

    if course.told_at:
        before = walks[0][: _landed_by(walks[0], course.told_at)]
        metrics["speed_before_m_s"] = float(np.mean(before["speed"][-COMPARED:]))
        begin = float(before["time"][-min(COMPARED, len(before))])
        metrics["sound_peak_force_walking_bw"] = _highest(smooth[:, SOUND], during(begin, course.told_at))
    if course.closed_at:
        stopping = during(course.told_at, course.rest_at or course.relay.time)
        metrics["time_to_close_s"] = course.closed_at - course.told_at
        metrics["mass_centre_margin_at_closing_m"] = course.margin * _leg_length(course)
        swing = during(course.braked_at, course.closed_at)
        ahead = series.ankle[swing, PROSTHETIC, 0] - series.ankle[swing, SOUND, 0]
        metrics["closing_foot_farthest_ahead_m"] = float(ahead.max())
        metrics["sound_peak_force_stopping_bw"] = _highest(smooth[:, SOUND], stopping)
        metrics["prosthetic_peak_force_stopping_bw"] = _highest(smooth[:, PROSTHETIC], stopping)
        flexion = series.knee_flexion[stopping, PROSTHETIC]
        metrics["prosthetic_knee_peak_flexion_stopping_deg"] = math.degrees(float(flexion.max()))
    if course.rest_at:
        _at_rest(metrics, stand_s, slope_deg, course, series)
    if course.off_at:
        _walk_on(metrics, walks[1], course, series, smooth)
    return metrics


def _at_rest(metrics: Metrics, stand_s: float, slope_deg: float, course: Course, series: Series) -> None:
    rest = (series.time >= course.rest_at) & (series.time < course.rest_at + stand_s)
    told, begun = (int(np.searchsorted(series.time, moment)) for moment in (course.told_at, course.rest_at))
    x = series.mass_centre[:, 0]
    metrics["steps_to_stop"] = 2.0  # the sound foot brakes, the prosthetic one closes up
    metrics["distance_to_stop_m"] = float(x[begun] - x[told]) / math.cos(math.radians(slope_deg))
    metrics["time_to_rest_s"] = course.rest_at - course.told_at
    force = series.ground_force[rest, :, 1].mean(axis=0)
    metrics["prosthetic_load_share_at_rest"] = float(force[PROSTHETIC] / force.sum())
    flexion = np.degrees(series.knee_flexion[rest].mean(axis=0))
    metrics["prosthetic_knee_flexion_at_rest_deg"] = float(flexion[PROSTHETIC])
    metrics["sound_knee_flexion_at_rest_deg"] = float(flexion[SOUND])
    apart = (series.ankle[rest, PROSTHETIC] - series.ankle[rest, SOUND]).mean(axis=0)
    metrics["feet_apart_at_rest_m"] = math.copysign(float(np.hypot(*apart)), float(apart[0]))
    metrics["fastest_mass_centre_at_rest_m_s"] = float(np.hypot(*series.mass_centre_velocity[rest].T).max())
    last = x[rest][len(x[rest]) // 2 :]  # the second half: the first still comes to rest
    metrics["mass_centre_creep_at_rest_mm"] = 1000.0 * float(last.max() - last.min())


def _walk_on(metrics: Metrics, rows: Any, course: Course, series: Series, smooth: Any) -> None:
    metrics["time_to_set_off_s"], metrics["steps_after"] = course.off_at - course.rose_at, float(len(rows))
    before = course.off_at
    for k, name in enumerate(("first", "second")):
        if len(rows) > k:
            metrics[f"{name}_step_length_m"] = float(rows["length"][k])
            metrics[f"{name}_step_time_s"] = float(rows["time"][k]) - before
            before = float(rows["time"][k])
    if len(rows) >= FIRST_STEPS:
        first = (series.time >= course.off_at) & (series.time < float(rows["time"][FIRST_STEPS - 1]))
        metrics["sound_peak_force_first_steps_bw"] = _highest(smooth[:, SOUND], first)
        loaded = first & (series.load[:, PROSTHETIC] > float(course.relay.settings[0]["base"]["knee"]["load_on"]))
        metrics["loaded_knee_peak_rate_first_steps_deg_s"] = math.degrees(
            _highest(series.knee_rate[:, PROSTHETIC], loaded)
        )
        metrics["speed_after_m_s"] = float(np.mean(rows["speed"][-min(COMPARED, len(rows) - 1) :]))


def _leg_length(course: Course) -> float:
    return float(course.relay.settings[0]["base"]["person"]["leg_length"])


def _landed_by(rows: Any, moment: float) -> int:
    return int(np.searchsorted(rows["time"], moment, side="right"))


def _highest(values: Any, where: Any) -> float:
    return float(values[where].max()) if where.any() else math.nan


def stop_reason(outcome: str, fell: str, course: Course, metrics: Metrics, strides_after: int) -> str:
    """What happened and what to try."""
    parts = {
        "walk": "before the stop",
        "brake": "while braking",
        "stand": "while coming to rest on both feet",
        "set off": "while setting off again",
        "walk on": "after setting off again",
    }
    where = parts[course.part]
    told = ""
    if course.rest_at:
        told = (
            f"Came to rest {metrics['distance_to_stop_m']:.2f} m and {metrics['time_to_rest_s']:.1f} s after deciding "
            f"to, with two steps, the trunk leaning back by {metrics['lean_back_deg']:.1f} deg in the first"
        )
    if outcome == "stopped and walked on":
        return f"{told}; then walked on for {2 * strides_after} steps."
    remedy = "try a shorter step, another resistance, or another lean_back_deg"
    if outcome == "fell":
        return f"{told}; then fell {where}: {fell}; {remedy}." if told else f"Fell {where}: {fell}; {remedy}."
    if outcome == "stalled":
        return f"Stalled {where}: no further landing; {remedy}."
    if outcome == "stuck":
        return f"{told}; but the body did not tip far enough forward for a first step; {remedy}."
    if course.part == "brake":
        return f"Did not stop: the prosthetic foot did not close up; {remedy}."
    return f"Did not come to rest within some seconds after the feet had closed up; {remedy}."
