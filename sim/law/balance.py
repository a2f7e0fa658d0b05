"""What a standing person senses and corrects: pressure under the feet, the mass centre, the pace of a plan."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import Pose, clip
from sim.law.plan import Wanted, plan_at
from sim.law.records import PROSTHETIC, SOUND


@law
def ground_force(leg: int, out: Any) -> None:
    """Whole force on a foot, x and y [N]."""
    o, fx, fy = out.base, 0.0, 0.0
    for k in range(3):
        normal = o.normal_elastic[leg, k] + o.normal_damping[leg, k]
        if normal > 0.0:
            friction = o.friction_elastic[leg, k] + o.friction_damping[leg, k]
            fx += friction * o.tangent[leg, k, 0] - normal * o.tangent[leg, k, 1]
            fy += friction * o.tangent[leg, k, 1] + normal * o.tangent[leg, k, 0]
    normal, friction = out.edge_elastic[leg] + out.edge_damping[leg], out.edge_friction[leg]
    if normal > 0.0:
        fx += friction * out.edge_tangent[leg, 0] - normal * out.edge_tangent[leg, 1]
        fy += friction * out.edge_tangent[leg, 1] + normal * out.edge_tangent[leg, 0]
    out.ground[leg, 0], out.ground[leg, 1] = fx, fy


@law
def feel(dt: float, leg: int, s: Any, memory: Any, out: Any) -> None:
    """What the person feels of a foot: its force and where it presses, a moment late."""
    blend = dt / (dt + s.hold.feel_time)
    memory.felt[leg, 0] += blend * (out.ground[leg, 0] - memory.felt[leg, 0])
    memory.felt[leg, 1] += blend * (out.ground[leg, 1] - memory.felt[leg, 1])
    memory.felt_centre[leg] += blend * (out.base.pressure_centre[leg] - memory.felt_centre[leg])


@law
def plan_pace(dt: float, pose: Pose, s: Any, memory: Any, out: Any) -> float:
    """How fast the plan goes on: it may wait on the way down for the hip to sink as far as it has planned."""
    if s.plan.waits == 0:
        return 1.0
    wanted = plan_at(memory.clock, 1.0, s.plan)
    pace = 1.0
    if wanted.hip_vy < 0.0 and out.seat_elastic == 0.0:
        pace = clip(1.0 - (pose.hip_y - wanted.hip_y) / s.hold.pace_length, 0.0, s.plan.fastest_pace)
    # a pace that followed at once would be a stiff spring on the hip, through the wanted speed
    memory.pace += dt / (dt + s.hold.pace_time) * (pace - memory.pace)
    return memory.pace


@law
def keep_balance(dt: float, pose: Pose, wanted: Wanted, s: Any, memory: Any, out: Any) -> None:
    """Move the mass centre slowly until both feet together press where they should: a person leans into a push."""
    total, moment = 0.0, 0.0
    for leg in range(2):
        limb, fy = pose.legs[leg], max(0.0, memory.felt[leg, 1])
        under = memory.felt_centre[leg] * limb.foot_cos + s.base.person.sole_height * limb.foot_sin
        total += fy
        moment += fy * (limb.ankle_x + under)
    if s.hold.balance_rate <= 0.0 or total < 0.7 * s.base.person.weight or out.seat_elastic > 0.0:
        return
    step = dt * s.hold.balance_rate * (wanted.centre - moment / total)
    memory.balance = clip(memory.balance + step, -s.hold.balance_limit, s.hold.balance_limit)


@law
def mass_centre_of(pose: Pose, s: Any) -> tuple[float, float]:
    """Mass centre of the whole person along x, and its rate [m, m/s]: what a sense of balance gives."""
    hold, person = s.hold, s.base.person
    c, n = math.cos(pose.trunk), math.sin(pose.trunk)
    rx, ry = c * hold.centre[0, 0] - n * hold.centre[0, 1], n * hold.centre[0, 0] + c * hold.centre[0, 1]
    x, vx = hold.mass_share[0] * rx, -hold.mass_share[0] * pose.trunk_rate * ry
    for leg in range(2):
        limb, b = pose.legs[leg], 1 + 3 * leg
        below = hold.mass_share[b + 1] + hold.mass_share[b + 2]
        # thigh, with what hangs from its end
        mx = hold.mass_share[b] * hold.centre[b, 0]
        my = hold.mass_share[b] * hold.centre[b, 1] - below * person.thigh_length
        x += limb.thigh_cos * mx - limb.thigh_sin * my
        vx -= limb.thigh_rate * (limb.thigh_sin * mx + limb.thigh_cos * my)
        mx = hold.mass_share[b + 1] * hold.centre[b + 1, 0]
        my = hold.mass_share[b + 1] * hold.centre[b + 1, 1] - hold.mass_share[b + 2] * person.shank_length
        x += limb.shank_cos * mx - limb.shank_sin * my
        vx -= limb.shank_rate * (limb.shank_sin * mx + limb.shank_cos * my)
        mx, my = hold.mass_share[b + 2] * hold.centre[b + 2, 0], hold.mass_share[b + 2] * hold.centre[b + 2, 1]
        x += limb.foot_cos * mx - limb.foot_sin * my
        vx -= limb.foot_rate * (limb.foot_sin * mx + limb.foot_cos * my)
    return pose.hip_x + x, pose.hip_vx + vx


@law
def wanted_total(pose: Pose, wanted: Wanted, shift: float, s: Any) -> tuple[float, float]:
    """Force that should act on the whole person, x and y [N]."""
    hold, weight = s.hold, s.base.person.weight
    x, vx = mass_centre_of(pose, s)
    along = hold.along_stiffness * (wanted.centre + shift - x) + hold.along_damping * (wanted.centre_rate - vx)
    lift = hold.height_stiffness * (wanted.hip_y - pose.hip_y) + hold.height_damping * (wanted.hip_vy - pose.hip_vy)
    return along, weight + lift


@law
def pressure_ahead(pose: Pose, memory: Any) -> float:
    """How far the pressure of the prosthetic foot is ahead of that of the sound one [m]."""
    first, second = pose.legs[PROSTHETIC], pose.legs[SOUND]
    return first.ankle_x + memory.felt_centre[PROSTHETIC] - second.ankle_x - memory.felt_centre[SOUND]
