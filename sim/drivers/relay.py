"""One run in which the law of walking and the law of postures take turns on the same engine.

Bodies, contact, state of the prosthetic knee and energy book are one and the same throughout: the law of walking works
on the part `base` of the records of postures, so nothing is handed over and nothing can be lost. What a law remembers
of its own is begun anew when its turn comes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from sim.drivers.engine import Engine
from sim.drivers.loops import drive_batch, drive_compiled, first_state, walker_pivots
from sim.drivers.posture_loop import drive_posture, drive_posture_batch
from sim.law.balance import ground_force
from sim.law.compiled import entry, law
from sim.law.geometry import look
from sim.law.ground import height_and_slope
from sim.law.habits import change_gains
from sim.law.phase import heel_of, refresh_gains
from sim.law.posture import NUMBERS_LOST, SANK, TRUNK_FELL
from sim.law.posture_records import POSTURE_FORCES, POSTURE_FRAME, POSTURE_LEDGER, POSTURE_MEMORY
from sim.law.records import BODIES, STEP
from sim.law.tally import start_tally
from sim.law.walker import HIP_LOW, NOT_FINITE, STALLED, TRUNK_OVER

#: Most landings of one walk between two stands (rows kept).
MOST_STEPS = 200
#: Frames for which there is room at first.
ROOM = 8192
#: Why a run ended early, by its law -> one set of words for both; a walk that stalls has a number of its own.
NO_LANDING = 99
WALK_ENDS = {HIP_LOW: SANK, TRUNK_OVER: TRUNK_FELL, STALLED: NO_LANDING, NOT_FINITE: NUMBERS_LOST}

Array = np.ndarray[Any, Any]


@entry
def feel_at_once(memories: Any, outs: Any) -> None:
    """Begin to stand: the person feels at once what presses under each foot."""
    memory, out = memories[0], outs[0]
    for leg in range(2):
        ground_force(leg, out)
        memory.felt[leg, 0], memory.felt[leg, 1] = out.ground[leg, 0], out.ground[leg, 1]
        memory.felt_centre[leg] = out.base.pressure_centre[leg]
    memory.clock, memory.pace, memory.balance, memory.shift = 0.0, 1.0, 0.0, 0.0
    memory.lifted, memory.stepped, memory.landed, memory.sound_up = 0.0, 0.0, 0.0, 0


@law
def plan_step(s: Any, table: Any, memory: Any) -> None:
    """Gains for the step under way, after the wanted step has been changed."""
    swing = 1 - memory.stance
    _, slope = height_and_slope(s.ground, memory.heel_x[memory.stance] + 0.5 * s.task.step_length[swing])
    refresh_gains(slope, s, table, memory, swing)
    change_gains(swing, s, memory)


@entry
def plan_step_once(settings: Any, tables: Any, memories: Any) -> None:
    """`plan_step` for records."""
    plan_step(settings[0], tables[0], memories[0])


@entry
def step_off(settings: Any, tables: Any, memories: Any, state: Any, dt: float, stand: int) -> None:
    """Begin to walk from where the feet are: one leg stands, the other swings from now on.

    What was learnt from earlier steps is kept.
    """
    s, memory = settings[0], memories[0]
    pose, swing = look(state, dt, s.person), 1 - stand
    for leg in range(2):
        memory.heel_x[leg], _ = heel_of(pose, leg, s.person)
    limb, wanted = pose.legs[swing], s.task.step_time[swing]
    memory.stance, memory.steps, memory.landed_time = stand, 0, 0.0
    memory.swing_from[0], memory.swing_from[1], memory.swing_from[2] = limb.ankle_x, limb.ankle_y, limb.thigh
    memory.hip_x[0], memory.hip_x[1] = pose.hip_x, pose.hip_x - s.task.step_length[stand]
    memory.hip_time[0], memory.hip_time[1] = 0.0, -wanted
    memory.scuffing = 0
    plan_step(s, tables[0], memory)
    start_tally(memory)


class Relay:
    """A person on one engine, walking or standing by turns.

    Parameters
    ----------
    settings : one record of POSTURE
        Its part `base` holds what the law of walking reads. What the person wants (`base.task`, `plan`, `hold`) may be
        changed between frames, and nothing else.
    tables, plants : one record each of GAIN_TABLE, PLANT
    dt : float
        Time step [s].
    iterations : int
        Passes of the joint solver.
    loop : str
        "compiled" or "batch".
    frame_time : float
        Between frames, and between moments at which a turn may end [s].

    Attributes
    ----------
    memories, outs, books : one record each of POSTURE_MEMORY, POSTURE_FORCES, POSTURE_LEDGER
    time_steps : int
        Since the start.
    """

    def __init__(
        self, settings: Array, tables: Array, plants: Array, dt: float, iterations: int = 10, loop: str = "compiled",
        frame_time: float = 2.5e-3,
    ) -> None:  # fmt: skip
        self.settings, self.tables, self.dt, self.loop = settings, tables, dt, loop
        self.memories, self.books = np.zeros(1, POSTURE_MEMORY), np.zeros(1, POSTURE_LEDGER)
        self.books[0]["base"]["mass"], self.books[0]["base"]["inertia"] = plants[0]["mass"], plants[0]["inertia"]
        self.outs, self.every, self.time_steps = np.zeros(1, POSTURE_FORCES), max(1, round(frame_time / dt)), 0
        state = np.zeros(6 * BODIES)
        first_state(settings["base"], tables, plants, self.memories["base"], dt, np.zeros(9), np.zeros(9), state)
        pivots = walker_pivots(plants[0], settings[0]["base"]["person"])
        self.engine = Engine(
            plants[0]["mass"], plants[0]["inertia"], state.reshape(-1, 6), pivots, iterations=iterations
        )
        self._calls: tuple[Any, ...] | None = None
        if loop == "compiled":
            try:
                address, counts, self._keep = self.engine.addresses()
                self._calls = (address, *counts)
            except (AttributeError, TypeError):
                self.loop = "batch"
        self._rows = np.zeros(MOST_STEPS, STEP)
        self._walks: list[Array] = []
        self._count, self._stood = 0, np.zeros(ROOM, np.bool_)
        self._frames, self._books = np.zeros(ROOM, POSTURE_FRAME), np.zeros(ROOM, POSTURE_LEDGER)

    @property
    def time(self) -> float:
        """Since the start [s]."""
        return self.time_steps * self.dt

    @property
    def memory(self) -> Any:
        """What the law of walking remembers."""
        return self.memories[0]["base"]

    @property
    def task(self) -> Any:
        """What the person wants of a walk."""
        return self.settings[0]["base"]["task"]

    def state(self) -> Array:
        """States of all bodies now, shape (7, 6)."""
        return self.engine.read().copy()

    def frames(self) -> Array:
        """Frames so far, evenly spaced in time, shape (n,) of POSTURE_FRAME; of a walk without what only stands."""
        frames = self._frames[: self._count].copy()
        walked = ~self._stood[: self._count]
        frames["ground"][walked] = _ground_forces(frames["base"]["forces"][walked])
        return frames

    def walks(self) -> list[Array]:
        """Rows of STEP of each walk so far, the one under way included; times from the start of the run."""
        return [*self._walks, self._rows[: int(self.memory["steps"])].copy()]

    def book_at(self, moment: float) -> Any:
        """Energy book at a time [s], record of POSTURE_LEDGER."""
        k = min(round(moment / (self.dt * self.every)), self._count)
        return self._books[k - 1] if k > 0 else np.zeros(1, POSTURE_LEDGER)[0]

    def walk(self, seconds: float, done: Callable[[], bool] = lambda: False) -> int:
        """The law of walking, until `done` or for some time [s]; why it ended early (see `WALK_ENDS`), else 0."""
        out, book, status = self.outs["base"], self.books["base"], 0
        for _ in range(round(seconds / self.dt / self.every)):
            made = int(self.memory["steps"])
            laws = self.settings["base"], self.tables, self.memories["base"], self._rows, self._next()["base"]
            if self._calls is None:
                status, taken = drive_batch(self.engine, self.every, self.dt, *laws, self.every, out, book, MOST_STEPS)
            else:
                status, taken = drive_compiled(  # type: ignore[call-arg]  # three of them are in the tuple
                    *self._calls, self.every, self.dt, self.engine.state, *laws, self.every, out, self.engine.force,
                    book, MOST_STEPS,
                )  # fmt: skip
            if int(self.memory["steps"]) > made:
                self._rows["time"][made] += self.time
            self._passed(taken, False)
            if status or done():
                break
        return WALK_ENDS.get(int(status), 0)

    def stand(self, seconds: float, done: Callable[[], bool] = lambda: False) -> int:
        """The law of postures, as `walk`; its numbers for why it ended early are those of `sim.law.posture`."""
        status = 0
        for _ in range(round(seconds / self.dt / self.every)):
            laws = (self.settings, self.memories, self._next(), self.every, self.outs)
            if self._calls is None:
                status, taken = drive_posture_batch(self.engine, self.every, self.dt, *laws, self.books)
            else:
                status, taken = drive_posture(  # type: ignore[call-arg]  # as above
                    *self._calls, self.every, self.dt, self.engine.state, *laws, self.engine.force, self.books
                )
            self._passed(taken, True)
            if status or done():
                break
        return int(status)

    def begin_standing(self) -> None:
        """The law of postures is next; its plan is in `settings`. No foot swings while this person stands."""
        made = int(self.memory["steps"])
        self._walks.append(self._rows[:made].copy())
        self._rows[:], self.memory["steps"] = np.zeros(1, STEP), 0
        feel_at_once(self.memories, self.outs)

    def begin_walking(self, stand: int) -> None:
        """The law of walking is next: one leg stands, the other swings from now on."""
        self.engine.read()
        step_off(self.settings["base"], self.tables, self.memories["base"], self.engine.state, self.dt, stand)

    def change_step(self) -> None:
        """The wanted step has been changed in `task` while a step is under way."""
        plan_step_once(self.settings["base"], self.tables, self.memories["base"])

    def _next(self) -> Array:
        """Room for the next frame."""
        if self._count == len(self._frames):
            self._frames, self._books, self._stood = (
                np.concatenate([kept, np.zeros_like(kept)]) for kept in (self._frames, self._books, self._stood)
            )
        return self._frames[self._count : self._count + 1]

    def _passed(self, taken: int, stood: bool) -> None:
        """Keep the frame; what the walk remembers of time moves into the past, as each call begins its clock anew."""
        if taken:
            self._frames["base"]["time"][self._count] += self.time
            self._books[self._count], self._stood[self._count] = self.books[0], stood
            self._count += 1
        self.time_steps += taken
        if not stood:
            self.memory["landed_time"] -= taken * self.dt
            self.memory["hip_time"] -= taken * self.dt


def _ground_forces(forces: Any) -> Array:
    """Force of the ground on each foot, x and y, shape (n, 2, 2) [N], as `sim.law.balance.ground_force`."""
    normal, friction = (forces[f"{kind}_elastic"] + forces[f"{kind}_damping"] for kind in ("normal", "friction"))
    along, touches = forces["tangent"], normal > 0.0
    x = np.where(touches, friction * along[..., 0] - normal * along[..., 1], 0.0)
    y = np.where(touches, friction * along[..., 1] + normal * along[..., 0], 0.0)
    return np.stack([x.sum(axis=-1), y.sum(axis=-1)], axis=-1)
