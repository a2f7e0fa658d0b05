"""Many walks at once: on a CUDA card where there is one, else on the processor. One source of the law for both."""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np

from sim.law.records import MEMORY, STEP

MOST_STEPS = 26
COLUMNS = STEP.itemsize // 8


class Walks(Protocol):
    """Runs every scenario with every gain table."""

    xp: Any  # numpy or cupy: whose arrays come out

    def run(self, tables: np.ndarray[Any, Any], seconds: float, dt: float) -> tuple[Any, Any, Any]:
        """Steps (walks, MOST_STEPS, COLUMNS), status and time walked (walks,); walk i: table i // m, scenario i % m."""
        ...


class ProcessorWalks:
    """On the processor, serial; several processes may each hold one."""

    def __init__(self, settings: np.ndarray[Any, Any], plants: np.ndarray[Any, Any]) -> None:
        self.xp = np
        self.settings, self.plants = settings, plants

    def run(self, tables: np.ndarray[Any, Any], seconds: float, dt: float) -> tuple[Any, Any, Any]:
        from sim.drivers.minimal import walk_each

        count = len(tables) * len(self.settings)
        memories, steps = np.zeros(count, MEMORY), np.zeros((count, MOST_STEPS), STEP)
        status, lasted = np.zeros(count, np.int64), np.zeros(count, np.int64)
        walk_each(round(seconds / dt), dt, self.settings, self.plants, tables, steps, memories, status, lasted)
        return steps.view(np.float64).reshape(count, MOST_STEPS, COLUMNS), status, lasted * dt


class CardWalks:
    """On a CUDA card, all at once."""

    def __init__(self, settings: np.ndarray[Any, Any], plants: np.ndarray[Any, Any]) -> None:
        import cupy
        from numba import cuda

        from sim.drivers.card import walk_all

        self.xp, self.cuda, self.kernel = cupy, cuda, walk_all
        self.count = len(settings)
        self.settings, self.plants = cuda.to_device(settings), cuda.to_device(plants)

    def run(self, tables: np.ndarray[Any, Any], seconds: float, dt: float) -> tuple[Any, Any, Any]:
        cuda, count = self.cuda, len(tables) * self.count
        steps = cuda.device_array((count, MOST_STEPS), STEP)
        size = count * MOST_STEPS * COLUMNS * 8
        memory = self.xp.cuda.UnownedMemory(steps.device_ctypes_pointer.value, size, steps)
        flat = self.xp.ndarray(
            (count, MOST_STEPS, COLUMNS), self.xp.float64, self.xp.cuda.MemoryPointer(memory, 0)
        )
        flat[:] = 0.0
        status, lasted = self.xp.zeros(count, self.xp.int64), self.xp.zeros(count, self.xp.int64)
        threads = 32
        self.kernel[(count + threads - 1) // threads, threads](
            round(seconds / dt), dt, self.settings, self.plants, cuda.to_device(tables), steps,
            cuda.as_cuda_array(status), cuda.as_cuda_array(lasted),
        )
        cuda.synchronize()
        return flat, status, lasted * dt


def best_walks(settings: np.ndarray[Any, Any], plants: np.ndarray[Any, Any]) -> Walks:
    """On a card if there is one."""
    try:
        from numba import cuda

        if cuda.is_available():
            return CardWalks(settings, plants)
    except ImportError:
        pass
    return ProcessorWalks(settings, plants)
