"""Guesses and choices of the authors about handrail, helper, posture, ramps with ends and uphill, each with its range.

Does not claim: anything measured. How much a person leans on a rail or a helper carries is an input, not advice.
"""

from sim.parameters.sourced import Sourced


def _guess(value: float, unit: str, low: float, high: float, why: str) -> Sourced:
    return Sourced(value, unit, f"ours: {why}", "ours", low, high)


def rail() -> dict[str, Sourced]:
    """Fresh set of choices about a hand on a rail."""
    return {
        "rail_carried": _guess(0.05, "1", 0.0, 0.15, "a hand that leans on a rail lightly, share of body weight"),
        "rail_braking": _guess(0.0, "1", 0.0, 0.10, "a hand that slides; share of body weight, backward"),
        "rail_reach": _guess(0.25, "m", 0.1, 0.45, "the hand is about a forearm ahead of the hip"),
        "grip_stiffness": _guess(400.0, "N/m", 100, 1500, "an arm that is not braced gives 5 cm under 20 N"),
        "grip_damping": _guess(80.0, "N s/m", 20, 200, "about critical with the mass that an arm can move"),
        "rail_settle": _guess(0.5, "s", 0.2, 2, "the hand slides on or takes the rail anew within a step"),
        "rail_strongest": _guess(0.3, "1", 0.2, 0.5, "one arm pushes with a third of body weight at most"),
    }


def helper() -> dict[str, Sourced]:
    """Fresh set of choices about a helper's hands at the pelvis."""
    return {
        "helper_carried": _guess(0.10, "1", 0.0, 0.4, "hands at a belt, share of body weight"),
        "helper_stiffness": _guess(600.0, "N/m", 100, 3000, "firm hands, softer than a rail bolted to a wall"),
        "helper_damping": _guess(150.0, "N s/m", 30, 400, "a helper holds back what hurries"),
        "helper_settle": _guess(1.0, "s", 0.3, 5, "a helper takes up the person's pace within two steps"),
        "helper_strongest": _guess(0.3, "1", 0.1, 0.5, "along the ground, share of body weight"),
        "helper_fade_steps": _guess(12.0, "1", 2, 100, "six strides from held to free"),
    }


def frontal() -> dict[str, Sourced]:
    """Fresh set of lateral distances for the statics across the way."""
    return {
        "hip_distance": _guess(0.17, "m", 0.15, 0.20, "between hip joint centres of adults, recalled"),
        "foot_distance": _guess(0.17, "m", 0.08, 0.25, "feet under the hips"),
        "hand_distance": _guess(0.40, "m", 0.30, 0.60, "half the shoulders and a hand's breadth beside them"),
        "shift": _guess(0.0, "m", -0.1, 0.1, "the body stays in the middle unless asked for"),
    }


def posture() -> dict[str, Sourced]:
    """Fresh set of choices about posture."""
    return {
        "mass_centre_shift": _guess(0.0, "m", -0.06, 0.06, "none unless asked for; half a sole at most"),
        "yield_felt": _guess(1.0, "1", 0, 1, "the gains were found with all of it"),
        "early_unloading": _guess(0.0, "1", 0, 0.6, "none unless asked for"),
        "late_hold_back": _guess(0.0, "N m", 0, 40, "none unless asked for"),
        "swing_start_hip_flexion": _guess(0.0, "N m", 0, 40, "none unless asked for"),
    }


def ramp() -> dict[str, Sourced]:
    """Fresh set of choices about ramps with ends."""
    return {
        "level_way": _guess(2.0, "m", 1, 5, "four steps on the level before and after"),
        "bend": _guess(0.3, "m", 0.1, 1.0, "a foot's length in which slope turns into slope"),
        "free_run": _guess(5.0, "m", 2, 20, "ten steps, where the rule names no longest run"),
        "spacing": _guess(0.3, "m", 0.1, 1.0, "a foot's length: what is shorter is a kerb, not a slope"),
    }


def uphill() -> dict[str, Sourced]:
    """Fresh set of choices about walking up."""
    return {
        "slope": _guess(3.0, "deg", 0, 10, "about 1:20"),
        "steepest": _guess(10.0, "deg", 5, 15, "the steepest that is looked for"),
        "clearance": _guess(0.020, "m", 0.01, 0.03, "least way of the toe over the ground that is wanted in a swing"),
    }


def parameters() -> dict[str, Sourced]:
    """Fresh set of all of them."""
    groups = {"rail": rail(), "helper": helper(), "frontal": frontal()}
    rest = {"posture": posture(), "ramp": ramp(), "uphill": uphill()}
    return {
        name if group == "rail" or name.startswith(group) else f"{group}_{name}": row
        for group, rows in (groups | rest).items()
        for name, row in rows.items()
    }
