"""Person and prosthesis -> seven rigid segments: masses, inertias, mass centres, lengths, soles.

Segments in order: trunk (with head and arms), then thigh, shank, foot of the prosthetic leg, then of the sound leg.
Frame of a segment: origin at its upper joint (trunk: at the hip), segment hanging straight down (trunk: upright),
x forward, y up.

How masses scale. The person's mass includes the prosthesis. All tissue scales with one "intact mass": the mass the
person would have with two sound legs. It is solved so that trunk, sound leg, residual limb and prosthesis together
weigh what the person weighs. Muscle lost from the residual limb is not taken off.

The residual limb is the upper part of a thigh whose mass per length falls in a straight line from hip to knee, the line
that gives the table's mass and mass centre. What that line lacks of the table's inertia is thickness and is kept
per kg. So a residual limb as long as the thigh is the thigh.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.errors import RampwalkError, number_text
from sim.parameters import foot_length_hansen2004, lengths_drillis1966, ours, segments_winter2009
from sim.scenario import Components, Person, ProstheticFoot

PROSTHETIC, SOUND = 0, 1
"""Leg index. With both limbs sound, leg 0 is simply the first."""
TRUNK, THIGH, SHANK, FOOT = 0, 1, 2, 3
"""Segment index; part of a leg = part + 3 * leg."""
HEEL, BALL, TOE = 0, 1, 2
"""Index of a sole point."""
SEGMENTS = (
    "trunk",
    "prosthetic thigh",
    "prosthetic shank",
    "prosthetic foot",
    "sound thigh",
    "sound shank",
    "sound foot",
)

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Body:
    """Seven rigid segments. Arrays are read-only.

    Attributes
    ----------
    mass : ndarray, shape (7,)
        [kg]
    inertia : ndarray, shape (7,)
        About the mass centre [kg m2].
    centre : ndarray, shape (7, 2)
        Mass centre in the segment frame [m].
    thigh_length, shank_length : float
        Hip to knee, knee to ankle [m]; the same for both legs.
    sole_height : float
        Ankle above the sole, without footwear [m].
    sole_points : ndarray, shape (2, 3, 2)
        Per leg (prosthetic, sound) heel, ball, toe from the ankle in the foot frame [m]. The toe point is the
        foremost that can carry, not the tip.
    foot_length : float
        Heel to tip [m].
    intact_mass : float
        Mass with two sound legs from which all tissue is scaled [kg].
    """

    mass: Array
    inertia: Array
    centre: Array
    thigh_length: float
    shank_length: float
    sole_height: float
    sole_points: Array
    foot_length: float
    intact_mass: float

    def __post_init__(self) -> None:
        for array in (self.mass, self.inertia, self.centre, self.sole_points):
            array.setflags(write=False)

    @property
    def leg_length(self) -> float:
        """Hip to ankle of a straight leg [m]."""
        return self.thigh_length + self.shank_length

    @property
    def total_mass(self) -> float:
        """Whole mass with prosthesis [kg]."""
        return float(self.mass.sum())


class _Segment(NamedTuple):
    """Mass [kg], mass centre from the upper joint (x, y) [m], inertia about it [kg m2]."""

    mass: float
    x: float
    y: float
    inertia: float


def _joined(*parts: _Segment) -> _Segment:
    """Rigidly joined parts as one segment (parallel-axis rule)."""
    mass = sum(part.mass for part in parts)
    x = sum(part.mass * part.x for part in parts) / mass
    y = sum(part.mass * part.y for part in parts) / mass
    inertia = sum(part.inertia + part.mass * ((part.x - x) ** 2 + (part.y - y) ** 2) for part in parts)
    return _Segment(mass, x, y, inertia)


def _rod(mass: float, top: float, bottom: float) -> _Segment:
    """Even thin rod from `top` to `bottom`, distances below the joint [m]."""
    return _Segment(mass, 0.0, -(top + bottom) / 2, mass * (bottom - top) ** 2 / 12)


def residual_share(fraction: float) -> tuple[float, float, float]:
    """Residual limb beside the whole thigh.

    Parameters
    ----------
    fraction : float
        Length of the residual limb / thigh length, above 0, up to 1.

    Returns
    -------
    mass : float
        Share of the thigh's mass.
    centre : float
        Mass centre below the hip [fraction of thigh length].
    gyration_squared : float
        Squared radius of gyration about the mass centre [fraction of thigh length squared].

    Notes
    -----
    Mass per length a + b s at distance s from the hip, with a + b/2 = 1 and a/2 + b/3 = c, the table's mass centre:
    b = 12 c - 6. The part of the table's squared gyration that this line does not give is added at every length.
    """
    table = segments_winter2009.parameters()
    centre_whole, gyration_whole = table["thigh_centre"].value, table["thigh_gyration"].value
    slope = 12 * centre_whole - 6
    start = 1 - slope / 2

    def along(length: float) -> tuple[float, float, float]:
        mass = start * length + slope * length**2 / 2
        centre = (start * length**2 / 2 + slope * length**3 / 3) / mass
        second = (start * length**3 / 3 + slope * length**4 / 4) / mass
        return mass, centre, second - centre**2

    thickness = gyration_whole**2 - along(1.0)[2]
    mass, centre, spread = along(fraction)
    return mass, centre, spread + thickness


def build_body(
    person: Person | None = None, components: Components | None = None, foot: ProstheticFoot | None = None
) -> Body:
    """Segments of a person with a prosthesis, or of one with two sound legs.

    Parameters
    ----------
    person, components, foot : settings, optional
        None takes the defaults. Components and foot are not used if both limbs are sound.

    Returns
    -------
    Body

    Raises
    ------
    RampwalkError
        If the prosthesis outweighs the person.
    """
    person, components, foot = person or Person(), components or Components(), foot or ProstheticFoot()
    length = {name: row.value * person.stature_m for name, row in lengths_drillis1966.parameters().items()}
    soles = [_sole(length, foot.effective_length if person.has_prosthesis else None), _sole(length, None)]
    intact_mass = _intact_mass(person, components)
    sound_leg = _sound_leg(intact_mass, length, soles[SOUND])
    first_leg = _prosthetic_leg(intact_mass, person, components, length) if person.has_prosthesis else sound_leg
    segments = [_trunk(intact_mass, length), *first_leg, *sound_leg]
    return Body(
        mass=np.array([part.mass for part in segments]),
        inertia=np.array([part.inertia for part in segments]),
        centre=np.array([(part.x, part.y) for part in segments]),
        thigh_length=length["thigh_length"],
        shank_length=length["shank_length"],
        sole_height=length["ankle_height"],
        sole_points=np.array(soles),
        foot_length=length["foot_length"],
        intact_mass=intact_mass,
    )


def _intact_mass(person: Person, components: Components) -> float:
    """Mass from which all tissue is scaled, so that the whole is the person's mass [kg]."""
    if not person.has_prosthesis:
        return person.mass_kg
    table = {name: row.value for name, row in segments_winter2009.parameters().items()}
    left = residual_share(person.residual_limb_fraction)[0]
    missing = table["thigh_mass"] * (1 - left) + table["shank_mass"] + table["foot_mass"]
    tissue = person.mass_kg - components.total_mass_kg
    if tissue <= 0:
        raise RampwalkError(
            f"a prosthesis of {number_text(components.total_mass_kg)} kg leaves nothing of person.mass_kg = "
            f"{number_text(person.mass_kg)} kg, which includes it; lower the mass of a component.",
            "person.mass_kg",
            person.mass_kg,
        )
    return tissue / (1 - missing)


def _trunk(intact_mass: float, length: dict[str, float]) -> _Segment:
    """Head, arms and trunk; mass centre above the hip."""
    return _table_segment("head_arms_trunk", intact_mass, (0.0, length["hip_to_shoulder"]))


def _table_segment(name: str, intact_mass: float, end: tuple[float, float]) -> _Segment:
    """Segment of the table, whose axis runs from the joint to `end` (x, y) [m]."""
    table = segments_winter2009.parameters()
    mass, centre = table[f"{name}_mass"].value * intact_mass, table[f"{name}_centre"].value
    size_squared = end[0] ** 2 + end[1] ** 2
    inertia = mass * table[f"{name}_gyration"].value ** 2 * size_squared
    return _Segment(mass, centre * end[0], centre * end[1], inertia)


def _sound_leg(intact_mass: float, length: dict[str, float], sole: Array) -> tuple[_Segment, _Segment, _Segment]:
    """Thigh, shank, foot; the table's metatarsal head is the ball of the sole."""
    return (
        _table_segment("thigh", intact_mass, (0.0, -length["thigh_length"])),
        _table_segment("shank", intact_mass, (0.0, -length["shank_length"])),
        _table_segment("foot", intact_mass, (float(sole[BALL, 0]), float(sole[BALL, 1]))),
    )


def _prosthetic_leg(
    intact_mass: float, person: Person, components: Components, length: dict[str, float]
) -> tuple[_Segment, _Segment, _Segment]:
    """Residual limb in its socket; knee unit and pylon; foot with shoe, shaped like the sound one."""
    guess = {name: row.value for name, row in ours.person().items()}
    table = segments_winter2009.parameters()
    thigh, shank = length["thigh_length"], length["shank_length"]
    share, centre, gyration_squared = residual_share(person.residual_limb_fraction)
    limb_mass = share * table["thigh_mass"].value * intact_mass
    limb = _Segment(limb_mass, 0.0, -centre * thigh, limb_mass * gyration_squared * thigh**2)
    socket_end = guess["socket_reach"] * person.residual_limb_fraction * thigh
    socket = _rod(components.socket_mass_kg, 0.0, socket_end)
    unit_end = min(guess["knee_unit_length"], shank)
    unit = _rod(components.knee_unit_mass_kg, 0.0, unit_end)
    pylon = _rod(components.pylon_mass_kg, unit_end, shank)
    shape = _sound_leg(intact_mass, length, _sole(length, None))[FOOT - THIGH]
    foot_scale = components.foot_mass_kg / shape.mass
    foot = _Segment(components.foot_mass_kg, shape.x, shape.y, shape.inertia * foot_scale)
    return _joined(limb, socket), _joined(unit, pylon), foot


def _sole(length: dict[str, float], effective_length: float | None) -> Array:
    """Heel, ball, toe from the ankle, shape (3, 2) [m]; effective length None is that of a sound foot."""
    guess = {name: row.value for name, row in ours.person().items()}
    sound = foot_length_hansen2004.parameters()["sound"].value
    toe = sound if effective_length is None else effective_length
    ball = guess["ball_from_heel"] * toe / sound
    foot, height, heel = length["foot_length"], length["ankle_height"], guess["ankle_from_heel"]
    forward = [0.0, ball, toe]
    up = [0.0, 0.0, guess["toe_spring"]]
    return np.array([[(x - heel) * foot, y * foot - height] for x, y in zip(forward, up, strict=True)])
