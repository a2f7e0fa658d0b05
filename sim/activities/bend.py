"""Bending in place: slow bends under load on level ground, the exercise before the ramp."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim.body import Body
from sim.drivers.posture_loop import PostureRun, run_posture
from sim.law.posture import PLAN_DONE
from sim.pack import pack_plant
from sim.parameters import ours_activities
from sim.posture_pack import Knot, body_of, pack_plan, pack_posture
from sim.posture_result import Metrics, PostureResult, how_it_fell, invalid_result, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.series import Series
from sim.settings import check, choice, number, whole
from sim.stance_pose import mass_centre
from sim.upright import Upright, bent, upright, upright_or_error

_BEND, _HOLD = ours_activities.bend(), ours_activities.hold()
#: Standing before the first bend [s] (ours).
SETTLE = 2.0
#: Share of the way down in which the knee is freed, bent instead of pressed straight (ours).
FREEING = 0.2
#: Share of the way down after which the sound leg begins to end it (ours).
NEARLY_DOWN = 0.7
#: Most that the plan hurries for a knee that yields fast, led by weight (ours).
FASTEST_PACE = _HOLD["fastest_pace"].value
#: The sound leg catches a hip that sinks this many times as fast as planned on the mean (ours).
CAUGHT = 2.5
#: How slack the prosthetic hip is once the trunk leans, 1 is wholly (ours).
HALF_SLACK = 0.6
#: Furthest lean of the trunk [rad] (ours; 40 degrees).
LARGEST_LEAN = math.radians(40.0)
#: Time in which the sound leg ends the way down [s] (ours).
CATCH = 0.4
#: Going down may take this many times as long as planned before the run ends (ours).
LONGEST = 4.0


@dataclass(frozen=True, kw_only=True)
class Bend(InPlace):
    """Slow bends on both legs, `repeats` times, to `depth_deg` of prosthetic knee flexion.

    `led_by = "weight"`: the person goes down as fast as puts `weight_on_prosthetic` (share of the body weight) on the
    prosthetic leg. `led_by = "time"`: down within `down_s`; what the prosthetic leg carries is a result. Up within
    `up_s`, led by time in both.
    """

    prosthetic_foot_ahead_m: float = number(_BEND["foot_ahead"], -0.1, 0.2, "feet beside each other")
    weight_on_prosthetic: float = number(_BEND["weight"], 0.05, 0.95, "share of the body weight, 0.5 is half")
    led_by: str = choice("weight", "time")
    depth_deg: float = number(_BEND["depth"], 10, 80, "deeper than 80 deg is sitting down")
    down_s: float = number(_BEND["down"], 0.5, 20, "slow bends take 1 to 5 s")
    up_s: float = number(_BEND["up"], 0.5, 20, "1 to 5 s")
    rest_s: float = number(_BEND["rest"], 0.2, 10, "between two bends")
    repeats: int = whole(_BEND["repeats"], 1, 3, "more than 3 do not fit into one plan")

    def __post_init__(self) -> None:
        check(self)


def bend(settings: Bend) -> PostureResult:
    """Bend. Nothing is random.

    Raises
    ------
    RampwalkError
        If the person cannot stand like that in balance.
    """
    body = body_of(settings)
    run, knots = _run(settings, body)
    broken = invalid_result("bend", settings, run, body, METRICS)
    if broken:
        return broken
    series = series_of_posture(run.frames, body)
    bends = _bends(settings, run, knots)
    metrics = _metrics(settings, run, series, bends)
    reached = len(bends) == settings.repeats and run.status in {0, PLAN_DONE}
    outcome = "bent" if reached else "stuck"
    if run.status not in {0, PLAN_DONE}:
        outcome = "fell"
    return result_of("bend", settings, run, body, outcome, _reason(outcome, run, series, metrics), metrics)


def _pose(settings: Bend, body: Body, record: Any, flexion: float) -> Upright:
    contact, passive = record[0]["base"]["contact"]["stiffness"], settings.person.has_prosthesis
    stiffness = settings.foot.ankle_stiffness if passive else None
    share, ahead = settings.weight_on_prosthetic, settings.prosthetic_foot_ahead_m
    both = (float(contact[0]), float(contact[1]))
    straight = 0.0 if passive else math.radians(8.0)  # sound knees hold best a little bent
    found = upright(body, 0.0, ahead, share, 0.0, both, stiffness, straight)
    standing = upright_or_error(found, ahead)
    if flexion <= straight:
        return standing
    return upright_or_error(bent(body, standing.feet, share, flexion, LARGEST_LEAN, stiffness), ahead)


def _knot(
    settings: Bend, body: Body, record: Any, flexion: float, time: float, press: float, hold: bool = True
) -> Knot:
    """A knot of the plan with the prosthetic knee bent so far."""
    pose = _pose(settings, body, record, flexion)
    return Knot(
        time=time,
        hip=(float(pose.hip[0]), float(pose.hip[1])),
        lean=-float(pose.q[2]),
        sound_share=1.0 - settings.weight_on_prosthetic,
        height_hold=float(hold),
        knee_press=press,
        centre=float(mass_centre(pose.q, body)[0]),
    )


def _run(settings: Bend, body: Body) -> tuple[PostureRun, list[Knot]]:
    record = pack_posture(settings)
    passive = settings.person.has_prosthesis
    deep, straight = math.radians(settings.depth_deg), 0.0 if passive else math.radians(8.0)
    press, free = (1.0, -1.0) if passive else (0.0, 0.0)
    rise = min(settings.weight_on_prosthetic, _BEND["rise_share"].value)
    start = _pose(settings, body, record, straight)
    knots, time = [_knot(settings, body, record, straight, SETTLE, press)], SETTLE
    low = _pose(settings, body, record, deep).hip
    sinking = (0.0, float(low[1] - start.hip[1]) / settings.down_s)
    led = passive and settings.led_by == "weight"
    for _ in range(settings.repeats):
        knots[-1] = replace(knots[-1], height_hold=float(not led))
        for reached, part in ((FREEING, 0.35), (NEARLY_DOWN, 0.85)):
            flexion = straight + reached * (deep - straight)
            slack = free if reached == FREEING else HALF_SLACK * free
            knot = _knot(settings, body, record, flexion, time + part * settings.down_s, slack, not led)
            knots.append(replace(knot, hip_rate=sinking if reached == NEARLY_DOWN else (0.0, 0.0)))
        time += settings.down_s
        knots.append(_knot(settings, body, record, deep, time, HALF_SLACK * free))
        time += CATCH
        knots.append(replace(knots[-1], time=time, height_hold=1.0, knee_press=0.0, sound_share=1.0 - rise))
        time += settings.up_s
        up = _knot(settings, body, record, straight, time, press)
        knots.append(replace(up, sound_share=1.0 - rise))
        time += settings.rest_s
        knots.append(replace(up, time=time, height_hold=float(not led)))
    fastest = (FASTEST_PACE if led else 1.0) if passive else None
    pack_plan(record, knots, fastest_pace=fastest, sinking_limit=-CAUGHT * sinking[1], ends_at=time)
    seconds = time + (LONGEST - 1.0) * settings.down_s * settings.repeats * passive
    numerics = settings.numerics
    run = run_posture(
        record,
        pack_plant(body),
        start.q,
        seconds,
        numerics.time_step_s,
        numerics.iterations,
        numerics.loop,
    )
    return run, knots


def _bends(settings: Bend, run: PostureRun, knots: list[Knot]) -> list[tuple[slice, slice]]:
    """Frames of the way down and of the way up of each whole bend, by the plan's own clock."""
    clock, found = run.frames["clock"], []
    for k in range(settings.repeats):
        times = [knots[6 * k].time, knots[6 * k + 3].time, knots[6 * k + 5].time]
        a, b, c = np.searchsorted(clock, times)
        if c <= len(clock) and len(clock) and clock[-1] > times[2] - 0.01:
            found.append((slice(int(a), int(b)), slice(int(b), int(c))))
    return found


#: What `rampwalk bend` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "bends",
    "down_time_s",
    "depth_reached_deg",
    "knee_peak_rate_deg_s",
    "knee_mean_rate_deg_s",
    "knee_mean_moment_nm",
    "knee_energy_per_bend_j",
    "prosthetic_load_share_down",
    "prosthetic_load_share_up",
    "prosthetic_peak_load_bw",
    "sound_peak_load_bw",
    "sound_knee_peak_torque_nm",
    "prosthetic_hip_peak_torque_nm",
    "knee_rate_times_resistance_over_moment",
)


def _metrics(settings: Bend, run: PostureRun, series: Series, bends: list[tuple[slice, slice]]) -> Metrics:
    """Means over the bends after the first, or of the only one."""
    metrics: Metrics = dict.fromkeys(METRICS)
    metrics["time_s"], metrics["bends"] = run.time, float(len(bends))
    if not bends:
        return metrics
    weight, rows = settings.person.weight, []
    for down, up in bends[1:] or bends:
        rate, torque = series.knee_rate[down, 0], series.knee_torque[down, 0]
        load = series.load
        bending = (rate > math.radians(2.0)) & (load[down, 0] > settings.knee.load_on_n)
        rows.append(
            {
                "down_time_s": series.interval * (down.stop - down.start),
                "depth_reached_deg": math.degrees(float(series.knee_flexion[down.start : up.stop, 0].max())),
                "knee_peak_rate_deg_s": math.degrees(float(rate.max())),
                "knee_mean_rate_deg_s": math.degrees(float(rate[bending].mean())) if bending.any() else 0.0,
                "knee_mean_moment_nm": -float(torque[bending].mean()) if bending.any() else 0.0,
                "knee_energy_per_bend_j": -float((torque * np.maximum(rate, 0.0)).sum() * series.interval),
                "prosthetic_load_share_down": _share(load[down][bending] if bending.any() else load[down]),
                "prosthetic_load_share_up": _share(load[up]),
                "prosthetic_peak_load_bw": float(load[down.start : up.stop, 0].max() / weight),
                "sound_peak_load_bw": float(load[down.start : up.stop, 1].max() / weight),
                "sound_knee_peak_torque_nm": float(-series.knee_torque[down.start : up.stop, 1].min()),
                "prosthetic_hip_peak_torque_nm": float(np.abs(series.hip_torque[down.start : up.stop, 0]).max()),
                "knee_rate_times_resistance_over_moment": _rate_check(settings, run, series, down, bending),
            }
        )
    metrics |= {name: float(np.mean([row[name] for row in rows])) for name in rows[0]}
    return metrics


def _share(load: Any) -> float:
    return float(load[:, 0].sum() / load.sum())


def ground_moment_at_knee(run: PostureRun, series: Series) -> Any:
    """Moment of the ground force about the prosthetic knee, flexing positive, shape (n,) [N m].

    From force and place of pressure alone, without any torque of the model; shank and foot are left out.
    """
    foot = series.foot[:, 0]
    heel = series.sole[:, 0, 0] - series.ankle[:, 0]
    height = heel[:, 0] * np.sin(foot) - heel[:, 1] * np.cos(foot)
    ahead = series.pressure_centre[:, 0]
    x = series.ankle[:, 0, 0] + ahead * np.cos(foot) + height * np.sin(foot)
    y = series.ankle[:, 0, 1] + ahead * np.sin(foot) - height * np.cos(foot)
    force = run.frames["ground"][:, 0]
    turning = (x - series.knee[:, 0, 0]) * force[:, 1] - (y - series.knee[:, 0, 1]) * force[:, 0]
    return -turning


def _rate_check(settings: Bend, run: PostureRun, series: Series, down: slice, bending: Any) -> float:
    """Knee rate x resistance / moment of the ground force about the knee: 1 for a linear damper and slow bends."""
    if not bending.any() or settings.knee.law != "linear":
        return math.nan
    moment = ground_moment_at_knee(run, series)[down][bending]
    return float(settings.knee.flexion_resistance * series.knee_rate[down, 0][bending].mean() / moment.mean())


def _reason(outcome: str, run: PostureRun, series: Series, metrics: Metrics) -> str:
    if outcome == "fell":
        return f"Fell: {how_it_fell(run, series)}; try more resistance, a shallower bend, or less weight on that leg."
    if outcome == "stuck":
        return (
            f"Only {metrics['bends']:.0f} bends within {run.time:.0f} s: the knee yields too slowly for this weight; "
            "try less resistance or more weight on the prosthetic leg."
        )
    return (
        f"Bent {metrics['bends']:.0f} times to {metrics['depth_reached_deg']:.0f} deg: down in "
        f"{metrics['down_time_s']:.1f} s with {100 * (metrics['prosthetic_load_share_down'] or 0):.0f} % of the load "
        f"on the prosthetic leg, its knee at up to {metrics['knee_peak_rate_deg_s']:.0f} deg/s."
    )
