"""Thousands of walks at once on a CUDA card: the same law and the same equations as `minimal`, one walk a thread."""

from __future__ import annotations

from typing import Any

import numba
from numba import cuda

from sim.drivers.minimal import WORK, walk_one
from sim.law.records import MEMORY

WORK_TYPE, MEMORY_TYPE = numba.from_dtype(WORK), numba.from_dtype(MEMORY)


@cuda.jit(device=True)
def clear(memory: Any) -> None:
    """Local arrays come with whatever was there: set what a walk reads before it writes."""
    m = memory[0]
    m.speed_adjust, m.lean_adjust, m.yielded, m.little_yield, m.loaded, m.scuffing = 0.0, 0.0, 0.0, 0.0, 0, 0
    m.rail_stretch[0], m.rail_stretch[1], m.helper_stretch = 0.0, 0.0, 0.0
    for leg in range(2):
        m.reach_adjust[leg], m.filtered[leg, 0], m.filtered[leg, 1] = 0.0, 0.0, 0.0
        for k in range(3):
            m.touching[leg, k] = 0


@cuda.jit
def walk_all(
    n: int, dt: float, settings: Any, plants: Any, tables: Any, steps: Any, status: Any, lasted: Any
) -> None:
    """As `minimal.walk_each`; `steps` must come zeroed."""
    i = cuda.grid(1)
    if i >= status.shape[0]:
        return
    count = settings.shape[0]
    work, memory = cuda.local.array(1, WORK_TYPE), cuda.local.array(1, MEMORY_TYPE)
    j = i % count
    clear(memory)
    end, walked = walk_one(n, dt, settings[j], tables[i // count], plants[j], memory[0], steps[i], work[0])
    status[i], lasted[i] = end, walked
