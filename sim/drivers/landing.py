"""Begin a walk where another one has just landed: pose, rates and memory carried over to another slope and person.

The whole pose is moved so that the landed foot stands on the new slope as it stood on the old one, turned with the
slope, and scaled with the leg (lengths with L, times with sqrt L, forces with the weight): the same person on the same
slope goes on as if nothing had happened, and whoever differs begins with a small disturbance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.law.compiled import entry
from sim.law.geometry import look, look_minimal
from sim.law.habits import change_gains
from sim.law.phase import begin_on_ground, refresh_gains
from sim.law.start import body_states
from sim.law.tally import start_tally

#: Landings that a walk counts as made when it begins so: from the third on the person has learnt from two.
MADE = 2
#: How each field of `MEMORY` comes over; a new field needs its place here (tested).
AS_IT_IS = ("stance", "lean_adjust", "yielded", "little_yield", "loaded", "touching", "scuffing")
MOVED = ("swing_from", "heel_x", "hip_x", "anchor")
SCALED = ("landed_time", "hip_time", "reach_adjust", "speed_adjust", "filtered", "rail_stretch", "helper_stretch")
MADE_ANEW = ("ground_angle", "turn", "steps", "tally", "tally_time", "knee_highest", "double", "gains")

Array = np.ndarray[Any, Any]


@dataclass(frozen=True, eq=False)
class Landing:
    """The moment after the last landing of a walk.

    Attributes
    ----------
    settings : ndarray of `SETTINGS`, shape (1,)
        Of that walk.
    state : ndarray, shape (42,)
        x, y, angle, vx, vy, rate of each body.
    memory : ndarray of `MEMORY`, shape (1,)
    time, time_step : float
        Of that moment, and between moments [s].
    """

    settings: Array
    state: Array
    memory: Array
    time: float
    time_step: float


@entry
def minimal_of_state(settings: Any, state: Any, q: Any, v: Any) -> None:
    """Minimal coordinates of body states."""
    pose = look(state, 0.0, settings[0].person)
    q[0], q[1], q[2], v[0], v[1], v[2] = pose.hip_x, pose.hip_y, pose.trunk, pose.hip_vx, pose.hip_vy, pose.trunk_rate
    for leg in range(2):
        o, limb = 3 + 3 * leg, pose.legs[leg]
        q[o], q[o + 1], q[o + 2] = limb.thigh, limb.shank, limb.foot
        v[o], v[o + 1], v[o + 2] = limb.thigh_rate, limb.shank_rate, limb.foot_rate


@entry
def sole_points(settings: Any, q: Any, points: Any) -> None:
    """Heel, ball and toe of both feet at a pose, shape (2, 3, 2) [m]."""
    person = settings[0].person
    pose = look_minimal(q, q, person)
    for leg in range(2):
        limb = pose.legs[leg]
        for k in range(3):
            px, py = person.sole[leg, k, 0], person.sole[leg, k, 1]
            points[leg, k, 0] = limb.ankle_x + limb.foot_cos * px - limb.foot_sin * py
            points[leg, k, 1] = limb.ankle_y + limb.foot_sin * px + limb.foot_cos * py


@entry
def begin_again(
    settings: Any, tables: Any, plants: Any, memories: Any, slope: float, q: Any, v: Any, state: Any
) -> None:
    """Body states of a pose, gains for the slope, an empty row for the step under way."""
    body_states(q, v, settings[0].person, plants[0], state)
    swing = 1 - memories[0].stance
    begin_on_ground(slope, memories[0])
    refresh_gains(slope, settings[0], tables[0], memories[0], swing)
    change_gains(swing, settings[0], memories[0])
    start_tally(memories[0])


class _Move:
    """Turn about the landed heel, scale with the leg, and put down on the new slope."""

    def __init__(self, old: Any, new: Any, heel: Array, stance: int) -> None:
        slope, into = _straight(old["ground"]), _straight(new["ground"])
        self.turn = math.atan(into[2]) - math.atan(slope[2])
        self.length = float(new["person"]["leg_length"] / old["person"]["leg_length"])
        self.time = math.sqrt(self.length)
        self.force = float(new["person"]["weight"] / old["person"]["weight"])
        self.slope = into[2]
        run = math.cos(math.atan(into[2])) / math.cos(math.atan(slope[2]))
        self.shorter = self.length * run  # of distances along x
        self.old = np.array([heel[stance], slope[1] + slope[2] * (heel[stance] - slope[0])])
        ahead = self.shorter * float(heel[stance] - heel[1 - stance])  # the other heel comes to where the slope begins
        self.new = np.array([into[0] + ahead, into[1] + into[2] * ahead])

    def direction(self, xy: Array) -> Array:
        """Turned, shape (..., 2)."""
        c, n = math.cos(self.turn), math.sin(self.turn)
        return np.asarray(xy) @ np.array([[c, n], [-n, c]])

    def point(self, xy: Array) -> Array:
        """Where a point comes to, shape (..., 2) [m]."""
        return self.new + self.length * self.direction(np.asarray(xy) - self.old)

    def along(self, x: Array) -> Array:
        """Where a place along the way comes to [m]."""
        return self.new[0] + self.shorter * (np.asarray(x) - self.old[0])


def _straight(ground: Any) -> tuple[float, float, float]:
    """Where the straight ground begins, its height there and its slope."""
    last = int(ground["knots"]) - 1
    return float(ground["x"][last]), float(ground["height"][last]), float(ground["slope"][last])


def carry_over(
    landing: Landing, settings: Array, tables: Array, plants: Array, memories: Array, dt: float, state: Array
) -> None:
    """Fill memory and body states of a new walk that begins after a landing of another.

    Parameters
    ----------
    landing : Landing
    settings, tables, plants : one record each of SETTINGS, GAIN_TABLE, PLANT
        Of the new walk.
    memories : one record of MEMORY
        Filled.
    dt : float
        Time step of the new walk [s].
    state : ndarray, shape (42,)
        Filled.
    """
    memory = memories[0]
    memories[:] = landing.memory
    stance = int(memory["stance"])
    move = _Move(landing.settings[0], settings[0], np.array(memory["heel_x"]), stance)
    q, v = np.zeros(9), np.zeros(9)
    minimal_of_state(landing.settings, landing.state, q, v)
    q += landing.time_step * v  # where the forces act, see `sim.law.start`
    before, after = np.zeros((2, 3, 2)), np.zeros((2, 3, 2))
    sole_points(landing.settings, q, before)
    q[:2], q[2:] = move.point(q[:2]), q[2:] + move.turn
    v[:2], v[2:] = move.time * move.direction(v[:2]), v[2:] / move.time
    sole_points(settings, q, after)
    memory["anchor"] = after + move.length * move.direction(memory["anchor"] - before)
    memory["swing_from"][:2] = move.point(memory["swing_from"][:2])
    memory["swing_from"][2] += move.turn
    memory["heel_x"], memory["hip_x"] = move.along(memory["heel_x"]), move.along(memory["hip_x"])
    for name in ("landed_time", "hip_time"):
        memory[name] = (memory[name] - landing.time) * move.time
    for name in ("reach_adjust", "rail_stretch", "helper_stretch"):
        memory[name] *= move.length
    memory["speed_adjust"] *= move.time
    memory["filtered"] *= move.force
    memory["steps"] = MADE
    q -= dt * v
    begin_again(settings, tables, plants, memories, move.slope, q, v, state)
