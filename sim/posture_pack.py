"""From the settings of an activity to the records that the law of postures reads."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.body import Body, build_body
from sim.law.posture_records import FLEXION_LOCK, NO_LOCK, PERMANENT_LOCK, PLAN_KNOTS, POSTURE
from sim.law.records import GRAVITY
from sim.pack import pack_settings
from sim.parameters import ours_activities
from sim.posture_scenario import InPlace, KneeLock

#: Kind of lock -> number in the record.
LOCK_KINDS = {"none": NO_LOCK, "flexion-lock": FLEXION_LOCK, "permanent-lock": PERMANENT_LOCK}
#: A hip lower than this share of the leg above the ground, or a trunk further over [rad], is a fall (ours).
LOWEST_HIP, MOST_LEAN = 0.55, 1.1
#: A hip so far beyond the foremost ankle or behind the rearmost, in leg lengths, does not come back (ours: a toe is
#: 0.19 ahead of its ankle, a heel 0.06 behind).
MOST_AHEAD, MOST_BEHIND = 0.35, 0.20

Records = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Knot:
    """One knot of a plan; what is left out stays as in `sim.law.posture_records.PLAN`."""

    time: float
    hip: tuple[float, float]
    lean: float = 0.0
    sound_share: float = 0.5
    height_hold: float = 0.0
    knee_press: float = 1.0
    hip_rate: tuple[float, float] = (0.0, 0.0)
    centre: float = 0.0


def body_of(settings: InPlace) -> Body:
    """Segments of the person."""
    return build_body(settings.person, settings.components, settings.foot)


def pack_posture(settings: InPlace, slope_deg: float = 0.0) -> Records:
    """Person, prosthesis, floor, lock and how the plan is held; one record of `POSTURE` without a plan."""
    record = np.zeros(1, POSTURE)
    row = record[0]
    row["base"] = pack_settings(settings.walk_scenario(slope_deg))[0]
    slope = math.tan(math.radians(slope_deg))
    ground = row["base"]["ground"]
    ground["knots"], ground["x"][:2], ground["height"][:2], ground["slope"][:2] = 2, (0, 1), (0, slope), (slope, slope)
    _pack_hold(row["hold"], body_of(settings))
    _pack_lock(row["lock"], settings.lock)
    length = row["base"]["person"]["leg_length"]
    row["most_ahead"], row["most_behind"] = MOST_AHEAD * length, MOST_BEHIND * length
    row["lowest_hip"], row["most_lean"] = LOWEST_HIP * length, MOST_LEAN
    return record


def pack_plan(
    record: Records,
    knots: Sequence[Knot],
    resume_at: float = 0.0,
    fastest_pace: float | None = None,
    sinking_limit: float = math.inf,
    ends_at: float = 0.0,
) -> None:
    """Write a plan into a record of `POSTURE`; with a fastest pace it waits for the hip on the way down."""
    plan = record[0]["plan"]
    if not 2 <= len(knots) <= PLAN_KNOTS:
        raise ValueError(f"a plan has 2 to {PLAN_KNOTS} knots, not {len(knots)}")
    plan["knots"], plan["waits"] = len(knots), int(fastest_pace is not None)
    plan["ends_at"], plan["resume_at"] = ends_at, resume_at
    plan["fastest_pace"], plan["sinking_limit"] = fastest_pace or 1.0, sinking_limit
    for k, knot in enumerate(knots):
        plan["time"][k], plan["hip"][k], plan["hip_rate"][k] = knot.time, knot.hip, knot.hip_rate
        plan["lean"][k], plan["sound_share"][k] = knot.lean, knot.sound_share
        plan["height_hold"][k], plan["knee_press"][k] = knot.height_hold, knot.knee_press
        plan["centre"][k] = knot.centre


def _pack_hold(row: Any, body: Body) -> None:
    """Gains scaled to the person by dimensions, as those of the walk."""
    own = {name: gain.value for name, gain in ours_activities.hold().items()}
    m, length = body.total_mass, body.leg_length
    row["mass_share"], row["centre"] = body.mass / body.mass.sum(), body.centre
    torque, time = m * GRAVITY * length, math.sqrt(length / GRAVITY)
    for name in ("along", "height"):
        row[f"{name}_stiffness"] = own[f"{name}_stiffness"] * m * GRAVITY / length
    for name in ("along_damping", "height_damping", "sinking_damping"):
        row[name] = own[name] * m * GRAVITY * time / length
    row["trunk_stiffness"], row["trunk_damping"] = own["trunk_stiffness"] * torque, own["trunk_damping"] * torque * time
    row["trunk_weight"] = body.mass[0] * GRAVITY * body.centre[0, 1]
    # a leg's weight acts about half way down: half of it is carried by the hip (ours)
    row["leg_weight"] = [0.5 * GRAVITY * body.mass[1 + 3 * leg : 4 + 3 * leg].sum() for leg in range(2)]
    row["ankle_damping"], row["foot_flat"] = own["ankle_damping"] * torque * time, own["foot_flat"] * torque
    row["guard_angle"], row["guard_torque"] = own["guard_angle"], own["guard_torque"] * torque
    row["guard_damping"] = own["guard_damping"] * torque * time
    row["knee_press"], row["feel_time"] = own["knee_press"] * torque, own["feel_time"]
    row["balance_rate"], row["balance_limit"] = own["balance_rate"], own["balance_limit"] * length
    row["hip_strategy"] = own["hip_strategy"]
    row["least_sound_share"] = own["least_sound_share"]
    row["pace_time"], row["shift_time"] = own["pace_time"], own["shift_time"]
    row["pace_length"] = own["pace_length"] * length
    joints = ("hip", "knee", "ankle")
    row["swing_stiffness"] = [own[f"swing_{joint}_stiffness"] * torque for joint in joints]
    row["swing_damping"] = [own[f"swing_{joint}_damping"] * torque * time for joint in joints]


def _pack_lock(row: Any, lock: KneeLock) -> None:
    own = {name: value.value for name, value in ours_activities.lock().items()}
    row["kind"] = LOCK_KINDS[lock.kind]
    row["close_load"], row["close_time"] = lock.close_load_n, lock.close_time_s
    row["close_rate"] = math.radians(lock.close_rate_deg_s)
    row["open_hyperextension"], row["open_load"] = lock.open_hyperextension_nm, lock.open_load_n
    row["open_toe_share"], row["open_time"] = lock.open_toe_share, lock.open_time_s
    row["stiffness"], row["damping"] = own["stiffness"], own["damping"]
