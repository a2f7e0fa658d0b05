"""Walk down a slope, stop on it, stand at rest on both feet, and walk on: one run of the same bodies and laws."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim.activities.stop_metrics import METRICS, stop_metrics, stop_reason
from sim.activities.stop_run import BEGINS, NO_CLOSING, NO_FIRST_STEP, NOT_AT_REST, Course, Steering
from sim.body import Body
from sim.drivers.posture_loop import PostureRun
from sim.drivers.relay import NO_LANDING, Relay
from sim.errors import RampwalkError, shown
from sim.parameters import ours_practice
from sim.posture_pack import body_of
from sim.posture_result import PostureResult, how_it_fell, invalid_result, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.scenario import Scenario
from sim.settings import check, number, optional, whole

_OURS = ours_practice.stop()
#: How far the trunk may lean back in the last step [deg], forward negative (ours: people lean a few degrees).
LEAST_LEAN, MOST_LEAN = -6.0, 10.0
#: First lean that is tried [deg], how many are tried at most, where the extrapolated mass centre should be when the
#: feet have closed up, and how near to that it is worth trying to stand [leg lengths ahead of the sound ankle]; for
#: how long [s] (all ours: the middle and the width of what comes to rest).
FIRST_LEAN, MOST_TRIALS, WANTED_MARGIN, NEAR_ENOUGH, TRIED_STANDING = 3.0, 7, 0.047, 0.055, 1.0
#: Outcomes of ends that are no fall.
ENDS = {NO_LANDING: "stalled", NO_CLOSING: "not stopped", NOT_AT_REST: "not stopped", NO_FIRST_STEP: "stuck"}


@dataclass(frozen=True, kw_only=True)
class Stop(InPlace):
    """Walk `strides_before` strides with steps of `step_m`, stop, stand for `stand_s`, walk `strides_after` strides.

    `stand_s` counts from when the mass centre is slower than 0.02 m/s for good. `lean_back_deg` is the lean of the
    trunk in the last step before the stop, backward positive; left out, the person tries some (see `find_lean`). From
    where to set off again is tried too.
    """

    slope_deg: float = number(_OURS["slope"], -12, 0, "downhill is negative")
    step_m: float = number(_OURS["step"], 0.3, 0.7, "people step 0.4 to 0.6 m down a ramp")
    strides_before: int = whole(_OURS["strides_before"], 2, 50, "a stride is two steps")
    stand_s: float = number(_OURS["stand"], 0.5, 60, "2 s or more show that nothing creeps")
    strides_after: int = whole(_OURS["strides_after"], 1, 50, "a stride is two steps")
    lean_back_deg: float | None = optional("deg", LEAST_LEAN, MOST_LEAN, "people lean back by a few degrees")

    def __post_init__(self) -> None:
        check(self)

    def scenario(self) -> Scenario:
        """The walk before and after."""
        return replace(self.walk_scenario(self.slope_deg), step_length_m=self.step_m)


def stop(settings: Stop) -> PostureResult:
    """Walk, stop, stand, walk on. Nothing is random; a fall is a result.

    Raises
    ------
    RampwalkError
        If nobody has a prosthesis, or a lock is asked for.
    """
    settings.need_passive_knee("this stop is")
    if settings.lock.kind != "none":
        raise RampwalkError(
            f"lock.kind = {shown(settings.lock.kind)} has no effect in a walk, and this run walks; leave it out.",
            "lock.kind",
            settings.lock.kind,
        )
    body = body_of(settings)
    lean, trials = settings.lean_back_deg, 0
    if lean is None:
        lean, trials = find_lean(settings, body)
    course, places = run_course(settings, body, lean, BEGINS[0]), 1
    while course.status and course.off_at and places < len(BEGINS):  # it fell after setting off: from another place
        other = run_course(settings, body, lean, BEGINS[places])
        places += 1
        if other.status == 0:
            course = other
    run = _as_run(course)
    broken = invalid_result("stop", settings, run, body, METRICS)
    if broken:
        return broken
    series = series_of_posture(run.frames, body)
    metrics = stop_metrics(settings.person.weight, settings.stand_s, settings.slope_deg, course, series)
    metrics["lean_back_deg"], metrics["lean_trials"] = lean, float(trials)
    metrics["set_off_trials"] = float(places) if course.off_at else None
    outcome = "stopped and walked on" if course.status == 0 else ENDS.get(course.status, "fell")
    fell = how_it_fell(run, series) if outcome == "fell" else ""
    reason = stop_reason(outcome, fell, course, metrics, settings.strides_after)
    return result_of("stop", settings, run, body, outcome, reason, metrics)


def find_lean(settings: Stop, body: Body) -> tuple[float, int]:
    """Lean of the trunk with which the body comes to rest over the feet, as a person finds it: by trying.

    Each trial is a run from the start until the person has stood a moment; too far ahead when the feet have closed up
    asks for more lean, too far behind for less. None of the trials is part of the run that is reported.

    Parameters
    ----------
    settings : Stop
    body : Body

    Returns
    -------
    (float, int)
        The first lean that came to rest, or else the one that came nearest [deg], backward positive; how many were
        tried.
    """
    low, high, lean, best, nearest = LEAST_LEAN, MOST_LEAN, FIRST_LEAN, FIRST_LEAN, math.inf
    for trial in range(1, MOST_TRIALS + 1):
        steering = Steering(settings.scenario(), settings, body, math.radians(lean))
        closed = steering.walk_and_brake(2 * settings.strides_before)
        off = steering.course.margin - WANTED_MARGIN
        if math.isnan(off):  # it fell before there was anything to stop
            return lean, trial
        if closed and abs(off) < nearest:
            best, nearest = lean, abs(off)
        if closed and abs(off) < NEAR_ENOUGH and steering.stand_still(TRIED_STANDING):
            return lean, trial
        low, high = (lean, high) if off > 0.0 else (low, lean)
        lean = 0.5 * (low + high)
    return best, MOST_TRIALS


def run_course(settings: Stop, body: Body, lean_back_deg: float, begins: float) -> Course:
    """The whole run with one lean [deg] and one place to set off from [leg lengths ahead of the sound ankle]."""
    steering = Steering(settings.scenario(), settings, body, math.radians(lean_back_deg))
    if steering.walk_and_brake(2 * settings.strides_before) and steering.stand_still(settings.stand_s):
        steering.walk_on(2 * settings.strides_after, begins)
    return steering.course


def _as_run(course: Course) -> PostureRun:
    """What the checks of an activity in place look at."""
    relay = course.relay
    frames = relay.frames()

    def until(moment: float) -> PostureRun:
        return _piece(relay, course.status, frames, relay.book_at(moment))

    run = _piece(relay, course.status, frames, relay.books[0])
    run.until = until
    return run


def _piece(relay: Relay, status: int, frames: np.ndarray[Any, Any], book: Any) -> PostureRun:
    run = PostureRun(status, relay.time_steps, relay.dt, frames, book, relay.memories[0], relay.loop, lambda _: run)
    return run
