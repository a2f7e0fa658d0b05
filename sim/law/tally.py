"""What each step was like, kept while it is walked: the row that a landing writes."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import Pose
from sim.law.ground import height_and_slope
from sim.law.phase import LOADED_SHARE, Frame, Phase

#: Cut-off of the low-pass for peak forces [Hz], as in the open treadmill data (Fukuchi and others 2018).
CUT_OFF = 25.0


@law
def toe_height(pose: Pose, leg: int, s: Any) -> float:
    """Least height of ball and toe above the ground [m]."""
    limb = pose.legs[leg]
    c, n = limb.foot_cos, limb.foot_sin
    least = 1e9
    for k in range(1, 3):
        px, py = s.person.sole[leg, k, 0], s.person.sole[leg, k, 1]
        x, y = limb.ankle_x + c * px - n * py, limb.ankle_y + n * px + c * py
        height, _ = height_and_slope(s.ground, x)
        least = min(least, y - height)
    return least


@law
def start_tally(memory: Any) -> None:
    """Begin the row of a new step."""
    row = memory.tally
    for leg in range(2):
        row.peak[leg], row.raw_peak[leg], row.stop_work[leg] = 0.0, 0.0, 0.0
    row.double_support, row.knee_swing_peak, row.knee_early_peak, row.knee_drop = 0.0, 0.0, 0.0, 0.0
    row.knee_peak_rate, row.knee_absorbed, row.positive_work = 0.0, 0.0, 0.0
    row.trunk[0], row.trunk[1], row.trunk[2] = 1e9, 0.0, -1e9
    row.clearance, row.scuffs = 1e9, 0
    memory.tally_time, memory.knee_highest, memory.double = 0.0, 0.0, 1


@law
def keep_tally(dt: float, pose: Pose, frame: Frame, phase: Phase, s: Any, memory: Any, out: Any) -> None:
    """Add one moment to the step under way."""
    row, stand = memory.tally, memory.stance
    memory.tally_time += dt
    tally_leg(0, dt, pose, s, memory, out)
    tally_leg(1, dt, pose, s, memory, out)
    row.trunk[0], row.trunk[2] = min(row.trunk[0], pose.trunk), max(row.trunk[2], pose.trunk)
    row.trunk[1] += pose.trunk * dt
    limb = pose.legs[stand]
    knee, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    if 0.1 * phase.step_time < phase.since < 0.7 * phase.step_time:  # 5 to 35 % of the stride
        row.knee_early_peak = max(row.knee_early_peak, knee)
    if frame.along > 0.0:
        memory.knee_highest = max(memory.knee_highest, knee)
        row.knee_drop = max(row.knee_drop, memory.knee_highest - knee)
    if out.load[stand] > 0.1 * s.person.weight:
        row.knee_peak_rate = max(row.knee_peak_rate, rate)
    tally_swing(1 - stand, pose, phase, s, memory, out)


@law
def tally_leg(leg: int, dt: float, pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """Peaks and work of one leg."""
    row, limb = memory.tally, pose.legs[leg]
    blend = 2.0 * math.pi * CUT_OFF * dt / (1.0 + 2.0 * math.pi * CUT_OFF * dt)
    memory.filtered[leg, 0] += blend * (out.load[leg] - memory.filtered[leg, 0])
    memory.filtered[leg, 1] += blend * (memory.filtered[leg, 0] - memory.filtered[leg, 1])
    row.peak[leg] = max(row.peak[leg], memory.filtered[leg, 1])
    row.raw_peak[leg] = max(row.raw_peak[leg], out.load[leg])
    rate = limb.thigh_rate - limb.shank_rate
    row.stop_work[leg] += max(0.0, -out.knee_stop[leg] * rate) * dt
    row.positive_work += max(0.0, out.hip[leg] * (limb.thigh_rate - pose.trunk_rate)) * dt
    if not s.person.passive[leg]:
        row.positive_work += max(0.0, out.knee[leg] * rate) * dt
        ankle = out.ankle[leg] + out.ankle_damping[leg]  # one muscle gives both
        row.positive_work += max(0.0, ankle * (limb.foot_rate - limb.shank_rate)) * dt
    elif memory.loaded and rate > 0.0:
        row.knee_absorbed -= out.knee[leg] * rate * dt


@law
def tally_swing(swing: int, pose: Pose, phase: Phase, s: Any, memory: Any, out: Any) -> None:
    """Double support, knee, clearance and scuffs of the leg that swings."""
    row, limb = memory.tally, pose.legs[swing]
    row.knee_swing_peak = max(row.knee_swing_peak, limb.thigh - limb.shank)
    floor = LOADED_SHARE * s.person.weight
    if memory.double and out.load[swing] > floor:
        row.double_support = phase.since
    elif phase.since > 0.02:
        memory.double = 0
    if 0.25 < phase.swing < 0.65:
        row.clearance = min(row.clearance, toe_height(pose, swing, s))
    if phase.swing > 0.1:
        touches = 1 if out.load[swing] > floor else 0
        if memory.scuffing and not touches:  # it touched and came free again; a landing does not
            row.scuffs += 1
        memory.scuffing = touches
    else:
        memory.scuffing = 0


@law
def write_step(
    t: float, length: float, speed: float, heel_x: float, pose: Pose, memory: Any, steps: Any
) -> None:
    """Close the row of the step that ends with this landing."""
    row, stand = memory.tally, memory.stance
    swing = 1 - stand
    land, other = pose.legs[swing], pose.legs[stand]
    row.time, row.leg, row.length, row.duration = t, swing, length, t - memory.landed_time
    row.heel_x, row.speed = heel_x, speed
    row.knee_at_landing, row.knee_of_stance = land.thigh - land.shank, other.thigh - other.shank
    row.trunk[1] /= max(memory.tally_time, 1e-9)
    if memory.steps < steps.shape[0]:
        copy_step(row, steps[memory.steps])


@law
def copy_step(a: Any, b: Any) -> None:
    """Copy a row; compiled code cannot assign whole records."""
    b.time, b.leg, b.length, b.duration, b.heel_x, b.speed = a.time, a.leg, a.length, a.duration, a.heel_x, a.speed
    for i in range(2):
        b.peak[i], b.raw_peak[i], b.stop_work[i] = a.peak[i], a.raw_peak[i], a.stop_work[i]
    for i in range(3):
        b.trunk[i] = a.trunk[i]
    b.double_support, b.knee_at_landing, b.knee_of_stance = a.double_support, a.knee_at_landing, a.knee_of_stance
    b.knee_swing_peak, b.knee_early_peak, b.knee_drop = a.knee_swing_peak, a.knee_early_peak, a.knee_drop
    b.knee_peak_rate, b.knee_absorbed, b.positive_work = a.knee_peak_rate, a.knee_absorbed, a.positive_work
    b.clearance, b.scuffs = a.clearance, a.scuffs
