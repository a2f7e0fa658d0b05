"""Passive walkers with published answers, on the same engine as the full walker: they need no controller.

Each function gives a walker with `step(state)`, from just after one heel-strike to just after the next, and
`find_cycle(guess=None, steps=1)`, a gait that repeats. A fall has no next heel-strike and is a `RampwalkError` that
says why. Collisions are plastic, feet do not slip, straight legs that scuff as they pass are let through.
"""

from sim.passive.cycle import Cycle, Landing
from sim.passive.walkers import compass_walker, kneed_walker, simplest_walker
from sim.passive.wheel import rimless_wheel

__all__ = ["Cycle", "Landing", "compass_walker", "kneed_walker", "rimless_wheel", "simplest_walker"]
