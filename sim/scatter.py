"""Cells to workers and rows back, for any executor; what a lost worker had is walked once more, alone."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Future
from contextlib import ExitStack
from itertools import chain, islice
from queue import SimpleQueue
from typing import Any, Protocol

from sim.cell import Numbered, OtherCodeError, RowMaker, crash_row, run_cell, run_chunk
from sim.grid import Cell
from sim.interrupt import Stop
from sim.pool import usable_cpus, worker_pool
from sim.scenario import Scenario
from sim.table import Row, code_version

#: Most walks that travel to a worker together. A walk takes 0.1 s or more, handing one over about 1 ms.
LARGEST_CHUNK = 16
#: At least this many chunks, where there are enough walks, so that no worker waits long for the last one.
LEAST_CHUNKS = 64
#: Chunks handed over and not yet done: enough for any pool, few enough to keep a large grid out of the queue.
IN_FLIGHT = 256
#: A sweep whose pools break this often is beyond repair (ours): what is left becomes crash rows.
MOST_BREAKS = 20

NumberedRows = list[tuple[int, Row]]


class Executor(Protocol):
    """What a sweep needs of an executor; `concurrent.futures` pools and clients of `dask.distributed` have it."""

    def submit(self, function: Callable[..., Any], /, *arguments: Any) -> Any:
        """Future with `result`, `cancel`, `cancelled` and `add_done_callback`."""
        ...


def rows_as_they_come(
    base: Scenario,
    cells: Sequence[Cell],
    executor: Executor | None = None,
    stop: Stop | None = None,
    make: RowMaker = run_cell,
) -> Iterator[NumberedRows]:
    """Rows with the index of their cell, some at a time, in the order in which walks end.

    Parameters
    ----------
    base : Scenario
    cells : sequence of dict
    executor : Executor, optional
        None: here, one by one. A process pool that breaks is replaced by one of `sim.pool.worker_pool`.
    stop : Stop, optional
        Once it is asked, no walk is begun; the rows of those under way still come.
    make : callable
        Makes the row of a cell; goes to the workers, so it must be a function of a module.

    Raises
    ------
    OtherCodeError
        If a worker has other code than this process, so that its rows would not belong to the others.
    """
    stop = stop or Stop()
    if executor is None:
        for index, cell in enumerate(cells):
            if stop.asked:
                return
            yield [(index, make(base, cell))]
        return
    with ExitStack() as pools:
        hands = Hands(base, make, stop, executor)
        todo: Iterator[Numbered] = chunks(cells)
        while True:
            lost = yield from hands.work(todo)
            if lost is None:
                return
            suspects, rest = lost
            for chunk in suspects:
                yield from _alone(base, chunk, make, stop)
            if stop.asked:
                return
            todo = chain(rest, todo)
            hands.breaks += 1
            if hands.breaks >= MOST_BREAKS:
                broken = BrokenExecutor(f"worker processes were lost {hands.breaks} times")
                for chunk in todo:
                    yield _lost_rows(base, chunk, broken)
                return
            hands.executor = pools.enter_context(worker_pool(_size_of(hands.executor)))


def chunks(cells: Sequence[Cell]) -> Iterator[Numbered]:
    """Cells with their index, as many together as travel to a worker."""
    size = max(1, min(LARGEST_CHUNK, len(cells) // LEAST_CHUNKS))
    numbered = iter(enumerate(cells))
    return iter(lambda: list(islice(numbered, size)), [])


class Hands:
    """An executor at work on chunks of one sweep."""

    def __init__(self, base: Scenario, make: RowMaker, stop: Stop, executor: Executor) -> None:
        self.base, self.make, self.stop, self.executor = base, make, stop, executor
        self.breaks = 0
        self.done: SimpleQueue[Any] = SimpleQueue()
        stop.wake = lambda: self.done.put(None)

    def work(self, todo: Iterator[Numbered]) -> Any:
        """Yield rows until all is done (returns None) or the pool breaks: the chunks that its workers may have had, and
        those that they had not (each a list).
        """
        waiting: dict[Any, Numbered] = {}  # in the order of their submission
        try:
            while True:
                if not self.stop.asked:
                    for chunk in islice(todo, IN_FLIGHT - len(waiting)):
                        future = self._submit(chunk)
                        waiting[future] = chunk
                        future.add_done_callback(self.done.put)
                if not waiting:
                    return None
                future = self.done.get()
                if future is None:
                    _cancel(waiting)
                    continue
                if future not in waiting:
                    continue  # cancelled
                rows = self._rows(future, waiting[future])
                if rows is None:
                    return (yield from self._sort_out(waiting))
                del waiting[future]
                yield rows
        finally:
            for future in waiting:
                future.cancel()

    def _submit(self, chunk: Numbered) -> Any:
        """Future of a chunk; already failed if the executor does not take it, as a broken pool."""
        work = (run_chunk, self.make, self.base, chunk, code_version())
        try:
            if type(self.executor).__module__.partition(".")[0] == "distributed":
                submit: Any = self.executor.submit
                return submit(*work, pure=False)  # else it computes a hash of all arguments first
            return self.executor.submit(*work)
        except RuntimeError as err:  # broken or shut down
            failed: Future[Any] = Future()
            failed.set_exception(err)
            return failed

    def _rows(self, future: Any, chunk: Numbered) -> NumberedRows | None:
        """Rows of a chunk; None if the pool that had it is broken."""
        try:
            rows: NumberedRows = future.result()
        except BrokenExecutor:
            return None
        except OtherCodeError:
            raise
        except (Exception, CancelledError) as err:  # noqa: BLE001  # what kills a worker is rows, not the sweep's end
            return _lost_rows(self.base, chunk, err)
        return rows

    def _sort_out(self, waiting: dict[Any, Numbered]) -> Any:
        """Rows that came through before the pool broke; returns the rest, those that workers may have had apart."""
        left = []
        for future in list(waiting):
            rows = self._rows(future, waiting[future])
            if rows is None:
                left.append(waiting[future])
            else:
                yield rows
            del waiting[future]
        held = 2 * _size_of(self.executor) + 1  # a chunk per worker, and as many and one more on their way to them
        return left[:held], left[held:]


def _cancel(waiting: dict[Any, Numbered]) -> None:
    """Call off what has not begun."""
    for future in list(waiting):
        future.cancel()
        if future.cancelled():
            del waiting[future]


def _size_of(executor: Any) -> int:
    size = getattr(executor, "_max_workers", None)
    return size if isinstance(size, int) else usable_cpus()


def _alone(base: Scenario, chunk: Numbered, make: RowMaker, stop: Stop) -> Iterator[NumberedRows]:
    """Cells that a lost worker may have had, one by one in a process of their own."""
    left = list(chunk)
    while left:
        with worker_pool(1) as pool:
            while left:
                if stop.asked:
                    return
                index, cell = left.pop(0)
                try:
                    yield pool.submit(run_chunk, make, base, [(index, cell)], code_version()).result()
                except BrokenExecutor as err:
                    yield [(index, crash_row(base, cell, "worker", err, " It was lost twice."))]
                    break


def _lost_rows(base: Scenario, chunk: Numbered, err: BaseException) -> NumberedRows:
    return [(index, crash_row(base, cell, "worker", err)) for index, cell in chunk]
