"""What a person may do otherwise than the gains say: habits that a scenario asks for, none by default."""

from __future__ import annotations

from typing import Any

from sim.law.compiled import law

#: Share of the swing over which an extra hip flexion at its start fades (ours).
SWING_START = 0.3


@law
def change_gains(swing: int, s: Any, memory: Any) -> None:
    """After a landing: plan the hip further ahead; take the load from a prosthetic leg behind earlier."""
    memory.gains.landing_offset += s.task.hip_shift / s.task.step_length[swing]
    if s.person.passive[swing]:
        memory.gains.handover_share *= 1.0 - s.task.early_unloading


@law
def flex_sharper(hip: float, leg: int, progress: float, s: Any) -> float:
    """Hip torque of a swinging leg [N m]; of a prosthetic one with an extra flexion that fades as the swing goes on."""
    if s.task.swing_start_hip > 0.0 and s.person.passive[leg]:
        extra = s.task.swing_start_hip * max(0.0, 1.0 - progress / SWING_START)
        return min(hip + extra, s.person.hip_strength[leg])
    return hip


@law
def hold_back_late(carried: float, s: Any, memory: Any, out: Any) -> None:
    """While the sound leg takes over, hold the residual limb back; the other hip takes what that does to the trunk."""
    stand = memory.stance
    behind = 1 - stand
    if s.task.late_hold > 0.0 and s.person.passive[behind] and carried < 1.0:
        held = min(s.task.late_hold, out.hip[behind] + s.person.hip_strength[behind])
        out.hip[behind] -= held
        out.hip[stand] = min(out.hip[stand] + held, s.person.hip_strength[stand])
