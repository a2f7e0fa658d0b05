"""What a run left behind, as named arrays over time: places, angles, forces and torques of both legs.

Two legs everywhere, axis 1: index 0 is the prosthetic leg (or the first sound one), 1 the sound leg.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sim.body import FOOT, SHANK, THIGH, TRUNK, Body

Array = NDArray[np.float64]
#: Names of the two legs in tables and metrics. With both limbs sound, "prosthetic" is the first leg.
SIDES = ("prosthetic", "sound")


@dataclass(frozen=True, eq=False)
class Surface:
    """The straight ground behind the last knot of a profile, where walks are measured.

    Attributes
    ----------
    start_x : float
        Where the straight part begins [m].
    height : float
        Ground height there [m].
    slope : float
        Angle [rad], downhill negative.
    """

    start_x: float
    height: float
    slope: float

    @property
    def tangent(self) -> Array:
        """Unit vector forward along the surface, shape (2,)."""
        return np.array([np.cos(self.slope), np.sin(self.slope)])

    @property
    def normal(self) -> Array:
        """Unit vector away from the surface, shape (2,)."""
        return np.array([-np.sin(self.slope), np.cos(self.slope)])

    def above(self, points: Array) -> Array:
        """Distance of points, shape (..., 2) [m], from the surface, perpendicular to it [m]."""
        away: Array = (points - np.array([self.start_x, self.height])) @ self.normal
        return away


def surface_of(ground: Any) -> Surface:
    """Straight end of the ground of a `SETTINGS` record."""
    last = int(ground["knots"]) - 1
    return Surface(float(ground["x"][last]), float(ground["height"][last]), float(np.arctan(ground["slope"][last])))


@dataclass(frozen=True, eq=False)
class Series:
    """Named arrays over the frames of a run. Angles counter-clockwise from hanging straight down (trunk: upright).

    Positions are those at which the forces of the same row were evaluated. Torques flex (hip, knee) or dorsiflex
    (ankle) where positive. Shapes: n frames, 2 legs, 2 coordinates (x, y), 3 sole points (heel, ball, toe).

    Attributes
    ----------
    time : ndarray, shape (n,)
        [s]
    interval : float
        Between frames [s].
    standing : ndarray of int, shape (n,)
        Leg that carries, by the walker's own account.
    trunk, trunk_rate : ndarray, shape (n,)
        Backward positive [rad], [rad/s].
    thigh, shank, foot, thigh_rate, shank_rate, foot_rate : ndarray, shape (n, 2)
        Segment angles [rad] and rates [rad/s].
    hip : ndarray, shape (n, 2)
        [m]
    knee, ankle : ndarray, shape (n, 2, 2)
        [m]
    sole : ndarray, shape (n, 2, 3, 2)
        [m]
    mass_centre, mass_centre_velocity : ndarray, shape (n, 2)
        Of the whole person [m], [m/s].
    load, push : ndarray, shape (n, 2)
        Ground force on each foot, perpendicular to and forward along the local surface [N].
    ground_force : ndarray, shape (n, 2, 2)
        The same along x and y [N].
    pressure_centre : ndarray, shape (n, 2)
        Ahead of the ankle, along the sole; 0 without load [m].
    hip_torque, knee_torque, knee_stop_torque, ankle_torque, ankle_stop_torque : ndarray, shape (n, 2)
        Knee and ankle without their end stops [N m].
    """

    time: Array
    interval: float
    standing: NDArray[np.int64]
    trunk: Array
    trunk_rate: Array
    thigh: Array
    shank: Array
    foot: Array
    thigh_rate: Array
    shank_rate: Array
    foot_rate: Array
    hip: Array
    knee: Array
    ankle: Array
    sole: Array
    mass_centre: Array
    mass_centre_velocity: Array
    load: Array
    push: Array
    ground_force: Array
    pressure_centre: Array
    hip_torque: Array
    knee_torque: Array
    knee_stop_torque: Array
    ankle_torque: Array
    ankle_stop_torque: Array

    @cached_property
    def hip_flexion(self) -> Array:
        """Thigh ahead of the trunk, shape (n, 2) [rad]."""
        return self.thigh - self.trunk[:, None]

    @cached_property
    def knee_flexion(self) -> Array:
        """Shape (n, 2) [rad]."""
        return self.thigh - self.shank

    @cached_property
    def dorsiflexion(self) -> Array:
        """0 = foot square to the shank, shape (n, 2) [rad]."""
        return self.foot - self.shank

    @cached_property
    def hip_rate(self) -> Array:
        """Hip flexion rate, shape (n, 2) [rad/s]."""
        return self.thigh_rate - self.trunk_rate[:, None]

    @cached_property
    def knee_rate(self) -> Array:
        """Knee flexion rate, shape (n, 2) [rad/s]."""
        return self.thigh_rate - self.shank_rate

    @cached_property
    def ankle_rate(self) -> Array:
        """Dorsiflexion rate, shape (n, 2) [rad/s]."""
        return self.foot_rate - self.shank_rate


def turned(vectors: Array, angles: Array) -> Array:
    """Vectors of shape (..., 2), turned counter-clockwise by angles of shape (...) [rad]."""
    cos, sin = np.cos(angles), np.sin(angles)
    x, y = vectors[..., 0], vectors[..., 1]
    return np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)


def series_of(frames: Any, body: Body) -> Series:
    """Named arrays from the frames of a run.

    Parameters
    ----------
    frames : ndarray of `FRAME`, shape (n,)
    body : Body
        The one that walked.
    """
    place, forces = frames["body"], frames["forces"]
    centre, angle, rate = place[:, :, 0:2], place[:, :, 2], place[:, :, 5]
    share = body.mass / body.mass.sum()
    upper_joint = centre - turned(np.broadcast_to(body.centre, centre.shape), angle)
    legs = {part: np.array([part, part + 3]) for part in (THIGH, SHANK, FOOT)}
    foot_angle = angle[:, legs[FOOT]]
    reach = np.broadcast_to(body.sole_points, (len(frames), 2, 3, 2))
    ankle = upper_joint[:, legs[FOOT]]
    time = np.array(frames["time"])
    return Series(
        time=time,
        interval=float(time[1] - time[0]) if len(time) > 1 else 0.0,
        standing=np.array(frames["stance"]),
        trunk=angle[:, TRUNK],
        trunk_rate=rate[:, TRUNK],
        thigh=angle[:, legs[THIGH]],
        shank=angle[:, legs[SHANK]],
        foot=foot_angle,
        thigh_rate=rate[:, legs[THIGH]],
        shank_rate=rate[:, legs[SHANK]],
        foot_rate=rate[:, legs[FOOT]],
        hip=upper_joint[:, TRUNK],
        knee=upper_joint[:, legs[SHANK]],
        ankle=ankle,
        sole=ankle[:, :, None, :] + turned(reach, foot_angle[:, :, None]),
        mass_centre=np.einsum("b,nbk->nk", share, centre),
        mass_centre_velocity=np.einsum("b,nbk->nk", share, place[:, :, 3:5]),
        load=np.array(forces["load"]),
        push=np.array(forces["push"]),
        ground_force=_ground_force(forces),
        pressure_centre=np.array(forces["pressure_centre"]),
        hip_torque=np.array(forces["hip"]),
        knee_torque=np.array(forces["knee"]),
        knee_stop_torque=np.array(forces["knee_stop"]),
        ankle_torque=forces["ankle"] + forces["ankle_damping"],
        ankle_stop_torque=np.array(forces["ankle_stop"]),
    )


def _ground_force(forces: Any) -> Array:
    """Sum over the points of each foot, along x and y, shape (n, 2, 2) [N]."""
    across = forces["normal_elastic"] + forces["normal_damping"]
    along = np.where(across > 0.0, forces["friction_elastic"] + forces["friction_damping"], 0.0)
    tangent = forces["tangent"]
    normal = np.stack([-tangent[..., 1], tangent[..., 0]], axis=-1)
    total: Array = (across[..., None] * normal + along[..., None] * tangent).sum(axis=2)
    return total


def named_columns(series: Series, weight: float) -> dict[str, Array]:
    """Time series with units in their names, one column each, for tables.

    Parameters
    ----------
    series : Series
    weight : float
        Of the whole person [N].
    """
    columns: dict[str, Array] = {"time_s": series.time, "trunk_lean_deg": -np.degrees(series.trunk)}
    for name, xy in (("hip", series.hip), ("mass_centre", series.mass_centre)):
        columns[f"{name}_x_m"], columns[f"{name}_y_m"] = xy[:, 0], xy[:, 1]
    for leg, side in enumerate(SIDES):
        for name, point in (
            ("knee", series.knee[:, leg]),
            ("ankle", series.ankle[:, leg]),
            ("heel", series.sole[:, leg, 0]),
            ("toe", series.sole[:, leg, 2]),
        ):
            columns[f"{side}_{name}_x_m"], columns[f"{side}_{name}_y_m"] = point[:, 0], point[:, 1]
        columns[f"{side}_hip_flexion_deg"] = np.degrees(series.hip_flexion[:, leg])
        columns[f"{side}_knee_flexion_deg"] = np.degrees(series.knee_flexion[:, leg])
        columns[f"{side}_ankle_dorsiflexion_deg"] = np.degrees(series.dorsiflexion[:, leg])
        columns[f"{side}_knee_flexion_rate_deg_s"] = np.degrees(series.knee_rate[:, leg])
        columns[f"{side}_force_across_surface_bw"] = series.load[:, leg] / weight
        columns[f"{side}_force_along_surface_bw"] = series.push[:, leg] / weight
        columns[f"{side}_force_vertical_bw"] = series.ground_force[:, leg, 1] / weight
        columns[f"{side}_pressure_centre_ahead_of_ankle_m"] = series.pressure_centre[:, leg]
        columns[f"{side}_hip_torque_nm"] = series.hip_torque[:, leg]
        columns[f"{side}_knee_torque_nm"] = series.knee_torque[:, leg] + series.knee_stop_torque[:, leg]
        columns[f"{side}_ankle_torque_nm"] = series.ankle_torque[:, leg] + series.ankle_stop_torque[:, leg]
    return columns
