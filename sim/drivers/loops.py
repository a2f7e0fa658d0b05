"""The walk on the engine: a readable loop, and the same loop compiled. Both must give the same bits."""

from __future__ import annotations

from typing import Any

import numpy as np
from llvmlite import ir
from numba import types
from numba.core.errors import NumbaError
from numba.extending import intrinsic

from sim.drivers.engine import Engine, Pivot
from sim.drivers.landing import Landing, carry_over
from sim.law.books import close_books, spread
from sim.law.compiled import entry, law
from sim.law.geometry import look
from sim.law.records import BODIES, FOOT, FORCES, FRAME, LEDGER, MEMORY, SHANK, STEP, THIGH, TRUNK
from sim.law.start import body_states, start_pose
from sim.law.walker import act, status_of


def walker_pivots(plant: Any, person: Any) -> list[Pivot]:
    """Hips, knees and ankles of the seven bodies."""
    out = []
    for leg in range(2):
        for part in range(THIGH, FOOT + 1):
            child = part + 3 * leg
            parent = TRUNK if part == THIGH else child - 1
            drop = {THIGH: 0.0, SHANK: person["thigh_length"], FOOT: person["shank_length"]}[part]
            above = (-plant["centre"][parent, 0], -drop - plant["centre"][parent, 1])
            out.append(Pivot(parent, child, above, tuple(-plant["centre"][child])))
    return out


@law
def think(
    i: int, dt: float, state: Any, s: Any, table: Any, memory: Any, steps: Any, frames: Any, every: int, out: Any,
    total: Any, book: Any,
) -> int:
    """One turn of the law, shared by both loops: books, is it over, forces, frame."""  # fmt: skip
    close_books(state, dt, out, book)
    pose = look(state, dt, s.person)  # forces where the engine will be when it applies them
    status = status_of(i * dt, pose, s, memory)
    if status:
        return status
    act(i * dt, dt, pose, s, table, memory, steps, out)
    spread(out, total)
    if i % every == 0 and i // every < frames.shape[0]:
        keep_frame(i * dt, dt, state, memory, out, frames[i // every])
    return 0


@law
def keep_frame(t: float, dt: float, state: Any, memory: Any, out: Any, frame: Any) -> None:
    """Pose and forces of this moment; positions where the forces were evaluated."""
    frame.time, frame.stance = t, memory.stance
    for b in range(BODIES):
        for k in range(3):
            frame.body[b, k] = state[6 * b + k] + dt * state[6 * b + 3 + k]
            frame.body[b, 3 + k] = state[6 * b + 3 + k]
    a, f = out, frame.forces
    for leg in range(2):
        f.hip[leg], f.knee[leg], f.ankle[leg] = a.hip[leg], a.knee[leg], a.ankle[leg]
        f.ankle_damping[leg], f.knee_stop[leg] = a.ankle_damping[leg], a.knee_stop[leg]
        f.ankle_stop[leg], f.load[leg], f.push[leg] = a.ankle_stop[leg], a.load[leg], a.push[leg]
        f.pressure_centre[leg] = a.pressure_centre[leg]
        for k in range(3):
            f.normal_elastic[leg, k], f.normal_damping[leg, k] = a.normal_elastic[leg, k], a.normal_damping[leg, k]
            f.friction_elastic[leg, k] = a.friction_elastic[leg, k]
            f.friction_damping[leg, k] = a.friction_damping[leg, k]
            for j in range(2):
                f.tangent[leg, k, j], f.arm[leg, k, j] = a.tangent[leg, k, j], a.arm[leg, k, j]
    f.progress, f.supported = a.progress, a.supported
    for j in range(2):
        f.rail[j], f.rail_arm[j] = a.rail[j], a.rail_arm[j]
        f.helper[j], f.helper_arm[j] = a.helper[j], a.helper_arm[j]


@intrinsic
def call_pointers(typing: Any, address: Any, a: Any, b: Any, c: Any) -> Any:
    """Call a C function void f(void *, void *, void *) at an address."""

    def emit(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        i = ir.IntType(64)
        function = builder.inttoptr(args[0], ir.FunctionType(ir.VoidType(), [i, i, i]).as_pointer())
        builder.call(function, args[1:])
        return context.get_dummy_value()

    return types.void(types.intp, types.intp, types.intp, types.intp), emit


@intrinsic
def call_step(typing: Any, address: Any, space: Any, dt: Any) -> Any:
    """Call a C function void f(void *, double) at an address."""

    def emit(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        kind = ir.FunctionType(ir.VoidType(), [ir.IntType(64), ir.DoubleType()])
        builder.call(builder.inttoptr(args[0], kind.as_pointer()), args[1:])
        return context.get_dummy_value()

    return types.void(types.intp, types.intp, types.float64), emit


@entry
def drive_compiled(
    address: Any, got: Any, put: Any, n: int, dt: float, state: Any, settings: Any, tables: Any, memories: Any,
    steps: Any, frames: Any, every: int, outs: Any, total: Any, books: Any, most_steps: int,
) -> tuple[int, int]:
    """At most n time steps, or until `most_steps` landings; returns status and time steps taken."""  # fmt: skip
    s, table, memory, out, book = settings[0], tables[0], memories[0], outs[0], books[0]
    for i in range(n):
        got[0] = 0
        call_pointers(address[1], address[4], address[2], address[5])
        status = think(i, dt, state, s, table, memory, steps, frames, every, out, total, book)
        if status or memory.steps >= most_steps:
            return status, i
        put[0] = 0
        call_pointers(address[1], address[4], address[3], address[6])
        call_step(address[0], address[4], dt)
    return 0, n


@entry
def think_once(
    i: int, dt: float, state: Any, settings: Any, tables: Any, memories: Any, steps: Any, frames: Any, every: int,
    outs: Any, total: Any, books: Any,
) -> int:
    """`think` for the readable loop."""  # fmt: skip
    return think(
        i, dt, state, settings[0], tables[0], memories[0], steps, frames, every, outs[0], total, books[0]
    )


def drive_batch(
    engine: Engine, n: int, dt: float, settings: Any, tables: Any, memories: Any, steps: Any, frames: Any, every: int,
    outs: Any, books: Any, most_steps: int,
) -> tuple[int, int]:
    """The same in plain sight: read all bodies, think, write all forces, step."""  # fmt: skip
    for i in range(n):
        engine.read()
        status = think_once(
            i, dt, engine.state, settings, tables, memories, steps, frames, every, outs, engine.force, books
        )
        if status or memories[0]["steps"] >= most_steps:
            return status, i
        engine.push()
        engine.step(dt)
    return 0, n


@entry
def first_state(
    settings: Any, tables: Any, plants: Any, memories: Any, dt: float, q: Any, v: Any, state: Any
) -> None:
    """Starting pose as body states, moved back by one step, because the engine moves before forces act."""
    start_pose(settings[0], tables[0], memories[0], q, v)
    for i in range(9):
        q[i] -= dt * v[i]
    body_states(q, v, settings[0].person, plants[0], state)


class Run:
    """What a run of the loop left behind; `landing` is its last one, None unless that ended the run."""

    def __init__(
        self, status: int, taken: int, dt: float, steps: Any, frames: Any, book: Any, loop: str,
        landing: Landing | None = None,
    ) -> None:  # fmt: skip
        self.status, self.time, self.time_steps = status, taken * dt, taken
        self.steps, self.frames, self.book, self.loop, self.landing = steps, frames, book, loop, landing


def run_walk(
    settings: Any, tables: Any, plants: Any, most_steps: int, seconds: float, dt: float, iterations: int = 10,
    loop: str = "compiled", frame_time: float = 2.5e-3, start: Landing | None = None,
) -> Run:
    """Walk on a fresh engine until `most_steps` landings, a fall, or `seconds`.

    Parameters
    ----------
    settings, tables, plants : one record each of SETTINGS, GAIN_TABLE, PLANT
    loop : "compiled" or "batch"; if the compiled loop cannot be built, the batch loop runs and `Run.loop` says so
    start : a landing of another walk to go on from; None: the standing pose
    """  # fmt: skip
    memories, book = np.zeros(1, MEMORY), np.zeros(1, LEDGER)
    book[0]["mass"], book[0]["inertia"] = plants[0]["mass"], plants[0]["inertia"]
    state = np.zeros(6 * BODIES)
    if start is None:
        first_state(settings, tables, plants, memories, dt, np.zeros(9), np.zeros(9), state)
    else:
        carry_over(start, settings, tables, plants, memories, dt, state)
    before = int(memories[0]["steps"])  # landings that count as made, and have no row
    most_steps += before
    pivots = walker_pivots(plants[0], settings[0]["person"])
    engine = Engine(
        plants[0]["mass"], plants[0]["inertia"], state.reshape(-1, 6), pivots, iterations=iterations
    )
    n, every = round(seconds / dt), max(1, round(frame_time / dt))
    steps, outs = np.zeros(most_steps, STEP), np.zeros(1, FORCES)
    frames = np.zeros(n // every + 1, FRAME)
    common = (settings, tables, memories, steps, frames, every, outs)
    if loop == "compiled":
        try:
            address, counts, keep = engine.addresses()
        except (AttributeError, TypeError):
            loop = "batch"
    if loop == "compiled":
        try:
            status, taken = drive_compiled(
                address, *counts, n, dt, engine.state, *common, engine.force, book, most_steps
            )
        except NumbaError:  # raised while compiling, before anything has moved
            loop = "batch"
        del keep
    if loop != "compiled":
        status, taken = drive_batch(engine, n, dt, *common, book, most_steps)
    made, landing = min(int(memories[0]["steps"]), most_steps), None
    if not status and taken < n:  # a landing ended it: its forces have still to act
        engine.push()
        engine.step(dt)
        after = engine.read().ravel().copy()
        landing = Landing(settings.copy(), after, memories.copy(), (taken + 1) * dt, dt)
    last = min(len(frames), (taken - 1) // every + 1) if taken else 0
    return Run(int(status), int(taken), dt, steps[before:made], frames[:last], book[0], loop, landing)
