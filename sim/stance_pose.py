"""Poses at rest: joint angles from where hip and feet are, and where the mass centre then is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.body import FOOT, SHANK, THIGH, Body

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Feet:
    """Where both feet stand: ankles (x, y) [m], shape (2, 2), and angles of the soles [rad], prosthetic leg first."""

    ankle: Array
    angle: Array


def sink_depth(load: float, stiffness: float, points: int = 2) -> float:
    """How far a foot sinks into the ground under a load [m], if so many points carry evenly."""
    return float((max(load, 0.0) / points / stiffness) ** (2.0 / 3.0))


def feet_on(slope: float, ahead: tuple[float, float], sunk: tuple[float, float], body: Body) -> Feet:
    """Feet flat on a straight slope through the origin.

    Parameters
    ----------
    slope : [rad]
    ahead : of each ankle along the slope [m]
    sunk : depth of each sole [m]
    """
    tangent = np.array([math.cos(slope), math.sin(slope)])
    normal = np.array([-tangent[1], tangent[0]])
    places = [s * tangent + (body.sole_height - d) * normal for s, d in zip(ahead, sunk, strict=True)]
    return Feet(np.array(places), np.full(2, slope))


def leg_angles(hip: Array, ankle: Array, body: Body) -> tuple[float, float] | None:
    """Thigh and shank angle [rad] of a leg, knee ahead; None if the ankle is out of reach."""
    dx, dy = float(ankle[0] - hip[0]), float(ankle[1] - hip[1])
    reach, a, b = math.hypot(dx, dy), body.thigh_length, body.shank_length
    if reach > a + b + 1e-9 or reach < abs(a - b) + 1e-6:
        return None
    flexion = math.pi - math.acos(max(-1.0, min(1.0, (a * a + b * b - reach * reach) / (2 * a * b))))
    thigh = math.atan2(dx, -dy) + math.asin(max(-1.0, min(1.0, b * math.sin(flexion) / reach)))
    return thigh, thigh - flexion


def pose_of(hip: Array, trunk: float, feet: Feet, body: Body) -> Array | None:
    """Minimal coordinates, shape (9,): hip x, y, trunk angle, then thigh, shank, foot of each leg; None if a foot is
    out of reach. The trunk angle is counter-clockwise, so lean forward is negative.
    """
    q = [float(hip[0]), float(hip[1]), trunk]
    for leg in range(2):
        angles = leg_angles(hip, feet.ankle[leg], body)
        if angles is None:
            return None
        q += [*angles, float(feet.angle[leg])]
    return np.array(q)


def mass_centre(q: Array, body: Body) -> Array:
    """Mass centre of the whole person, x and y [m]."""
    mass, centre = body.mass.tolist(), body.centre.tolist()  # plain numbers: a search asks for thousands of poses
    angles = [float(angle) for angle in q]
    c, n = math.cos(angles[2]), math.sin(angles[2])
    x = mass[0] * (angles[0] + c * centre[0][0] - n * centre[0][1])
    y = mass[0] * (angles[1] + n * centre[0][0] + c * centre[0][1])
    for leg in range(2):
        joint_x, joint_y = angles[0], angles[1]
        for part, length in ((THIGH, body.thigh_length), (SHANK, body.shank_length), (FOOT, 0.0)):
            k = part + 3 * leg
            c, n = math.cos(angles[2 + k]), math.sin(angles[2 + k])
            x += mass[k] * (joint_x + c * centre[k][0] - n * centre[k][1])
            y += mass[k] * (joint_y + n * centre[k][0] + c * centre[k][1])
            joint_x, joint_y = joint_x + n * length, joint_y - c * length
    total = sum(mass)
    return np.array([x / total, y / total])


def hip_over(ankle: Array, x: float, flexion: float, body: Body) -> Array:
    """Hip at x above a leg whose knee is bent by `flexion` [rad] and whose ankle is at `ankle`."""
    a, b = body.thigh_length, body.shank_length
    reach = math.sqrt(a * a + b * b + 2 * a * b * math.cos(flexion))
    across = max(-reach, min(reach, x - float(ankle[0])))
    return np.array([float(ankle[0]) + across, float(ankle[1]) + math.sqrt(reach * reach - across * across)])
