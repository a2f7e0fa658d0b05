"""How far a long job is, on standard error: tqdm's bar where tqdm is installed, else a plain line."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from importlib.util import find_spec
from typing import Any, TextIO

#: Called with how many are done and how many there are.
Progress = Callable[[int, int], None]
#: Shortest time between two plain lines [s]: on a terminal, where they overwrite each other, and in a log.
ON_TERMINAL, IN_LOG = 0.2, 10.0


@contextmanager
def progress_bar(what: str = "walks", stream: TextIO | None = None) -> Iterator[Progress]:
    """Bar with remaining time while the block runs.

    Parameters
    ----------
    what : str
        What is counted.
    stream : text file
        Default: standard error.
    """
    target = sys.stderr if stream is None else stream
    if find_spec("tqdm") is not None and target.isatty():
        with import_module("tqdm").tqdm(unit=f" {what}", file=target) as bar:
            yield _tqdm_progress(bar)
    else:
        line = PlainLine(what, target)
        yield line
        line.close()


def _tqdm_progress(bar: Any) -> Progress:
    def show(done: int, total: int) -> None:
        bar.total = total
        bar.update(done - bar.n)

    return show


class PlainLine:
    """One line that says how many are done and how long the rest will take."""

    def __init__(self, what: str, stream: TextIO, clock: Callable[[], float] = time.monotonic) -> None:
        self.what, self.stream, self.clock = what, stream, clock
        self.terminal = stream.isatty()
        self.start = self.last = clock()
        self.open = False

    def __call__(self, done: int, total: int) -> None:
        """Show it, unless that was done a moment ago."""
        now = self.clock()
        if now - self.last < (ON_TERMINAL if self.terminal else IN_LOG) and not (self.terminal and done == total):
            return
        self.last = now
        left = (now - self.start) / done * (total - done) if done else float("inf")
        text = f"{done} of {total} {self.what}, {duration_text(left)} left"
        self.stream.write(f"\r{text}\033[K" if self.terminal else f"{text}\n")
        self.stream.flush()
        self.open = self.terminal

    def close(self) -> None:
        """End the line."""
        if self.open:
            self.stream.write("\n")


def duration_text(seconds: float) -> str:
    """Duration for a person: `0:07`, `1:02:05`, `?` if unknown."""
    if seconds == float("inf"):
        return "?"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
