"""Worker processes for sweeps: started fresh, one numeric thread each, warm before the first walk."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context

_LIBRARIES = ("OMP", "OPENBLAS", "MKL", "NUMBA")
ONE_THREAD = {f"{library}_NUM_THREADS": "1" for library in _LIBRARIES}
"""Environment that keeps numeric libraries to one thread per process."""


def usable_cpus() -> int:
    """Processors that this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def start_worker() -> None:
    """Initializer of a worker: an interrupt is left to the parent; one short walk loads and compiles everything."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    warm_up()


def warm_up() -> None:
    """Load everything that a walk needs and compile (or read from disk) the compiled loop."""
    from sim.activities.walk import walk
    from sim.scenario import Scenario

    walk(Scenario(strides=1))


@contextmanager
def worker_pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """Pool for `sim.sweep.sweep(executor=...)`.

    Parameters
    ----------
    workers : int
        Processes. They are spawned, not forked, so a script that uses this needs `if __name__ == "__main__":`.
    """
    kept = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(ONE_THREAD)  # workers start with the first walk, inherit it, and only then load numpy
    try:
        with ProcessPoolExecutor(workers, get_context("spawn"), start_worker) as pool:
            yield pool
    finally:
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
