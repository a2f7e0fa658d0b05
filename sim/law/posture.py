"""A person who holds or moves the body along a plan: the whole law of standing, bending, sitting and the single stair.

A sound leg puts a wanted force on the hip through its joints, as in the walk; both hips hold the trunk. The prosthetic
leg has its hip alone: knee and ankle are those of `sim/law/knee.py`, called by the same function as in the walk.
"""

from __future__ import annotations

import math
from typing import Any

from sim.law.balance import feel, ground_force, keep_balance, plan_pace, wanted_total
from sim.law.compiled import law
from sim.law.contact import foot_contact
from sim.law.flight import act_flight
from sim.law.geometry import Pose, clip
from sim.law.ground import height_and_slope
from sim.law.knee_lock import lock_torque, tend_lock
from sim.law.plan import Wanted, plan_at
from sim.law.posture_legs import hip_of_prosthesis, seated_share, stand_leg, trunk_torque
from sim.law.posture_records import PULSE, RAMP
from sim.law.posture_swing import NOBODY, swing_leg, swing_prosthesis, swinging_leg
from sim.law.records import PROSTHETIC, SOUND
from sim.law.supports import edge_contact, seat_contact
from sim.law.walker import passive_joints

STANDING, SANK, TRUNK_FELL, NUMBERS_LOST, TOPPLED, SEATED_WELL, LANDED_WELL, PLAN_DONE = 0, 1, 2, 3, 4, 5, 6, 7
#: Share of the weight that may go over to the other foot to keep the balance, twice as much onto a straight knee
#: (ours).
SHIFTED = 0.25


@law
def act_posture(t: float, dt: float, pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """Fill `out` with everything that acts at this pose, and bring `memory` up to date."""
    o = out.base
    for leg in range(2):
        foot_contact(pose, leg, s.base, memory.base, o)
        edge_contact(pose, leg, s, memory, out)
        ground_force(leg, out)
        feel(dt, leg, s, memory, out)
        o.knee[leg], o.ankle[leg], o.ankle_damping[leg] = 0.0, 0.0, 0.0
    seat_contact(pose, s, memory, out)
    pace = plan_pace(dt, pose, s, memory, out)
    if memory.sound_up == 0:  # while the sound foot swings, the plan waits
        memory.clock += pace * dt
    wanted = plan_at(memory.clock, pace, s.plan)
    keep_balance(dt, pose, wanted, s, memory, out)
    out.wanted_hip[0], out.wanted_hip[1], out.wanted_lean = wanted.hip_x, wanted.hip_y, wanted.lean
    out.sound_share, out.clock, out.wanted_centre = wanted.sound_share, memory.clock, wanted.centre + memory.balance
    if s.flight.on > 0 and t >= s.flight.start:
        act_flight(t, pose, s, memory, out)
    else:
        act_muscles(t, dt, pose, wanted, s, memory, out)
    passive_joints(pose, s.base, memory.base, o)
    act_lock(t, dt, pose, s, memory, out)
    act_push(t, pose, s, out)


@law
def act_muscles(t: float, dt: float, pose: Pose, wanted: Wanted, s: Any, memory: Any, out: Any) -> None:
    """Hips, and knees and ankles of sound legs."""
    o, person = out.base, s.base.person
    trunk = trunk_torque(pose, wanted, s)
    along, up = wanted_total(pose, wanted, memory.balance, s)
    seated = seated_share(wanted, s, out)
    along *= 1.0 - seated  # a seat needs no balance
    swings = swinging_leg(t, s, memory, o, pose)
    if swings == PROSTHETIC:
        most = person.hip_strength[PROSTHETIC]
        o.hip[PROSTHETIC] = clip(swing_prosthesis(t, pose, s, memory), -most, most)
        most = person.hip_strength[SOUND]
        o.hip[SOUND] = clip(trunk - o.hip[PROSTHETIC], -most, most)
        stand_leg(dt, pose, SOUND, along, up - memory.felt[PROSTHETIC, 1], 0.0, seated, s, memory, o)
        return
    if swings != NOBODY:
        most = person.hip_strength[SOUND]
        o.hip[SOUND] = clip(swing_leg(t, pose, s, memory, o), -most, most)
        most = person.hip_strength[PROSTHETIC]
        o.hip[PROSTHETIC] = clip(trunk - o.hip[SOUND], -most, most)
        return
    if person.passive[PROSTHETIC]:
        o.hip[PROSTHETIC] = hip_of_prosthesis(pose, PROSTHETIC, along, wanted, s, memory)
        most = person.hip_strength[SOUND]
        o.hip[SOUND] = clip(trunk - o.hip[PROSTHETIC], -most, most)
        along -= memory.felt[PROSTHETIC, 0] + out.seat_friction
        sinking = max(0.0, -pose.hip_vy - s.plan.sinking_limit)  # faster is caught
        free = person.weight * wanted.sound_share - s.hold.sinking_damping * pose.hip_vy
        free += s.hold.height_damping * sinking
        held = up - memory.felt[PROSTHETIC, 1] - out.seat_elastic - out.seat_damping
        if out.seat_elastic == 0.0:
            held = max(held, s.hold.least_sound_share * person.weight)
        up = wanted.height_hold * held + (1.0 - wanted.height_hold) * free
        free_share = SHIFTED * (1.0 + max(0.0, wanted.knee_press))
        stand_leg(dt, pose, SOUND, along, up, free_share, seated, s, memory, o)
        return
    up -= out.seat_elastic + out.seat_damping
    for leg in range(2):
        share = wanted.sound_share if leg == SOUND else 1.0 - wanted.sound_share
        most = person.hip_strength[leg]
        o.hip[leg] = clip(share * trunk, -most, most)
        stand_leg(dt, pose, leg, share * along, share * up, 0.0, seated, s, memory, o)


@law
def act_lock(t: float, dt: float, pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """The lock of the prosthetic knee, if there is one."""
    out.lock = 0.0
    if s.base.person.passive[PROSTHETIC] == 0:
        return
    limb, o = pose.legs[PROSTHETIC], out.base
    flexion, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    toe = o.pressure_centre[PROSTHETIC] / s.base.person.sole[PROSTHETIC, 2, 0]
    pressed = max(0.0, o.knee_stop[PROSTHETIC])
    tend_lock(t, dt, flexion, rate, o.load[PROSTHETIC], pressed, toe, s.lock, memory.lock)
    out.lock = lock_torque(flexion, rate, s.lock, memory.lock)


@law
def act_push(t: float, pose: Pose, s: Any, out: Any) -> None:
    """A level push on the trunk: half a sine wave, or one that grows evenly and then stays."""
    push, since = s.push, t - s.push.start
    out.push = 0.0
    if push.kind == PULSE and 0.0 < since < push.duration:
        out.push = push.force * math.sin(math.pi * since / push.duration)
    elif push.kind == RAMP and since > 0.0:
        out.push = push.force * min(1.0, since / push.duration)
    above = push.height - s.base.person.trunk_centre
    out.push_arm[0], out.push_arm[1] = -above * math.sin(pose.trunk), above * math.cos(pose.trunk)


@law
def posture_status(t: float, pose: Pose, s: Any, memory: Any, out: Any) -> int:
    """Whether the run goes on, and if not, why."""
    height, _ = height_and_slope(s.base.ground, pose.hip_x)
    high = pose.hip_y - height
    if not (math.isfinite(high) and math.isfinite(pose.trunk_rate)):
        return NUMBERS_LOST
    status = STANDING
    first, second = pose.legs[0].ankle_x, pose.legs[1].ankle_x
    seat = out.seat_elastic + out.seat_damping
    if high < s.lowest_hip:
        status = SANK
    elif s.seat.ends_at > 0.0 and seat > s.seat.ends_at * s.base.person.weight:
        status = SEATED_WELL
    elif memory.landed > 0.0 and t > memory.landed + s.swing.watch:
        status = LANDED_WELL
    elif s.plan.ends_at > 0.0 and memory.clock > s.plan.ends_at:
        status = PLAN_DONE
    elif pose.hip_x > max(first, second) + s.most_ahead or pose.hip_x < min(first, second) - s.most_behind:
        status = TOPPLED
    elif abs(pose.trunk) > s.most_lean:
        status = TRUNK_FELL
    return status
