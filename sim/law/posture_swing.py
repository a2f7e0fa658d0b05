"""One swing of the sound foot to a lower tread: a path in time, followed by muscles as in the walk."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import Pose, clip, knee_and_thigh
from sim.law.records import SOUND


@law
def swings(t: float, s: Any, memory: Any, load: float, pose: Pose) -> bool:
    """Whether the sound foot is swinging now; notes where the swing began and when the foot landed."""
    swing = s.swing
    if swing.on == 0 or memory.landed > 0.0:
        return False
    if t < swing.start:
        memory.swing_from[0], memory.swing_from[1] = pose.legs[SOUND].ankle_x, pose.legs[SOUND].ankle_y
        return False
    below = pose.legs[SOUND].ankle_y < 0.5 * (memory.swing_from[1] + swing.ankle_to[1])
    if below and load > 0.05 * s.base.person.weight:
        memory.landed = t
        return False
    return True


@law
def swing_place(t: float, s: Any, memory: Any) -> tuple[float, float, float]:
    """Wanted ankle of the swinging foot and the share of the swing that is done; late, the foot reaches down."""
    swing = s.swing
    p = (t - swing.start) / swing.duration
    u = clip(p, 0.0, 1.0)
    ahead = clip(1.6 * u, 0.0, 1.0)  # forward first, past the edge, then down
    x = memory.swing_from[0] + (swing.ankle_to[0] - memory.swing_from[0]) * ahead * ahead * (3.0 - 2.0 * ahead)
    down = clip(1.6 * u - 0.6, 0.0, 1.0)
    y = memory.swing_from[1] + (swing.ankle_to[1] - memory.swing_from[1]) * down * down * (3.0 - 2.0 * down)
    hump = math.sin(math.pi * clip(1.4 * u, 0.0, 1.0))
    return x, y + swing.clearance * hump * hump - 0.3 * max(0.0, p - 1.0) * swing.duration, u


@law
def swing_leg(t: float, pose: Pose, s: Any, memory: Any, o: Any) -> float:
    """Hip torque of the swinging sound leg; sets its knee and ankle."""
    hold, limb, person = s.hold, pose.legs[SOUND], s.base.person
    glance = 0.0135 * person.time_unit
    x, y, u = swing_place(t, s, memory)
    soon_x, soon_y, _ = swing_place(t + glance, s, memory)
    flexion, thigh = knee_and_thigh(x - pose.hip_x, y - pose.hip_y, person)
    flexion_soon, thigh_soon = knee_and_thigh(
        soon_x - pose.hip_x - glance * pose.hip_vx, soon_y - pose.hip_y - glance * pose.hip_vy, person
    )
    most = 3.6 / person.time_unit
    thigh_rate = clip((thigh_soon - thigh) / glance, -most, most)
    flexion_rate = clip((flexion_soon - flexion) / glance, -most, most)
    bent, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    knee = hold.swing_stiffness[1] * (flexion - bent) + hold.swing_damping[1] * (flexion_rate - rate)
    o.knee[SOUND] = clip(knee, -person.knee_extension_strength, person.knee_flexion_strength)
    o.ankle[SOUND] = hold.swing_stiffness[2] * (s.swing.foot_angle * u - limb.foot)
    o.ankle_damping[SOUND] = -hold.swing_damping[2] * (limb.foot_rate - limb.shank_rate)
    return hold.swing_stiffness[0] * (thigh - limb.thigh) + hold.swing_damping[0] * (thigh_rate - limb.thigh_rate)
