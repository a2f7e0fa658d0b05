"""Swings to lower treads: the sound foot along a path by muscles as in the walk, the prosthetic one by its hip."""

from __future__ import annotations

import math
from typing import Any

from sim.law.balance import mass_centre_of
from sim.law.compiled import law
from sim.law.geometry import ALMOST_STRAIGHT, Pose, clip, knee_and_thigh
from sim.law.records import PROSTHETIC, SOUND

NOBODY = -1


@law
def swinging_leg(t: float, s: Any, memory: Any, o: Any, pose: Pose) -> int:
    """Which foot swings now, or `NOBODY`; notes where a swing began and when a foot landed."""
    swing = s.swing
    if swing.on == 0 or memory.landed > 0.0:
        return NOBODY
    k = 0 if memory.stepped == 0.0 else 1
    leg = swing.leg[k]
    limb = pose.legs[leg]
    if memory.lifted == 0.0:
        due = t >= memory.stepped + swing.start[k]
        if leg == SOUND and t >= memory.stepped + swing.soonest[k]:
            x, vx = mass_centre_of(pose, s)
            due = due or x + vx * s.base.person.time_unit > pose.legs[PROSTHETIC].ankle_x + swing.ahead
        if not due:
            return NOBODY
        memory.lifted = t
        memory.swing_from[0], memory.swing_from[1] = limb.ankle_x, limb.ankle_y
    memory.sound_up = 1 if leg == SOUND else 0
    below = limb.ankle_y < 0.5 * (memory.swing_from[1] + swing.ankle_to[k, 1])
    far = limb.ankle_x > 0.5 * (memory.swing_from[0] + swing.ankle_to[k, 0])
    if below and far and o.load[leg] > 0.05 * s.base.person.weight:
        memory.sound_up, memory.lifted = 0, 0.0
        if leg == SOUND:
            memory.clock = max(memory.clock, s.plan.resume_at)
        if k == 0:
            memory.stepped = t
        if k + 1 == swing.on:
            memory.landed = t
        return NOBODY
    return int(leg)


@law
def swing_place(t: float, s: Any, memory: Any) -> tuple[float, float, float]:
    """Wanted ankle of the swinging foot and the share of the swing that is done; late, the foot reaches down."""
    swing = s.swing
    k = 0 if memory.stepped == 0.0 else 1
    p = (t - memory.lifted) / swing.duration[k]
    u = clip(p, 0.0, 1.0)
    ahead = clip(1.6 * u, 0.0, 1.0)  # forward first, past the edge, then down
    x = memory.swing_from[0] + (swing.ankle_to[k, 0] - memory.swing_from[0]) * ahead * ahead * (3.0 - 2.0 * ahead)
    down = clip(1.6 * u - 0.6, 0.0, 1.0)
    y = memory.swing_from[1] + (swing.ankle_to[k, 1] - memory.swing_from[1]) * down * down * (3.0 - 2.0 * down)
    hump = math.sin(math.pi * clip(1.4 * u, 0.0, 1.0))
    return x, y + swing.clearance * hump * hump - 0.3 * max(0.0, p - 1.0) * swing.duration[k], u


@law
def aim_thigh(x: float, y: float, flexion: float, person: Any) -> float:
    """Thigh angle that points from hip through ankle towards a place (x, y) from the hip, the knee bent as it is."""
    a, b = person.thigh_length, person.shank_length
    reach = math.sqrt(a * a + b * b + 2.0 * a * b * math.cos(flexion))
    return math.atan2(x, -y) + math.asin(clip(b * math.sin(flexion) / reach, -1.0, 1.0))


@law
def swing_prosthesis(t: float, pose: Pose, s: Any, memory: Any) -> float:
    """Hip torque that swings the prosthetic leg past; its knee is left to itself."""
    hold, limb = s.hold, pose.legs[PROSTHETIC]
    glance = 0.0135 * s.base.person.time_unit
    flexion, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    x, y, _ = swing_place(t, s, memory)
    soon_x, soon_y, _ = swing_place(t + glance, s, memory)
    thigh = aim_thigh(x - pose.hip_x, y - pose.hip_y, flexion, s.base.person)
    soon = aim_thigh(
        soon_x - pose.hip_x - glance * pose.hip_vx,
        soon_y - pose.hip_y - glance * pose.hip_vy,
        flexion + glance * rate,
        s.base.person,
    )
    most = 3.6 / s.base.person.time_unit
    wanted = clip((soon - thigh) / glance, -most, most)
    return hold.swing_stiffness[0] * (thigh - limb.thigh) + hold.swing_damping[0] * (wanted - limb.thigh_rate)


@law
def glance_ahead(s: Any) -> float:
    """How far ahead the swinging leg looks at its way [s]."""
    return 0.0135 * s.base.person.time_unit


@law
def follow_place(
    x: float, y: float, soon_x: float, soon_y: float, foot_angle: float, pose: Pose, s: Any, o: Any
) -> float:
    """Hip torque of a sound leg whose ankle is to be at a place now and at another soon; sets its knee and ankle."""
    hold, limb, person = s.hold, pose.legs[SOUND], s.base.person
    glance = glance_ahead(s)
    flexion, thigh = knee_and_thigh(x - pose.hip_x, y - pose.hip_y, ALMOST_STRAIGHT, person)
    flexion_soon, thigh_soon = knee_and_thigh(
        soon_x - pose.hip_x - glance * pose.hip_vx,
        soon_y - pose.hip_y - glance * pose.hip_vy,
        ALMOST_STRAIGHT,
        person,
    )
    most = 3.6 / person.time_unit
    thigh_rate = clip((thigh_soon - thigh) / glance, -most, most)
    flexion_rate = clip((flexion_soon - flexion) / glance, -most, most)
    bent, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    knee = hold.swing_stiffness[1] * (flexion - bent) + hold.swing_damping[1] * (flexion_rate - rate)
    o.knee[SOUND] = clip(knee, -person.knee_extension_strength, person.knee_flexion_strength)
    o.ankle[SOUND] = hold.swing_stiffness[2] * (foot_angle - limb.foot)
    o.ankle_damping[SOUND] = -hold.swing_damping[2] * (limb.foot_rate - limb.shank_rate)
    return hold.swing_stiffness[0] * (thigh - limb.thigh) + hold.swing_damping[0] * (thigh_rate - limb.thigh_rate)


@law
def swing_leg(t: float, pose: Pose, s: Any, memory: Any, o: Any) -> float:
    """Hip torque of the swinging sound leg; sets its knee and ankle."""
    x, y, u = swing_place(t, s, memory)
    soon_x, soon_y, _ = swing_place(t + glance_ahead(s), s, memory)
    return follow_place(x, y, soon_x, soon_y, s.swing.foot_angle * u, pose, s, o)
