"""Standing, bending, sitting and the stair on the engine: a readable loop and the same loop compiled, bit-equal.

The engine, its pivots and the calls into the library are those of the walk (`sim/drivers/loops.py`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from sim.drivers.engine import Engine
from sim.drivers.loops import call_pointers, call_step, keep_frame, walker_pivots
from sim.law.compiled import entry, law
from sim.law.geometry import look
from sim.law.posture import act_posture, posture_status
from sim.law.posture_books import close_posture_books, spread_posture
from sim.law.posture_records import POSTURE_FORCES, POSTURE_FRAME, POSTURE_LEDGER, POSTURE_MEMORY
from sim.law.records import BODIES
from sim.law.start import body_states


@law
def think_posture(
    i: int, dt: float, state: Any, s: Any, memory: Any, frames: Any, every: int, out: Any, total: Any, book: Any
) -> int:
    """One turn of the law, shared by both loops: books, is it over, forces, frame."""
    close_posture_books(state, dt, out, book)
    pose = look(state, dt, s.base.person)  # forces where the engine will be when it applies them
    status = posture_status(i * dt, pose, s, memory, out)
    if status:
        return status
    act_posture(i * dt, dt, pose, s, memory, out)
    spread_posture(out, total)
    if i % every == 0 and i // every < frames.shape[0]:
        keep_posture_frame(i * dt, dt, state, memory, out, frames[i // every])
    return 0


@law
def keep_posture_frame(t: float, dt: float, state: Any, memory: Any, out: Any, frame: Any) -> None:
    """Pose and forces of this moment."""
    keep_frame(t, dt, state, memory.base, out.base, frame.base)
    for leg in range(2):
        frame.ground[leg, 0], frame.ground[leg, 1] = out.ground[leg, 0], out.ground[leg, 1]
        frame.edge[leg] = out.edge_elastic[leg] + out.edge_damping[leg]
        frame.wanted_hip[leg] = out.wanted_hip[leg]
        frame.push_arm[leg], frame.seat_arm[leg] = out.push_arm[leg], out.seat_arm[leg]
    frame.seat[0], frame.seat[1] = out.seat_friction, out.seat_elastic + out.seat_damping
    frame.lock, frame.lock_closed, frame.push = out.lock, memory.lock.closed, out.push
    frame.wanted_lean, frame.sound_share = out.wanted_lean, out.sound_share
    frame.clock, frame.wanted_centre = out.clock, out.wanted_centre


@entry
def drive_posture(
    address: Any, got: Any, put: Any, n: int, dt: float, state: Any, settings: Any, memories: Any, frames: Any,
    every: int, outs: Any, total: Any, books: Any,
) -> tuple[int, int]:
    """At most n time steps, or until a fall; returns status and time steps taken."""  # fmt: skip
    s, memory, out, book = settings[0], memories[0], outs[0], books[0]
    for i in range(n):
        got[0] = 0
        call_pointers(address[1], address[4], address[2], address[5])
        status = think_posture(i, dt, state, s, memory, frames, every, out, total, book)
        if status:
            return status, i
        put[0] = 0
        call_pointers(address[1], address[4], address[3], address[6])
        call_step(address[0], address[4], dt)
    return 0, n


@entry
def think_posture_once(
    i: int, dt: float, state: Any, settings: Any, memories: Any, frames: Any, every: int, outs: Any, total: Any,
    books: Any,
) -> int:
    """`think_posture` for the readable loop."""  # fmt: skip
    return think_posture(i, dt, state, settings[0], memories[0], frames, every, outs[0], total, books[0])


def drive_posture_batch(
    engine: Engine, n: int, dt: float, settings: Any, memories: Any, frames: Any, every: int, outs: Any, books: Any
) -> tuple[int, int]:
    """The same in plain sight: read all bodies, think, write all forces, step."""
    for i in range(n):
        engine.read()
        status = think_posture_once(
            i, dt, engine.state, settings, memories, frames, every, outs, engine.force, books
        )
        if status:
            return status, i
        engine.push()
        engine.step(dt)
    return 0, n


@entry
def states_of_pose(settings: Any, plants: Any, q: Any, v: Any, state: Any) -> None:
    """Body states of a pose in minimal coordinates."""
    body_states(q, v, settings[0].base.person, plants[0], state)


class PostureRun:
    """What a run of the loop left behind; `until` makes the same run again and ends it at an earlier time [s]."""

    def __init__(
        self, status: int, taken: int, dt: float, frames: Any, book: Any, memory: Any, loop: str,
        until: Callable[[float], PostureRun],
    ) -> None:  # fmt: skip
        self.status, self.time, self.time_steps = status, taken * dt, taken
        self.frames, self.book, self.memory, self.loop, self.until = frames, book, memory, loop, until


def run_posture(
    settings: Any, plants: Any, q: Any, seconds: float, dt: float, iterations: int = 10, loop: str = "compiled",
    frame_time: float = 2.5e-3,
) -> PostureRun:
    """Hold or move along the plan on a fresh engine, until a fall or for `seconds`.

    Parameters
    ----------
    settings, plants : one record each of POSTURE, PLANT
    q : shape (9,), pose at rest: hip x, y, trunk angle, then thigh, shank, foot angle of leg 0 and of leg 1
    loop : "compiled" or "batch"; if the compiled loop cannot be built, the batch loop runs and the result says so
    """  # fmt: skip
    memories, book = np.zeros(1, POSTURE_MEMORY), np.zeros(1, POSTURE_LEDGER)
    book[0]["base"]["mass"], book[0]["base"]["inertia"] = plants[0]["mass"], plants[0]["inertia"]
    state = np.zeros(6 * BODIES)
    states_of_pose(settings, plants, np.asarray(q, float), np.zeros(9), state)
    pivots = walker_pivots(plants[0], settings[0]["base"]["person"])
    engine = Engine(
        plants[0]["mass"], plants[0]["inertia"], state.reshape(-1, 6), pivots, iterations=iterations
    )
    n, every = round(seconds / dt), max(1, round(frame_time / dt))
    outs, frames = np.zeros(1, POSTURE_FORCES), np.zeros(n // every + 1, POSTURE_FRAME)
    common = (settings, memories, frames, every, outs)
    if loop == "compiled":
        try:
            address, counts, keep = engine.addresses()
        except (AttributeError, TypeError):
            loop = "batch"
    if loop == "compiled":
        status, taken = drive_posture(address, *counts, n, dt, engine.state, *common, engine.force, book)
        del keep
    else:
        status, taken = drive_posture_batch(engine, n, dt, *common, book)
    last = min(len(frames), (taken - 1) // every + 1) if taken else 0

    def until(moment: float) -> PostureRun:
        return run_posture(settings, plants, q, moment, dt, iterations, loop, frame_time)

    return PostureRun(int(status), int(taken), dt, frames[:last], book[0], memories[0], loop, until)
