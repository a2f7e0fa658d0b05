"""What the person wants at a moment: a plan in time, cubic between its knots."""

from __future__ import annotations

from typing import Any, NamedTuple

from sim.law.compiled import law
from sim.law.geometry import smooth_step


class Wanted(NamedTuple):
    """Wanted hip and x of the mass centre [m, m/s] in the world, trunk lean [rad, rad/s], and how they are reached."""

    hip_x: float
    hip_y: float
    hip_vx: float
    hip_vy: float
    lean: float
    lean_rate: float
    sound_share: float
    height_hold: float
    knee_press: float
    centre: float
    centre_rate: float


@law
def between(a: float, b: float, rate_a: float, rate_b: float, span: float, u: float) -> tuple[float, float]:
    """Cubic from a to b over `span` seconds with given end rates, at the share u of it; and its rate."""
    v = 1.0 - u
    value = (1.0 + 2.0 * u) * v * v * a + u * v * v * span * rate_a
    value += u * u * (3.0 - 2.0 * u) * b - u * u * v * span * rate_b
    rate = 6.0 * u * v * (b - a) / span + v * (1.0 - 3.0 * u) * rate_a + u * (3.0 * u - 2.0) * rate_b
    return value, rate


@law
def plan_at(t: float, pace: float, plan: Any) -> Wanted:
    """The plan at a time, which goes on at a pace; before its first and after its last knot it stands still."""
    k = 0
    while k < plan.knots - 2 and t > plan.time[k + 1]:
        k += 1
    span = plan.time[k + 1] - plan.time[k]
    u = min(max((t - plan.time[k]) / span, 0.0), 1.0)
    moving = pace if plan.time[k] < t < plan.time[k + 1] else 0.0
    x, vx = between(plan.hip[k, 0], plan.hip[k + 1, 0], plan.hip_rate[k, 0], plan.hip_rate[k + 1, 0], span, u)
    y, vy = between(plan.hip[k, 1], plan.hip[k + 1, 1], plan.hip_rate[k, 1], plan.hip_rate[k + 1, 1], span, u)
    lean, lean_rate = between(plan.lean[k], plan.lean[k + 1], 0.0, 0.0, span, u)
    centre, centre_rate = between(plan.centre[k], plan.centre[k + 1], 0.0, 0.0, span, u)
    z = smooth_step(u)
    return Wanted(
        x,
        y,
        moving * vx,
        moving * vy,
        lean,
        moving * lean_rate,
        plan.sound_share[k] + z * (plan.sound_share[k + 1] - plan.sound_share[k]),
        plan.height_hold[k] + z * (plan.height_hold[k + 1] - plan.height_hold[k]),
        plan.knee_press[k] + z * (plan.knee_press[k + 1] - plan.knee_press[k]),
        centre,
        moving * centre_rate,
    )
