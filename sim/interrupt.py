"""Ctrl-C (and a request to end, SIGTERM) as a wish to stop, not as an exception in the middle of something."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


class Stop:
    """Whether someone asked to stop.

    Attributes
    ----------
    asked : bool
    wake : callable
        Called when it is asked, to wake whoever waits; must be safe at any moment, as `SimpleQueue.put` is.
    """

    def __init__(self) -> None:
        self.asked = False
        self.wake: Callable[[], object] = lambda: None

    def ask(self) -> None:
        """Ask to stop."""
        self.asked = True
        self.wake()


@contextmanager
def stop_on_interrupt(told: Callable[[], object] = lambda: None) -> Iterator[Stop]:
    """Catch the first interrupt while the block runs; the second one raises KeyboardInterrupt as usual.

    Parameters
    ----------
    told : callable
        Called at the first one, for example to print that it was heard.
    """
    stop = Stop()
    if threading.current_thread() is not threading.main_thread():  # only there can signals be caught
        yield stop
        return

    def hear(number: int, frame: FrameType | None) -> None:
        del number, frame
        if stop.asked:
            raise KeyboardInterrupt
        stop.ask()
        told()

    kept = {number: signal.signal(number, hear) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield stop
    finally:
        for number, handler in kept.items():
            signal.signal(number, handler)
