"""The records that the laws read and write; one name for one thing, in Python and in compiled code.

Two legs everywhere: index 0 is `PROSTHETIC` (or the second sound leg of an able-bodied walker), 1 is `SOUND`.
Seven bodies: trunk, then thigh, shank, foot of leg 0, then of leg 1. SI units and radians throughout.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

PROSTHETIC, SOUND = 0, 1
TRUNK, THIGH, SHANK, FOOT = 0, 1, 2, 3  # body index of a part of a leg = part + 3 * leg
BODIES = 7
GRAVITY = 9.81  # m/s2, the round standard value used by targets.csv
KNOTS = 64  # most knots of a ground profile

PERSON = np.dtype(
    [
        ("thigh_length", "f8"),
        ("shank_length", "f8"),
        ("leg_length", "f8"),  # hip to ankle
        ("time_unit", "f8"),  # sqrt(leg length / g)
        ("trunk_centre", "f8"),  # mass centre of the trunk above the hip
        ("trunk_moment", "f8"),  # of its weight about the hips if it lay level [N m]
        ("foot_centre", "f8", (2, 2)),  # mass centre of each foot from its ankle
        ("sole", "f8", (2, 3, 2)),  # heel, ball, toe of each foot from its ankle
        ("sole_height", "f8"),  # ankle above the sole
        ("mass", "f8"),  # of the whole person with prosthesis
        ("weight", "f8"),
        ("passive", "i8", (2,)),  # 1: knee and ankle of this leg are a prosthesis
        ("hip_strength", "f8", (2,)),
        ("knee_extension_strength", "f8"),
        ("knee_flexion_strength", "f8"),
        ("ankle_strength", "f8"),
    ],
    align=True,
)
# Height and slope at knots; between knots the slope changes evenly, so height is a parabola and both are continuous.
GROUND = np.dtype(
    [("knots", "i8"), ("x", "f8", (KNOTS,)), ("height", "f8", (KNOTS,)), ("slope", "f8", (KNOTS,))], align=True
)
CONTACT = np.dtype(
    [
        ("stiffness", "f8", (2,)),  # each point of each foot [N/m^1.5]
        ("dissipation", "f8"),  # [s/m]
        ("friction", "f8"),  # coefficient
        ("anchor_stiffness", "f8"),  # holds a resting point [N/m]
        ("anchor_damping", "f8"),  # [N s/m]
    ],
    align=True,
)
KNEE = np.dtype(
    [
        ("quadratic", "i8"),  # 1: loaded flexion torque grows with the square of the rate
        ("flexion_resistance", "f8"),  # loaded [N m s/rad] or, quadratic, [N m s2/rad2]
        ("extension_resistance", "f8"),  # loaded
        ("swing_flexion_resistance", "f8"),
        ("swing_extension_resistance", "f8"),
        ("extension_assist", "f8"),  # torque that brings the unloaded shank forward [N m]
        ("load_on", "f8"),  # above this load the loaded resistance acts [N]
        ("load_off", "f8"),  # below this it is released
        ("stop_stiffness", "f8"),  # end stops of every knee [N m/rad]
        ("stop_damping", "f8"),
        ("maximum_flexion", "f8"),
    ],
    align=True,
)
ANKLE = np.dtype([("stiffness", "f8"), ("damping", "f8")], align=True)  # of the prosthetic foot
TASK = np.dtype(
    [
        ("step_length", "f8", (2,)),  # of the leg that lands
        ("step_time", "f8", (2,)),
        ("speed", "f8"),
        ("trunk_lean", "f8"),  # forward positive
        ("lean_moment", "f8"),  # weight of the leaning trunk about the hips, forward positive [N m]
        ("hip_hold_back", "f8"),  # extra hip extension while the prosthetic leg carries [N m]
        ("early_unloading", "f8"),  # share of the hand-over by which the prosthesis is unloaded sooner
        ("late_hold", "f8"),  # extra hip extension while the sound leg takes over from the prosthesis [N m]
        ("swing_start_hip", "f8"),  # extra hip flexion as the prosthetic swing starts [N m]
        ("yield_felt", "f8"),  # share of the felt yield that the person answers
        ("hip_shift", "f8"),  # hip further ahead over the standing foot than the person would have it [m]
    ],
    align=True,
)
SUPPORT = np.dtype(  # a rail in one hand, a helper at the pelvis; both push on the trunk from outside
    [
        ("rail_on", "i8"),
        ("rail_height", "f8"),  # above the ground
        ("rail_reach", "f8"),  # of the hand ahead of the hip
        ("rail_lift", "f8"),  # carried [N]
        ("rail_brake", "f8"),  # back along the ground [N]
        ("rail_stiffness", "f8"),  # of the grip [N/m]
        ("rail_damping", "f8"),
        ("rail_settle", "f8"),  # in which the hand slides on [s]
        ("rail_strongest", "f8"),  # most force of the hand [N]
        ("helper_on", "i8"),
        ("helper_lift", "f8"),  # carried [N]
        ("helper_stiffness", "f8"),  # along the ground [N/m]
        ("helper_damping", "f8"),
        ("helper_settle", "f8"),  # in which the helper follows [s]
        ("helper_strongest", "f8"),  # most force along the ground [N]
        ("helper_fade_steps", "f8"),  # steps in which all of it fades to nothing; 0: never
    ],
    align=True,
)


def _gain_names() -> tuple[str, ...]:
    table = json.loads((Path(__file__).parent.parent / "data" / "gains.json").read_text(encoding="utf-8"))
    return tuple(table["gains"])


GAIN_NAMES = _gain_names()
_N = len(GAIN_NAMES)
# The same numbers twice: one by one under their names, and as one row `all`, so that a loop can fill them.
GAINS = np.dtype(
    {
        "names": [*GAIN_NAMES, "all"],
        "formats": ["f8"] * _N + [("f8", (_N,))],
        "offsets": [8 * i for i in range(_N)] + [0],
        "itemsize": 8 * _N,
    }
)
# Gain = value + per step * w + per step time * r + per yield * felt yield + per little yield * felt little yield, each
# linear in slope between knots, kept inside low and high.
GAIN_KNOTS, GAIN_TERMS = 11, 5
GAIN_TABLE = np.dtype(
    [
        ("slope", "f8", (GAIN_KNOTS,)),  # of the knots [rad], rising
        ("coefficients", "f8", (GAIN_TERMS, GAIN_KNOTS, _N)),
        ("low", "f8", (_N,)),
        ("high", "f8", (_N,)),
        ("reference", "f8", (2,)),  # step / leg length, step time / time unit
        ("span", "f8", (2,)),
    ],
    align=True,
)
SETTINGS = np.dtype(
    [
        ("person", PERSON),
        ("ground", GROUND),
        ("contact", CONTACT),
        ("knee", KNEE),
        ("ankle", ANKLE),
        ("task", TASK),
        ("support", SUPPORT),
        ("gain_scale", "f8", (_N,)),  # from the person the gains were found for to this one
    ],
    align=True,
)

# What one step was like; written when the next foot lands. All fields are floats, so a table of steps is one array.
STEP = np.dtype(
    [
        ("time", "f8"),  # of the landing that ends the step
        ("leg", "f8"),  # that lands, 0 or 1
        ("length", "f8"),  # heel contact to heel contact along the ground
        ("duration", "f8"),
        ("heel_x", "f8"),
        ("speed", "f8"),  # mean of the hip along the slope
        ("peak", "f8", (2,)),  # low-passed force of each leg during the step [N]
        ("raw_peak", "f8", (2,)),
        ("double_support", "f8"),  # time both feet were loaded at the start of the step
        ("knee_at_landing", "f8"),  # of the leg that lands
        ("knee_of_stance", "f8"),  # of the leg that stood
        ("knee_swing_peak", "f8"),
        ("knee_early_peak", "f8"),  # of the leg that stood, 10 to 70 % of the step
        ("knee_drop", "f8"),  # largest re-extension of the standing knee after mid-stance
        ("knee_peak_rate", "f8"),  # loaded flexion rate of the standing knee
        ("knee_absorbed", "f8"),  # energy taken by the prosthetic knee [J]
        ("trunk", "f8", (3,)),  # least, mean, greatest angle
        ("positive_work", "f8"),  # of all joints of the person
        ("stop_work", "f8", (2,)),  # taken by the end stops of each knee
        ("clearance", "f8"),  # least height of the swinging toe in mid-swing
        ("scuffs", "f8"),
    ],
    align=True,
)
# What the controller and the contact remember.
MEMORY = np.dtype(
    [
        ("stance", "i8"),
        ("steps", "i8"),
        ("landed_time", "f8"),
        ("swing_from", "f8", (3,)),  # ankle x, y and thigh angle where the swing began
        ("heel_x", "f8", (2,)),  # where each heel touched down
        ("reach_adjust", "f8", (2,)),  # learnt from step to step
        ("speed_adjust", "f8"),
        ("lean_adjust", "f8"),
        ("yielded", "f8"),  # prosthetic leg gave way by more (to 1) or less (to -1) than wanted, felt over steps
        ("little_yield", "f8"),  # by how much less than even that tells, from 0 down
        ("ground_angle", "f8"),  # of the ground ahead at the last landing [rad]
        ("turn", "f8"),  # of the ground upward since the landing before [rad]
        ("hip_x", "f8", (2,)),  # at the last two landings
        ("hip_time", "f8", (2,)),
        ("loaded", "i8"),  # state of the prosthetic knee
        ("touching", "i8", (2, 3)),
        ("anchor", "f8", (2, 3, 2)),
        ("filtered", "f8", (2, 2)),  # two poles of the low-pass, each leg
        ("tally", STEP),  # of the step under way
        ("tally_time", "f8"),
        ("knee_highest", "f8"),
        ("scuffing", "i8"),
        ("double", "i8"),  # 1 while both feet have been loaded since the landing
        ("rail_stretch", "f8", (2,)),  # of the grip, along and across the ground [m]
        ("helper_stretch", "f8"),  # along the ground [m]
        ("gains", GAINS),
    ],
    align=True,
)
# What acts at one moment. Joint torques turn the lower segment forward (+) and the upper one back.
FORCES = np.dtype(
    [
        ("hip", "f8", (2,)),
        ("knee", "f8", (2,)),  # muscle of a sound leg, damper and assist of the prosthesis
        ("ankle", "f8", (2,)),
        ("ankle_damping", "f8", (2,)),  # the dissipative part, apart
        ("knee_stop", "f8", (2,)),
        ("ankle_stop", "f8", (2,)),
        ("normal_elastic", "f8", (2, 3)),
        ("normal_damping", "f8", (2, 3)),
        ("friction_elastic", "f8", (2, 3)),
        ("friction_damping", "f8", (2, 3)),
        ("tangent", "f8", (2, 3, 2)),  # of the ground at each point
        ("arm", "f8", (2, 3, 2)),  # of each point from the mass centre of the foot
        ("load", "f8", (2,)),  # sums per foot
        ("push", "f8", (2,)),
        ("pressure_centre", "f8", (2,)),  # ahead of the ankle, in the foot
        ("progress", "f8"),
        ("supported", "i8"),  # 1: rail or helper act
        ("rail", "f8", (2,)),  # on the trunk, x and y [N]
        ("rail_arm", "f8", (2,)),  # of the hand from the mass centre of the trunk [m]
        ("helper", "f8", (2,)),
        ("helper_arm", "f8", (2,)),
    ],
    align=True,
)
FRAME = np.dtype([("time", "f8"), ("stance", "i8"), ("body", "f8", (BODIES, 6)), ("forces", FORCES)], align=True)


def new(dtype: np.dtype[Any], count: int = 1) -> np.ndarray[Any, Any]:
    """Zeroed records."""
    return np.zeros(count, dtype)


# Energy book: work of each source on the bodies, and how much went through it either way [J].
SOURCES = (
    "hip prosthetic",
    "hip sound",
    "knee prosthetic",
    "knee sound",
    "ankle prosthetic",
    "ankle sound",
    "ankle damping prosthetic",
    "ankle damping sound",
    "knee stop prosthetic",
    "knee stop sound",
    "ankle stop prosthetic",
    "ankle stop sound",
    "contact elastic",
    "contact damping",
    "friction elastic",
    "friction damping",
    "gravity",
    "rail",
    "helper",
)
LEDGER = np.dtype(
    [
        ("open", "i8"),
        ("work", "f8", (len(SOURCES),)),
        ("through", "f8", (len(SOURCES),)),
        ("start", "f8", (2,)),  # kinetic, potential energy when the book was opened
        ("now", "f8", (2,)),
        ("velocity", "f8", (BODIES, 3)),
        ("mass", "f8", (BODIES,)),
        ("inertia", "f8", (BODIES,)),
    ],
    align=True,
)
# Body data for the equations of motion in minimal coordinates.
PLANT = np.dtype(
    [("mass", "f8", (BODIES,)), ("inertia", "f8", (BODIES,)), ("centre", "f8", (BODIES, 2))], align=True
)
