"""Who stands, how far the step has come, and what the person learns from step to step."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from sim.law.compiled import law
from sim.law.geometry import Pose, clip
from sim.law.ground import direction, height_and_slope

#: Shares of an error that the person corrects in the next step of the same kind (ours, 0.1 to 0.5 work alike).
LEARN_REACH, LEARN_SPEED, LEARN_LEAN = 0.6, 0.15, 0.25
#: Corrections of speed and lean stay within this share and this angle [rad] (ours); that of reach within `reach_limit`.
MOST_SPEED, MOST_LEAN = 0.35, 0.15
#: Share of a step beyond which a touch is a landing, beyond which a firm one is, and of the weight that is firm (ours).
NEAR_SHARE, FAR_SHARE, FIRM_SHARE = 0.8, 0.3, 0.33
#: Steps in which the trunk goes from upright to the wanted lean (ours, 2 to 8).
LEAN_STEPS = 4
#: Difference of knee flexion from the wanted yield that counts as one [rad], and how many of them below -1 are still
#: felt; share of a change that is felt in the next step of the prosthetic leg (ours; no others were tried, and the
#: gains were found with these).
YIELD_SPAN, LITTLE_YIELD, LEARN_YIELD = 0.175, 1.5, 0.5
#: A foot counts as loaded above this share of the weight (ours; about 20 N, the usual force-plate threshold).
LOADED_SHARE = 0.027


class Frame(NamedTuple):
    """The line from the standing foothold to the next one, and the hip in it."""

    x: float  # standing foothold: the ankle's place when the foot lies flat
    y: float
    tx: float  # unit vector along the line
    ty: float
    along: float  # hip ahead of and above the foothold, along and across the line
    above: float
    along_rate: float
    above_rate: float
    ankle_along: float  # the same from the standing ankle where it is now
    ankle_above: float


class Phase(NamedTuple):
    """How far the step under way has come."""

    since: float  # time since the standing foot landed
    step_time: float  # wanted
    progress: float  # of the step: elapsed time or hip progress, whichever is larger
    carried: float  # share of the hand-over that is done, 0 to 1
    swing: float  # progress of the swing after the hand-over; above 1 the foot is late


@law
def foothold_frame(pose: Pose, s: Any, memory: Any) -> Frame:
    """The line of footholds under the step under way, and the hip in it."""
    stand = memory.stance
    length = s.task.step_length[1 - stand]
    heel = memory.heel_x[stand]
    height, slope = height_and_slope(s.ground, heel)
    ax, _ = direction(slope)
    far, _ = height_and_slope(s.ground, heel + length * ax)
    tx, ty = direction((far - height) / (length * ax))
    back, up = -s.person.sole[stand, 0, 0], s.person.sole_height
    x, y = heel + back * tx - up * ty, height + back * ty + up * tx
    dx, dy = pose.hip_x - x, pose.hip_y - y
    limb = pose.legs[stand]
    ex, ey = pose.hip_x - limb.ankle_x, pose.hip_y - limb.ankle_y
    return Frame(
        x,
        y,
        tx,
        ty,
        dx * tx + dy * ty,
        dy * tx - dx * ty,
        pose.hip_vx * tx + pose.hip_vy * ty,
        pose.hip_vy * tx - pose.hip_vx * ty,
        ex * tx + ey * ty,
        ey * tx - ex * ty,
    )


@law
def hip_ahead(lands: int, frame: Frame, s: Any, memory: Any) -> float:
    """How far the hip should be ahead of the foothold, along the line, when the foot of leg `lands` lands [m].

    On a slope a mass is balanced where it is plumb above the foot, so the share of the step is counted from there.
    Onto a leg that cannot lift it the hip may come from nearer or farther than onto a sound one. Of a person who leans
    forward the mass centre is ahead of the hips, so the hips stay back by as much.
    """
    g = memory.gains
    share = g.landing_offset + (g.landing_offset_prosthetic if s.person.passive[lands] else 0.0)
    forward = wanted_lean(s, memory)[1] / s.person.weight
    return share * s.task.step_length[lands] + 0.95 * s.person.leg_length * frame.ty / frame.tx - forward


@law
def wanted_lean(s: Any, memory: Any) -> tuple[float, float]:
    """Lean of the trunk [rad] and moment of its weight about the hips [N m], both forward positive.

    What the scenario asks for is taken up step by step, since a person starts upright. A slope may ask for more.
    """
    share, more = min(1.0, memory.steps / LEAN_STEPS), memory.gains.slope_lean
    moment = share * s.task.lean_moment + s.person.trunk_moment * math.sin(more)
    return share * s.task.trunk_lean + more, moment


@law
def handover_share(stand: int, s: Any, memory: Any) -> float:
    """Share of the step in which the leg that has just landed takes over; the two legs differ."""
    return memory.gains.handover_share_prosthetic if s.person.passive[stand] else memory.gains.handover_share


@law
def step_phase(t: float, frame: Frame, s: Any, memory: Any) -> Phase:
    """Time and progress of the step, of the hand-over and of the swing."""
    g = memory.gains
    swing = 1 - memory.stance
    length, wanted = s.task.step_length[swing], s.task.step_time[swing]
    since = t - memory.landed_time
    by_hip = g.hip_phase_gain * (1.0 + (frame.along - hip_ahead(swing, frame, s, memory)) / length)
    progress = max(since / wanted, by_hip)
    if memory.steps == 0:  # the first swing is already under way
        return Phase(since, wanted, progress, 1.0, progress)
    share = handover_share(memory.stance, s, memory)
    carried = min(1.0, since / (share * wanted))
    reached = g.swing_share_prosthetic if s.person.passive[swing] else g.swing_share_sound
    progressed = (progress - share) / (reached - share) if carried >= 1.0 else 0.0
    return Phase(since, wanted, progress, carried, max(0.0, progressed))


@law
def landed(t: float, pose: Pose, frame: Frame, loads: Any, s: Any, memory: Any) -> bool:
    """A landing: the swinging foot is near its place and loaded, or farther back or late and firmly loaded.

    Else it is a scuff, over which the person walks on.
    """
    swing = 1 - memory.stance
    length, wanted, weight = s.task.step_length[swing], s.task.step_time[swing], s.person.weight
    since = t - memory.landed_time
    if since < 0.3 * wanted or loads[swing] < 0.05 * weight:
        return False
    ahead = (pose.legs[swing].ankle_x - frame.x) * frame.tx + (pose.legs[swing].ankle_y - frame.y) * frame.ty
    closing = s.task.speed == 0.0  # the last step of a stop: wherever the foot comes down beside the other will do
    if ahead > (FAR_SHARE if closing else NEAR_SHARE) * length:
        return True
    firm = loads[swing] > FIRM_SHARE * weight
    return firm and (ahead > FAR_SHARE * length or since > 1.3 * wanted)


@law
def heel_of(pose: Pose, leg: int, person: Any) -> tuple[float, float]:
    """Where the heel of a foot is [m]."""
    limb = pose.legs[leg]
    c, n = limb.foot_cos, limb.foot_sin
    px, py = person.sole[leg, 0, 0], person.sole[leg, 0, 1]
    return limb.ankle_x + c * px - n * py, limb.ankle_y + n * px + c * py


@law
def begin_on_ground(slope: float, memory: Any) -> None:
    """Note the slope where a walk begins, as if it had always been walked."""
    memory.ground_angle, memory.turn = math.atan(slope), 0.0


@law
def see_ground(slope: float, memory: Any) -> None:
    """Note by how much the ground ahead has turned since the landing before."""
    angle = math.atan(slope)
    memory.turn = angle - memory.ground_angle
    memory.ground_angle = angle


@law
def refresh_gains(slope: float, s: Any, table: Any, memory: Any, swing: int) -> None:
    """Gains for the ground ahead, the wanted step and its time, and what was felt; the knee setting is not seen here.

    Steps that take longer than the reference are walked with the gains of the reference: only haste changes them.
    What is felt is how far the prosthetic leg gave way in the steps before: see `feel_yield`.
    """
    person, task = s.person, s.task
    w = (task.step_length[swing] / person.leg_length - table.reference[0]) / table.span[0]
    r = min(0.0, (task.step_time[swing] / person.time_unit - table.reference[1]) / table.span[1])
    last = table.slope.shape[0] - 1
    angle = clip(math.atan(slope), table.slope[0], table.slope[last])
    k = 0
    while k < last - 1 and angle > table.slope[k + 1]:
        k += 1
    z = (angle - table.slope[k]) / (table.slope[k + 1] - table.slope[k])
    c = table.coefficients
    for i in range(table.low.shape[0]):
        value = 0.0
        for term in range(5):
            factor = (1.0, w, r, memory.yielded, memory.little_yield)[term]
            value += factor * ((1.0 - z) * c[term, k, i] + z * c[term, k + 1, i])
        memory.gains.all[i] = clip(value, table.low[i], table.high[i]) * s.gain_scale[i]


@law
def learn(t: float, length: float, pose: Pose, s: Any, memory: Any) -> float:
    """Correct reach, speed and trunk lean from what the last step brought; returns the mean speed of the step."""
    swing, wanted = 1 - memory.stance, s.task.step_length[1 - memory.stance]
    speed = 0.0
    if memory.steps > 0:
        speed = (pose.hip_x - memory.hip_x[0]) / (t - memory.hip_time[0])
    if memory.steps > 1:
        most = memory.gains.reach_limit * wanted
        error = clip(wanted - length, -0.5 * most, 0.5 * most)
        memory.reach_adjust[swing] = clip(memory.reach_adjust[swing] + LEARN_REACH * error, -most, most)
        stride = (pose.hip_x - memory.hip_x[1]) / (t - memory.hip_time[1])
        tx, _ = direction(height_and_slope(s.ground, pose.hip_x)[1])
        most = MOST_SPEED * s.task.speed
        memory.speed_adjust = clip(
            memory.speed_adjust + LEARN_SPEED * (s.task.speed - stride / tx), -most, most
        )
        lean = memory.tally.trunk[1] / max(memory.tally_time, 1e-9)
        memory.lean_adjust = clip(
            memory.lean_adjust + LEARN_LEAN * (-wanted_lean(s, memory)[0] - lean), -MOST_LEAN, MOST_LEAN
        )
    if s.person.passive[memory.stance]:
        feel_yield(pose.legs[memory.stance], s, memory)
    memory.hip_x[1], memory.hip_time[1] = memory.hip_x[0], memory.hip_time[0]
    memory.hip_x[0], memory.hip_time[0] = pose.hip_x, t
    return speed


@law
def feel_yield(limb: Any, s: Any, memory: Any) -> None:
    """Note whether the prosthetic leg gave way by more (up to 1) or less (down to -1, and little yield) than wanted.

    How far its knee is bent as the sound foot lands is what counts. The person feels how much shorter the leg has
    become, not what the knee is set to, and walks a little otherwise from step to step: gains have a term in it, and
    one for a leg that hardly gave way. With the wanted `yield_felt` 0 the person walks alike on every knee.
    """
    more = (limb.thigh - limb.shank - memory.gains.wanted_yield) / YIELD_SPAN
    memory.yielded += LEARN_YIELD * (s.task.yield_felt * clip(more, -1.0, 1.0) - memory.yielded)
    little = clip(more + 1.0, -LITTLE_YIELD, 0.0)
    memory.little_yield += LEARN_YIELD * (s.task.yield_felt * little - memory.little_yield)
