"""What else can carry a person: a level seat under the pelvis, the edge of a tread under a sole.

Both with the contact law of the feet: Hunt-Crossley across, a spring and damper until it slides along.
"""

from __future__ import annotations

import math
from typing import Any

from sim.law.compiled import law
from sim.law.contact import hold, normal_force
from sim.law.geometry import Pose


@law
def seat_contact(pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """Force of the seat on the trunk, and where it acts."""
    seat = s.seat
    out.seat_elastic, out.seat_damping, out.seat_friction = 0.0, 0.0, 0.0
    if seat.on == 0:
        return
    c, n = math.cos(pose.trunk), math.sin(pose.trunk)
    rx, ry = 0.0, -seat.below  # the pelvis rolls: its lowest point stays plumb below the hip
    x, y = pose.hip_x, pose.hip_y + ry
    if y >= seat.height or x > seat.front:
        memory.seat_touching = 0
        return
    vx = pose.hip_vx - pose.trunk_rate * ry
    out.seat_elastic, out.seat_damping = normal_force(seat.height - y, -pose.hip_vy, seat.stiffness, seat.dissipation)
    if memory.seat_touching == 0:
        memory.seat_touching, memory.seat_anchor = 1, x
    limit = seat.friction * (out.seat_elastic + out.seat_damping)
    held, damped = hold(x - memory.seat_anchor, vx, limit, seat.anchor_stiffness, seat.anchor_damping)
    memory.seat_anchor = x + held / seat.anchor_stiffness
    out.seat_friction = held + damped
    high = s.base.person.trunk_centre
    out.seat_arm[0], out.seat_arm[1] = rx + n * high, ry - c * high


@law
def edge_contact(pose: Pose, leg: int, s: Any, memory: Any, out: Any) -> None:
    """Force of a tread's edge on the sole between heel and ball, and where it acts; it counts as load of the foot."""
    edge, limb, person, law_of, o = s.edge, pose.legs[leg], s.base.person, s.base.contact, out.base
    out.edge_elastic[leg], out.edge_damping[leg], out.edge_friction[leg] = 0.0, 0.0, 0.0
    if edge.on == 0:
        return
    c, n, nearest = limb.foot_cos, limb.foot_sin, 0
    for k in range(1, edge.on):  # treads are deeper than heel to ball, so that only one edge is under a sole
        if abs(edge.x[k] - limb.ankle_x) < abs(edge.x[nearest] - limb.ankle_x):
            nearest = k
    rx, ry = edge.x[nearest] - limb.ankle_x, edge.y[nearest] - limb.ankle_y
    lx, ly = c * rx + n * ry, c * ry - n * rx  # the edge as the foot sees it
    depth = ly + person.sole_height
    inside = person.sole[leg, 0, 0] < lx < person.sole[leg, 1, 0]
    if depth <= 0.0 or depth > 0.6 * person.sole_height or not inside:
        memory.edge_touching[leg] = 0
        return
    vx, vy = limb.ankle_vx - ry * limb.foot_rate, limb.ankle_vy + rx * limb.foot_rate
    elastic, damping = normal_force(depth, vx * n - vy * c, law_of.stiffness[leg], law_of.dissipation)
    if memory.edge_touching[leg] == 0:
        memory.edge_touching[leg], memory.edge_anchor[leg] = 1, lx
    limit = law_of.friction * (elastic + damping)
    held, damped = hold(
        memory.edge_anchor[leg] - lx, vx * c + vy * n, limit, law_of.anchor_stiffness, law_of.anchor_damping
    )
    memory.edge_anchor[leg] = lx - held / law_of.anchor_stiffness
    out.edge_elastic[leg], out.edge_damping[leg], out.edge_friction[leg] = elastic, damping, held + damped
    out.edge_tangent[leg, 0], out.edge_tangent[leg, 1] = c, n
    cx, cy = person.foot_centre[leg, 0], person.foot_centre[leg, 1]
    out.edge_arm[leg, 0], out.edge_arm[leg, 1] = rx - (c * cx - n * cy), ry - (n * cx + c * cy)
    across = elastic + damping
    total = o.load[leg] + across
    if total > 1e-3 * person.weight:
        o.pressure_centre[leg] = (o.load[leg] * o.pressure_centre[leg] + across * lx) / total
    o.load[leg] = total
    o.push[leg] += held + damped
