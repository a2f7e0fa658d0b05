"""What carries a standing person: hips that hold the trunk, a sound leg that puts a wanted force on the ground.

The prosthetic leg has its hip alone.
"""

from __future__ import annotations

import math
from typing import Any

from sim.law.balance import pressure_ahead
from sim.law.compiled import law
from sim.law.geometry import Pose, clip
from sim.law.ground import height_and_slope
from sim.law.plan import Wanted
from sim.law.stance import straight_guard

#: Share of forefoot and heel that the pressure under a standing sound foot may reach (ours, 0.7 to 0.9; with more the
#: felt load, a moment late, lets the heel rise).
FOOT_USE = 0.8
#: Share of the weight on the seat at which a person leaves the body to it (ours).
SEATED = 0.3
#: A knee bent further than this is not pressed straight [rad] (ours; 11 degrees).
NEARLY_STRAIGHT = 0.2
#: Load that the prosthetic leg gives up per force along, with feet this far apart [m], down to this share of the weight
#: (ours: half of what keeps the balance alone, body height / distance of the feet).
BALANCE_BY_LOAD, FEET_APART, LEAST_PUSH = 3.0, 0.1, 0.05
#: Share of the weight by which a rising hip pushes more than the foot is felt to carry (ours).
RISING_PUSH = 0.2
#: Distance of both pressures at which moving weight over to the other foot counts half [leg lengths] (ours).
LEAST_LEVER = 0.06


@law
def trunk_torque(pose: Pose, wanted: Wanted, s: Any) -> float:
    """Wanted sum of both hip torques [N m]: they hold the trunk at the wanted lean, its weight included."""
    hold = s.hold
    upright = hold.trunk_stiffness * (pose.trunk + wanted.lean) + hold.trunk_damping * (
        pose.trunk_rate + wanted.lean_rate
    )
    return upright + hold.trunk_weight * math.sin(pose.trunk)


@law
def hip_of_prosthesis(pose: Pose, leg: int, along: float, wanted: Wanted, s: Any, memory: Any) -> float:
    """Hip torque of the prosthetic leg [N m] for the felt load.

    It lets the ground push straight up; to press the knee straight it pushes the residual limb back in the socket, as
    much as gives the wanted moment at the knee; to let it bend it goes slack.
    """
    limb, fy = pose.legs[leg], max(0.0, memory.felt[leg, 1])
    straight = clip(1.0 - (limb.thigh - limb.shank) / NEARLY_STRAIGHT, 0.0, 1.0)
    press = wanted.knee_press * (straight if wanted.knee_press > 0.0 else 1.0)
    # a bent leg pushes up as much as the hip lets it: what is wanted of it, less if it stands ahead of a body that is
    # to go forward
    ahead_of = clip((limb.ankle_x - pose.legs[1 - leg].ankle_x) / FEET_APART, -1.0, 1.0)
    most = (1.0 - wanted.sound_share + max(0.0, press)) * s.base.person.weight - BALANCE_BY_LOAD * ahead_of * along
    if wanted.hip_vy > 0.0:  # rising, the hip pushes before the load is there
        fy += RISING_PUSH * s.base.person.weight
    fy = min(fy, max(most, LEAST_PUSH * s.base.person.weight))
    ahead, high = memory.felt_centre[leg], s.base.person.sole_height
    cx = limb.ankle_x + limb.foot_cos * ahead + limb.foot_sin * high
    cy = limb.ankle_y + limb.foot_sin * ahead - limb.foot_cos * high
    kx = pose.hip_x + s.base.person.thigh_length * limb.thigh_sin
    ky = pose.hip_y - s.base.person.thigh_length * limb.thigh_cos
    moment = press * s.hold.knee_press * min(1.0, 2.0 * fy / s.base.person.weight)
    needed = (moment - (cx - kx) * fy) / max(ky - cy, 0.1)
    fx = 0.0
    if press > 0.0:
        fx = max(0.0, needed)
    elif press < 0.0:  # as if the ground pushed through the hip, and at least what bends the knee
        fx = min(0.0, needed, (cx - pose.hip_x) * fy / min(cy - pose.hip_y, -0.1))
    fx *= min(1.0, abs(press))
    most = s.base.person.hip_strength[leg]
    return clip(-((cx - pose.hip_x) * fy + (pose.hip_y - cy) * fx), -most, most)


@law
def seated_share(wanted: Wanted, s: Any, out: Any) -> float:
    """How far a person leaves the body to the seat, 0 to 1; not when about to rise."""
    if wanted.hip_vy > 0.0:
        return 0.0
    return min(1.0, (out.seat_elastic + out.seat_damping) / (SEATED * s.base.person.weight))


@law
def stand_leg(
    dt: float, pose: Pose, leg: int, along: float, up: float, share_free: float, seated: float, s: Any, memory: Any,
    o: Any,
) -> None:
    """Knee and ankle of a standing sound leg that puts a force on the ground, x and y [N].

    What the ankle cannot give along, because the pressure must stay under the foot, comes from carrying more or less,
    up to the share `share_free` of the weight; then from the hip. What is left is given up. How much the ankle can give
    is judged by the load that is felt, a moment late: with the force of this very moment the leg would drive the spring
    under its own sole, and foot and ground shake at some 10 Hz.
    """  # fmt: skip
    hold, limb, person = s.hold, pose.legs[leg], s.base.person
    hip, load, push = o.hip[leg], max(0.0, memory.felt[leg, 1]), memory.felt[leg, 0]
    far, high = pose.hip_x - limb.ankle_x, max(pose.hip_y - limb.ankle_y, 0.2 * person.leg_length)
    _, slope = height_and_slope(s.base.ground, limb.ankle_x)
    tilt = person.sole_height * push  # friction under the sole turns the foot as well
    forward = clip(FOOT_USE * person.sole[leg, 1, 0] * load + tilt, 0.0, person.ankle_strength)
    backward = max(0.0, -FOOT_USE * person.sole[leg, 0, 0] * load - tilt)
    if seated > 0.0:  # the thigh lies on the seat's side; the foot gives what the hip's hold of the trunk needs
        lever = math.copysign(max(abs(far), 0.1), far)
        up = (1.0 - seated) * up + seated * clip(hip / lever, 0.0, person.weight)
    up = clip(up, 0.0, 2.0 * person.weight)
    ankle = hip - up * far + along * high
    bounded = clip(ankle, -forward, backward)
    if share_free > 0.0:
        up = clip(up + shift_weight(dt, ankle - bounded, pose, share_free, s, memory), 0.0, 2.0 * person.weight)
        bounded = clip(hip - up * far + along * high, -forward, backward)
    # what neither gives, the hip takes from the trunk, which sways for a moment
    most = person.hip_strength[leg]
    hip = clip(hip + (1.0 - seated) * hold.hip_strategy * (bounded - (hip - up * far + along * high)), -most, most)
    o.hip[leg] = hip
    ankle = bounded + hold.foot_flat * (math.atan(slope) - limb.foot) * min(1.0, load / person.weight)
    along = (up * far - hip + ankle) / high
    pull = up - hold.leg_weight[leg]
    knee = -person.thigh_length * (limb.thigh_cos * along + limb.thigh_sin * pull) - hip
    knee = clip(knee, -person.knee_extension_strength, person.knee_flexion_strength)
    flexion, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    o.knee[leg] = knee + straight_guard(flexion, rate, hold)
    o.ankle[leg] = ankle
    o.ankle_damping[leg] = -hold.ankle_damping * (limb.foot_rate - limb.shank_rate)


@law
def shift_weight(dt: float, lacking: float, pose: Pose, share_free: float, s: Any, memory: Any) -> float:
    """Weight that this leg takes over from the other one [N] for a lacking moment [N m].

    It needs the pressure of the other foot well ahead or behind, fades where that is near, and takes a moment: at once
    and with a switch it was the other half of the shaking.
    """
    most, least = share_free * s.base.person.weight, LEAST_LEVER * s.base.person.leg_length
    ahead = pressure_ahead(pose, memory)
    taken = clip(lacking * ahead / (ahead * ahead + least * least), -most, most)
    memory.shift += dt / (dt + s.hold.shift_time) * (taken - memory.shift)
    return memory.shift
