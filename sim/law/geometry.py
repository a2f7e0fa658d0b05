"""Where the segments are: from body states to joint positions, and back for a two-link leg."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from sim.law.compiled import law
from sim.law.records import FOOT, SHANK, THIGH

#: A leg that is reached out to this share of its length is almost straight: 7 degrees at the knee (ours).
ALMOST_STRAIGHT = 0.998


class Leg(NamedTuple):
    """Angles from hanging straight down [rad], counter-clockwise, and the ankle [m]."""

    thigh: float
    shank: float
    foot: float
    thigh_rate: float
    shank_rate: float
    foot_rate: float
    ankle_x: float
    ankle_y: float
    ankle_vx: float
    ankle_vy: float
    thigh_cos: float
    thigh_sin: float
    shank_cos: float
    shank_sin: float
    foot_cos: float
    foot_sin: float


class Pose(NamedTuple):
    """Hip [m, m/s], trunk angle from upright (counter-clockwise = backward) and both legs."""

    hip_x: float
    hip_y: float
    hip_vx: float
    hip_vy: float
    trunk: float
    trunk_rate: float
    legs: tuple[Leg, Leg]


@law
def clip(value: float, low: float, high: float) -> float:
    """Value held inside low to high."""
    return min(max(value, low), high)


@law
def smooth_step(u: float) -> float:
    """0 to 1 with flat ends; u is held inside 0 to 1."""
    u = min(max(u, 0.0), 1.0)
    return u * u * (3.0 - 2.0 * u)


@law
def look(state: Any, ahead: float, person: Any) -> Pose:
    """Pose `ahead` seconds on at today's velocities; state holds x, y, angle, vx, vy, rate of each body."""
    trunk = state[2] + ahead * state[5]
    rx, ry = person.trunk_centre * math.sin(trunk), -person.trunk_centre * math.cos(trunk)
    return Pose(
        state[0] + ahead * state[3] + rx,
        state[1] + ahead * state[4] + ry,
        state[3] - state[5] * ry,
        state[4] + state[5] * rx,
        trunk,
        state[5],
        (look_leg(state, ahead, person, 0), look_leg(state, ahead, person, 1)),
    )


@law
def look_leg(state: Any, ahead: float, person: Any, leg: int) -> Leg:
    """One leg of `look`."""
    t, s, f = 6 * (THIGH + 3 * leg), 6 * (SHANK + 3 * leg), 6 * (FOOT + 3 * leg)
    foot = state[f + 2] + ahead * state[f + 5]
    c, n = math.cos(foot), math.sin(foot)
    lx, ly = person.foot_centre[leg, 0], person.foot_centre[leg, 1]
    rx, ry = -(c * lx - n * ly), -(n * lx + c * ly)
    thigh, shank = state[t + 2] + ahead * state[t + 5], state[s + 2] + ahead * state[s + 5]
    return Leg(
        thigh,
        shank,
        foot,
        state[t + 5],
        state[s + 5],
        state[f + 5],
        state[f] + ahead * state[f + 3] + rx,
        state[f + 1] + ahead * state[f + 4] + ry,
        state[f + 3] - state[f + 5] * ry,
        state[f + 4] + state[f + 5] * rx,
        math.cos(thigh),
        math.sin(thigh),
        math.cos(shank),
        math.sin(shank),
        c,
        n,
    )


@law
def look_minimal(q: Any, v: Any, person: Any) -> Pose:
    """Pose from minimal coordinates: hip x, y, trunk angle, then thigh, shank, foot of both legs."""
    return Pose(
        q[0], q[1], v[0], v[1], q[2], v[2], (minimal_leg(q, v, person, 0), minimal_leg(q, v, person, 1))
    )


@law
def minimal_leg(q: Any, v: Any, person: Any, leg: int) -> Leg:
    """One leg of `look_minimal`."""
    o = 3 + 3 * leg
    thigh, shank = person.thigh_length, person.shank_length
    st, ct, ss, cs = math.sin(q[o]), math.cos(q[o]), math.sin(q[o + 1]), math.cos(q[o + 1])
    return Leg(
        q[o],
        q[o + 1],
        q[o + 2],
        v[o],
        v[o + 1],
        v[o + 2],
        q[0] + thigh * st + shank * ss,
        q[1] - thigh * ct - shank * cs,
        v[0] + thigh * ct * v[o] + shank * cs * v[o + 1],
        v[1] + thigh * st * v[o] + shank * ss * v[o + 1],
        ct,
        st,
        cs,
        ss,
        math.cos(q[o + 2]),
        math.sin(q[o + 2]),
    )


@law
def knee_and_thigh(dx: float, dy: float, farthest: float, person: Any) -> tuple[float, float]:
    """Two-link inverse kinematics: ankle at (dx, dy) from the hip -> knee flexion and thigh angle [rad].

    `farthest` is the share of the straight leg beyond which it does not reach; there the knee stays a little flexed.
    """
    a, b = person.thigh_length, person.shank_length
    reach = clip(math.sqrt(dx * dx + dy * dy), 0.35 * (a + b), farthest * (a + b))
    flexion = math.pi - math.acos(clip((a * a + b * b - reach * reach) / (2.0 * a * b), -1.0, 1.0))
    return flexion, math.atan2(dx, -dy) + math.asin(clip(b * math.sin(flexion) / reach, -1.0, 1.0))
