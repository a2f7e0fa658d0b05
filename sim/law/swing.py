"""Swinging: the sound foot follows a path to its foothold; the prosthetic leg is swung from the hip alone."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import Pose, clip, knee_and_thigh, smooth_step
from sim.law.ground import height_and_slope
from sim.law.phase import Frame, Phase, handover_share

#: Look-ahead for rates of the wanted pose, and greatest wanted rates, in time units sqrt(leg length / g) (ours).
GLANCE, FASTEST_THIGH, FASTEST_KNEE = 0.0135, 2.4, 3.6


@law
def foothold(leg: int, toe_up: float, frame: Frame, s: Any, memory: Any) -> tuple[float, float, float]:
    """Wanted ankle position and foot angle at landing: the heel one step beyond the other heel, toes up."""
    g, person = memory.gains, s.person
    length = s.task.step_length[leg]
    reach = length + memory.reach_adjust[leg] + g.foothold_speed_gain * (frame.along_rate - s.task.speed)
    reach = clip(reach, 0.5 * length, 1.6 * length)
    x = memory.heel_x[1 - leg] + reach * frame.tx
    y, slope = height_and_slope(s.ground, x)
    angle = math.atan(slope) + toe_up
    c, n = math.cos(angle), math.sin(angle)
    px, py = person.sole[leg, 0, 0], person.sole[leg, 0, 1]
    return x - (c * px - n * py), y - (n * px + c * py), angle


@law
def sound_foot_path(
    progress: float, late: float, x_to: float, y_to: float, g: Any, memory: Any
) -> tuple[float, float]:
    """Wanted ankle position: smoothly from lift-off to the foothold with a clearance between; late, reach down.

    The greatest speed of the way is 1.875 times its mean with no evenness, 1.5 with 1, 1.2 with 2: a leg that is moved
    evenly holds less energy that muscles must give and take.
    """
    p = clip(progress, 0.0, 1.0)
    softest = p * p * p * (10.0 - 15.0 * p + 6.0 * p * p)
    smooth = softest + g.swing_evenness * (p * p * (3.0 - 2.0 * p) - softest)
    x = memory.swing_from[0] + (x_to - memory.swing_from[0]) * smooth
    y = memory.swing_from[1] + (y_to - memory.swing_from[1]) * smooth
    hump = math.sin(math.pi * p)
    return x, y + g.clearance * hump * hump - g.late_reach_rate * late


@law
def swing_sound(
    pose: Pose, leg: int, frame: Frame, phase: Phase, s: Any, memory: Any
) -> tuple[float, float, float]:
    """Hip, knee and ankle torque of a swinging sound leg: joint angles and rates of the path, held by muscles."""
    g, limb = memory.gains, pose.legs[leg]
    x_to, y_to, angle = foothold(leg, g.toe_up, frame, s, memory)
    swing_time = (g.swing_share_sound - handover_share(memory.stance, s, memory)) * phase.step_time
    unit = s.person.time_unit
    glance = GLANCE * unit
    late = max(0.0, phase.swing - 1.0) * swing_time
    x, y = sound_foot_path(phase.swing, late, x_to, y_to, g, memory)
    flexion, thigh = knee_and_thigh(x - pose.hip_x, y - pose.hip_y, g.swing_reach, s.person)
    soon = phase.swing + glance / swing_time
    x, y = sound_foot_path(soon, max(0.0, soon - 1.0) * swing_time, x_to, y_to, g, memory)
    flexion_soon, thigh_soon = knee_and_thigh(
        x - pose.hip_x - glance * pose.hip_vx, y - pose.hip_y - glance * pose.hip_vy, g.swing_reach, s.person
    )
    thigh_rate = clip((thigh_soon - thigh) / glance, -FASTEST_THIGH / unit, FASTEST_THIGH / unit)
    flexion_rate = clip((flexion_soon - flexion) / glance, -FASTEST_KNEE / unit, FASTEST_KNEE / unit)
    hip = g.swing_hip_stiffness * (thigh - limb.thigh) + g.swing_hip_damping * (thigh_rate - limb.thigh_rate)
    bent, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    knee = g.swing_knee_stiffness * (flexion - bent) + g.swing_knee_damping * (flexion_rate - rate)
    knee = clip(knee, -s.person.knee_extension_strength, s.person.knee_flexion_strength)
    wanted = limb.shank + (angle - limb.shank) * smooth_step(2.0 * phase.swing)  # first keep the ankle, then the ground
    ankle = g.swing_ankle_stiffness * (wanted - limb.foot)
    return hip, knee + straight_guard_swing(bent, rate, g), ankle


@law
def straight_guard_swing(flexion: float, flexion_rate: float, gains: Any) -> float:
    """As `stance.straight_guard`, damping only: a swinging knee may come straight, but softly."""
    return -clip(1.0 - flexion / gains.guard_angle, 0.0, 1.5) * gains.guard_damping * min(flexion_rate, 0.0)


@law
def prosthetic_thigh(p: float, landing: float, g: Any, memory: Any) -> float:
    """Wanted thigh angle: forward to beyond the landing angle, then back, so that the shank swings out."""
    u = clip(p, 0.0, 1.0)
    forward = smooth_step(u / g.thigh_lead)
    over = forward
    if u > g.thigh_lead:
        over = 1.0 - smooth_step((u - g.thigh_lead) / (1.0 - g.thigh_lead))
    return memory.swing_from[2] + (landing - memory.swing_from[2]) * forward + g.thigh_overshoot * over


@law
def swing_prosthetic(pose: Pose, leg: int, frame: Frame, phase: Phase, s: Any, memory: Any) -> float:
    """Hip torque of the swinging prosthetic leg. The knee is passive."""
    g, limb = memory.gains, pose.legs[leg]
    x_to, y_to, _ = foothold(leg, g.toe_up_prosthetic, frame, s, memory)
    swing_time = (g.swing_share_prosthetic - handover_share(memory.stance, s, memory)) * phase.step_time
    unit = s.person.time_unit
    glance = GLANCE * unit
    left = clip(1.0 - phase.swing, 0.0, 1.0) * swing_time
    tx, ty = frame.tx * frame.along_rate, frame.ty * frame.along_rate  # the hip will come along the slope
    landing = math.atan2(x_to - (pose.hip_x + tx * left), -(y_to - (pose.hip_y + ty * left)))
    thigh = prosthetic_thigh(phase.swing, landing, g, memory)
    soon = prosthetic_thigh(phase.swing + glance / swing_time, landing, g, memory)
    rate = clip((soon - thigh) / glance, -FASTEST_THIGH / unit, FASTEST_THIGH / unit)
    return g.thigh_stiffness * (thigh - limb.thigh) + g.thigh_damping * (rate - limb.thigh_rate)
