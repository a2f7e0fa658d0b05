"""Rimless wheel: spokes without a rim, point feet or rolling arcs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.drivers.engine import Engine, Pivot
from sim.errors import RampwalkError, check_range, shown
from sim.passive.cycle import Walker, numbers
from sim.passive.march import Array, Bodies, Stretch, march, strike
from sim.passive.walkers import check_gravity, check_lengths, check_masses, downhill

POINT_INERTIA = 1e-7  # of mass x length squared: an engine body cannot be a point (ours)


@dataclass(frozen=True, eq=False, kw_only=True)
class RimlessWheel(Walker):
    """State: angle of the stance spoke from the vertical [rad], forward rate [rad/s], both positive forward.

    Attributes
    ----------
    half_angle : float
        Half the angle between spokes [rad].
    length, mass, inertia, gravity, arc : float
        [m], [kg], about the hub [kg m2], [m/s2], radius of the feet [m].
    slope : float
        Downhill positive [rad].
    """

    half_angle: float
    length: float
    mass: float
    inertia: float
    gravity: float
    slope: float
    arc: float

    def checked(self, state: Any) -> Array:
        """Angle and rate, or the rate alone; a step starts with the angle that two spokes on the ground have."""
        start = self.slope - self.half_angle
        row = numbers("state", state, 2) if np.size(state) == 2 else np.array([start, *numbers("state", state, 1)])
        if abs(row[0] - start) > 1e-6 or row[1] <= 0.0:
            raise RampwalkError(
                f"a step of this wheel starts at {start:.6g} rad with a positive rate, not at {shown(state)}.",
                "state",
                state,
            )
        return row

    def coordinates(self, state: Array) -> Array:
        """Square of the rate, in g / length: a step changes it by a linear rule."""
        return np.array([state[1] ** 2 * self.length / self.gravity])

    def state_at(self, coordinates: Array) -> Array:
        """State with both spokes on the ground."""
        rate = math.sqrt(max(coordinates[0], 0.0) * self.gravity / self.length)
        return np.array([self.slope - self.half_angle, rate])

    def grid(self) -> list[list[Array]]:
        """Rates from slow to fast."""
        return [[np.array([0.02 * 4.0**k]) for k in range(9)]]

    def no_gait(self) -> str:
        """Sentence for a wheel that comes to rest."""
        return "the wheel comes to rest: a spoke costs more than the slope gives; take a steeper slope or more spokes."

    def run(self, state: Array, count: int) -> Array:
        """Roll over one spoke, then the next one lands and the old one lets go."""
        motion = self.stretch(state[1])
        end = march(motion, count)
        landed = Bodies(motion.bodies.mass, motion.bodies.inertia, self.placed(end.angles[0], end.rates[0]))
        step = 2.0 * (self.length - self.arc) * math.sin(self.half_angle)
        down = self.contact(self.half_angle, turned=2.0 * self.half_angle)
        place = (-self.arc * end.angles[0] + step, 0.0)
        rates, lost = strike(landed, [Pivot(-1, 0, place, down)])
        if rates[0] > 1e-6 * end.rates[0]:
            raise RampwalkError("the wheel stops dead: its next spoke lands too far ahead; take more spokes.")
        forward = [self.slope - self.half_angle, -rates[0]]
        return np.array([*forward, end.duration, step + 2.0 * self.arc * self.half_angle, lost])

    def stretch(self, rate: float) -> Stretch:
        """Motion about one spoke. In the slope's frame its angle, counter-clockwise, falls from +half to -half."""
        start = self.half_angle

        def fall(angle: float) -> str:
            if angle <= start:
                return ""
            return "the wheel is too slow to pass over its spoke and rolls back; start faster or take a steeper slope."

        def roll(engine: Engine, dt: float) -> None:
            angle = engine.angles()[0] + dt * engine.rates()[0]  # where the engine will be when the pivot acts
            engine.move_pivot(0, (-self.arc * angle, 0.0), self.contact(angle))

        unit = math.sqrt(self.length / self.gravity)
        return Stretch(
            Bodies(np.array([self.mass]), np.array([self.inertia]), self.placed(start, -rate)),
            [Pivot(-1, 0, (-self.arc * start, 0.0), self.contact(start))],
            (self.gravity * math.sin(self.slope), -self.gravity * math.cos(self.slope)),
            (1.0, start),
            (0.0, 1.0),
            fall,
            min(0.02 * unit, 0.1 * self.half_angle / rate),
            30.0 * unit,
            roll if self.arc > 0.0 else None,
        )

    def placed(self, angle: float, rate: float) -> Array:
        """Hub on a spoke whose foot rolls on the ground, shape (1, 6)."""
        straight = self.length - self.arc
        x, y = -self.arc * angle - straight * math.sin(angle), self.arc + straight * math.cos(angle)
        return np.array([[x, y, angle, -rate * y, -rate * straight * math.sin(angle), rate]])

    def contact(self, angle: float, turned: float = 0.0) -> tuple[float, float]:
        """Lowest point of a foot whose spoke is at `angle`, in the body frame of a spoke `turned` from it."""
        straight = self.length - self.arc
        x, y = -self.arc * math.sin(angle), -straight - self.arc * math.cos(angle)
        c, s = math.cos(turned), math.sin(turned)
        return x * c - y * s, x * s + y * c


def rimless_wheel(
    spokes: int,
    leg_length: float,
    mass: float,
    inertia: float,
    slope_deg: float,
    gravity: float = 9.81,
    arc_radius: float = 0.0,
) -> RimlessWheel:
    """Wheel of spokes without a rim that rolls down a slope from spoke to spoke.

    Parameters
    ----------
    spokes : int
        3 or more.
    leg_length : float
        Hub to the bottom of a foot [m].
    mass : float
        With its centre at the hub [kg].
    inertia : float
        About the hub [kg m2]; 0 is a point mass.
    slope_deg : float
        Negative downhill [degrees].
    gravity : float
        [m/s2]
    arc_radius : float
        Radius of the feet, arcs centred on the spokes, less than the leg length [m]; 0 is a point foot.

    Returns
    -------
    RimlessWheel
        Its state: angle of the stance spoke from the vertical and its rate, both positive forward; just after a strike
        the angle is slope - half the angle between spokes. `step` also takes the rate alone.

    Notes
    -----
    A round foot is held at its lowest point by a pivot that is moved before every time step; so it rolls without slip.
    The ground can pull: a wheel so fast that it would fly off is not told from one that rolls.

    References
    ----------
    McGeer T 1990 Int J Robot Res 9:62-82; Coleman MJ, Chatterjee A, Ruina A 1997 Dyn Stab Syst 12:139-160 (from memory)
    """
    check_range("spokes", spokes, 3, 1000, "", "fewer than 3 cannot roll")
    if int(spokes) != spokes:
        raise RampwalkError(f"spokes = {shown(spokes)} is not a whole number; give 3 or more.", "spokes", spokes)
    check_lengths(leg_length=leg_length)
    check_masses(mass=mass)
    check_range("inertia", inertia, 0.0, 1e9, "kg m2", "0 is a point mass")
    check_range("arc_radius", arc_radius, 0.0, 0.99 * leg_length, "m", "a foot as round as the wheel never strikes")
    return RimlessWheel(
        half_angle=math.pi / spokes,
        length=float(leg_length),
        mass=float(mass),
        inertia=max(float(inertia), POINT_INERTIA * mass * leg_length**2),
        gravity=check_gravity(gravity),
        slope=downhill(slope_deg),
        arc=float(arc_radius),
    )
