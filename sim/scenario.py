"""What can vary in a walk: person, prosthesis, floor, gait and computation. All of it frozen, checked when built.

Degrees only where `_deg` is in the name, downhill negative; else SI. `None` means "follow the rule in the docstring"
and never changes later. Every default comes from `sim.parameters` and is a start for trying, not a recommendation.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sim.errors import RampwalkError, check_range, number_text, shown
from sim.parameters import (
    Sourced,
    foot_length_hansen2004,
    gravity,
    hydraulic_orifice,
    lengths_drillis1966,
    ours,
    ours_support,
    prosthesis_mass_hale1990,
    prosthesis_parts_recalled,
    prosthesis_sup2009,
    residual_hip_strength_2014,
    strength_anderson2007,
    walk_ratio_sekiya1996,
)
from sim.settings import (
    Rule,
    Setting,
    Settings,
    as_dict,
    check,
    choice,
    described,
    from_mapping,
    names_of,
    number,
    optional,
    replaced,
    section,
    text,
    whole,
)
from sim.settings_file import as_toml, from_toml_file
from sim.support import Helper, Rail

GRAVITY = gravity.parameters()["gravity"].value
"""Free fall [m/s2]."""
HYDRAULIC_REFERENCE_RATE = ours.knee()["hydraulic_reference_rate"].value
"""Knee rate at which the hydraulic law has the torque of its linear equivalent [rad/s]."""
HYDRAULIC_EXPONENT = hydraulic_orifice.parameters()["rate_exponent"].value
"""Torque grows with this power of the knee rate in the hydraulic law [1]."""
STEPS_PER_SECOND = ours.walk()["steps_per_second"].value
"""Rule for the speed when neither speed, cadence nor walk ratio is given [1/s]."""
PUBLISHED_WALK_RATIO = walk_ratio_sekiya1996.parameters()["walk_ratio"].value
"""Step length / cadence of healthy adults on the level, from memory [m min/step]; an option, not the default."""
LONGEST_STEP = 1.1
"""Longest step as a share of hip-to-ankle length: straight legs then stand 67 deg apart, a lunge."""
STEP_TIME_RANGE = (0.25, 2.0)
"""Allowed step time, mean and of each foot [s]: 30 to 240 steps a minute; people walk 60 to 140."""
HEAVIEST_PROSTHESIS = 0.2
"""Largest share of the body mass in the prosthesis, twice that of a heavy one on a light person."""

_PERSON, _KNEE, _CONTACT, _WALK = ours.person(), ours.knee(), ours.contact(), ours.walk()
_HABIT = ours_support.posture()
_LENGTH, _STRENGTH = lengths_drillis1966.parameters(), strength_anderson2007.parameters()
_PART, _DEVICE = prosthesis_parts_recalled.parameters(), prosthesis_sup2009.parameters()
_WHOLE_SHANK = prosthesis_mass_hale1990.parameters()["shank_mass"]


def _strength_per_mass(*names: str) -> Sourced:
    """Joint strength [N m/kg] at the default stature, the mean of the named rows, rounded to 0.01."""
    rows = [_STRENGTH[name] for name in names]
    share = sum(row.value for row in rows) / len(rows)
    value = round(share * GRAVITY * _PERSON["stature"].value, 2)
    return Sourced(value, "N m/kg", rows[0].source, "from memory", note="weight x stature at the default stature")


def _pylon() -> Sourced:
    """Pylon mass [kg] that makes knee unit and pylon together the seen mass of a prosthetic shank."""
    value = round(_WHOLE_SHANK.value - _PART["knee_unit"].value, 3)
    return Sourced(value, "kg", f"{_WHOLE_SHANK.source}, less the recalled knee unit", "derived", 0.2, 0.5)


def _foot_with_shoe() -> Sourced:
    foot, shoe = _PART["foot_without_shoe"], _PART["shoe"]
    return Sourced(foot.value + shoe.value, "kg", foot.source, "from memory", 0.7, 1.3, "foot 0.6, shoe 0.4")


@dataclass(frozen=True)
class Person(Settings):
    """The walking person. Masses include the prosthesis; strengths are ceilings for the controller, not goals.

    `limbs = "both-sound"` gives two sound legs; prosthesis and residual-limb settings then have no effect.
    `prosthetic_side` is a label for reports: the model is planar. `residual_limb_fraction` is the share of the
    sound thigh length that is left. `hip_strength_nm_per_kg` holds both ways (mean of extension and flexion);
    `residual_hip_strength_fraction` multiplies it on the prosthetic side.
    """

    mass_kg: float = number(_PERSON["mass"], 30, 200, "body-segment tables are for grown people; give the mass in kg")
    stature_m: float = number(
        _PERSON["stature"], 1.2, 2.2, "body-segment tables are for grown people; give metres, not centimetres"
    )
    limbs: str = choice("one-prosthetic", "both-sound")
    prosthetic_side: str = choice("right", "left")
    residual_limb_fraction: float = number(
        _PERSON["residual_limb_fraction"], 0.4, 1.0, "1 is the whole thigh; below 0.4 a socket hardly holds the limb"
    )
    hip_strength_nm_per_kg: float = number(
        _strength_per_mass("hip_extension", "hip_flexion"), 0.5, 6.0, "adults reach 1.5 to 3.5 N m/kg"
    )
    knee_extensor_strength_nm_per_kg: float = number(
        _strength_per_mass("knee_extension"), 0.5, 6.0, "adults reach 1.5 to 4 N m/kg"
    )
    knee_flexor_strength_nm_per_kg: float = number(
        _strength_per_mass("knee_flexion"), 0.2, 4.0, "adults reach 0.8 to 2 N m/kg"
    )
    ankle_plantarflexor_strength_nm_per_kg: float = number(
        _strength_per_mass("ankle_plantarflexion"), 0.3, 4.0, "adults reach 1 to 2.5 N m/kg"
    )
    ankle_dorsiflexor_strength_nm_per_kg: float = number(
        _strength_per_mass("ankle_dorsiflexion"), 0.1, 2.0, "adults reach 0.3 to 0.8 N m/kg"
    )
    residual_hip_strength_fraction: float = number(
        residual_hip_strength_2014.parameters()["active_users"], 0.2, 1.2, "1 is as strong as the sound hip"
    )

    def __post_init__(self) -> None:
        check(self, "person.")

    @property
    def has_prosthesis(self) -> bool:
        """True unless both limbs are sound."""
        return self.limbs == "one-prosthetic"

    @property
    def leg_length(self) -> float:
        """Hip to ankle along a straight leg [m], both legs."""
        return (_LENGTH["thigh_length"].value + _LENGTH["shank_length"].value) * self.stature_m

    @property
    def weight(self) -> float:
        """Whole weight with prosthesis [N]; one body weight (BW)."""
        return self.mass_kg * GRAVITY


@dataclass(frozen=True)
class Components(Settings):
    """Masses of the parts of the prosthesis.

    Socket with liner lies on the thigh, knee unit and pylon make the shank, the foot counts with its shoe.
    """

    socket_mass_kg: float = number(_PART["socket_with_liner"], 0.2, 5.0, "sockets with liner are 1 to 2.5 kg")
    knee_unit_mass_kg: float = number(_PART["knee_unit"], 0.2, 4.0, "damped knee units are 0.8 to 1.8 kg")
    pylon_mass_kg: float = number(_pylon(), 0.05, 3.0, "pylon and adapters are 0.2 to 0.5 kg; more if weight is added")
    foot_mass_kg: float = number(_foot_with_shoe(), 0.3, 2.5, "foot and shoe together are 0.7 to 1.3 kg")

    def __post_init__(self) -> None:
        check(self, "components.")

    @property
    def shank_mass_kg(self) -> float:
        """Knee unit and pylon [kg]."""
        return self.knee_unit_mass_kg + self.pylon_mass_kg

    @property
    def total_mass_kg(self) -> float:
        """Whole prosthesis with shoe [kg]."""
        return self.socket_mass_kg + self.shank_mass_kg + self.foot_mass_kg


def _check_load_thresholds(knee: "Knee") -> None:
    if not knee.load_off_n < knee.load_on_n:
        raise RampwalkError(
            f"knee.load_off_n = {number_text(knee.load_off_n)} N must be below knee.load_on_n = "
            f"{number_text(knee.load_on_n)} N; lower the first or raise the second.",
            "knee.load_off_n",
            knee.load_off_n,
        )


_RESISTANCE_WHY = "use 0 for a free knee; a resistance of 500 N m s/rad already hardly moves"


@dataclass(frozen=True)
class Knee(Settings):
    """The passive prosthetic knee: the same law in every activity.

    Under load a flexion resistance: linear, torque = resistance x rate, or hydraulic, torque growing with the square
    of the rate and equal to the linear one at `HYDRAULIC_REFERENCE_RATE`. The loaded resistance begins when the foot
    carries more than `load_on_n` and ends below `load_off_n`. The stops act at full extension and at
    `maximum_flexion_deg`.
    """

    rules = (Rule(_check_load_thresholds, ("knee.load_off_n", "knee.load_on_n")),)

    law: str = choice("linear", "hydraulic")
    flexion_resistance: float = number(_KNEE["flexion_resistance"], 0, 1000, _RESISTANCE_WHY)
    extension_resistance: float = number(_KNEE["extension_resistance"], 0, 200, _RESISTANCE_WHY)
    swing_flexion_resistance: float = number(_DEVICE["swing_flexion_damping"], 0, 50, "swing damping is 0.5 to 3")
    swing_extension_resistance: float = number(_DEVICE["swing_extension_damping"], 0, 50, "swing damping is 0.5 to 3")
    extension_assist_nm: float = number(_KNEE["extension_assist"], 0, 40, "more than 40 N m slams the shank forward")
    load_on_n: float = number(_KNEE["load_on"], 1, 400, "above 400 N the knee gives way at every landing")
    load_off_n: float = number(_KNEE["load_off"], 0, 400, "keep it below load_on_n")
    stop_stiffness: float = number(
        _KNEE["stop_stiffness"], 200, 20000, "softer is a limp stop, stiffer needs a finer time step"
    )
    stop_damping: float = number(_KNEE["stop_damping"], 0, 200, "more damping needs a finer time step")
    maximum_flexion_deg: float = number(_PART["maximum_knee_flexion"], 60, 160, "less than 60 deg stops a swing")

    def __post_init__(self) -> None:
        check(self, "knee.")


@dataclass(frozen=True)
class ProstheticFoot(Settings):
    """Passive ankle and effective length of the prosthetic foot. `effective_length` is the share of foot length,
    from the heel, that can carry weight.
    """

    ankle_stiffness: float = number(
        _DEVICE["ankle_stiffness"], 50, 1500, "below 50 N m/rad the foot slaps, above 1500 it is rigid"
    )
    ankle_damping: float = number(_KNEE["ankle_damping"], 0, 20, "more damping needs a finer time step")
    effective_length: float = number(
        foot_length_hansen2004.parameters()["prosthetic"], 0.55, 0.95, "prosthetic feet have 0.63 to 0.81"
    )

    def __post_init__(self) -> None:
        check(self, "foot.")


@dataclass(frozen=True)
class Contact(Settings):
    """Foot on floor, for each of the three points of a sole.

    A point carries `weight x (stiffness x depth / leg_length) ** 1.5`: one body weight at a depth of leg length /
    stiffness. It stands for everything in series that gives in a real leg (heel pad, shoe, foot, socket, soft tissue,
    pelvis). The force is multiplied by 1 + dissipation x closing speed. Friction is a spring of `anchor_share` times
    the stiffness of the sound foot at one body weight and a damper, until it slides.
    """

    friction: float = number(_CONTACT["friction"], 0.02, 2.0, "ice is 0.05, a dry rough floor 0.9")
    sound_stiffness_bw_per_leg_length: float = number(
        _CONTACT["stiffness_sound"], 5, 300, "softer sinks in visibly, stiffer needs a finer time step"
    )
    prosthetic_stiffness_bw_per_leg_length: float = number(
        _CONTACT["stiffness_prosthetic"], 5, 300, "softer sinks in visibly, stiffer needs a finer time step"
    )
    dissipation_s_per_m: float = number(_CONTACT["dissipation"], 0, 5, "more than 5 s/m makes the floor sticky")
    anchor_share: float = number(_CONTACT["anchor_share"], 0.1, 2.0, "shear is about as stiff as compression")
    anchor_damping: float = number(_CONTACT["anchor_damping"], 0, 1000, "more damping needs a finer time step")

    def __post_init__(self) -> None:
        check(self, "contact.")


@dataclass(frozen=True)
class Ground(Settings):
    """Way before the slope: a level lead-in, then a blend in which the slope grows evenly to `slope_deg`."""

    lead_in_m: float = number(_WALK["lead_in"], 0, 20, "0 starts right at the blend")
    blend_m: float = number(_WALK["blend"], 0.05, 20, "shorter than 0.05 m is an edge under the foot")

    def __post_init__(self) -> None:
        check(self, "ground.")


@dataclass(frozen=True)
class Numerics(Settings):
    """How it is computed: time step, passes of the joint solver per step, compiled or readable loop."""

    time_step_s: float = number(_WALK["time_step"], 1e-5, 1e-3, "coarser steps are unstable, finer ones only slow")
    iterations: int = whole(_WALK["iterations"], 1, 100, "10 is enough for seven bodies")
    loop: str = choice("compiled", "batch")

    def __post_init__(self) -> None:
        check(self, "numerics.")


def _check_steps(scenario: "Scenario") -> None:
    longest = LONGEST_STEP * scenario.person.leg_length
    remedy = f"a step may be {LONGEST_STEP} leg lengths; shorten it or give a taller person"
    for name, step in zip(("prosthetic", "sound"), scenario.step_lengths, strict=True):
        given = getattr(scenario, f"{name}_step_length_m") is not None
        check_range(f"{name}_step_length_m" if given else "step_length_m", step, 0.0, longest, "m", remedy)
    both = None not in (scenario.sound_step_length_m, scenario.prosthetic_step_length_m)
    default = _WALK["step_length"].value
    if both and abs(scenario.step_length_m - scenario.mean_step_length) > 1e-9 and scenario.step_length_m != default:
        raise RampwalkError(
            f"step_length_m = {number_text(scenario.step_length_m)} m has no effect when both feet have their own step "
            "length; leave it out, or leave out one of the two.",
            "step_length_m",
            scenario.step_length_m,
        )


def _check_pace(scenario: "Scenario") -> None:
    given = [name for name in _PACE if getattr(scenario, name) is not None]
    if len(given) > 1:
        raise RampwalkError(
            f"{' and '.join(given)} contradict each other: with the step length, one of them sets the pace; give one.",
            given[0],
            getattr(scenario, given[0]),
        )


def _check_step_time(scenario: "Scenario") -> None:
    low, high = STEP_TIME_RANGE
    remedy = "change the speed (or cadence, or walk ratio) or the step length"
    pace = [name for name in _PACE if getattr(scenario, name) is not None]
    if len(_own_step_times(scenario)) < 2:
        check_range("mean step time", scenario.step_time, low, high, "s", remedy, pace[0] if pace else "step_length_m")


def _check_own_step_times(scenario: "Scenario") -> None:
    """Step times of single feet: both set the pace, one leaves the rest of the pair to the other foot."""
    own = _own_step_times(scenario)
    pace = [name for name in _PACE if getattr(scenario, name) is not None]
    if len(own) == 2 and pace:
        raise RampwalkError(
            f"{pace[0]} contradicts {own[0]} and {own[1]}: two step times set the pace; give one of them, or no "
            f"{pace[0]}.",
            pace[0],
            getattr(scenario, pace[0]),
        )
    low, high = STEP_TIME_RANGE
    if len(own) == 1 and low <= scenario.step_time <= high:
        other = scenario.step_times[1 if own[0].startswith("prosthetic") else 0]
        remedy = f"{own[0]} leaves that much of the pair of steps to the other foot; bring it nearer to the mean"
        check_range("step time of the other foot", other, low, high, "s", remedy, own[0])


def _own_step_times(scenario: "Scenario") -> list[str]:
    return [name for name in _TIMES if getattr(scenario, name) is not None]


def _check_hip(scenario: "Scenario") -> None:
    person, torque = scenario.person, scenario.hip_hold_back_nm
    if torque and not person.has_prosthesis:
        raise RampwalkError(
            f"hip_hold_back_nm = {number_text(torque)} N m acts on a prosthetic leg, but person.limbs is 'both-sound'; "
            "set it to 0 or give the person a prosthesis.",
            "hip_hold_back_nm",
            torque,
        )
    strongest = person.hip_strength_nm_per_kg * person.mass_kg * person.residual_hip_strength_fraction
    check_range("hip_hold_back_nm", torque, 0.0, strongest, "N m", "the residual hip is not stronger than that")


def _check_habits(scenario: "Scenario") -> None:
    for name in _HABITS:
        value = getattr(scenario, name)
        if value and not scenario.person.has_prosthesis:
            raise RampwalkError(
                f"{name} = {number_text(value)} acts on a prosthetic leg, but person.limbs is 'both-sound'; set it to "
                "0 or give the person a prosthesis.",
                name,
                value,
            )


def _check_prosthesis(scenario: "Scenario") -> None:
    person = scenario.person
    if person.has_prosthesis:
        heaviest = HEAVIEST_PROSTHESIS * person.mass_kg
        remedy = f"a prosthesis may be {HEAVIEST_PROSTHESIS:.0%} of the body mass; lower a component's mass"
        total = scenario.components.total_mass_kg
        check_range("mass of the whole prosthesis", total, 0.0, heaviest, "kg", remedy, "person.mass_kg")


_STEPS = ("step_length_m", "sound_step_length_m", "prosthetic_step_length_m")
_TIMES = ("prosthetic_step_time_s", "sound_step_time_s")
_HABITS = ("early_unloading_share", "late_hold_back_nm", "swing_start_hip_flexion_nm")
_PACE = ("speed_m_s", "cadence_steps_per_min", "walk_ratio_m_min")
_PARTS = tuple(f"components.{part}_mass_kg" for part in ("socket", "knee_unit", "pylon", "foot"))
_HIP = tuple(f"person.{name}" for name in ("hip_strength_nm_per_kg", "mass_kg", "residual_hip_strength_fraction"))


@dataclass(frozen=True)
class Scenario(Settings):
    """One walk: everything that can vary.

    Steps are named after the foot that lands; a step length of one foot that is None is `step_length_m`. At most one
    of `speed_m_s`, `cadence_steps_per_min` and `walk_ratio_m_min` (step length / cadence) may be given; if none is,
    the person takes `STEPS_PER_SECOND`. The step time of a foot that is None follows from these, so that both feet move
    at the same speed; one step time that is given is taken from the pair, which stays as long; two set the pace
    themselves. `trunk_lean_deg` is the wanted lean, forward positive.
    `mass_centre_shift_m` plans the hip, and with it the mass centre, that much further ahead over the standing foot
    when the other foot lands; how far it comes is measured (`*_com_ahead_at_other_landing_m`).
    `hip_hold_back_nm` is extra hip extension torque while the prosthetic leg carries, `early_unloading_share` shortens
    the time in which the sound leg takes over from it, `late_hold_back_nm` is extra hip extension torque during that
    time, `swing_start_hip_flexion_nm` extra hip flexion torque as its swing starts, falling to none over the first 30 %
    of the swing. `yield_felt_share` is how much of what a person would change in the gait for a knee that gave way
    by more or less than wanted in the steps before is changed; at 0 the gait is the same on every knee.

    Raises
    ------
    RampwalkError
        If a value is out of range or values contradict each other.
    """

    rules = (
        Rule(_check_steps, (*_STEPS, "person.stature_m")),
        Rule(_check_pace, _PACE),
        Rule(_check_step_time, (*_PACE, *_STEPS)),
        Rule(_check_own_step_times, (*_TIMES, *_PACE, *_STEPS)),
        Rule(_check_hip, ("hip_hold_back_nm", "person.limbs", *_HIP)),
        Rule(_check_habits, (*_HABITS, "person.limbs")),
        Rule(_check_prosthesis, ("person.mass_kg", "person.limbs", *_PARTS)),
    )

    slope_deg: float = number(_WALK["slope"], -20, 15, "downhill is negative; outside this a person climbs, not walks")
    step_length_m: float = number(_WALK["step_length"], 0.15, 1.2, "people take steps of 0.3 to 0.9 m")
    sound_step_length_m: float | None = optional("m", 0.15, 1.2, "people take steps of 0.3 to 0.9 m")
    prosthetic_step_length_m: float | None = optional("m", 0.15, 1.2, "people take steps of 0.3 to 0.9 m")
    speed_m_s: float | None = optional("m/s", 0.1, 2.5, "people walk at 0.4 to 2 m/s")
    cadence_steps_per_min: float | None = optional("steps/min", 30, 240, "people take 60 to 140 steps a minute")
    walk_ratio_m_min: float | None = optional("m min/step", 0.002, 0.015, "healthy adults have 0.0065 on the level")
    sound_step_time_s: float | None = optional("s", *STEP_TIME_RANGE, "people take 0.4 to 1 s for a step")
    prosthetic_step_time_s: float | None = optional("s", *STEP_TIME_RANGE, "people take 0.4 to 1 s for a step")
    trunk_lean_deg: float = number(_WALK["trunk_lean"], -20, 30, "forward is positive; further over a person falls")
    mass_centre_shift_m: float = number(_HABIT["mass_centre_shift"], -0.15, 0.15, "forward is positive")
    hip_hold_back_nm: float = number(_WALK["hip_hold_back"], 0, 200, "extra hip extension torque; 0 for none")
    early_unloading_share: float = number(_HABIT["early_unloading"], 0, 0.8, "share of the hand-over; 0 for none")
    yield_felt_share: float = number(_HABIT["yield_felt"], 0, 1, "1 as found, 0 for who walks alike on every knee")
    late_hold_back_nm: float = number(_HABIT["late_hold_back"], 0, 200, "extra hip extension torque; 0 for none")
    swing_start_hip_flexion_nm: float = number(_HABIT["swing_start_hip_flexion"], 0, 200, "extra torque; 0 for none")
    strides: int = whole(_WALK["strides"], 1, 1000, "12 strides settle and give a mean")
    name: str = text()
    person: Person = section(Person)
    components: Components = section(Components)
    knee: Knee = section(Knee)
    foot: ProstheticFoot = section(ProstheticFoot)
    contact: Contact = section(Contact)
    ground: Ground = section(Ground)
    rail: Rail = section(Rail)
    helper: Helper = section(Helper)
    numerics: Numerics = section(Numerics)

    def __post_init__(self) -> None:
        check(self)

    @property
    def step_lengths(self) -> tuple[float, float]:
        """Wanted length of the prosthetic and of the sound step [m]."""
        own = (self.prosthetic_step_length_m, self.sound_step_length_m)
        return tuple(self.step_length_m if step is None else step for step in own)  # type: ignore[return-value]

    @property
    def mean_step_length(self) -> float:
        """Mean of the two wanted step lengths [m]."""
        return sum(self.step_lengths) / 2

    @property
    def speed(self) -> float:
        """Wanted speed along the floor [m/s]."""
        if self.sound_step_time_s is not None and self.prosthetic_step_time_s is not None:
            return 2 * self.mean_step_length / (self.sound_step_time_s + self.prosthetic_step_time_s)
        if self.speed_m_s is not None:
            return self.speed_m_s
        if self.cadence_steps_per_min is not None:
            return self.mean_step_length * self.cadence_steps_per_min / 60
        if self.walk_ratio_m_min is not None:
            return self.mean_step_length**2 / self.walk_ratio_m_min / 60
        return self.mean_step_length * STEPS_PER_SECOND

    @property
    def step_time(self) -> float:
        """Wanted mean step time [s]."""
        return self.mean_step_length / self.speed

    @property
    def step_times(self) -> tuple[float, float]:
        """Wanted time of the prosthetic and of the sound step [s]."""
        prosthetic, sound = self.prosthetic_step_time_s, self.sound_step_time_s
        pair = 2 * self.step_time
        if prosthetic is None:
            prosthetic = self.step_lengths[0] / self.speed if sound is None else pair - sound
        return prosthetic, pair - prosthetic if sound is None else sound


# -------------------------------------------------------------------------------- by name, to and from files
def names() -> tuple[str, ...]:
    """Full names of all settings, those of a section as `section.name`."""
    return names_of(Scenario)


def settings() -> tuple[Setting, ...]:
    """All settings with default, unit, range and source, for tables and help texts."""
    return tuple(described(Scenario))


def replace_by_name(scenario: Scenario, changes: Mapping[str, object]) -> Scenario:
    """Copy of a scenario with the named settings changed and nothing else.

    Parameters
    ----------
    scenario : Scenario
        Starting point.
    changes : mapping of str to value
        Full names (`person.mass_kg`), or the last part where only one setting ends so (`mass_kg`).

    Raises
    ------
    RampwalkError
        If a name is unknown (the nearest is offered), or the result is not allowed.
    """
    if not isinstance(scenario, Scenario):
        raise RampwalkError(f"{shown(scenario)} is not a Scenario; give one, for example Scenario().", "", scenario)
    return replaced(scenario, changes)


def to_dict(scenario: Scenario) -> dict[str, Any]:
    """Scenario as nested plain values."""
    return as_dict(scenario)


def from_dict(data: Mapping[str, Any]) -> Scenario:
    """Scenario from nested plain values; raises one RampwalkError that names all faults."""
    return from_mapping(Scenario, data)


def to_toml(scenario: Scenario) -> str:
    """Scenario as TOML text that `from_toml` reads back to an equal one."""
    return as_toml(scenario)


def from_toml(path: str | Path) -> Scenario:
    """Scenario from a TOML file; raises one RampwalkError that names all faults of the file."""
    return from_toml_file(Scenario, path)
