"""Guesses and choices of the authors: one setting everywhere, step-to descent, stopping, a ladder of practice.

Does not claim: anything measured, and no limit of safety: each is a place at which a model run begins to look wrong.
"""

from sim.parameters.sourced import Sourced


def _guess(value: float, unit: str, low: float, high: float, why: str) -> Sourced:
    return Sourced(value, unit, f"ours: {why}", "ours", low, high)


def overlap() -> dict[str, Sourced]:
    """Fresh set of what each activity asks of the flexion resistance."""
    return {
        "bend_least_share": _guess(0.40, "1", 0.3, 0.45, "half is wanted; below, the knee bends away from the load"),
        "bend_longest": _guess(2.0, "1", 1.5, 3, "a bend that takes twice the time that was wanted is a wait"),
        "sit_least_share": _guess(0.40, "1", 0.3, 0.45, "below, the sound leg does half as much again as the other"),
        "sit_most_share": _guess(0.60, "1", 0.55, 0.7, "the same the other way: the prosthesis props the body up"),
        "sit_longest": _guess(2.0, "1", 1.5, 3, "as the bend"),
        "sit_seat_speed": _guess(0.44, "m/s", 0.2, 0.6, "a drop of 1 cm: faster is falling onto the seat"),
        "stair_knee_rate": _guess(190.0, "deg/s", 130, 260, "as in the walk"),
        "stair_peak_share": _guess(0.25, "1", 0.1, 0.5, "single landings scatter more than means over strides"),
        "stair_longest": _guess(2.0, "1", 1.5, 3, "as the bend, of the swing time that was wanted"),
        "stand_creep": _guess(1.0, "deg/min", 0.2, 5, "less than a person notices in a minute"),
    }


def step_to() -> dict[str, Sourced]:
    """Fresh set of choices about step-to descent."""
    return {
        "slope": _guess(-6.0, "deg", -8, -3, "between 1:12 and 1:8"),
        "step": _guess(0.3, "m", 0.2, 0.4, "a short step, closed up each time"),
        "swing": _guess(0.7, "s", 0.5, 1.2, "prosthetic foot: a passive knee needs time to come forward"),
        "close": _guess(0.4, "s", 0.3, 0.5, "sound foot: quick, because a prosthetic foot does not balance"),
        "shift": _guess(1.0, "s", 0.6, 2, "weight onto one leg before the step"),
        "over": _guess(1.6, "s", 0.8, 2.5, "slowly over the leading foot, or the body is not stopped there"),
        "clearance": _guess(0.06, "m", 0.03, 0.1, "lift of a swinging foot"),
    }


def stop() -> dict[str, Sourced]:
    """Fresh set of choices about stopping on a slope and walking on."""
    return {
        "slope": _guess(-5.0, "deg", -8, -3, "about 1:12"),
        "step": _guess(0.45, "m", 0.4, 0.5, "short steps downhill"),
        "strides_before": _guess(4, "1", 3, 8, "three strides settle"),
        "stand": _guess(3.0, "s", 2, 10, "long enough to look around"),
        "strides_after": _guess(5, "1", 3, 10, "three to settle again and two to see"),
    }


def ladder() -> dict[str, Sourced]:
    """Fresh set of what a ladder of practice weighs, by which size each is told, and how steep it may be."""
    return {
        "weight": _guess(1.0, "1", 0.5, 2.0, "all alike: nothing tells that one of them matters more"),
        "sound_peak": _guess(1.0, "BW", 1.0, 1.2, "standing on that leg alone"),
        "knee_rate": _guess(190.0, "deg/s", 130, 260, "at which the window of the walk ends"),
        "margin": _guess(0.2, "m", 0.1, 0.3, "nearly a foot's length between mass centre and toe is no burden"),
        "largest_step": _guess(0.25, "1", 0.1, 0.5, "a quarter of standing on the sound leg alone, at most, at a time"),
        "shortest_step": _guess(0.40, "m", 0.3, 0.45, "short steps come first"),
        "longest_step": _guess(0.55, "m", 0.5, 0.7, "near the default of the walk"),
        "slopes": _guess(4.0, "1", 3, 6, "a notch of 1.4 deg"),
        "steps": _guess(3.0, "1", 2, 4, "a notch of 7 cm"),
        "strides": _guess(8.0, "1", 6, 12, "8 strides settle"),
        "gentlest": _guess(3.0, "deg", 2, 4, "about 1:20, where a path becomes a ramp"),
        "light_hand": _guess(0.5, "1", 0.2, 0.8, "half of what a hand on the rail otherwise carries"),
        "bend_least": _guess(0.3, "1", 0.2, 0.4, "a light touch of the prosthetic foot comes first"),
        "bend_most": _guess(0.55, "1", 0.5, 0.6, "with more the hip is at its strength, with 0.7 the balance is lost"),
    }


def parameters() -> dict[str, Sourced]:
    """Fresh set of all of them, the group before the name."""
    groups = {"overlap": overlap(), "step_to": step_to(), "stop": stop(), "ladder": ladder()}
    return {f"{group}_{name}": row for group, rows in groups.items() for name, row in rows.items()}
