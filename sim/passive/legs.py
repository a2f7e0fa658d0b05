"""Walkers of two straight or kneed legs joined at a point hip: bodies, stretches and strikes, in the slope's frame.

x runs down the slope, y along its normal; angles are counter-clockwise from the normal, of the line from foot to hip.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sim.drivers.engine import Pivot
from sim.passive.march import Array, Bodies, End, Stretch, march, strike


class Rod(NamedTuple):
    """Rigid straight part: mass [kg], mass centre below its upper joint [m], inertia about it [kg m2], length [m]."""

    mass: float
    centre: float
    inertia: float
    length: float


class Legs(NamedTuple):
    """Two equal legs; the hip's mass is shared between the bodies that meet there, which changes no motion.

    Attributes
    ----------
    straight : Rod
        Whole leg with half the hip's mass.
    thigh, shank : Rod
        The same leg in two parts.
    gravity : float
        [m/s2]
    slope : float
        Downhill positive [rad].
    """

    straight: Rod
    thigh: Rod
    shank: Rod
    gravity: float
    slope: float

    @property
    def time_unit(self) -> float:
        """sqrt(length / g) [s]."""
        return math.sqrt(self.straight.length / self.gravity)


def rod(points: list[tuple[float, float]], length: float) -> Rod:
    """Rod made of point masses: (mass [kg], distance below the upper joint [m])."""
    mass = sum(m for m, _ in points)
    centre = sum(m * d for m, d in points) / mass
    inertia = sum(m * (d - centre) ** 2 for m, d in points)
    return Rod(mass, centre, inertia, length)


def moved(part: Rod, mass: float, place: float) -> Rod:
    """Rod with a point mass [kg], which may be negative, added `place` [m] below its upper joint."""
    total = part.mass + mass
    centre = (part.mass * part.centre + mass * place) / total
    inertia = part.inertia + part.mass * (part.centre - centre) ** 2 + mass * (place - centre) ** 2
    return Rod(total, centre, inertia, part.length)


def shared_at_knee(thigh: Rod, shank: Rod) -> tuple[Rod, Rod]:
    """Same leg, with part of the thigh counted as a mass at the knee and given to the shank.

    Mass at a joint may belong to either body. A shank that is one point of mass has no inertia, which the engine does
    not allow; with this share it has. Half of what would use up the thigh's inertia is moved.
    """
    below = thigh.length - thigh.centre
    share = 0.5 * thigh.mass * thigh.inertia / (thigh.inertia + thigh.mass * below**2)
    return moved(thigh, -share, thigh.length), moved(shank, share, 0.0)


def direction(angle: float) -> Array:
    """Unit vector from foot to hip."""
    return np.array([-math.sin(angle), math.cos(angle)])


def placed(rods: list[Rod], angles: Array, rates: Array) -> Bodies:
    """Stance leg with its foot at the origin, and the parts that hang from the hip, each from the end of the last."""
    rows = []
    joint = joint_velocity = np.zeros(2)
    for k, (part, angle, rate) in enumerate(zip(rods, angles, rates, strict=True)):
        up = direction(angle)
        turning = rate * np.array([-up[1], up[0]])  # velocity of the upper end per length, from the lower end
        if k == 0:
            joint, joint_velocity = part.length * up, part.length * turning
        rows.append([*(joint - part.centre * up), angle, *(joint_velocity - part.centre * turning), rate])
        if k > 0:
            joint, joint_velocity = joint - part.length * up, joint_velocity - part.length * turning
    return Bodies(np.array([p.mass for p in rods]), np.array([p.inertia for p in rods]), np.array(rows))


def foot_pivot(body: int, part: Rod, place: tuple[float, float]) -> Pivot:
    """The lower end of a body held at a place on the ground."""
    return Pivot(-1, body, place, (0.0, part.centre - part.length))


def joints(rods: list[Rod]) -> list[Pivot]:
    """Hip, and knee if there is one."""
    out = [Pivot(0, 1, (0.0, rods[0].centre), (0.0, rods[1].centre))]
    if len(rods) > 2:
        out.append(Pivot(1, 2, (0.0, rods[1].centre - rods[1].length), (0.0, rods[2].centre)))
    return out


def stretch(
    legs: Legs, rods: list[Rod], angles: Array, rates: Array, event: tuple[float, ...], counts: tuple[float, ...]
) -> Stretch:
    """Motion about the stance foot until `event`."""
    tilt = legs.slope

    def fall(angle: float) -> str:
        if abs(angle - tilt) < 0.5 * math.pi:
            return ""
        way = "forward" if angle < tilt else "backward"
        return f"the walker falls {way} before its swinging leg lands; start nearer to a gait, or change the slope."

    return Stretch(
        placed(rods, angles, rates),
        [foot_pivot(0, rods[0], (0.0, 0.0)), *joints(rods)],
        (legs.gravity * math.sin(tilt), -legs.gravity * math.cos(tilt)),
        event,
        counts,
        fall,
        0.03 * legs.time_unit,
        12.0 * legs.time_unit,
    )


def straight_swing(legs: Legs, angles: Array, rates: Array, count: int) -> End:
    """Both legs straight, until the swinging foot comes down to the ground ahead of the standing one.

    The foot's height is proportional to the product of sin of half the sum and half the difference of the angles; while
    the swinging leg is ahead the sum falls through zero. Scuffing as the legs pass is ignored.
    """
    rods = [legs.straight, legs.straight]
    return march(stretch(legs, rods, angles, rates, (1.0, 1.0, 0.0), (-1.0, 1.0, 0.0)), count)


def heel_strike(legs: Legs, angles: Array, rates: Array) -> tuple[Array, float, float]:
    """The swinging foot sticks, the standing one lets go, knees locked.

    Returns
    -------
    rates : ndarray, shape (2,)
        New stance leg, new swinging leg [rad/s].
    step_length : float
        Foot to foot [m].
    energy_lost : float
        [J]
    """
    rods = [legs.straight, legs.straight]
    length = legs.straight.length * (math.sin(angles[1]) - math.sin(angles[0]))
    landed = foot_pivot(1, legs.straight, (length, 0.0))
    after, lost = strike(placed(rods, angles, rates), [landed, *joints(rods)])
    return after[::-1], length, lost


def bent_swing(legs: Legs, angles: Array, rates: Array, count: int) -> tuple[Array, Array, float, float]:
    """Knee of the swinging leg free until it straightens, then locked by a plastic collision.

    Parameters
    ----------
    angles, rates : ndarray, shape (3,)
        Stance leg, thigh, shank.
    count : int
        Time steps.

    Returns
    -------
    angles, rates : ndarray, shape (2,)
        Stance leg and straight swinging leg, just after.
    duration, energy_lost : float
        [s], [J]
    """
    rods = [legs.straight, legs.thigh, legs.shank]
    motion = stretch(legs, rods, angles, rates, (0.0, 1.0, -1.0, 0.0), (0.0, 0.0, 0.0, 1.0))
    if stays_straight(motion, legs.time_unit):
        return angles[:2], rates[:2], 0.0, 0.0
    end = march(motion, count)
    # a second pivot between thigh and shank, a shank's length below the knee, locks it
    lock = Pivot(1, 2, (0.0, legs.thigh.centre - legs.straight.length), (0.0, legs.shank.centre - legs.shank.length))
    bodies = placed(rods, end.angles, end.rates)
    after, lost = strike(bodies, [*motion.pivots, lock])
    return end.angles[:2], after[:2], end.duration, lost


def stays_straight(motion: Stretch, time_unit: float) -> bool:
    """True if a straight knee is pressed against its stop from the first moment."""
    engine = motion.engine()
    _, thigh, shank = engine.angles()
    engine.step(1e-6 * time_unit)
    _, thigh_rate, shank_rate = engine.rates()
    return thigh - shank < 1e-12 and thigh_rate <= shank_rate
