"""The whole law of a walk: from pose and memory to the forces of this moment, and whether the walk is over."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.contact import foot_contact
from sim.law.geometry import Pose
from sim.law.ground import height_and_slope
from sim.law.habits import change_gains, flex_sharper, hold_back_late
from sim.law.knee import ankle_stop, is_loaded, knee_stop, knee_torque
from sim.law.outside import rail_and_helper
from sim.law.phase import Frame, Phase, foothold_frame, heel_of, landed, learn, refresh_gains, see_ground, step_phase
from sim.law.stance import hip_torques, stand_sound
from sim.law.swing import swing_prosthetic, swing_sound
from sim.law.tally import keep_tally, start_tally, write_step

#: Without a landing for this long a walk has stalled, in time units (ours; 2.5 s for a leg of 0.86 m).
STALL_TIME = 8.4
WALKING, HIP_LOW, TRUNK_OVER, STALLED, NOT_FINITE = 0, 1, 2, 3, 4


@law
def act(t: float, dt: float, pose: Pose, s: Any, table: Any, memory: Any, steps: Any, out: Any) -> None:
    """Fill `out` with everything that acts at this pose, and bring `memory` up to date."""
    foot_contact(pose, 0, s, memory, out)
    foot_contact(pose, 1, s, memory, out)
    frame = foothold_frame(pose, s, memory)
    if landed(t, pose, frame, out.load, s, memory):
        change_stance(t, pose, s, table, memory, steps)
        frame = foothold_frame(pose, s, memory)
    phase = step_phase(t, frame, s, memory)
    muscles(pose, frame, phase, s, memory, out)
    passive_joints(pose, s, memory, out)
    rail_and_helper(dt, s.task.speed, pose, s, memory, out)
    out.progress = phase.progress
    keep_tally(dt, pose, frame, phase, s, memory, out)


@law
def change_stance(t: float, pose: Pose, s: Any, table: Any, memory: Any, steps: Any) -> None:
    """The swinging foot has landed: write the step, learn from it, and let that leg stand."""
    swing = 1 - memory.stance
    x, _ = heel_of(pose, swing, s.person)
    old = memory.heel_x[memory.stance]
    rise = height_and_slope(s.ground, x)[0] - height_and_slope(s.ground, old)[0]
    length = math.copysign(math.sqrt((x - old) ** 2 + rise * rise), x - old)
    speed = learn(t, length, pose, s, memory)
    write_step(t, length, speed, x, pose, memory, steps)
    memory.steps += 1
    memory.heel_x[swing] = x
    memory.stance, memory.landed_time = swing, t
    _, slope = height_and_slope(s.ground, x + 0.5 * s.task.step_length[1 - swing])
    see_ground(slope, memory)
    refresh_gains(slope, s, table, memory, 1 - swing)
    change_gains(1 - swing, s, memory)
    start_tally(memory)


@law
def muscles(pose: Pose, frame: Frame, phase: Phase, s: Any, memory: Any, out: Any) -> None:
    """Hips, and knees and ankles of sound legs."""
    stand = memory.stance
    swing = 1 - stand
    limb = pose.legs[swing]
    if phase.swing <= 0.0:  # still on the ground: the swing will start from here
        memory.swing_from[0], memory.swing_from[1], memory.swing_from[2] = limb.ankle_x, limb.ankle_y, limb.thigh
    swing_hip = 0.0
    for leg in range(2):
        out.knee[leg], out.ankle[leg], out.ankle_damping[leg] = 0.0, 0.0, 0.0
    if phase.swing > 0.0:
        if s.person.passive[swing]:
            swing_hip = swing_prosthetic(pose, swing, frame, phase, s, memory)
        else:
            swing_hip, out.knee[swing], out.ankle[swing] = swing_sound(pose, swing, frame, phase, s, memory)
            out.ankle_damping[swing] = -memory.gains.swing_ankle_damping * (limb.foot_rate - limb.shank_rate)
        most = min(memory.gains.swing_hip_limit, s.person.hip_strength[swing])
        swing_hip = min(max(swing_hip, -most), most)
        swing_hip = flex_sharper(swing_hip, swing, phase.swing, s)
    out.hip[0], out.hip[1] = hip_torques(pose, swing_hip, phase, s, memory)
    hold_back_late(phase.carried, s, memory, out)
    for leg in range(2):
        if not s.person.passive[leg] and (leg == stand or phase.carried < 1.0):
            out.knee[leg], out.ankle[leg], out.ankle_damping[leg] = stand_sound(
                pose, leg, out.hip[leg], out.load[leg], out.push[leg], frame, phase, s, memory
            )


@law
def passive_joints(pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """Prosthetic knee and ankle, and the end stops of every joint."""
    for leg in range(2):
        limb = pose.legs[leg]
        flexion, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
        dorsiflexion, ankle_rate = limb.foot - limb.shank, limb.foot_rate - limb.shank_rate
        if s.person.passive[leg]:
            memory.loaded = is_loaded(out.load[leg], memory.loaded, s.knee)
            out.knee[leg] = knee_torque(flexion, rate, memory.loaded, s.knee)
            out.ankle[leg] = -s.ankle.stiffness * dorsiflexion
            out.ankle_damping[leg] = -s.ankle.damping * ankle_rate
        out.knee_stop[leg] = knee_stop(flexion, rate, s.knee)
        out.ankle_stop[leg] = ankle_stop(dorsiflexion, ankle_rate, s.knee)


@law
def status_of(t: float, pose: Pose, s: Any, memory: Any) -> int:
    """Whether the walk goes on, and if not, why."""
    height, _ = height_and_slope(s.ground, pose.hip_x)
    high = pose.hip_y - height
    if not (math.isfinite(high) and math.isfinite(pose.trunk_rate)):
        return NOT_FINITE
    if high < 0.55 * s.person.leg_length:
        return HIP_LOW
    if abs(pose.trunk) > 0.9:
        return TRUNK_OVER
    return STALLED if t - memory.landed_time > STALL_TIME * s.person.time_unit else WALKING
