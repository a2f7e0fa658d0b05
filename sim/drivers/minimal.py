"""The same walker in minimal coordinates, stepped as pymunk steps: for cross-checks and for thousands of walks at once.

Coordinates: hip x, y, trunk angle, then thigh, shank, foot angle of leg 0 and of leg 1. Every joint holds exactly.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sim.law.compiled import entry, law
from sim.law.geometry import Pose, look_minimal
from sim.law.records import FORCES, GRAVITY
from sim.law.start import start_pose
from sim.law.walker import act, status_of

SIZE = 9
WORK = np.dtype(
    [
        ("q", "f8", (SIZE,)),
        ("v", "f8", (SIZE,)),
        ("b", "f8", (SIZE,)),
        ("m", "f8", (SIZE, SIZE)),
        ("out", FORCES),
    ],
    align=True,
)


@law
def generalized_forces(pose: Pose, out: Any, person: Any, b: Any) -> None:
    """Joint torques and ground forces as forces on the coordinates."""
    for i in range(SIZE):
        b[i] = 0.0
    for leg in range(2):
        o, limb = 3 + 3 * leg, pose.legs[leg]
        knee = out.knee[leg] + out.knee_stop[leg]
        ankle = out.ankle[leg] + out.ankle_damping[leg] + out.ankle_stop[leg]
        cx, cy = person.foot_centre[leg, 0], person.foot_centre[leg, 1]
        rx, ry = limb.foot_cos * cx - limb.foot_sin * cy, limb.foot_sin * cx + limb.foot_cos * cy
        fx, fy, moment = 0.0, 0.0, 0.0
        for k in range(3):
            normal = out.normal_elastic[leg, k] + out.normal_damping[leg, k]
            if normal > 0.0:
                friction = out.friction_elastic[leg, k] + out.friction_damping[leg, k]
                tx, ty = out.tangent[leg, k, 0], out.tangent[leg, k, 1]
                px, py = friction * tx - normal * ty, friction * ty + normal * tx
                fx += px
                fy += py
                moment += (rx + out.arm[leg, k, 0]) * py - (ry + out.arm[leg, k, 1]) * px
        b[0] += fx
        b[1] += fy
        b[2] -= out.hip[leg]
        b[o] += out.hip[leg] + knee + person.thigh_length * (limb.thigh_cos * fx + limb.thigh_sin * fy)
        b[o + 1] += person.shank_length * (limb.shank_cos * fx + limb.shank_sin * fy) - knee - ankle
        b[o + 2] += moment + ankle
    if out.supported:
        rx, ry = -person.trunk_centre * math.sin(pose.trunk), person.trunk_centre * math.cos(pose.trunk)
        b[0] += out.rail[0] + out.helper[0]
        b[1] += out.rail[1] + out.helper[1]
        b[2] += (rx + out.rail_arm[0]) * out.rail[1] - (ry + out.rail_arm[1]) * out.rail[0]
        b[2] += (rx + out.helper_arm[0]) * out.helper[1] - (ry + out.helper_arm[1]) * out.helper[0]


@law
def add_trunk(pose: Pose, plant: Any, mass: Any, b: Any) -> None:
    """The trunk's share of mass matrix (lower triangle) and forces."""
    m, high = plant.mass[0], plant.centre[0, 1]
    c, n = math.cos(pose.trunk), math.sin(pose.trunk)
    rx, ry = c * plant.centre[0, 0] - n * high, n * plant.centre[0, 0] + c * high
    w2 = pose.trunk_rate * pose.trunk_rate
    fx, fy = m * rx * w2, m * ry * w2 - m * GRAVITY
    mass[0, 0] += m
    mass[1, 1] += m
    mass[2, 0] -= m * ry
    mass[2, 1] += m * rx
    mass[2, 2] += plant.inertia[0] + m * (rx * rx + ry * ry)
    b[0] += fx
    b[1] += fy
    b[2] += rx * fy - ry * fx


@law
def add_leg(leg: int, pose: Pose, person: Any, plant: Any, mass: Any, b: Any) -> None:
    """Thigh, shank and foot of one leg: their share of mass matrix (lower triangle) and forces.

    ux, uy: how the mass centre of each body moves with each of the three angles; what is left of its acceleration
    when no angle accelerates is centripetal.
    """
    o, t, limb = 3 + 3 * leg, 1 + 3 * leg, pose.legs[leg]
    ct, st, cs, ss, cf, sf = (
        limb.thigh_cos, limb.thigh_sin, limb.shank_cos, limb.shank_sin, limb.foot_cos, limb.foot_sin
    )  # fmt: skip
    wt, ws, wf = limb.thigh_rate**2, limb.shank_rate**2, limb.foot_rate**2
    length, shin = person.thigh_length, person.shank_length
    m1, m2, m3 = plant.mass[t], plant.mass[t + 1], plant.mass[t + 2]
    x1, y1 = ct * plant.centre[t, 0] - st * plant.centre[t, 1], st * plant.centre[t, 0] + ct * plant.centre[t, 1]
    x2 = cs * plant.centre[t + 1, 0] - ss * plant.centre[t + 1, 1]
    y2 = ss * plant.centre[t + 1, 0] + cs * plant.centre[t + 1, 1]
    x3 = cf * plant.centre[t + 2, 0] - sf * plant.centre[t + 2, 1]
    y3 = sf * plant.centre[t + 2, 0] + cf * plant.centre[t + 2, 1]
    kx, ky, ax, ay = length * ct, length * st, shin * cs, shin * ss
    # forces: gravity and centripetal terms
    f1x, f1y = m1 * x1 * wt, m1 * (y1 * wt - GRAVITY)
    f2x, f2y = m2 * (length * st * wt + x2 * ws), m2 * (-length * ct * wt + y2 * ws - GRAVITY)
    f3x = m3 * (length * st * wt + shin * ss * ws + x3 * wf)
    f3y = m3 * (-length * ct * wt - shin * cs * ws + y3 * wf - GRAVITY)
    b[0] += f1x + f2x + f3x
    b[1] += f1y + f2y + f3y
    b[o] += x1 * f1y - y1 * f1x + kx * (f2x + f3x) + ky * (f2y + f3y)
    b[o + 1] += x2 * f2y - y2 * f2x + ax * f3x + ay * f3y
    b[o + 2] += x3 * f3y - y3 * f3x
    below = m2 + m3
    mass[0, 0] += m1 + below
    mass[1, 1] += m1 + below
    mass[o, 0] += -m1 * y1 + below * kx
    mass[o, 1] += m1 * x1 + below * ky
    mass[o + 1, 0] += -m2 * y2 + m3 * ax
    mass[o + 1, 1] += m2 * x2 + m3 * ay
    mass[o + 2, 0] -= m3 * y3
    mass[o + 2, 1] += m3 * x3
    mass[o, o] += plant.inertia[t] + m1 * (x1 * x1 + y1 * y1) + below * length * length
    mass[o + 1, o] += kx * (-m2 * y2 + m3 * ax) + ky * (m2 * x2 + m3 * ay)
    mass[o + 1, o + 1] += plant.inertia[t + 1] + m2 * (x2 * x2 + y2 * y2) + m3 * shin * shin
    mass[o + 2, o] += m3 * (-y3 * kx + x3 * ky)
    mass[o + 2, o + 1] += m3 * (-y3 * ax + x3 * ay)
    mass[o + 2, o + 2] += plant.inertia[t + 2] + m3 * (x3 * x3 + y3 * y3)


@law
def solve(mass: Any, b: Any) -> None:
    """Solve mass * x = b in place by elimination from the feet up; the lower triangle of mass is overwritten.

    A leg's angles couple only among themselves and with the hip's x and y, as does the trunk's; the rest is zero.
    """
    for j in range(SIZE - 1, 0, -1):
        first = 3 + 3 * ((j - 3) // 3) if j > 2 else j  # first angle of the leg
        for i in range(j - 1, -1, -1):
            if i < 2 or i >= first:
                share = mass[j, i] / mass[j, j]
                b[i] -= share * b[j]
                for k in range(i + 1):
                    if k < 2 or k >= first:
                        mass[i, k] -= share * mass[j, k]
    for j in range(SIZE):
        first = 3 + 3 * ((j - 3) // 3) if j > 2 else j
        for i in range(j):
            if i < 2 or i >= first:
                b[j] -= mass[j, i] * b[i]
        b[j] /= mass[j, j]


@law
def accelerations(pose: Pose, person: Any, plant: Any, work: Any) -> None:
    """Turn generalized forces in work.b into accelerations, in place."""
    for i in range(SIZE):
        for j in range(i + 1):
            work.m[i, j] = 0.0
    add_trunk(pose, plant, work.m, work.b)
    add_leg(0, pose, person, plant, work.m, work.b)
    add_leg(1, pose, person, plant, work.m, work.b)
    solve(work.m, work.b)


@law
def walk_one(
    n: int, dt: float, s: Any, table: Any, plant: Any, memory: Any, steps: Any, work: Any
) -> tuple[int, int]:
    """One walk of at most n time steps from the starting pose; returns status and time steps walked."""
    start_pose(s, table, memory, work.q, work.v)
    for i in range(n):
        pose = look_minimal(work.q, work.v, s.person)
        status = status_of(i * dt, pose, s, memory)
        if status:
            return status, i
        act(i * dt, dt, pose, s, table, memory, steps, work.out)
        generalized_forces(pose, work.out, s.person, work.b)
        accelerations(pose, s.person, plant, work)
        for k in range(SIZE):
            work.v[k] += dt * work.b[k]
            work.q[k] += dt * work.v[k]
    return 0, n


@entry
def walk_each(
    n: int, dt: float, settings: Any, plants: Any, tables: Any, steps: Any, memories: Any, status: Any, lasted: Any
) -> None:
    """Every scenario with every gain table, one after the other: walk i has scenario i % m and table i // m.

    Parameters
    ----------
    n, dt : most time steps, and their length [s]
    settings, plants : shape (m,), of the scenarios
    tables : shape (k,), gain tables
    steps : shape (k m, most steps), filled; memories, status, lasted : shape (k m,), filled
    """
    work = np.zeros(1, WORK)
    count = settings.shape[0]
    for i in range(status.shape[0]):
        j = i % count
        status[i], lasted[i] = walk_one(
            n, dt, settings[j], tables[i // count], plants[j], memories[i], steps[i], work[0]
        )
