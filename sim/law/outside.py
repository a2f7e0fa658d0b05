"""What pushes on a walking person from outside besides ground and gravity: a rail in one hand, a helper at the pelvis.

Both go along at the wanted speed: the hand slides on, the helper walks. A grip is a spring and damper against what
deviates from that; its stretch is forgotten within a settling time, so that its mean force is none and what is carried
on average is the chosen share. The person does not know of either: less weight is felt, not foreseen.
"""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import Pose, clip
from sim.law.ground import direction, height_and_slope


@law
def rail_and_helper(dt: float, speed: float, pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """Fill rail and helper of `out`: force on the trunk and its arm from the trunk's mass centre.

    Parameters
    ----------
    dt : float
        Time step [s].
    speed : float
        Of hand and helper along the ground [m/s].
    s, memory, out : records of SETTINGS, MEMORY, FORCES
    """
    out.supported = 0
    for k in range(2):
        out.rail[k], out.rail_arm[k], out.helper[k], out.helper_arm[k] = 0.0, 0.0, 0.0, 0.0
    if s.support.rail_on or s.support.helper_on:
        out.supported = 1
        if s.support.rail_on:
            rail(dt, speed, pose, s, memory, out)
        if s.support.helper_on:
            helper(dt, speed, pose, s, memory, out)


@law
def rail(dt: float, speed: float, pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """The hand on a rail that runs at one height above the ground."""
    grip = s.support
    x = pose.hip_x + grip.rail_reach
    height, slope = height_and_slope(s.ground, x)
    tx, ty = direction(slope)
    rx, ry = grip.rail_reach, height + grip.rail_height - pose.hip_y
    vx, vy = pose.hip_vx - pose.trunk_rate * ry, pose.hip_vy + pose.trunk_rate * rx
    along, across = vx * tx + vy * ty - speed, vy * tx - vx * ty
    kept = 1.0 - min(dt / grip.rail_settle, 1.0)
    memory.rail_stretch[0] = kept * memory.rail_stretch[0] + dt * along
    memory.rail_stretch[1] = kept * memory.rail_stretch[1] + dt * across
    back = grip.rail_brake + grip.rail_stiffness * memory.rail_stretch[0] + grip.rail_damping * along
    down = grip.rail_stiffness * memory.rail_stretch[1] + grip.rail_damping * across
    fx, fy = -back * tx + down * ty, grip.rail_lift - back * ty - down * tx
    size = math.sqrt(fx * fx + fy * fy)
    share = grip.rail_strongest / size if size > grip.rail_strongest else 1.0
    out.rail[0], out.rail[1] = share * fx, share * fy
    out.rail_arm[0] = rx + s.person.trunk_centre * math.sin(pose.trunk)
    out.rail_arm[1] = ry - s.person.trunk_centre * math.cos(pose.trunk)


@law
def helper(dt: float, speed: float, pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """Hands at the pelvis: they carry a share and hold back or push along the ground; all of it may fade."""
    hands = s.support
    _, slope = height_and_slope(s.ground, pose.hip_x)
    tx, ty = direction(slope)
    along = pose.hip_vx * tx + pose.hip_vy * ty - speed
    kept = 1.0 - min(dt / hands.helper_settle, 1.0)
    memory.helper_stretch = kept * memory.helper_stretch + dt * along
    left = 1.0
    if hands.helper_fade_steps > 0.0:
        left = max(0.0, 1.0 - memory.steps / hands.helper_fade_steps)
    hold = -hands.helper_stiffness * memory.helper_stretch - hands.helper_damping * along
    hold = left * clip(hold, -hands.helper_strongest, hands.helper_strongest)
    out.helper[0], out.helper[1] = hold * tx, left * hands.helper_lift + hold * ty
    out.helper_arm[0] = s.person.trunk_centre * math.sin(pose.trunk)
    out.helper_arm[1] = -s.person.trunk_centre * math.cos(pose.trunk)
