"""The same walker in minimal coordinates, stepped as pymunk steps: for cross-checks and for thousands of walks at once.

Coordinates: hip x, y, trunk angle, then thigh, shank, foot angle of leg 0 and of leg 1. Every joint holds exactly.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sim.law.compiled import entry, law
from sim.law.geometry import look_minimal
from sim.law.records import FOOT, FORCES, GRAVITY, THIGH
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
def generalized_forces(q: Any, out: Any, person: Any, b: Any) -> None:
    """Joint torques and ground forces as forces on the coordinates."""
    for i in range(SIZE):
        b[i] = 0.0
    for leg in range(2):
        o = 3 + 3 * leg
        knee = out.knee[leg] + out.knee_stop[leg]
        ankle = out.ankle[leg] + out.ankle_damping[leg] + out.ankle_stop[leg]
        b[2] -= out.hip[leg]
        b[o] += out.hip[leg] + knee
        b[o + 1] -= knee + ankle
        b[o + 2] += ankle
        c, n = math.cos(q[o + 2]), math.sin(q[o + 2])
        cx, cy = person.foot_centre[leg, 0], person.foot_centre[leg, 1]
        rx, ry = c * cx - n * cy, n * cx + c * cy
        for k in range(3):
            normal = out.normal_elastic[leg, k] + out.normal_damping[leg, k]
            if normal > 0.0:
                friction = out.friction_elastic[leg, k] + out.friction_damping[leg, k]
                tx, ty = out.tangent[leg, k, 0], out.tangent[leg, k, 1]
                fx, fy = friction * tx - normal * ty, friction * ty + normal * tx
                b[0] += fx
                b[1] += fy
                b[o] += person.thigh_length * (math.cos(q[o]) * fx + math.sin(q[o]) * fy)
                b[o + 1] += person.shank_length * (math.cos(q[o + 1]) * fx + math.sin(q[o + 1]) * fy)
                ax, ay = rx + out.arm[leg, k, 0], ry + out.arm[leg, k, 1]
                b[o + 2] += ax * fy - ay * fx


@law
def add_body(
    m: float, i_own: float, lx: float, ly: float, depth: int, o: int, q: Any, v: Any, lengths: Any, mass: Any, b: Any
) -> None:
    """Add one body at the end of a chain of `depth` segments below the hip to mass matrix and forces.

    The mass centre is lx, ly from the upper joint of its own segment; the segments above have `lengths`.
    """
    own = o + depth
    c, n = math.cos(q[own]), math.sin(q[own])
    rx, ry = c * lx - n * ly, n * lx + c * ly
    ax, ay = -rx * v[own] * v[own], -ry * v[own] * v[own]  # acceleration without angular acceleration
    for k in range(depth):
        w2 = v[o + k] * v[o + k]
        ax -= lengths[k] * math.sin(q[o + k]) * w2
        ay += lengths[k] * math.cos(q[o + k]) * w2
    fx, fy = -m * ax, -m * (ay + GRAVITY)
    mass[0, 0] += m
    mass[1, 1] += m
    mass[own, own] += i_own + m * (rx * rx + ry * ry)
    mass[own, 0] += -m * ry
    mass[own, 1] += m * rx
    b[0] += fx
    b[1] += fy
    b[own] += rx * fy - ry * fx
    for k in range(depth):
        kx, ky = lengths[k] * math.cos(q[o + k]), lengths[k] * math.sin(q[o + k])
        mass[o + k, 0] += m * kx
        mass[o + k, 1] += m * ky
        mass[own, o + k] += m * (-ry * kx + rx * ky)
        b[o + k] += kx * fx + ky * fy
        for j in range(k + 1):
            jx, jy = lengths[j] * math.cos(q[o + j]), lengths[j] * math.sin(q[o + j])
            mass[o + k, o + j] += m * (kx * jx + ky * jy)


@law
def solve(mass: Any, b: Any) -> None:
    """Solve mass * x = b in place by Cholesky; only the lower triangle of mass is used, and it is overwritten."""
    for i in range(SIZE):
        for j in range(i + 1):
            total = mass[i, j]
            for k in range(j):
                total -= mass[i, k] * mass[j, k]
            if i == j:
                mass[i, i] = math.sqrt(total)
            else:
                mass[i, j] = total / mass[j, j]
    for i in range(SIZE):
        total = b[i]
        for k in range(i):
            total -= mass[i, k] * b[k]
        b[i] = total / mass[i, i]
    for i in range(SIZE - 1, -1, -1):
        total = b[i]
        for k in range(i + 1, SIZE):
            total -= mass[k, i] * b[k]
        b[i] = total / mass[i, i]


@law
def accelerations(q: Any, v: Any, person: Any, plant: Any, work: Any) -> None:
    """Turn generalized forces in work.b into accelerations, in place."""
    mass, b = work.m, work.b
    for i in range(SIZE):
        for j in range(i + 1):
            mass[i, j] = 0.0
    lengths = (person.thigh_length, person.shank_length, 0.0)
    add_body(
        plant.mass[0], plant.inertia[0], plant.centre[0, 0], plant.centre[0, 1], 0, 2, q, v, lengths, mass, b
    )
    for leg in range(2):
        for part in range(THIGH, FOOT + 1):
            k = part + 3 * leg
            add_body(
                plant.mass[k],
                plant.inertia[k],
                plant.centre[k, 0],
                plant.centre[k, 1],
                part - THIGH,
                3 + 3 * leg,
                q,
                v,
                lengths,
                mass,
                b,
            )
    solve(mass, b)


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
        generalized_forces(work.q, work.out, s.person, work.b)
        accelerations(work.q, work.v, s.person, plant, work)
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
