"""Standing on a slope with one foot ahead: load share, creep, and what opens a lock or topples the person."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim.activities.stand_metrics import LET_GO, METRICS, SETTLE, TRIAL, stand_metrics, stand_reason
from sim.body import Body
from sim.drivers.posture_loop import PostureRun, run_posture
from sim.law.posture_records import PULSE, RAMP
from sim.pack import pack_plant
from sim.parameters import ours_activities
from sim.posture_pack import Knot, body_of, pack_plan, pack_posture
from sim.posture_result import PostureResult, invalid_result, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.settings import check, choice, number
from sim.stance_pose import mass_centre
from sim.upright import Upright, upright, upright_or_error

_STAND = ours_activities.stand()
#: Least weight on the prosthetic leg in the trial `unload`, as a share of the body weight (ours).
LEAST_SHARE = 0.02
#: How far the mass centre is taken forward in the trial `lean` [leg lengths] (ours; beyond every foot).
FURTHEST_LEAN = 0.4


@dataclass(frozen=True, kw_only=True)
class Stand(InPlace):
    """Standing on a slope, facing down it where `slope_deg` is negative, for `seconds`.

    `trial` says what happens after `TRIAL` seconds: `hold` nothing; `lean` the body leans ever further forward from
    the ankles; `push` a level push on the trunk grows to `push_n`; `unload` the weight goes over to the sound leg; each
    within `ramp_seconds`. `nudge` is one short push of `push_n`, half a sine wave of `push_duration_s`. Pushes act at
    `push_height_m` above the hip, forward positive. `hip_presses_knee`: the residual limb is pressed back in the
    socket, so that the knee is held straight; `at-first` lets go after `SETTLE` seconds, when a lock can have closed.
    """

    slope_deg: float = number(_STAND["slope"], -20, 15, "downhill is negative")
    prosthetic_foot_ahead_m: float = number(_STAND["foot_ahead"], -0.4, 0.4, "negative: behind the sound foot")
    weight_on_prosthetic: float = number(_STAND["weight"], 0.05, 0.95, "share of the body weight, 0.5 is half")
    trunk_lean_deg: float = number(_STAND["lean"], -15, 30, "forward is positive")
    seconds: float = number(_STAND["seconds"], 3, 300, "2 s are needed to settle")
    trial: str = choice("hold", "lean", "push", "unload", "nudge")
    hip_presses_knee: str = choice("yes", "at-first", "no")
    push_n: float = number(_STAND["push"], -1000, 1000, "forward is positive")
    push_height_m: float = number(_STAND["push_height"], -0.5, 0.8, "above the hip")
    push_duration_s: float = number(_STAND["push_duration"], 0.02, 5, "of the nudge")
    ramp_seconds: float = number(_STAND["ramp_seconds"], 1, 300, "of a trial that grows")

    def __post_init__(self) -> None:
        check(self)


def stand(settings: Stand) -> PostureResult:
    """Stand. Nothing is random.

    Raises
    ------
    RampwalkError
        If no pose with a straight prosthetic knee is in balance.
    """
    body = body_of(settings)
    run, start = _run(settings, body)
    broken = invalid_result("stand", settings, run, body, METRICS)
    if broken:
        return broken
    series = series_of_posture(run.frames, body)
    metrics = stand_metrics(settings, run, series, start)
    outcome = "fell" if run.status else "stood"
    return result_of("stand", settings, run, body, outcome, stand_reason(settings, run, series, metrics), metrics)


def _pose(settings: Stand, body: Body, record: Any, share: float, lean_deg: float) -> Upright:
    contact, passive = record[0]["base"]["contact"]["stiffness"], settings.person.has_prosthesis
    found = upright(
        body,
        math.radians(settings.slope_deg),
        settings.prosthetic_foot_ahead_m,
        share,
        math.radians(lean_deg),
        (float(contact[0]), float(contact[1])),
        settings.foot.ankle_stiffness if passive else None,
        0.0 if passive else math.radians(8.0),  # sound knees hold best a little bent
    )
    return upright_or_error(found, settings.prosthetic_foot_ahead_m)


def _run(settings: Stand, body: Body) -> tuple[PostureRun, Upright]:
    record = pack_posture(settings, settings.slope_deg)
    if settings.trial in {"lean", "unload"}:
        record[0]["hold"]["balance_rate"] = 0.0  # the trial itself moves the weight
    start = _pose(settings, body, record, settings.weight_on_prosthetic, settings.trunk_lean_deg)
    share, lean = settings.weight_on_prosthetic, math.radians(settings.trunk_lean_deg)
    here = Knot(
        time=TRIAL,
        hip=(float(start.hip[0]), float(start.hip[1])),
        lean=lean,
        sound_share=1.0 - share,
        height_hold=0.0 if settings.person.has_prosthesis else 1.0,
        knee_press=0.0 if settings.hip_presses_knee == "no" else 1.0,
        centre=float(mass_centre(start.q, body)[0]),
    )
    knots = [here, replace(here, time=TRIAL + settings.ramp_seconds)]
    if settings.trial == "lean":
        knots = _even(here, replace(knots[1], centre=here.centre + FURTHEST_LEAN * body.leg_length))
    elif settings.trial == "unload":
        knots = _unloading(settings, body, record, here)
    elif settings.trial in {"push", "nudge"}:
        push = record[0]["push"]
        push["kind"] = PULSE if settings.trial == "nudge" else RAMP
        push["start"], push["force"], push["height"] = TRIAL, settings.push_n, settings.push_height_m
        push["duration"] = settings.push_duration_s if settings.trial == "nudge" else settings.ramp_seconds
    if settings.hip_presses_knee == "at-first":
        knots = [replace(knot, knee_press=0.0) for knot in knots]
        knots = [replace(here, time=SETTLE), replace(here, time=LET_GO, knee_press=0.0), *knots]
    pack_plan(record, knots)
    numerics = settings.numerics
    run = run_posture(
        record,
        pack_plant(body),
        start.q,
        settings.seconds,
        numerics.time_step_s,
        numerics.iterations,
        numerics.loop,
    )
    return run, start


def _even(first: Knot, last: Knot, pieces: int = 10) -> list[Knot]:
    """Knots between which the mass centre moves evenly."""
    shares = np.linspace(0.0, 1.0, pieces + 1)
    return [
        replace(
            first,
            time=first.time + u * (last.time - first.time),
            centre=first.centre + u * (last.centre - first.centre),
        )
        for u in shares.tolist()
    ]


def _unloading(settings: Stand, body: Body, record: Any, here: Knot) -> list[Knot]:
    """The mass centre goes over to the sound foot; poses of the shares between, as far as they are in balance."""
    from sim.errors import RampwalkError

    knots, pieces = [here], 10
    for k in range(1, pieces + 1):
        share = settings.weight_on_prosthetic + k / pieces * (LEAST_SHARE - settings.weight_on_prosthetic)
        try:
            pose = _pose(settings, body, record, share, settings.trunk_lean_deg)
        except RampwalkError:
            break
        hip = (float(pose.hip[0]), float(pose.hip[1]))
        time = TRIAL + settings.ramp_seconds * k / pieces
        centre = float(mass_centre(pose.q, body)[0])
        knots.append(replace(here, time=time, hip=hip, sound_share=1.0 - share, centre=centre))
    return knots if len(knots) > 1 else [here, replace(here, time=here.time + 1.0)]
