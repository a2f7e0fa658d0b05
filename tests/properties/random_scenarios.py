"""Scenarios drawn at random: anything that is allowed, or only what is sensible; and inputs that are not allowed."""

import dataclasses

from sim.errors import RampwalkError
from sim.scenario import Scenario, replace_by_name, settings

SETTINGS = {setting.name: setting for setting in settings()}
#: Sensible: what one finds among adults with a prosthesis of this kind and on ramps (ours).
SENSIBLE = {
    "slope_deg": (-10.0, 2.0),
    "step_length_m": (0.35, 0.65),
    "person.mass_kg": (50.0, 110.0),
    "person.stature_m": (1.5, 1.95),
    "person.residual_limb_fraction": (0.57, 1.0),
    "knee.flexion_resistance": (15.0, 300.0),
    "knee.extension_resistance": (1.0, 10.0),
    "knee.extension_assist_nm": (2.0, 15.0),
    "knee.load_on_n": (120.0, 200.0),
    "knee.load_off_n": (20.0, 110.0),
    "contact.friction": (0.5, 1.2),
    "foot.ankle_stiffness": (150.0, 600.0),
    "trunk_lean_deg": (-5.0, 10.0),
}
#: Redrawn together when a draw is not allowed.
MOST_TRIES = 200


def sensible_scenario(rng, strides=2):
    """Scenario with a person, knee, slope and step as one finds them."""
    changes = {name: float(rng.uniform(*ends)) for name, ends in SENSIBLE.items()}
    changes["knee.law"] = str(rng.choice(["linear", "hydraulic"]))
    changes["person.limbs"] = str(rng.choice(["one-prosthetic", "one-prosthetic", "both-sound"]))
    return replace_by_name(Scenario(strides=strides), changes)


def allowed_scenario(rng, strides=1):
    """Scenario with some settings anywhere in their allowed ranges, drawn again until nothing contradicts."""
    for _ in range(MOST_TRIES):
        count = int(rng.integers(1, 12))
        names = rng.choice([name for name in SETTINGS if name not in {"name", "strides"}], count, replace=False)
        changes = {str(name): _value(rng, SETTINGS[str(name)]) for name in names}
        try:
            return replace_by_name(Scenario(strides=strides), changes)
        except RampwalkError:
            continue
    raise AssertionError("no allowed scenario was drawn")


def _value(rng, setting):
    if setting.choices:
        return str(rng.choice(setting.choices))
    if setting.kind == "whole":
        return int(rng.integers(setting.low, setting.high + 1))
    if setting.name == "numerics.time_step_s":
        return float(rng.uniform(1e-4, setting.high))  # finer ones only take time
    if setting.name.startswith("ground."):
        return float(rng.uniform(setting.low, 2.0))  # as above
    return float(rng.uniform(setting.low, setting.high))


def with_numerics(scenario, **changes):
    """The same walk computed otherwise."""
    return dataclasses.replace(scenario, numerics=dataclasses.replace(scenario.numerics, **changes))
