"""Forces of seat, edge, lock and push on the bodies, and their entries in the energy book."""

from __future__ import annotations

from typing import Any

from sim.law.books import close_books, spread
from sim.law.compiled import law
from sim.law.records import FOOT, SHANK, THIGH


@law
def spread_posture(out: Any, total: Any) -> None:
    """Sum of everything per body, as `books.spread`, with what this module knows of."""
    spread(out.base, total)
    seat = out.seat_elastic + out.seat_damping
    total[0] += out.seat_friction + out.push
    total[1] += seat
    total[2] += out.seat_arm[0] * seat - out.seat_arm[1] * out.seat_friction - out.push_arm[1] * out.push
    total[3 * THIGH + 2] += out.lock
    total[3 * SHANK + 2] -= out.lock
    for leg in range(2):
        normal, friction = out.edge_elastic[leg] + out.edge_damping[leg], out.edge_friction[leg]
        if normal > 0.0:
            foot, tx, ty = 3 * (FOOT + 3 * leg), out.edge_tangent[leg, 0], out.edge_tangent[leg, 1]
            fx, fy = friction * tx - normal * ty, friction * ty + normal * tx
            total[foot] += fx
            total[foot + 1] += fy
            total[foot + 2] += out.edge_arm[leg, 0] * fy - out.edge_arm[leg, 1] * fx


@law
def enter_posture(source: int, power: float, dt: float, book: Any) -> None:
    """One entry: work on the bodies, and what went through either way [J]."""
    book.work[source] += power * dt
    book.through[source] += abs(power) * dt


@law
def close_posture_books(state: Any, dt: float, out: Any, book: Any) -> None:
    """Enter the work of the last step, as `books.close_books`, with sources in the order of `POSTURE_SOURCES`."""
    before = book.base.velocity
    if book.base.open:
        vx, vy, w = 0.5 * (before[0, 0] + state[3]), 0.5 * (before[0, 1] + state[4]), 0.5 * (before[0, 2] + state[5])
        px, py = vx - w * out.seat_arm[1], vy + w * out.seat_arm[0]
        enter_posture(0, out.seat_elastic * py, dt, book)
        enter_posture(1, out.seat_damping * py, dt, book)
        enter_posture(2, out.seat_friction * px, dt, book)
        enter_posture(7, out.push * (vx - w * out.push_arm[1]), dt, book)
        thigh = 0.5 * (before[THIGH, 2] + state[6 * THIGH + 5])
        shank = 0.5 * (before[SHANK, 2] + state[6 * SHANK + 5])
        enter_posture(6, out.lock * (thigh - shank), dt, book)
        for leg in range(2):
            if out.edge_elastic[leg] > 0.0:
                f = FOOT + 3 * leg
                fw = 0.5 * (before[f, 2] + state[6 * f + 5])
                fx = 0.5 * (before[f, 0] + state[6 * f + 3]) - fw * out.edge_arm[leg, 1]
                fy = 0.5 * (before[f, 1] + state[6 * f + 4]) + fw * out.edge_arm[leg, 0]
                tx, ty = out.edge_tangent[leg, 0], out.edge_tangent[leg, 1]
                enter_posture(3, out.edge_elastic[leg] * (fy * tx - fx * ty), dt, book)
                enter_posture(4, out.edge_damping[leg] * (fy * tx - fx * ty), dt, book)
                enter_posture(5, out.edge_friction[leg] * (fx * tx + fy * ty), dt, book)
    close_books(state, dt, out.base, book.base)
