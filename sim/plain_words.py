"""A scenario in plain words: the person, the ramp, the steps."""

from __future__ import annotations

import math

from sim.scenario import Scenario

_LEVEL_DEG = 0.05
"""Milder than this is level [deg]."""


def person_words(scenario: Scenario) -> str:
    """Body, prosthesis and residual limb in one sentence."""
    person = scenario.person
    body = f"{person.mass_kg:g} kg with prosthesis, {person.stature_m:.2f} m tall"
    if not person.has_prosthesis:
        return f"{body}, two sound legs."
    share, hip = 100.0 * person.residual_limb_fraction, 100.0 * person.residual_hip_strength_fraction
    return (
        f"{body}, above-knee prosthesis of {scenario.components.total_mass_kg:.1f} kg on the {person.prosthetic_side} "
        f"side, {share:.0f} % of the thigh left, hip on that side {hip:.0f} % as strong as the other."
    )


def ramp_words(scenario: Scenario) -> str:
    """Slope in degrees and as "1 in N"."""
    slope = abs(scenario.slope_deg)
    if slope < _LEVEL_DEG:
        return "Level ground."
    way = "down" if scenario.slope_deg < 0.0 else "up"
    return f"A ramp {slope:g} degrees {way}, 1 in {1.0 / math.tan(math.radians(slope)):.1f}."


def steps_words(scenario: Scenario) -> str:
    """Wanted steps, rhythm and speed."""
    prosthetic, sound = scenario.step_lengths
    length = f"Steps of {100.0 * sound:.0f} cm"
    if abs(prosthetic - sound) > 0.0005:
        length = f"Steps of {100.0 * prosthetic:.0f} cm (prosthetic foot) and {100.0 * sound:.0f} cm (sound foot)"
    return f"{length}, {60.0 / scenario.step_time:.0f} steps a minute, {scenario.speed:.2f} m/s."
