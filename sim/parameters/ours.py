"""Guesses and choices of the authors, each with the range we would accept.

Does not claim: anything measured. A starting value here is a start for trying, not a recommendation for a person.
"""

import math

from sim.parameters.sourced import Sourced


def _guess(value: float, unit: str, low: float, high: float, why: str) -> Sourced:
    return Sourced(value, unit, f"ours: {why}", "ours", low, high)


def person() -> dict[str, Sourced]:
    """Fresh set of guesses about the person and the shape of foot and residual limb."""
    foot = "fraction of foot length"
    return {
        "mass": _guess(75.0, "kg", 50, 100, "round adult, the person of reference row Q05"),
        "stature": _guess(1.75, "m", 1.5, 1.95, "round adult"),
        "residual_limb_fraction": _guess(0.70, "1", 0.57, 1.0, "lower third of the thigh lost, inside the seen band"),
        "ankle_from_heel": _guess(0.207, foot, 0.18, 0.27, "0.055 m of a foot of 0.266 m"),
        "ball_from_heel": _guess(0.73, foot, 0.68, 0.76, "joint line of the toes, recalled"),
        "toe_spring": _guess(0.026, foot, 0.0, 0.06, "7 mm lift of the foremost point of a shoe"),
        "socket_reach": _guess(1.0, "fraction of residual limb", 0.8, 1.1, "even shell along the residual limb"),
        "knee_unit_length": _guess(0.15, "m", 0.10, 0.25, "even rod hanging from the knee axis"),
    }


def knee() -> dict[str, Sourced]:
    """Fresh set of guesses about the prosthetic knee and ankle."""
    damping = "N m s/rad"
    balance = (
        "reference row Q05 scaled by sin(slope) x step: one knee taking the slope energy of a 0.50 m step on -8 deg "
        "needs 19 to 43; near the upper end, as a firm start"
    )
    # 50 deg of yield in 0.4 s, the middle of the assumption in row Q05; rounded.
    rate = round(math.radians(50) / 0.4, 1)
    return {
        "flexion_resistance": _guess(40.0, damping, 19, 63, balance),
        "hydraulic_reference_rate": _guess(rate, "rad/s", 1.75, 2.62, "mean rate of 50 deg of yield in 0.4 s, row Q05"),
        "extension_resistance": _guess(5.0, damping, 1, 10, "well below the flexion resistance"),
        "extension_assist": _guess(6.0, "N m", 2, 15, "low half of the recalled swing torques, 2 to 15 N m"),
        "load_on": _guess(160.0, "N", 30, 250, "22 % of the weight of 75 kg: a foot that stands, not one that drags"),
        "load_off": _guess(110.0, "N", 10, 200, "15 % of the weight of 75 kg: released while the toe rolls off"),
        "stop_stiffness": _guess(3000.0, "N m/rad", 1000, 10000, "1 deg of give at 52 N m"),
        "stop_damping": _guess(40.0, damping, 5, 80, "enough to end a bounce"),
        "ankle_damping": _guess(1.5, damping, 0, 10, "a few per cent of the stiffness, as in rubber"),
    }


def contact() -> dict[str, Sourced]:
    """Fresh set of guesses about foot and floor."""
    return {
        "friction": _guess(0.9, "1", 0.5, 1.2, "dry rubber on a rough floor; rules for ramps advise 0.8 (recalled)"),
        "stiffness_sound": _guess(
            43.0, "body weights per leg length", 25, 90, "20 mm under body weight on one point: heel pad and shoe 12, "
            "joints and pelvis drop 8"
        ),
        "stiffness_prosthetic": _guess(
            27.0, "body weights per leg length", 15, 60, "32 mm under body weight on one point: foot heel 14 (bench, "
            "27 to 90 N/mm), shoe 4, socket and soft tissue 7, pelvis drop 7"
        ),
        "dissipation": _guess(1.5, "s/m", 0.3, 2.0, "a leg set down swings once, not twice: soft tissue takes most"),
        "anchor_share": _guess(0.8, "1", 0.5, 1.0, "a rubber pad is a little softer in shear"),
        "anchor_damping": _guess(120.0, "N s/m", 50, 400, "ends a shake of the sole within one step"),
    }


def walk() -> dict[str, Sourced]:
    """Fresh set of choices about the walk and the way it is computed."""
    return {
        "slope": _guess(-8.0, "deg", -13, -3, "a little steeper than 1:8, where the knee has to yield"),
        "step_length": _guess(0.5, "m", 0.38, 0.62, "shorter than the level step of 0.67 m (row S01)"),
        "steps_per_second": _guess(1.5, "1/s", 1.2, 2.0, "90 steps a minute, unhurried"),
        "trunk_lean": _guess(0.0, "deg", -10, 10, "upright"),
        "hip_hold_back": _guess(0.0, "N m", 0, 60, "none unless asked for"),
        "strides": _guess(12.0, "1", 6, 50, "a few strides to settle, then enough for a mean"),
        "lead_in": _guess(0.5, "m", 0, 3, "one step on the level"),
        "blend": _guess(1.0, "m", 0.2, 3, "two steps from level to full slope"),
        "time_step": _guess(2.5e-4, "s", 1e-4, 5e-4, "peaks move by less than 1 % below it"),
        "iterations": _guess(10.0, "1", 5, 40, "joint drift below the first-order error of the step"),
    }


def parameters() -> dict[str, Sourced]:
    """Fresh set of all of them."""
    return {**person(), **knee(), **contact(), **walk()}
