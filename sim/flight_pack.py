"""From the settings of a flight of stairs to the records that its law reads: treads, edges, landings, gains."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from sim.body import HEEL, PROSTHETIC, SOUND, Body
from sim.law.records import GRAVITY

#: Run of a riser's face [m] (ours).
FACE = 0.008


def pack_treads(row: Any, edge: float, riser: float, tread: float, count: int) -> None:
    """Write a flight into a record of `POSTURE`: so many edges, level treads between, risers with steep faces.

    Parameters
    ----------
    row : record of `POSTURE`
    edge : x of the first edge, of the tread at height 0 [m]
    riser, tread : [m]
    count : edges
    """
    ground = row["base"]["ground"]
    ground["knots"], row["edge"]["on"] = 3 * count, count
    for k in range(count):
        x, y, at = edge + k * tread, -k * riser, slice(3 * k, 3 * k + 3)
        ground["x"][at] = x, x + 0.5 * FACE, x + FACE
        ground["height"][at] = y, y - 0.5 * riser, y - riser
        ground["slope"][at] = 0.0, -2.0 * riser / FACE, 0.0
        row["edge"]["x"][k], row["edge"]["y"][k] = x, y


def footholds(body: Body, edge: float, riser: float, tread: float, own: Mapping[str, float], count: int) -> Any:
    """Where the ankles should land, shape (count, 2) [m]: sound foot onto the first tread below, then in turn.

    The sound heel is `sound_gap` [leg lengths] ahead of the riser behind it, the prosthetic foot has `over` of its
    length beyond the edge.
    """
    places = np.empty((count, 2))
    sound = FACE + own["sound_gap"] * body.leg_length - float(body.sole_points[SOUND, HEEL, 0])
    prosthetic = ankle_before_edge(body, own["over"])
    for k in range(count):
        x = edge + k * tread + sound if k % 2 == 0 else edge + (k + 1) * tread - prosthetic
        places[k] = x, body.sole_height - (k + 1) * riser
    return places


def ankle_before_edge(body: Body, over: float) -> float:
    """How far the prosthetic ankle is before an edge that a share of the foot is beyond [m]."""
    return float(body.sole_points[PROSTHETIC, HEEL, 0]) + body.foot_length * (1.0 - over)


def hip_above(body: Body, flexion: float) -> float:
    """Height of the hip above the ankle below it, knee bent by `flexion` [rad] [m]."""
    a, b = body.thigh_length, body.shank_length
    return math.sqrt(a * a + b * b + 2.0 * a * b * math.cos(flexion))


def pack_flight(row: Any, body: Body, own: Mapping[str, float], places: Any, riser: float, start: float) -> None:
    """Write landings and gains into a record of `POSTURE`.

    Parameters
    ----------
    row : record of `POSTURE`
    body : Body
    own : gains of `sim.parameters.ours_flight`, in leg lengths L, sqrt(L / g), weights and their products
    places : shape (n, 2), of the ankles at each landing [m]
    riser : [m]
    start : time of the first lift [s]
    """
    flight, count = row["flight"], len(places)
    length, time = body.leg_length, math.sqrt(body.leg_length / GRAVITY)
    torque, force = body.total_mass * GRAVITY * length, body.total_mass * GRAVITY
    flight["on"], flight["start"] = count, start
    for k, place in enumerate(places):
        sound = k % 2 == 0
        swing = "swing_first" if k == 0 else "swing_sound" if sound else "swing_prosthetic"
        flight["leg"][k], flight["ankle_to"][k] = SOUND if sound else PROSTHETIC, place
        flight["duration"][k] = own[swing] * time
        flight["wait"][k] = own["wait_sound" if sound else "wait_prosthetic"] * time
        if k + 1 < count:
            span = own["wait_prosthetic"] + own["swing_prosthetic"] + own["later"]
            flight["hip"][k], flight["hip_rate"][k] = place[1] - riser + own["hip"] * length, own["hip_rate"]
            flight["centre"][k], flight["centre_rate"][k] = own["centre"], own["centre_rate"]
        else:
            span = own["last_time"]
            flight["hip"][k], flight["hip_rate"][k] = place[1] + hip_above(body, own["last_knee"]), 0.0
            flight["centre"][k], flight["centre_rate"][k] = own["last_centre"], 0.0
        flight["time"][k] = span * time
        flight["hip_rate"][k] *= length / time
        flight["centre"][k] = place[0] + flight["centre"][k] * length
        flight["centre_rate"][k] *= length / time
    for name in ("foot_angle", "roll_most", "most_up", "thigh_high", "high_until", "share", "press", "bent"):
        flight[name] = own[name]
    for name in ("roll_stiffness", "thigh_stiffness", "bend"):
        flight[name] = own[name] * torque
    for name in ("roll_damping", "thigh_damping"):
        flight[name] = own[name] * torque * time
    for name in ("onset", "giving", "roll_time"):
        flight[name] = own[name] * time
    for name in ("reach_rate", "speed"):
        flight[name] = own[name] * length / time
    flight["clearance"], flight["ahead"] = own["clearance"] * length, own["ahead"] * length
    flight["lean"] = (own["lean_prosthetic"], own["lean_sound"])
    flight["aim_from"] = own["high_until"] + own["aim_after"]
    flight["height_stiffness"] = own["height_stiffness"] * force / length
    flight["height_damping"] = own["height_damping"] * force * time / length
