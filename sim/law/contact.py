"""Foot and ground: Hunt-Crossley normal force at heel, ball and toe; friction that holds a resting foot."""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.geometry import Pose
from sim.law.ground import direction, height_and_slope


@law
def normal_force(depth: float, closing_speed: float, stiffness: float, dissipation: float) -> tuple[float, float]:
    """Elastic and dissipative part of the normal force [N].

    F = k d^1.5 (1 + c * closing speed), never pulling; Hunt and Crossley (1975), doi 10.1115/1.3423596 (from memory).

    Parameters
    ----------
    depth : penetration [m], positive
    closing_speed : rate of penetration [m/s]
    stiffness : k [N/m^1.5]
    dissipation : c [s/m]
    """
    elastic = stiffness * depth * math.sqrt(depth)
    return elastic, max(-elastic, elastic * dissipation * closing_speed)


@law
def hold(stretch: float, slip_speed: float, limit: float, stiffness: float, damping: float) -> tuple[float, float]:
    """Elastic and damping part of the friction along the ground [N].

    A spring and damper hold the point where it touched; beyond the limit (mu x normal) the point slides.
    """
    elastic, damped = -stiffness * stretch, -damping * slip_speed
    if abs(damped) > limit:
        damped = math.copysign(limit, damped)
    if abs(elastic + damped) > limit:
        elastic = math.copysign(limit, elastic + damped) - damped
    return elastic, damped


@law
def foot_contact(pose: Pose, leg: int, s: Any, memory: Any, out: Any) -> None:
    """Forces of the ground on one foot, and where they act."""
    limb, law_of, ground, person = pose.legs[leg], s.contact, s.ground, s.person
    cx, cy = person.foot_centre[leg, 0], person.foot_centre[leg, 1]
    c, n = limb.foot_cos, limb.foot_sin
    load, push, moment = 0.0, 0.0, 0.0
    for k in range(3):
        px, py = person.sole[leg, k, 0], person.sole[leg, k, 1]
        rx, ry = c * px - n * py, n * px + c * py
        x, y = limb.ankle_x + rx, limb.ankle_y + ry
        out.normal_elastic[leg, k], out.normal_damping[leg, k] = 0.0, 0.0
        out.friction_elastic[leg, k], out.friction_damping[leg, k] = 0.0, 0.0
        height, slope = height_and_slope(ground, x)
        if y >= height:
            memory.touching[leg, k] = 0
            continue
        tx, ty = direction(slope)
        vx, vy = limb.ankle_vx - ry * limb.foot_rate, limb.ankle_vy + rx * limb.foot_rate
        elastic, damping = normal_force(
            (height - y) * tx, vx * ty - vy * tx, law_of.stiffness[leg], law_of.dissipation
        )
        if memory.touching[leg, k] == 0:
            memory.touching[leg, k] = 1
            memory.anchor[leg, k, 0], memory.anchor[leg, k, 1] = x, y
        stretch = (x - memory.anchor[leg, k, 0]) * tx + (y - memory.anchor[leg, k, 1]) * ty
        held, damped = hold(
            stretch,
            vx * tx + vy * ty,
            law_of.friction * (elastic + damping),
            law_of.anchor_stiffness,
            law_of.anchor_damping,
        )
        kept = -held / law_of.anchor_stiffness  # after sliding the anchor has been dragged along
        memory.anchor[leg, k, 0], memory.anchor[leg, k, 1] = x - kept * tx, y - kept * ty
        out.normal_elastic[leg, k], out.normal_damping[leg, k] = elastic, damping
        out.friction_elastic[leg, k], out.friction_damping[leg, k] = held, damped
        out.tangent[leg, k, 0], out.tangent[leg, k, 1] = tx, ty
        out.arm[leg, k, 0] = rx - (c * cx - n * cy)
        out.arm[leg, k, 1] = ry - (n * cx + c * cy)
        load += elastic + damping
        push += held + damped
        moment += (elastic + damping) * px
    out.load[leg], out.push[leg] = load, push
    out.pressure_centre[leg] = moment / load if load > 1e-3 * person.weight else 0.0
