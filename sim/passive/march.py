"""From one event to the next on the engine: a stretch of motion with the same pivots, ended by a foot or a knee.

No equation of motion is solved here; bodies, pivots and time steps are the engine's. An event falls on the end of a
time step: a stretch is cut into equal steps whose length is sought until it does. So the result is a smooth function
of the number of steps, its error falls in whole powers of the step, and runs with more steps cancel the first of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from sim.drivers.engine import Engine, Pivot
from sim.errors import RampwalkError

Array = np.ndarray[Any, Any]
ITERATIONS = 50  # of the joint solver in motion, where each step starts from the impulses of the one before
STRIKE_ITERATIONS = 5000  # of a collision, which starts from nothing
CLOSE = 1e-11  # an event is met when its angle is this near to zero [rad]


class Bodies(NamedTuple):
    """Mass, inertia about the mass centre, shape (n,) [kg], [kg m2]; state x, y, angle, vx, vy, rate, shape (n, 6)."""

    mass: Array
    inertia: Array
    state: Array


class End(NamedTuple):
    """Angles and rates of the bodies when a stretch ends, shape (n,) [rad], [rad/s], and how long it took [s]."""

    angles: Array
    rates: Array
    duration: float


@dataclass(frozen=True, eq=False)
class Stretch:
    """Motion from a start until an event.

    Attributes
    ----------
    bodies : Bodies
        At the start.
    pivots : list of Pivot
    gravity : tuple of float
        In the frame of the slope [m/s2].
    event : tuple of float, n + 1
        Weights of the bodies' angles and a constant; the sum falls through zero when the stretch ends [rad].
    counts : tuple of float, n + 1
        Likewise; the event counts only where this sum is positive.
    fall : callable
        Angle of the first body -> why this is a fall, or an empty text.
    look_every : float
        Step of a first, rough march [s].
    limit : float
        Longest time to wait for the event [s].
    roll : callable, optional
        (engine, time step) -> None; moves the contact of a round foot before each step.
    """

    bodies: Bodies
    pivots: list[Pivot]
    gravity: tuple[float, float]
    event: tuple[float, ...]
    counts: tuple[float, ...]
    fall: Callable[[float], str]
    look_every: float
    limit: float
    roll: Callable[[Engine, float], None] | None = None

    def engine(self) -> Engine:
        """A fresh engine at the start."""
        return Engine(*self.bodies, self.pivots, self.gravity, ITERATIONS)

    def advance(self, engine: Engine, count: int, dt: float) -> None:
        """Equal time steps."""
        if not self.roll:
            engine.steps(count, dt)
            return
        for _ in range(count):
            self.roll(engine, dt)
            engine.step(dt)


def weighed(weights: tuple[float, ...], angles: list[float]) -> float:
    """Weighted sum of angles plus the last weight [rad]."""
    return sum(weight * angle for weight, angle in zip(weights, angles, strict=False)) + weights[-1]


def march(stretch: Stretch, count: int) -> End:
    """Go to the event in `count` equal time steps.

    Raises
    ------
    RampwalkError
        If the event never comes: a fall, or no end within the limit.
    """
    duration, before = rough_duration(stretch), (0.0, 0.0)
    for _ in range(30):
        engine = stretch.engine()
        stretch.advance(engine, count, duration / count)
        missing = weighed(stretch.event, engine.angles())
        if abs(missing) < CLOSE:
            return End(np.array(engine.angles()), np.array(engine.rates()), duration)
        closing = -weighed((*stretch.event[:-1], 0.0), engine.rates())
        if before[0]:  # secant: how the end moves with the time step too
            closing = (before[1] - missing) / (duration - before[0])
        if closing <= 0.0 or abs(missing / closing) > 0.5 * duration:
            break
        before = duration, missing
        duration += missing / closing
    raise RampwalkError("the leg that should land only grazes; start the step with other angles or rates.")


def rough_duration(stretch: Stretch) -> float:
    """Time of the event to first order, from a march that looks after every step [s].

    Raises
    ------
    RampwalkError
        If the event never comes.
    """
    engine, dt = stretch.engine(), stretch.look_every
    before = weighed(stretch.event, engine.angles())
    for i in range(math.ceil(stretch.limit / dt)):
        stretch.advance(engine, 1, dt)
        angles = engine.angles()
        now = weighed(stretch.event, angles)
        if before > 0.0 >= now and weighed(stretch.counts, angles) > 0.0:
            return dt * (i + before / (before - now))
        reason = stretch.fall(angles[0])
        if reason:
            raise RampwalkError(reason)
        before = now
    raise RampwalkError(f"nothing lands within {stretch.limit:.3g} s; start the step with more speed.")


def strike(bodies: Bodies, pivots: list[Pivot]) -> tuple[Array, float]:
    """Plastic collision: these pivots, and no others, hold from now on.

    Returns
    -------
    rates : ndarray, shape (n,)
        Of the bodies, just after [rad/s].
    energy_lost : float
        [J]
    """
    engine = Engine(*bodies, pivots, (0.0, 0.0), STRIKE_ITERATIONS)
    engine.strike()
    after = engine.read()
    return after[:, 5].copy(), kinetic_energy(bodies) - kinetic_energy(bodies._replace(state=after))


def kinetic_energy(bodies: Bodies) -> float:
    """Of all bodies [J]."""
    squares = bodies.state[:, 3:] ** 2
    return float(0.5 * (bodies.mass @ (squares[:, 0] + squares[:, 1]) + bodies.inertia @ squares[:, 2]))


def extrapolated(run: Callable[[int], Array], count: int, levels: int) -> Array:
    """Result without its leading errors, from runs with 1, 2, 4 ... times `count` steps (Richardson)."""
    rows = [run(count * 2**level) for level in range(levels)]
    for order in range(1, levels):
        rows = [(2**order * fine - coarse) / (2**order - 1) for coarse, fine in pairwise(rows)]
    return rows[0]
