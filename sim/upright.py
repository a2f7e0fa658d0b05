"""Statics of standing: where the hip has to be so that each leg carries what it should."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sim.body import BALL, HEEL, PROSTHETIC, SHANK, SOUND, Body
from sim.errors import RampwalkError
from sim.stance_pose import Array, Feet, feet_on, hip_over, mass_centre, pose_of, sink_depth

#: Pressure under the sound foot ahead of its ankle at rest, as a share of the way to the ball (ours, 0 to 0.5).
SOUND_PRESSURE = 0.22
#: Places of the hip that are tried, from so far behind to so far ahead of the prosthetic ankle [leg lengths].
TRIED, FARTHEST = 401, 0.45
#: Furthest forward tilt of a bent leg's shank [rad] (ours; 24 degrees: a prosthetic ankle of 230 N m/rad then carries
#: the whole forefoot).
LARGEST_TILT = math.radians(24.0)
#: Farthest that the mass centre may be from where the share needs it [m]: less than the give of ankles and soles.
NEAR_ENOUGH = 0.02


class Upright(NamedTuple):
    """A pose at rest: coordinates, hip, feet, and how far the mass centre is ahead of where it should be [m]."""

    q: Array
    hip: Array
    feet: Feet
    off: float


def pressure_centres(
    q: Array, slope: float, load: float, ankle_stiffness: float | None, body: Body
) -> tuple[float, float]:
    """Where each foot presses, ahead of its ankle [m]: prosthetic by its spring, sound by choice.

    Parameters
    ----------
    q : shape (9,)
    slope : [rad]
    load : on the prosthetic foot [N]
    ankle_stiffness : [N m/rad]; None if both legs are sound
    """
    chosen = [SOUND_PRESSURE * float(body.sole_points[leg, BALL, 0]) for leg in (PROSTHETIC, SOUND)]
    if ankle_stiffness is not None:
        sprung = ankle_stiffness * (slope - float(q[2 + SHANK])) / max(load, 1.0)
        heel, ball = (float(body.sole_points[PROSTHETIC, point, 0]) for point in (HEEL, BALL))
        chosen[PROSTHETIC] = min(max(sprung, heel), ball)
    return chosen[PROSTHETIC], chosen[SOUND]


def upright(
    body: Body, slope: float, foot_ahead: float, share: float, lean: float, contact: tuple[float, float],
    ankle_stiffness: float | None, flexion: float = 0.0,
) -> Upright | None:
    """Pose at rest in which the prosthetic leg carries a share of the weight.

    Parameters
    ----------
    body : Body
    slope : [rad], downhill negative
    foot_ahead : prosthetic ankle ahead of the sound one, along the slope [m]
    share : of the weight on the prosthetic leg
    lean : of the trunk, forward positive [rad]
    contact : stiffness of each foot on the ground [N/m^1.5]
    ankle_stiffness : of the prosthetic ankle [N m/rad]; None if both legs are sound
    flexion : of the prosthetic knee [rad]

    Returns
    -------
    Upright or None
        The pose whose mass centre is nearest to where the share needs it; None if the sound leg cannot reach the
        ground in any of the poses tried.
    """  # fmt: skip
    weight = body.total_mass * 9.81
    sunk = (sink_depth(share * weight, contact[0]), sink_depth((1 - share) * weight, contact[1]))
    feet = feet_on(slope, (foot_ahead, 0.0), sunk, body)
    reach = FARTHEST * body.leg_length
    best: Upright | None = None
    for x in np.linspace(feet.ankle[PROSTHETIC, 0] - reach, feet.ankle[PROSTHETIC, 0] + reach, TRIED):
        hip = hip_over(feet.ankle[PROSTHETIC], float(x), flexion, body)
        q = pose_of(hip, -lean, feet, body)
        if q is None:
            continue
        centres = pressure_centres(q, slope, share * weight, ankle_stiffness, body)
        places = [feet.ankle[leg, 0] + centres[leg] * math.cos(slope) for leg in (PROSTHETIC, SOUND)]
        off = float(mass_centre(q, body)[0] - share * places[PROSTHETIC] - (1 - share) * places[SOUND])
        if best is None or abs(off) < abs(best.off):
            best = Upright(q, hip, feet, off)
    return best


def bent(
    body: Body, feet: Feet, share: float, flexion: float, largest_lean: float, ankle_stiffness: float | None,
) -> Upright | None:
    """Pose at rest on level ground with both knees bent, the weight back over the heels and the trunk leaning forward.

    The prosthetic shank stays as upright as the lean allows: its ankle gives little, and a foot that is pressed onto
    its toe straightens the knee.

    Parameters
    ----------
    body : Body
    feet : Feet
    share : of the weight on the prosthetic leg
    flexion : of the prosthetic knee [rad]
    largest_lean : of the trunk [rad]
    ankle_stiffness : of the prosthetic ankle [N m/rad]; None if both legs are sound

    Returns
    -------
    Upright or None
        The pose nearest to balance; None if the sound foot is out of reach.
    """  # fmt: skip
    load, best = share * body.total_mass * 9.81, None
    thigh, shank = body.thigh_length, body.shank_length
    for tilt in np.linspace(0.0, min(0.6 * flexion, LARGEST_TILT), 16):
        angle = flexion - tilt
        hip = feet.ankle[PROSTHETIC] + np.array(
            [shank * math.sin(tilt) - thigh * math.sin(angle), shank * math.cos(tilt) + thigh * math.cos(angle)]
        )
        legs = pose_of(hip, 0.0, feet, body)
        if legs is None:
            continue
        for lean in np.linspace(0.0, largest_lean, 33):
            q = legs.copy()
            q[2] = -lean
            centres = pressure_centres(q, 0.0, load, ankle_stiffness, body)
            places = [feet.ankle[leg, 0] + centres[leg] for leg in (PROSTHETIC, SOUND)]
            off = float(mass_centre(q, body)[0] - share * places[PROSTHETIC] - (1 - share) * places[SOUND])
            if best is None or abs(off) < abs(best.off):
                best = Upright(q, hip, feet, off)
        if best is not None and abs(best.off) < 0.5 * NEAR_ENOUGH:
            return best
    return best


def upright_or_error(found: Upright | None, foot_ahead: float) -> Upright:
    """The pose, or RampwalkError if there is none in balance."""
    if found is None or abs(found.off) > NEAR_ENOUGH:
        raise RampwalkError(
            f"prosthetic_foot_ahead_m = {foot_ahead:g} m: on this slope the sound leg does not reach the ground in "
            "balance while the prosthetic knee is straight; put the lower foot nearer, or the prosthetic foot ahead "
            "downhill and behind uphill.",
            "prosthetic_foot_ahead_m",
            foot_ahead,
        )
    return found
