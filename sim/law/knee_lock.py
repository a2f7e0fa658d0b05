"""A lock against flexion for standing: when it closes, when it opens, what it holds. All of it ours, off by default.

The knee law itself is untouched: closed, the lock adds a spring and damper against flexion beyond the angle at which it
closed; extension stays free.
"""

from __future__ import annotations

from typing import Any

from sim.law.compiled import law
from sim.law.knee import stop_torque
from sim.law.posture_records import (
    FLEXION_LOCK,
    HYPEREXTENSION,
    NEVER,
    NO_LOCK,
    PERMANENT_LOCK,
    TOE_LOADED,
    UNLOADED,
)


@law
def opening_cause(load: float, extending_moment: float, toe_share: float, lock: Any) -> int:
    """Which rule asks the lock to open now: `HYPEREXTENSION`, `UNLOADED`, `TOE_LOADED`, or `NEVER` for none.

    Parameters
    ----------
    load : on the prosthetic foot [N]
    extending_moment : with which the knee is pressed against its straight stop [N m]
    toe_share : centre of pressure ahead of the ankle / distance from ankle to toe
    """
    if lock.open_hyperextension > 0.0 and extending_moment > lock.open_hyperextension:
        return HYPEREXTENSION
    if load < lock.open_load:
        return UNLOADED
    if lock.open_toe_share > 0.0 and toe_share > lock.open_toe_share:
        return TOE_LOADED
    return NEVER


@law
def tend_lock(
    t: float, dt: float, flexion: float, flexion_rate: float, load: float, extending_moment: float, toe_share: float,
    lock: Any, memory: Any,
) -> None:
    """Close or open the lock; `memory` is a record of `LOCK_MEMORY`."""  # fmt: skip
    if lock.kind == NO_LOCK:
        return
    if lock.kind == PERMANENT_LOCK:
        if memory.closed == 0:
            memory.closed, memory.angle, memory.closed_at = 1, max(0.0, flexion), t
        return
    cause = opening_cause(load, extending_moment, toe_share, lock)
    if memory.closed:
        memory.due = memory.due + dt if cause != NEVER else 0.0
        if memory.due > lock.open_time:
            memory.closed, memory.opened_at, memory.cause = 0, t, cause
            memory.openings += 1
            memory.still = 0.0
        return
    quiet = load > lock.close_load and abs(flexion_rate) < lock.close_rate and cause == NEVER
    memory.still = memory.still + dt if quiet else 0.0
    if lock.kind == FLEXION_LOCK and memory.still > lock.close_time:
        memory.closed, memory.angle, memory.closed_at, memory.due = 1, max(0.0, flexion), t, 0.0


@law
def lock_torque(flexion: float, flexion_rate: float, lock: Any, memory: Any) -> float:
    """Torque of the closed lock [N m], flexing positive: never positive."""
    if memory.closed == 0:
        return 0.0
    return -stop_torque(flexion - memory.angle, flexion_rate, lock.stiffness, lock.damping)
