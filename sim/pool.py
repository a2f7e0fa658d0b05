"""Worker processes for sweeps: started fresh, one numeric thread each, warm before the first walk."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process

from sim.errors import RampwalkError, shown

_LIBRARIES = ("OMP", "OPENBLAS", "MKL", "NUMBA")
ONE_THREAD = {f"{library}_NUM_THREADS": "1" for library in _LIBRARIES}
"""Environment that keeps numeric libraries to one thread per process."""

WORKERS_VARIABLE, MOST_WORKERS = "RAMPWALK_WORKERS", 1000


def usable_cpus() -> int:
    """Processors that this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def start_worker() -> None:
    """Initializer of a worker: an interrupt is left to the parent; one short walk loads and compiles everything."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    warm_up()


def _end_with_parent() -> None:
    """End this process when its parent is gone, also where that was killed and could not say so."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def workers_in_environment() -> int | None:
    """Workers asked for by `RAMPWALK_WORKERS`; None if it is not set. Raises RampwalkError."""
    given = os.environ.get(WORKERS_VARIABLE, "").strip()
    return checked_workers(WORKERS_VARIABLE, given) if given else None


def checked_workers(name: str, given: str) -> int:
    """Number of workers of a text. Raises RampwalkError."""
    if not (given.isascii() and given.isdecimal() and len(given) <= 4 and 1 <= int(given) <= MOST_WORKERS):
        message = f"{name} = {shown(given)} is not a whole number of 1 to {MOST_WORKERS}; give one."
        raise RampwalkError(message, name, given)
    return int(given)


def warm_up() -> None:
    """Load everything that a walk needs and compile (or read from disk) the compiled loop."""
    from sim.activities.walk import walk
    from sim.scenario import Scenario

    walk(Scenario(strides=1))


@contextmanager
def worker_pool(workers: int | None = None) -> Iterator[ProcessPoolExecutor]:
    """Pool for `sim.sweep.sweep(executor=...)`.

    Parameters
    ----------
    workers : int, optional
        Processes; None: `RAMPWALK_WORKERS`, or as many as processors. They are spawned, not forked, so a script that
        uses this needs `if __name__ == "__main__":`.
    """
    size = workers or workers_in_environment() or usable_cpus()
    kept = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(ONE_THREAD)  # workers start with the first walk, inherit it, and only then load numpy
    try:
        with ProcessPoolExecutor(size, get_context("spawn"), start_worker) as pool:
            yield pool
    finally:
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
