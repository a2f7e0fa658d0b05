"""Standing: the sound leg carries the hip along a planned path; the hips hold the trunk and the residual limb."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import Pose, clip, smooth_step
from sim.law.phase import Frame, Phase, hip_ahead, wanted_lean

#: How much higher the hip is carried where the ground turns up by an angle, for a prosthetic leg that swings [leg
#: lengths per rad], and the largest angle that counts [rad] (ours; on ramps of the rules 0.2 to 0.7 did alike in a
#: first try).
TURN_LIFT, MOST_TURN = 0.3, 0.2
#: Share of the weight beyond which a leading leg gives way (ours; 1.0 fell with long steps on stiff knees).
GIVE_FROM = 1.1


@law
def hip_path(
    along: float, along_rate: float, behind: float, ahead: float, gains: Any, leg_length: float
) -> tuple[float, float]:
    """Wanted height of the hip above the line of footholds and its rate [m, m/s].

    Highest over the foot; from there it sinks on both sides to where a leg that is almost straight just reaches the
    foothold, and is flat there, so that at landing the hip moves along the line of footholds. It starts `behind` the
    foothold and ends `ahead` of it [m].
    """
    top = gains.mid_leg_fraction * leg_length
    land = gains.landing_leg_fraction * leg_length
    low = math.sqrt(max(0.25 * leg_length * leg_length, land * land - behind * behind))
    dip = max(0.0, top - low)
    side = ahead if along > 0.0 else behind
    u = clip(along / side, -1.0, 1.0)
    return top - dip * u * u * (2.0 - u * u), -dip * 4.0 * u * (1.0 - u * u) * along_rate / side


@law
def wanted_force(leg: int, frame: Frame, phase: Phase, s: Any, memory: Any) -> tuple[float, float]:
    """Force that the leg should put on the hip, across and along the line of footholds [N]."""
    g, person = memory.gains, s.person
    across, along = person.weight * frame.tx, person.weight * frame.ty
    speed_error = s.task.speed + memory.speed_adjust - frame.along_rate
    along += clip(person.mass * g.speed_gain * speed_error, -g.drive_limit, g.drive_limit)
    if memory.stance == leg:
        share = 1.0 if memory.steps == 0 else phase.carried**g.load_power
        length, from_length = s.task.step_length[1 - leg], s.task.step_length[leg]
        ahead = clip(hip_ahead(1 - leg, frame, s, memory), 0.15 * length, 0.85 * length)
        behind = clip(from_length - hip_ahead(leg, frame, s, memory), 0.15 * from_length, 0.85 * from_length)
        height, rate = hip_path(frame.along, frame.along_rate, behind, ahead, g, person.leg_length)
        if person.passive[1 - leg]:  # the ground turns up: room for the foot that cannot be lifted by its own knee
            height += TURN_LIFT * person.leg_length * clip(memory.turn, 0.0, MOST_TURN)
        across += g.height_stiffness * (height - frame.above) - g.height_damping * (frame.above_rate - rate)
    else:  # trailing: let the hip down on the path of the leading leg
        share = 1.0 - phase.carried**g.release_power
        rise = -g.redirect * frame.along / max(frame.above, 0.3 * person.leg_length) * frame.along_rate
        across -= g.trailing_damping * (frame.above_rate - rise)
        along += g.trailing_push
    return share * clip(across, 0.0, 3.0 * person.weight), share * along


@law
def stand_sound(
    pose: Pose, leg: int, hip: float, load: float, push: float, frame: Frame, phase: Phase, s: Any, memory: Any
) -> tuple[float, float, float]:
    """Knee, ankle and ankle-damping torque of a standing sound leg.

    The force across comes first; what the ankle cannot give along, because the centre of pressure must stay inside
    the foot, is given up.
    """
    g, limb, person = memory.gains, pose.legs[leg], s.person
    across, along = wanted_force(leg, frame, phase, s, memory)
    ex, ey = pose.hip_x - limb.ankle_x, pose.hip_y - limb.ankle_y
    far = ex * frame.tx + ey * frame.ty
    high = max(ey * frame.tx - ex * frame.ty, 0.3 * person.leg_length)
    roll = g.forefoot_share if memory.stance == leg else 0.95
    tilt = person.sole_height * push  # friction under the sole turns the foot as well
    forward = clip(roll * person.sole[leg, 1, 0] * load + tilt, 0.0, person.ankle_strength)
    backward = max(0.0, -0.9 * person.sole[leg, 0, 0] * load - tilt)
    ankle = clip(hip - across * far + along * high, -forward, backward)
    if memory.stance == leg:  # a standing foot is kept flat; only the trailing heel may rise
        ankle += g.foot_flat * (math.atan2(frame.ty, frame.tx) - limb.foot) * min(1.0, load / person.weight)
    along = (across * far - hip + ankle) / high
    fx, fy = along * frame.tx - across * frame.ty, along * frame.ty + across * frame.tx
    knee = -person.thigh_length * (limb.thigh_cos * fx + limb.thigh_sin * fy) - hip
    knee = clip(knee, -person.knee_extension_strength, person.knee_flexion_strength)
    flexion, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    knee += straight_guard(flexion, rate, g)
    if memory.stance == leg:  # an almost straight leg is a strut: give way to what it bears beyond the weight
        knee += g.knee_give * clip(load - GIVE_FROM * person.weight, 0.0, person.weight)
    return knee, ankle, -g.ankle_damping * (limb.foot_rate - limb.shank_rate)


@law
def straight_guard(flexion: float, flexion_rate: float, gains: Any) -> float:
    """Muscles keep a sound knee from slamming straight: a soft spring and damper over the last degrees [N m]."""
    close = clip(1.0 - flexion / gains.guard_angle, 0.0, 1.5)
    return close * (gains.guard_torque - gains.guard_damping * min(flexion_rate, 0.0))


@law
def hip_torques(
    pose: Pose, swing_hip: float, phase: Phase, s: Any, memory: Any
) -> tuple[float, float]:
    """Hip torque of each leg [N m], flexing positive: together they hold the trunk.

    With both feet down the legs share, and a bias in one is taken by the other, so the trunk does not feel it.
    """
    g, stand = memory.gains, memory.stance
    swing = 1 - stand
    wanted, moment = wanted_lean(s, memory)
    lean = pose.trunk + wanted - memory.lean_adjust
    upright = g.trunk_stiffness * lean + g.trunk_damping * pose.trunk_rate - moment  # wanted sum of both
    if phase.carried < 1.0:
        bias = 0.0
        if s.person.passive[stand]:
            bias += g.hold_double
        if s.person.passive[swing]:
            bias -= g.pull_off
        bias *= 4.0 * phase.carried * (1.0 - phase.carried)
        standing, swinging = phase.carried * upright + bias, (1.0 - phase.carried) * upright - bias
    else:
        standing, swinging = upright - swing_hip, swing_hip
    if s.person.passive[stand]:
        z = smooth_step((phase.progress - g.bias_switch) / 0.3 + 0.5)
        standing += phase.carried * (g.bias_early + (g.bias_late - g.bias_early) * z) - s.task.hip_hold_back
    standing = clip(standing, -s.person.hip_strength[stand], s.person.hip_strength[stand])
    swinging = clip(swinging, -s.person.hip_strength[swing], s.person.hip_strength[swing])
    return (standing, swinging) if stand == 0 else (swinging, standing)
