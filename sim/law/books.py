"""From forces at joints and contacts to forces on bodies, and the energy book."""

from __future__ import annotations

from typing import Any

from sim.law.compiled import law
from sim.law.records import BODIES, FOOT, GRAVITY, SHANK, THIGH

GRAVITY_SOURCE, RAIL_SOURCE, HELPER_SOURCE = 16, 17, 18


@law
def spread(out: Any, total: Any) -> None:
    """Sum of everything per body: fx, fy, torque about the mass centre, seven times in a row."""
    for i in range(3 * BODIES):
        total[i] = 0.0
    for leg in range(2):
        thigh, shank, foot = 3 * (THIGH + 3 * leg), 3 * (SHANK + 3 * leg), 3 * (FOOT + 3 * leg)
        knee = out.knee[leg] + out.knee_stop[leg]
        ankle = out.ankle[leg] + out.ankle_damping[leg] + out.ankle_stop[leg]
        total[2] -= out.hip[leg]
        total[thigh + 2] += out.hip[leg] + knee
        total[shank + 2] -= knee + ankle
        total[foot + 2] += ankle
        for k in range(3):
            normal = out.normal_elastic[leg, k] + out.normal_damping[leg, k]
            if normal > 0.0:
                friction = out.friction_elastic[leg, k] + out.friction_damping[leg, k]
                tx, ty = out.tangent[leg, k, 0], out.tangent[leg, k, 1]
                fx, fy = friction * tx - normal * ty, friction * ty + normal * tx
                total[foot] += fx
                total[foot + 1] += fy
                total[foot + 2] += out.arm[leg, k, 0] * fy - out.arm[leg, k, 1] * fx
    if out.supported:
        total[0] += out.rail[0] + out.helper[0]
        total[1] += out.rail[1] + out.helper[1]
        total[2] += out.rail_arm[0] * out.rail[1] - out.rail_arm[1] * out.rail[0]
        total[2] += out.helper_arm[0] * out.helper[1] - out.helper_arm[1] * out.helper[0]


@law
def enter(source: int, power: float, dt: float, book: Any) -> None:
    """One entry: work on the bodies, and what went through either way [J]."""
    book.work[source] += power * dt
    book.through[source] += abs(power) * dt


@law
def book_contact(vx: float, vy: float, rate: float, leg: int, k: int, dt: float, out: Any, book: Any) -> None:
    """Work at one point of a foot whose mass centre moves with vx, vy and turns with rate."""
    tx, ty = out.tangent[leg, k, 0], out.tangent[leg, k, 1]
    px, py = vx - rate * out.arm[leg, k, 1], vy + rate * out.arm[leg, k, 0]
    along, across = px * tx + py * ty, py * tx - px * ty
    enter(12, out.normal_elastic[leg, k] * across, dt, book)
    enter(13, out.normal_damping[leg, k] * across, dt, book)
    enter(14, out.friction_elastic[leg, k] * along, dt, book)
    enter(15, out.friction_damping[leg, k] * along, dt, book)


@law
def book_supports(vx: float, vy: float, rate: float, dt: float, out: Any, book: Any) -> None:
    """Work of rail and helper on the trunk, whose mass centre moves with vx, vy and which turns with rate."""
    rail_x, rail_y = vx - rate * out.rail_arm[1], vy + rate * out.rail_arm[0]
    enter(RAIL_SOURCE, out.rail[0] * rail_x + out.rail[1] * rail_y, dt, book)
    helper_x, helper_y = vx - rate * out.helper_arm[1], vy + rate * out.helper_arm[0]
    enter(HELPER_SOURCE, out.helper[0] * helper_x + out.helper[1] * helper_y, dt, book)


@law
def close_books(state: Any, dt: float, out: Any, book: Any) -> None:
    """Enter the work of the last step.

    Forces of that step times the mean of the velocities before and after it, which is exact for the engine's way of
    stepping; potential energy is taken at mid-step, where that mean belongs. Sources in the order of `SOURCES`.
    """
    kinetic, potential, falling = 0.0, 0.0, 0.0
    for b in range(BODIES):
        vx, vy, w = state[6 * b + 3], state[6 * b + 4], state[6 * b + 5]
        kinetic += 0.5 * book.mass[b] * (vx * vx + vy * vy) + 0.5 * book.inertia[b] * w * w
        potential += book.mass[b] * GRAVITY * (state[6 * b + 1] + 0.5 * dt * vy)
        falling -= book.mass[b] * GRAVITY * 0.5 * (book.velocity[b, 1] + vy)
    if book.open:
        enter(GRAVITY_SOURCE, falling, dt, book)
        trunk = 0.5 * (book.velocity[0, 2] + state[5])
        if out.supported:
            vx, vy = 0.5 * (book.velocity[0, 0] + state[3]), 0.5 * (book.velocity[0, 1] + state[4])
            book_supports(vx, vy, trunk, dt, out, book)
        for leg in range(2):
            t, s, f = THIGH + 3 * leg, SHANK + 3 * leg, FOOT + 3 * leg
            thigh = 0.5 * (book.velocity[t, 2] + state[6 * t + 5])
            shank = 0.5 * (book.velocity[s, 2] + state[6 * s + 5])
            foot = 0.5 * (book.velocity[f, 2] + state[6 * f + 5])
            enter(leg, out.hip[leg] * (thigh - trunk), dt, book)
            enter(2 + leg, out.knee[leg] * (thigh - shank), dt, book)
            enter(4 + leg, out.ankle[leg] * (foot - shank), dt, book)
            enter(6 + leg, out.ankle_damping[leg] * (foot - shank), dt, book)
            enter(8 + leg, out.knee_stop[leg] * (thigh - shank), dt, book)
            enter(10 + leg, out.ankle_stop[leg] * (foot - shank), dt, book)
            vx = 0.5 * (book.velocity[f, 0] + state[6 * f + 3])
            vy = 0.5 * (book.velocity[f, 1] + state[6 * f + 4])
            for k in range(3):
                if out.normal_elastic[leg, k] > 0.0:
                    book_contact(vx, vy, foot, leg, k, dt, out, book)
    else:
        book.open, book.start[0], book.start[1] = 1, kinetic, potential
    book.now[0], book.now[1] = kinetic, potential
    for b in range(BODIES):
        for k in range(3):
            book.velocity[b, k] = state[6 * b + 3 + k]
