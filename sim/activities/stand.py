"""Standing on a slope with one foot ahead: load share, creep, and what opens a lock or topples the person."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim.body import Body
from sim.drivers.posture_loop import PostureRun, run_posture
from sim.law.posture import NUMBERS_LOST
from sim.law.posture_records import HYPEREXTENSION, PULSE, RAMP, TOE_LOADED, UNLOADED
from sim.pack import pack_plant
from sim.parameters import ours_activities
from sim.posture_pack import Knot, body_of, pack_plan, pack_posture
from sim.posture_result import Metrics, PostureResult, how_it_fell, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.series import Series, turned
from sim.settings import check, choice, number
from sim.stance_pose import mass_centre
from sim.upright import Upright, upright, upright_or_error

_STAND = ours_activities.stand()
#: Time to settle before anything is measured or tried [s] (ours).
SETTLE = 2.0
#: When a hip that presses the knee at first has let go, and when a trial begins [s] (ours).
LET_GO, TRIAL = 2.5, 3.0
#: A prosthetic knee bent this much further than while it stood still has yielded [rad] (ours; 3 degrees).
YIELDED = math.radians(3.0)
#: A foot with less than this share of the weight does not stand (as `sim.law.phase.LOADED_SHARE`).
LIFTED = 0.027
#: A mass centre this far from where the person wants it has got out of hand [m] (ours).
ASTRAY = 0.05
#: Least weight on the prosthetic leg in the trial `unload`, as a share of the body weight (ours).
LEAST_SHARE = 0.02
#: How far the mass centre is taken forward in the trial `lean` [leg lengths] (ours; beyond every foot).
FURTHEST_LEAN = 0.4
CAUSES = {HYPEREXTENSION: "hyperextension", UNLOADED: "unloading", TOE_LOADED: "toe load"}


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
    series = series_of_posture(run.frames, body)
    metrics = _metrics(settings, run, series, start)
    outcome = "invalid" if run.status == NUMBERS_LOST else "fell" if run.status else "stood"
    return result_of("stand", settings, run, body, outcome, _reason(settings, run, series, metrics), metrics)


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


# -------------------------------------------------------------------------------- what came out
def _metrics(settings: Stand, run: PostureRun, series: Series, start: Upright) -> Metrics:
    time, weight = series.time, settings.person.weight
    still = (time >= LET_GO) & (time <= TRIAL) if settings.trial != "hold" else time >= SETTLE
    metrics: Metrics = dict.fromkeys(METRICS)
    metrics["time_s"] = run.time
    event = _event(settings, run, series)
    if event is not None:
        at, metrics["lock_opened_at_s"], metrics["knee_yielded_at_s"] = event
        k = min(int(at / series.interval), len(time) - 1)
        if settings.trial != "hold":
            metrics["trial_event_at_s"] = at
            moved = series.mass_centre[k] - series.mass_centre[min(int(TRIAL / series.interval), len(time) - 1)]
            metrics["trial_mass_centre_forward_mm"] = 1000.0 * float(moved[0])
            metrics["trial_trunk_lean_deg"] = -math.degrees(float(series.trunk[k]))
            metrics["trial_push_n"] = float(run.frames["push"][k])
            metrics["trial_prosthetic_load_bw"] = float(series.load[k, 0]) / weight
    if not still.any():
        return metrics
    load, push = series.load[still].mean(axis=0), series.push[still].mean(axis=0)
    slope = math.radians(settings.slope_deg)
    vertical = series.ground_force[still, :, 1].mean(axis=0)
    metrics["prosthetic_load_share"] = float(vertical[0] / vertical.sum())
    metrics["prosthetic_load_share_by_statics"] = _lever(series, still)
    metrics["mean_normal_force_bw"] = float(load.sum() / weight)
    metrics["mean_force_along_slope_bw"] = float(push.sum() / weight)
    metrics["normal_over_weight_cos_slope"] = float(load.sum() / (weight * math.cos(slope)))
    if settings.slope_deg:
        metrics["along_over_weight_sin_slope"] = float(push.sum() / (weight * math.sin(slope)))
    minutes = series.time[still] / 60.0
    flexion, ahead = np.degrees(series.knee_flexion[still, 0]), 1000.0 * series.mass_centre[still, 0]
    if len(minutes) > 2:
        metrics["knee_creep_deg_per_min"] = float(np.polyfit(minutes, flexion, 1)[0])
        metrics["mass_centre_creep_mm_per_min"] = float(np.polyfit(minutes, ahead, 1)[0])
    metrics["mass_centre_sway_mm"] = float(np.ptp(ahead))
    metrics["prosthetic_knee_flexion_deg"] = float(flexion.mean())
    metrics["prosthetic_knee_extending_moment_nm"] = float(series.knee_stop_torque[still, 0].mean())
    metrics["prosthetic_hip_extending_torque_nm"] = -float(series.hip_torque[still, 0].mean())
    metrics["sound_knee_flexion_deg"] = float(np.degrees(series.knee_flexion[still, 1]).mean())
    metrics["sound_knee_extending_torque_nm"] = -float(series.knee_torque[still, 1].mean())
    metrics["lock_closed"] = float(run.frames["lock_closed"][still].max())
    metrics["hip_placed_off_balance_mm"] = 1000.0 * start.off
    return metrics


#: What `rampwalk stand` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "prosthetic_load_share",
    "prosthetic_load_share_by_statics",
    "mean_normal_force_bw",
    "mean_force_along_slope_bw",
    "normal_over_weight_cos_slope",
    "along_over_weight_sin_slope",
    "knee_creep_deg_per_min",
    "mass_centre_creep_mm_per_min",
    "mass_centre_sway_mm",
    "prosthetic_knee_flexion_deg",
    "prosthetic_knee_extending_moment_nm",
    "prosthetic_hip_extending_torque_nm",
    "sound_knee_flexion_deg",
    "sound_knee_extending_torque_nm",
    "lock_closed",
    "lock_opened_at_s",
    "knee_yielded_at_s",
    "hip_placed_off_balance_mm",
    "trial_event_at_s",
    "trial_mass_centre_forward_mm",
    "trial_trunk_lean_deg",
    "trial_push_n",
    "trial_prosthetic_load_bw",
)


def _lever(series: Series, still: Any) -> float:
    """Share of the prosthetic leg in the vertical force by moment balance about the sound foot's pressure.

    The feet also press against each other along the slope; with one foot lower that force has a moment of its own.
    """
    centre, force = series.mass_centre[still].mean(axis=0), series.ground_force[still].mean(axis=0)
    places = []
    for leg in range(2):
        foot = series.foot[still, leg]
        heel = series.sole[still, leg, 0] - series.ankle[still, leg]
        height = heel[:, 0] * np.sin(foot) - heel[:, 1] * np.cos(foot)  # ankle above the sole, in the foot
        under = np.stack([series.pressure_centre[still, leg], -height], axis=-1)
        places.append((series.ankle[still, leg] + turned(under, foot)).mean(axis=0))
    (px, py), (sx, sy) = places
    weight = float(force[:, 1].sum())
    return float(((centre[0] - sx) * weight + (py - sy) * force[0, 0]) / ((px - sx) * weight))


def _event(settings: Stand, run: PostureRun, series: Series) -> tuple[float, float | None, float | None] | None:
    """First of: lock open, knee yielding, foot lifted, balance lost, fall; with the times of the first two."""
    after = series.time > SETTLE
    if not after.any():
        return (run.time, None, None) if run.status else None
    closed = run.frames["lock_closed"].astype(bool)
    opened = np.flatnonzero(after[1:] & closed[:-1] & ~closed[1:])
    base = series.knee_flexion[np.flatnonzero(after)[0], 0]
    bent = np.flatnonzero(after & (series.knee_flexion[:, 0] > base + YIELDED))
    lifted = np.flatnonzero(after & (series.load[:, 0] < LIFTED * settings.person.weight))
    lock_at = float(series.time[opened[0] + 1]) if len(opened) else None
    yield_at = float(series.time[bent[0]]) if len(bent) else None
    times = [at for at in (lock_at, yield_at) if at is not None]
    times += [float(series.time[lifted[0]])] if len(lifted) else []
    astray = np.abs(series.mass_centre[:, 0] - run.frames["wanted_centre"])
    lost = np.flatnonzero(after & (astray > ASTRAY) & (settings.trial not in {"hold", "nudge"}))
    times += [float(series.time[lost[0]])] if len(lost) else []
    times += [run.time] if run.status else []
    return (min(times), lock_at, yield_at) if times else None


def _reason(settings: Stand, run: PostureRun, series: Series, metrics: Metrics) -> str:
    if run.status:
        return f"Fell: {how_it_fell(run, series)}; try a smaller push or lean, or other feet."
    share, opened = metrics["prosthetic_load_share"], metrics["lock_opened_at_s"]
    told = f"Stood {run.time:.1f} s"
    if share is not None:
        told += f", {100 * share:.0f} % of the load on the prosthetic leg"
    if opened is not None:
        told += f"; the lock opened after {opened:.1f} s by {CAUSES[int(run.memory['lock']['cause'])]}"
    if metrics["knee_yielded_at_s"] is not None:
        told += f"; the prosthetic knee yielded after {metrics['knee_yielded_at_s']:.1f} s"
    if settings.lock.kind == "flexion-lock" and metrics["lock_closed"] == 0.0:
        told += "; the lock did not close: try a lower lock.close_load_n"
    return f"{told}."


