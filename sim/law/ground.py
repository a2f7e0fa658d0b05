"""The ground: height and slope at any x, from knots between which the slope changes evenly."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law


@law
def height_and_slope(ground: Any, x: float) -> tuple[float, float]:
    """Height [m] and slope (tan of the angle) at x; beyond the outer knots the ground goes on straight."""
    last = ground.knots - 1
    if x >= ground.x[last]:
        return ground.height[last] + ground.slope[last] * (x - ground.x[last]), ground.slope[last]
    if x <= ground.x[0]:
        return ground.height[0] + ground.slope[0] * (x - ground.x[0]), ground.slope[0]
    k = last - 1
    while ground.x[k] > x:
        k -= 1
    d = x - ground.x[k]
    bend = (ground.slope[k + 1] - ground.slope[k]) / (ground.x[k + 1] - ground.x[k])
    return ground.height[k] + d * (ground.slope[k] + 0.5 * bend * d), ground.slope[k] + bend * d


@law
def direction(slope: float) -> tuple[float, float]:
    """Unit tangent (forward along the ground)."""
    c = 1.0 / math.sqrt(1.0 + slope * slope)
    return c, slope * c
