"""Compass walker, kneed walker and the simplest walker: parameters and states of the papers around `legs`.

Papers' angles: line from foot to hip, from the vertical (simplest walker: from the slope's normal), positive when the
hip is behind the foot. So the stance leg starts with a positive angle and a negative rate.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.errors import RampwalkError, check_range
from sim.passive.cycle import Walker, numbers
from sim.passive.legs import Legs, bent_swing, heel_strike, rod, shared_at_knee, straight_swing
from sim.passive.march import Array

FOOT_MASS = 1e-6  # of the simplest walker in hip masses: results change in proportion, by about as much (measured)
LIGHTEST_HIP = 0.01  # of the leg's or thigh's mass; at this ratio results are within 2e-7 of other equations (measured)
# Where a search for gaits starts: half the angle between the legs in (slope)^(1/3), and the rates of stance and swing
# leg in that angle per time unit (ours; they find the gaits of masses and lengths between 1 : 10 and 10 : 1)
HALF_ANGLES = (0.5, 0.7, 0.95)
STANCE_RATES = (-0.9, -1.0, -1.1, -1.2, -1.3, -1.45, -1.6, -1.85, -2.1, -2.5, -3.0, -4.0)
SWING_RATES = (-3.5, -2.0, -1.3, -0.8, -0.4, 0.0, 0.4)
SIMPLEST_RATES = (-1.05, -1.02, -0.99, -0.96, -0.93)


@dataclass(frozen=True, eq=False, kw_only=True)
class LegWalker(Walker):
    """Two legs and a hip.

    Attributes
    ----------
    legs : Legs
    """

    legs: Legs

    def from_rates(self, angle: float, rates: Array) -> Array:
        """Coordinates: half the angle between the legs, rates of both legs in that angle per time unit."""
        return np.array([angle, *(rates * self.legs.time_unit / angle)])

    def grid(self) -> list[list[Array]]:
        """Angles and swing rates, grouped by stance rate, which tells one gait from another."""
        size = self.downhill() ** (1.0 / 3.0)
        group = list(itertools.product(HALF_ANGLES, SWING_RATES))
        return [[np.array([size * angle, stance, swing]) for angle, swing in group] for stance in STANCE_RATES]

    def downhill(self) -> float:
        """Slope, if it can drive a gait [rad]."""
        if self.legs.slope <= 0.0:
            raise RampwalkError(f"a slope of {self.legs.slope:.4g} rad drives no passive gait; go downhill.")
        return self.legs.slope

    def started(self, state: Array, stance: float, rate: float) -> Array:
        """State, if its stance leg (angle from the slope's normal) leans back and turns forward."""
        if not 0.0 < stance < 0.5 * math.pi or rate >= 0.0:
            raise RampwalkError(
                f"a step starts with the hip behind the standing foot and moving forward: stance angle {stance:.4g} "
                f"rad from the slope's normal must be between 0 and pi/2, and rate {rate:.4g} rad/s negative.",
                "state",
                state,
            )
        return state


class CompassWalker(LegWalker):
    """State: stance and swing leg angle from the vertical [rad], then their rates [rad/s]."""

    def checked(self, state: Any) -> Array:
        """Four numbers that can start a step."""
        row = numbers("state", state, 4)
        return self.started(row, row[0] + self.legs.slope, row[2])

    def coordinates(self, state: Array) -> Array:
        """Half the angle between the legs and two rates."""
        return self.from_rates(0.5 * (state[0] - state[1]), state[2:])

    def state_at(self, coordinates: Array) -> Array:
        """Both feet on the ground."""
        angle, slope = coordinates[0], self.legs.slope
        return np.array([angle - slope, -angle - slope, *(coordinates[1:] * angle / self.legs.time_unit)])

    def run(self, state: Array, count: int) -> Array:
        """Swing, then heel-strike."""
        end = straight_swing(self.legs, state[:2] + self.legs.slope, state[2:], count)
        rates, length, lost = heel_strike(self.legs, end.angles, end.rates)
        return np.array([*(end.angles[::-1] - self.legs.slope), *rates, end.duration, length, lost])


class KneedWalker(LegWalker):
    """State: angles of stance leg, swing thigh and swing shank from the vertical [rad], then their rates [rad/s]."""

    def checked(self, state: Any) -> Array:
        """Six numbers that can start a step."""
        row = numbers("state", state, 6)
        if row[2] > row[1] + 1e-12:
            raise RampwalkError("the swinging knee starts bent the wrong way; give a shank angle up to the thigh's.")
        return self.started(row, row[0] + self.legs.slope, row[3])

    def coordinates(self, state: Array) -> Array:
        """As the compass walker: a swing starts with a straight leg."""
        return self.from_rates(0.5 * (state[0] - state[1]), state[3:5])

    def state_at(self, coordinates: Array) -> Array:
        """Both feet on the ground, both knees straight."""
        angle, slope = coordinates[0], self.legs.slope
        stance, swing = coordinates[1:] * angle / self.legs.time_unit
        return np.array([angle - slope, -angle - slope, -angle - slope, stance, swing, swing])

    def run(self, state: Array, count: int) -> Array:
        """Swing with a free knee, knee-strike, swing with a locked knee, heel-strike."""
        slope = self.legs.slope
        angles, rates, first, lost = bent_swing(self.legs, state[:3] + slope, state[3:], count)
        end = straight_swing(self.legs, angles, rates, count)
        rates, length, more = heel_strike(self.legs, end.angles, end.rates)
        swing, stance = end.angles - slope
        row = [stance, swing, swing, rates[0], rates[1], rates[1], first + end.duration, length, lost + more]
        return np.array(row)


class SimplestWalker(LegWalker):
    """State: stance angle from the slope's normal, and its rate; the swing leg follows from them at a heel-strike."""

    def checked(self, state: Any) -> Array:
        """Two numbers that can start a step."""
        row = numbers("state", state, 2)
        return self.started(row, row[0], row[1])

    def coordinates(self, state: Array) -> Array:
        """Angle, and rate in that angle per time unit."""
        return self.from_rates(state[0], state[1:])

    def state_at(self, coordinates: Array) -> Array:
        """State from the angle and the rate's ratio to it."""
        return np.array([coordinates[0], coordinates[1] * coordinates[0]])

    def grid(self) -> list[list[Array]]:
        """As for the other walkers; at any small slope both leading coefficients are near 1."""
        size = self.downhill() ** (1.0 / 3.0)
        return [[np.array([size * angle, stance]) for angle in (0.85, 0.95, 1.05)] for stance in SIMPLEST_RATES]

    def run(self, state: Array, count: int) -> Array:
        """Swing, then heel-strike; the light foot left the ground along its own leg."""
        angle, rate = state
        swing_rate = rate * math.cos(2.0 * angle)
        end = straight_swing(self.legs, np.array([angle, -angle]), np.array([rate, swing_rate]), count)
        rates, length, lost = heel_strike(self.legs, end.angles, end.rates)
        return np.array([end.angles[1], rates[0], end.duration, length, lost])


def simplest_walker(slope_rad: float) -> SimplestWalker:
    """Point hip on two massless legs with feet of vanishing mass; units of leg length, hip mass and sqrt(length / g).

    Parameters
    ----------
    slope_rad : float
        Downhill positive [rad].

    Returns
    -------
    SimplestWalker
        Its state: stance angle theta from the slope's normal and its rate. The angle between the legs is then 2 theta
        and its rate (1 - cos 2 theta) times that of theta, as after every heel-strike.

    Notes
    -----
    The feet weigh 1e-6 hip masses each.

    References
    ----------
    Garcia M, Chatterjee A, Ruina A, Coleman M 1998 J Biomech Eng 120:281-288, doi:10.1115/1.2798313
    """
    slope = check_range("slope_rad", slope_rad, -0.5, 0.5, "rad", "downhill is positive")
    leg = rod([(0.5, 0.0), (FOOT_MASS, 1.0)], 1.0)
    # its swing leg passes far ahead and comes back, which multiplies errors: it needs shorter steps than the others
    return SimplestWalker(legs=Legs(leg, leg, leg, 1.0, slope), time_steps=200, rough=(50, 4))


def compass_walker(
    leg_mass: float, hip_mass: float, a: float, b: float, slope_deg: float, gravity: float = 9.81
) -> CompassWalker:
    """Two straight legs with a point of mass each, and a point mass at the hip.

    Parameters
    ----------
    leg_mass, hip_mass : float
        Of one leg, of the hip, which must weigh 1/100 of a leg at least [kg].
    a, b : float
        Foot to leg mass, leg mass to hip [m].
    slope_deg : float
        Negative downhill [degrees].
    gravity : float
        [m/s2]

    Returns
    -------
    CompassWalker
        Its state: stance angle, swing angle from the vertical, stance rate, swing rate.

    References
    ----------
    Goswami A, Thuilot B, Espiau B 1998 Int J Robot Res 17:1282-1301, doi:10.1177/027836499801701202
    """
    check_masses(leg_mass=leg_mass)
    check_hip(hip_mass, leg_mass)
    check_lengths(a=a, b=b)
    leg = rod([(0.5 * hip_mass, 0.0), (leg_mass, b)], a + b)
    return CompassWalker(legs=Legs(leg, leg, leg, check_gravity(gravity), downhill(slope_deg)))


def kneed_walker(
    thigh_mass: float,
    shank_mass: float,
    hip_mass: float,
    a1: float,
    b1: float,
    a2: float,
    b2: float,
    slope_rad: float,
    gravity: float = 9.81,
) -> KneedWalker:
    """Two legs with knees: the stance knee locked, the swing knee free until it straightens, then locked.

    Parameters
    ----------
    thigh_mass, shank_mass, hip_mass : float
        Points of mass, of one leg each, and of the hip, which must weigh 1/100 of a thigh at least [kg].
    a1, b1 : float
        Foot to shank mass, shank mass to knee [m].
    a2, b2 : float
        Knee to thigh mass, thigh mass to hip [m].
    slope_rad : float
        Downhill positive [rad].
    gravity : float
        [m/s2]

    Returns
    -------
    KneedWalker
        Its state: angles of stance leg, swing thigh, swing shank from the vertical, then their rates. After a
        heel-strike thigh and shank turn together: both knees are locked while the foot lands. A knee that is pressed
        straight when the swing begins stays locked.

    References
    ----------
    McGeer T 1990 Passive walking with knees, IEEE Conf. Robotics and Automation, 1640-1645 (from memory)
    """
    check_masses(thigh_mass=thigh_mass, shank_mass=shank_mass)
    check_hip(hip_mass, thigh_mass)
    check_lengths(a1=a1, b1=b1, a2=a2, b2=b2)
    slope = check_range("slope_rad", slope_rad, -0.5, 0.5, "rad", "downhill is positive")
    upper, lower = a2 + b2, a1 + b1
    half_hip = (0.5 * hip_mass, 0.0)
    straight = rod([half_hip, (thigh_mass, b2), (shank_mass, upper + b1)], upper + lower)
    thigh, shank = shared_at_knee(rod([half_hip, (thigh_mass, b2)], upper), rod([(shank_mass, b1)], lower))
    return KneedWalker(legs=Legs(straight, thigh, shank, check_gravity(gravity), slope))


def check_masses(**masses: float) -> None:
    """Masses above zero [kg]."""
    for name, mass in masses.items():
        check_range(name, mass, 1e-6, 1e6, "kg", "every part needs some mass")


def check_hip(hip_mass: float, below: float) -> None:
    """Hip not much lighter than the mass that hangs from it [kg], else the joint solver does not settle."""
    check_range("hip_mass", hip_mass, LIGHTEST_HIP * below, 1e6, "kg", "a lighter hip is not resolved; make it heavier")


def check_lengths(**lengths: float) -> None:
    """Lengths above zero [m]."""
    for name, length in lengths.items():
        check_range(name, length, 1e-3, 1e3, "m", "every part needs some length")


def check_gravity(gravity: float) -> float:
    """Gravity [m/s2]."""
    return check_range("gravity", gravity, 1e-3, 1e3, "m/s2", "without weight nothing walks")


def downhill(slope_deg: float) -> float:
    """Slope, downhill positive [rad]."""
    return -math.radians(check_range("slope_deg", slope_deg, -30.0, 30.0, "degrees", "negative is downhill"))
