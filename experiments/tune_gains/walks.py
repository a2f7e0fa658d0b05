"""Many walks at once: on a CUDA card where there is one, else on the processor. One source of the law for both."""

from __future__ import annotations

from collections.abc import Callable
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

    def start(self, tables: np.ndarray[Any, Any], seconds: float, dt: float) -> Callable[[], tuple[Any, Any, Any]]:
        """Begin as `run`, and return what waits for the result: on a card several can be under way."""
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

    def start(self, tables: np.ndarray[Any, Any], seconds: float, dt: float) -> Callable[[], tuple[Any, Any, Any]]:
        return lambda: self.run(tables, seconds, dt)


class CardWalks:
    """On a CUDA card, all at once. What comes out is overwritten by the next run with as many gain tables."""

    def __init__(self, settings: np.ndarray[Any, Any], plants: np.ndarray[Any, Any]) -> None:
        import cupy
        from numba import cuda

        from sim.drivers.card import walk_all

        self.xp, self.cuda, self.kernel = cupy, cuda, walk_all
        self.count = len(settings)
        self.settings, self.plants = cuda.to_device(settings), cuda.to_device(plants)
        # a stream of its own, so that several groups of walks are under way together
        self.stream = cupy.cuda.Stream(non_blocking=True)
        self.room: dict[int, tuple[Any, Any, Any, Any]] = {}

    def run(self, tables: np.ndarray[Any, Any], seconds: float, dt: float) -> tuple[Any, Any, Any]:
        return self.start(tables, seconds, dt)()

    def start(self, tables: np.ndarray[Any, Any], seconds: float, dt: float) -> Callable[[], tuple[Any, Any, Any]]:
        cuda, count = self.cuda, len(tables) * self.count
        if count not in self.room:
            self.room[count] = self.make_room(count)
        steps, flat, status, lasted = self.room[count]
        with self.stream:
            flat[:] = 0.0
        stream, threads = cuda.external_stream(self.stream.ptr), 32
        gains = cuda.to_device(tables, stream=stream)
        self.kernel[(count + threads - 1) // threads, threads, stream](
            round(seconds / dt), dt, self.settings, self.plants, gains, steps,
            cuda.as_cuda_array(status, sync=False), cuda.as_cuda_array(lasted, sync=False),
        )

        def wait() -> tuple[Any, Any, Any]:
            self.stream.synchronize()
            assert gains.size == len(tables)  # they had to stay on the card until now
            return flat, status, lasted * dt

        return wait

    def make_room(self, count: int) -> tuple[Any, Any, Any, Any]:
        """Memory on the card for the steps of so many walks, the same as an array of numbers, and their ends."""
        steps = self.cuda.device_array((count, MOST_STEPS), STEP)
        size = count * MOST_STEPS * COLUMNS * 8
        memory = self.xp.cuda.UnownedMemory(steps.device_ctypes_pointer.value, size, steps)
        shape, pointer = (count, MOST_STEPS, COLUMNS), self.xp.cuda.MemoryPointer(memory, 0)
        flat = self.xp.ndarray(shape, self.xp.float64, pointer)
        ends = self.xp.zeros(count, self.xp.int64), self.xp.zeros(count, self.xp.int64)
        self.xp.cuda.Device().synchronize()
        return steps, flat, *ends


def best_walks(settings: np.ndarray[Any, Any], plants: np.ndarray[Any, Any]) -> Walks:
    """On a card if there is one."""
    try:
        from numba import cuda

        if cuda.is_available():
            return CardWalks(settings, plants)
    except ImportError:
        pass
    return ProcessorWalks(settings, plants)
