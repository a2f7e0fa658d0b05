"""The pose a walk starts from: the sound foot flat on the ground, the other leg swinging through."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import ALMOST_STRAIGHT, knee_and_thigh
from sim.law.ground import direction, height_and_slope
from sim.law.phase import begin_on_ground, refresh_gains
from sim.law.records import FOOT, SHANK, SOUND, THIGH
from sim.law.tally import start_tally


@law
def start_pose(s: Any, table: Any, memory: Any, q: Any, v: Any) -> None:
    """Fill minimal coordinates q and rates v, and memory; the standing ankle is over x = 0."""
    person, stand, swing = s.person, SOUND, 1 - SOUND
    length, wanted = s.task.step_length[swing], s.task.step_time[swing]
    height, slope = height_and_slope(s.ground, 0.0)
    tx, ty = direction(slope)
    refresh_gains(slope, s, table, memory, swing)
    g = memory.gains
    ankle_x, ankle_y = -person.sole_height * ty, height + person.sole_height * tx
    over = g.mid_leg_fraction * person.leg_length
    for i in range(9):
        q[i], v[i] = 0.0, 0.0
    q[0] = ankle_x + g.start_hip * tx - over * ty
    q[1] = ankle_y + g.start_hip * ty + over * tx
    flexion, q[6] = knee_and_thigh(ankle_x - q[0], ankle_y - q[1], ALMOST_STRAIGHT, person)
    q[7], q[8] = q[6] - flexion, math.atan(slope)
    back = -g.start_behind * length
    lift = 0.14 * person.leg_length  # ankle clear of the ground (ours)
    x, y = ankle_x + back - q[0], ankle_y + back * slope + lift - q[1]
    flexion, q[3] = knee_and_thigh(x, y, ALMOST_STRAIGHT, person)
    q[4] = q[3] - flexion
    q[5] = q[4] + 0.5 * (slope - q[4])
    speed = g.start_speed * s.task.speed
    v[0], v[1] = speed * tx, speed * ty
    v[3], v[4] = 0.6 / person.time_unit, 0.3 / person.time_unit
    v[5] = 0.5 * v[4]
    memory.stance, memory.steps, memory.landed_time = stand, 0, -g.start_phase * wanted
    memory.heel_x[stand] = person.sole[stand, 0, 0]
    memory.heel_x[swing] = memory.heel_x[stand] - s.task.step_length[stand]
    memory.swing_from[0], memory.swing_from[1] = ankle_x - 0.5 * length, ankle_y + lift
    memory.swing_from[2] = q[3]
    memory.hip_x[0], memory.hip_x[1] = q[0], q[0] - s.task.step_length[stand]
    memory.hip_time[0], memory.hip_time[1] = memory.landed_time, memory.landed_time - wanted
    begin_on_ground(slope, memory)
    start_tally(memory)


@law
def body_states(q: Any, v: Any, person: Any, plant: Any, state: Any) -> None:
    """x, y, angle, vx, vy, rate of each body's mass centre from minimal coordinates."""
    place(0, q[0], q[1], v[0], v[1], q[2], v[2], plant, state)
    for leg in range(2):
        o = 3 + 3 * leg
        x, y, vx, vy = q[0], q[1], v[0], v[1]
        for part in range(THIGH, FOOT + 1):
            b, i = part + 3 * leg, o + part - THIGH
            place(b, x, y, vx, vy, q[i], v[i], plant, state)
            length = person.thigh_length if part == THIGH else person.shank_length
            if part <= SHANK:
                x, y, vx, vy = end_of(x, y, vx, vy, q[i], v[i], length)


@law
def end_of(
    x: float, y: float, vx: float, vy: float, angle: float, rate: float, length: float
) -> tuple[float, float, float, float]:
    """The far end of a segment that hangs from x, y."""
    rx, ry = length * math.sin(angle), -length * math.cos(angle)
    return x + rx, y + ry, vx - rate * ry, vy + rate * rx


@law
def place(
    b: int, x: float, y: float, vx: float, vy: float, angle: float, rate: float, plant: Any, state: Any
) -> None:
    """Body b whose upper joint is at x, y."""
    c, n = math.cos(angle), math.sin(angle)
    lx, ly = plant.centre[b, 0], plant.centre[b, 1]
    rx, ry = c * lx - n * ly, n * lx + c * ly
    state[6 * b], state[6 * b + 1], state[6 * b + 2] = x + rx, y + ry, angle
    state[6 * b + 3], state[6 * b + 4], state[6 * b + 5] = vx - rate * ry, vy + rate * rx, rate
