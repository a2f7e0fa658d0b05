"""Sitting down and standing up: both legs share, the prosthetic knee yields under the same law as on the ramp."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim.body import Body
from sim.drivers.posture_loop import PostureRun, run_posture
from sim.errors import RampwalkError
from sim.law.posture import SEATED_WELL
from sim.pack import pack_plant
from sim.parameters import ours_activities, stairs_and_seats_ada
from sim.posture_pack import Knot, body_of, pack_plan, pack_posture
from sim.posture_result import Metrics, PostureResult, how_it_fell, invalid_result, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.series import Series
from sim.settings import check, choice, number
from sim.stance_pose import mass_centre
from sim.upright import Upright, bent, upright, upright_or_error

_SIT, _HOLD = ours_activities.sit(), ours_activities.hold()
_SEAT = stairs_and_seats_ada.parameters()["seat_height"]
#: Standing before it begins, freeing the knee, and leaning on the seat before rising [s]; parts of the way at which a
#: pose is planned; how far the wanted hip sinks into the seat [m] (all ours).
SETTLE, FREEING, GATHER, PARTS, SUNK = 2.0, 0.4, 0.6, (0.2, 0.5, 0.8), 0.02
#: Lean of the trunk when the body is left to the seat [rad], and the time in which it comes up to that [s] (ours).
SEATED_LEAN, LEAVING = math.radians(15.0), 1.0
#: How slack the prosthetic hip is once the trunk leans, 1 is wholly; share of the weight that ends the way down.
HALF_SLACK, ENDS_AT = 0.6, 0.4
#: The way down may take this many times as long as planned (ours).
LONGEST = 4.0
#: Hip lower, or further behind the feet, than this share of the leg is a fall (ours: beside the seat).
LOWEST_HIP, MOST_BEHIND = 0.3, 0.9
#: A hip sinking this many times as fast as planned on the mean is caught by the sound leg (ours).
CAUGHT = 2.5


@dataclass(frozen=True, kw_only=True)
class Sit(InPlace):
    """Sit down on a seat of `seat_height_m` (`move = "down"`), or rise from it (`move = "up"`).

    `led_by` as in `Bend`: "time" goes down within `down_s` and puts on the prosthetic leg what it bears, "weight" puts
    `weight_on_prosthetic` on it and takes the time it takes. Down ends when the seat carries `ENDS_AT` of the weight;
    up begins seated and leaning forward, the feet in place, without arms.
    """

    move: str = choice("down", "up")
    seat_height_m: float = number(_SEAT, 0.25, 0.75, "chairs are 0.4 to 0.5 m high")
    prosthetic_foot_ahead_m: float = number(_SIT["foot_ahead"], -0.1, 0.3, "the prosthetic foot a little ahead")
    weight_on_prosthetic: float = number(_SIT["weight"], 0.05, 0.95, "share of the body weight, 0.5 is half")
    led_by: str = choice("time", "weight")
    down_s: float = number(_SIT["down"], 0.8, 20, "people take 1.5 to 2.5 s")
    up_s: float = number(_SIT["up"], 0.8, 20, "people take 1.5 to 2.5 s")

    def __post_init__(self) -> None:
        check(self)


def sit(settings: Sit) -> PostureResult:
    """Sit down, and stand up. Nothing is random.

    Raises
    ------
    RampwalkError
        If the person cannot stand like that in balance, or the seat is higher than they can sit on.
    """
    body = body_of(settings)
    run = _run(settings, body)
    broken = invalid_result("sit", settings, run, body, METRICS)
    if broken:
        return broken
    series = series_of_posture(run.frames, body)
    metrics = _metrics(settings, run, series)
    outcome = _outcome(settings, run, series)
    reason = _reason(settings, outcome, run, series, metrics)
    return result_of("sit", settings, run, body, outcome, reason, metrics)


def _stiffness(settings: Sit) -> float | None:
    return settings.foot.ankle_stiffness if settings.person.has_prosthesis else None


def _standing(settings: Sit, body: Body, record: Any) -> Upright:
    contact = record[0]["base"]["contact"]["stiffness"]
    straight = 0.0 if settings.person.has_prosthesis else math.radians(8.0)
    share, ahead = settings.weight_on_prosthetic, settings.prosthetic_foot_ahead_m
    both = (float(contact[0]), float(contact[1]))
    found = upright(body, 0.0, ahead, share, 0.0, both, _stiffness(settings), straight)
    return upright_or_error(found, ahead)


def _pose(settings: Sit, body: Body, standing: Upright, flexion: float) -> Upright:
    """Pose with the prosthetic knee bent so far; near the seat it may be out of balance, behind the feet."""
    largest = math.radians(_SIT["largest_lean"].value)
    found = bent(body, standing.feet, settings.weight_on_prosthetic, flexion, largest, _stiffness(settings))
    return found if found is not None else upright_or_error(None, settings.prosthetic_foot_ahead_m)


def _flexion_on_seat(settings: Sit, body: Body, standing: Upright) -> float:
    """Prosthetic knee flexion with which the trunk just meets the seat [rad]."""
    low, high = math.radians(20.0), math.radians(110.0)

    def above(flexion: float) -> float:
        pose = _pose(settings, body, standing, flexion)
        return float(pose.hip[1]) - _SIT["seat_point_down"].value - settings.seat_height_m

    if above(low) < 0.0 or above(high) > 0.0:
        raise RampwalkError(
            f"seat_height_m = {settings.seat_height_m:g} m is no seat for a leg of {body.leg_length:.2f} m: the knee "
            "would have to bend less than 20 or more than 110 deg; give another height.",
            "seat_height_m",
            settings.seat_height_m,
        )
    for _ in range(20):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if above(middle) > 0.0 else (low, middle)
    return 0.5 * (low + high)


def _knot(settings: Sit, body: Body, pose: Upright, time: float, press: float, hold: float) -> Knot:
    return Knot(
        time=time,
        hip=(float(pose.hip[0]), float(pose.hip[1])),
        lean=-float(pose.q[2]),
        sound_share=1.0 - settings.weight_on_prosthetic,
        height_hold=hold,
        knee_press=press,
        centre=float(mass_centre(pose.q, body)[0]),
    )


def _down_knots(settings: Sit, body: Body, standing: Upright, poses: list[Upright]) -> list[Knot]:
    """From standing to the seat; the plan then goes on a little into the seat."""
    passive = settings.person.has_prosthesis
    press, free = (1.0, -1.0) if passive else (0.0, 0.0)
    hold = 0.0 if passive and settings.led_by == "weight" else 1.0
    knots = [_knot(settings, body, standing, SETTLE, press, hold)]
    start = SETTLE + FREEING
    knots.append(replace(knots[0], time=start, knee_press=free))
    drop = float(poses[-1].hip[1] - standing.hip[1]) / settings.down_s
    for part, pose in zip((*PARTS, 1.0), poses, strict=True):
        slack = free if part == PARTS[0] else HALF_SLACK * free  # both hips hold the trunk as it leans
        knot = _knot(settings, body, pose, start + part * settings.down_s, slack, hold)
        knots.append(replace(knot, hip_rate=(0.0, drop if PARTS[0] < part else 0.0)))
    knots[-1] = replace(knots[-1], hip_rate=(0.0, 0.5 * drop))
    x, y = knots[-1].hip
    upright = poses[-1].q.copy()
    upright[2] = -min(-upright[2], SEATED_LEAN)  # the trunk comes up, and with it the weight goes from feet to seat
    last = replace(
        knots[-1],
        time=knots[-1].time + LEAVING,
        hip=(x, y - SUNK),
        hip_rate=(0.0, 0.0),
        lean=-float(upright[2]),
        height_hold=1.0,
        centre=float(mass_centre(upright, body)[0]),
    )
    return [*knots, last]


def _up_knots(settings: Sit, body: Body, standing: Upright, poses: list[Upright]) -> list[Knot]:
    """From the seat, leaning forward, to standing."""
    passive, share = settings.person.has_prosthesis, settings.weight_on_prosthetic
    rise = min(share, _SIT["rise_share"].value) if passive else share
    seated = replace(_knot(settings, body, poses[-1], GATHER, 0.0, 1.0), sound_share=1.0 - rise)
    knots = [replace(seated, hip=(seated.hip[0], seated.hip[1] - SUNK))]
    lift = float(standing.hip[1] - poses[-1].hip[1]) / settings.up_s
    # half-way between even in knee angle, which throws the body forward at the start, and even in height, which
    # throws the trunk up at the end
    for part, pose in zip(reversed(PARTS), reversed(poses[:-1]), strict=True):
        risen = float(pose.hip[1] - poses[-1].hip[1]) / (lift * settings.up_s)
        knot = _knot(settings, body, pose, GATHER + (0.5 * risen + 0.5 * (1.0 - part)) * settings.up_s, 0.0, 1.0)
        knots.append(replace(knot, sound_share=1.0 - rise, hip_rate=(0.0, lift)))
    up = _knot(settings, body, standing, GATHER + settings.up_s, 1.0 if passive else 0.0, 1.0)
    return [*knots, replace(up, sound_share=1.0 - rise), replace(up, time=up.time + 1.0)]


def _run(settings: Sit, body: Body) -> PostureRun:
    record = pack_posture(settings)
    standing = _standing(settings, body, record)
    on_seat = _flexion_on_seat(settings, body, standing)
    poses = [_pose(settings, body, standing, part * on_seat) for part in (*PARTS, 1.0)]
    row, length, passive = record[0], body.leg_length, settings.person.has_prosthesis
    _pack_seat(row, settings, body, float(poses[-1].hip[0]))
    row["lowest_hip"], row["most_behind"] = LOWEST_HIP * length, MOST_BEHIND * length
    start, seconds = standing.q, 0.0
    if settings.move == "down":
        knots = _down_knots(settings, body, standing, poses)
        row["seat"]["ends_at"] = ENDS_AT
        speed = float(standing.hip[1] - poses[-1].hip[1]) / settings.down_s
        fastest = (_HOLD["fastest_pace"].value if settings.led_by == "weight" else 1.0) if passive else None
        pack_plan(record, knots, fastest_pace=fastest, sinking_limit=CAUGHT * speed)
        seconds = (LONGEST - 1.0) * settings.down_s * passive
    else:
        knots, start = _up_knots(settings, body, standing, poses), poses[-1].q
        pack_plan(record, knots)
    numerics = settings.numerics
    return run_posture(
        record,
        pack_plant(body),
        start,
        seconds + knots[-1].time + 0.5,
        numerics.time_step_s,
        numerics.iterations,
        numerics.loop,
    )


def _pack_seat(row: Any, settings: Sit, body: Body, hip_x: float) -> None:
    own, weight = {name: value.value for name, value in _SIT.items()}, settings.person.weight
    seat = row["seat"]
    seat["on"], seat["height"], seat["front"] = 1, settings.seat_height_m, hip_x + 0.5 * body.thigh_length
    seat["below"] = own["seat_point_down"]
    seat["stiffness"] = weight * (own["seat_stiffness"] / body.leg_length) ** 1.5
    seat["dissipation"], seat["friction"] = own["seat_dissipation"], own["seat_friction"]
    seat["anchor_stiffness"] = row["base"]["contact"]["anchor_stiffness"]
    seat["anchor_damping"] = row["base"]["contact"]["anchor_damping"]


# -------------------------------------------------------------------------------- what came out
#: What `rampwalk sit` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "move_time_s",
    "seat_contact_speed_m_s",
    "knee_flexion_at_seat_deg",
    "knee_peak_rate_deg_s",
    "knee_energy_j",
    "prosthetic_load_share",
    "prosthetic_load_share_at_half_way",
    "sound_peak_load_bw",
    "sound_knee_peak_torque_nm",
    "sound_knee_peak_torque_share_of_strength",
    "prosthetic_hip_peak_torque_nm",
)


def _metrics(settings: Sit, run: PostureRun, series: Series) -> Metrics:
    metrics: Metrics = dict.fromkeys(METRICS)
    metrics["time_s"] = run.time
    part = _moving(settings, run)
    if part is None:
        return metrics
    weight, strength = settings.person.weight, settings.person.knee_extensor_strength_nm_per_kg
    rate, torque, load = series.knee_rate[part, 0], series.knee_torque[part, 0], series.load[part]
    metrics["knee_peak_rate_deg_s"] = math.degrees(float(np.abs(rate).max()))
    metrics["knee_energy_j"] = -float((torque * np.maximum(rate, 0.0)).sum() * series.interval)
    metrics["prosthetic_load_share"] = _share(load)
    height = series.hip[part, 1]
    half = np.abs(height - 0.5 * (height[0] + height[-1])) < 0.15 * abs(height[0] - height[-1]) + 1e-6
    metrics["prosthetic_load_share_at_half_way"] = _share(load[half])
    metrics["sound_peak_load_bw"] = float(load[:, 1].max() / weight)
    peak = -float(series.knee_torque[part, 1].min())
    metrics["sound_knee_peak_torque_nm"] = peak
    metrics["sound_knee_peak_torque_share_of_strength"] = peak / (strength * settings.person.mass_kg)
    metrics["prosthetic_hip_peak_torque_nm"] = float(np.abs(series.hip_torque[part, 0]).max())
    if settings.move == "down":
        touched = np.flatnonzero(run.frames["seat"][:, 1] > 0.0)
        if not len(touched):
            return metrics
        k = int(touched[0])
        metrics["knee_flexion_at_seat_deg"] = math.degrees(float(series.knee_flexion[k, 0]))
        metrics["seat_contact_speed_m_s"] = -float((series.hip[k, 1] - series.hip[k - 1, 1]) / series.interval)
    if _done(settings, run, series):
        metrics["move_time_s"] = series.interval * (part.stop - part.start)
    return metrics


def _share(load: Any) -> float | None:
    total = float(load.sum())
    return float(load[:, 0].sum()) / total if total > 0.0 else None


def _moving(settings: Sit, run: PostureRun) -> slice | None:
    """Frames of the move: until the pelvis meets the seat, or from when it leaves it until the knee is straight."""
    clock, seat = run.frames["clock"], run.frames["seat"][:, 1]
    if settings.move == "down":
        begin = int(np.searchsorted(clock, SETTLE + FREEING))
        touched = np.flatnonzero(seat > 0.0)
        end = int(touched[0]) if len(touched) else len(clock)
    else:
        begin = int(np.searchsorted(clock, GATHER))
        left = np.flatnonzero(seat[begin:] <= 0.0)
        if not len(left):
            return None
        begin += int(left[0])
        end = min(len(clock), int(np.searchsorted(clock, GATHER + settings.up_s)))
    return slice(begin, end) if end > begin + 1 else None


def _done(settings: Sit, run: PostureRun, series: Series) -> bool:
    if settings.move == "down":
        return run.status == SEATED_WELL
    straight = series.knee_flexion[-1] < math.radians(25.0) if len(series.time) else np.array([False])
    return not run.status and bool(straight.all())


def _outcome(settings: Sit, run: PostureRun, series: Series) -> str:
    if run.status not in {0, SEATED_WELL}:
        return "fell"
    if not _done(settings, run, series):
        return "stuck"
    return "sat" if settings.move == "down" else "stood up"


def _reason(settings: Sit, outcome: str, run: PostureRun, series: Series, metrics: Metrics) -> str:
    if outcome == "fell":
        return f"Fell: {how_it_fell(run, series)}; try more resistance, a slower move or a higher seat."
    if outcome == "stuck" and settings.move == "down":
        return "The hip did not reach the seat in time; try less resistance or more time."
    if outcome == "stuck":
        return "Did not get up from the seat; try a higher seat or more time."
    share = 100.0 * (metrics["prosthetic_load_share"] or 0.0)
    told = f"{outcome.capitalize()} in {metrics['move_time_s']:.1f} s, {share:.0f} % of the load on the prosthetic leg"
    if settings.move == "down":
        told += f", onto the seat at {metrics['seat_contact_speed_m_s']:.2f} m/s"
    return f"{told}."
