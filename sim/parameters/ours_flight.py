"""Down a flight of stairs step over step: how the model person does it; guesses and gains of the authors.

Does not claim: anything measured, nor how people do it. `experiments/tune_flight` found the gains for the default
person, risers of 0.15 to 0.18 m, treads of 0.28 m and 34 to 48 N m s/rad, one set for all. L is leg length, m mass, g
gravity.
"""

from __future__ import annotations

from sim.parameters.sourced import Sourced


def _guess(value: float, unit: str, low: float, high: float, why: str) -> Sourced:
    return Sourced(value, unit, f"ours: {why}", "ours", low, high)


def flight() -> dict[str, Sourced]:
    """Fresh set of what the settings of a flight begin with, and of the gains of the person."""
    return {
        "steps": _guess(3.0, "1", 1, 7, "one whole stride"),
        "start_speed": _guess(0.090743, "m/s", 0.0, 0.5, "body's speed forward as the sound foot lifts the first time"),
        "swing_first": _guess(1.7176, "sqrt(L/g)", 1.3, 2.8, "first sound swing"),
        "swing_sound": _guess(2.2307, "sqrt(L/g)", 1.4, 2.8, "later sound swings, two treads far"),
        "swing_prosthetic": _guess(2.2175, "sqrt(L/g)", 1.6, 3.0, "a passive knee needs time to come straight"),
        "wait_prosthetic": _guess(0.18409, "sqrt(L/g)", 0.01, 0.5, "sound landing to prosthetic lift"),
        "wait_sound": _guess(0.08874, "sqrt(L/g)", 0.05, 1.2, "prosthetic landing to sound lift, at least"),
        "foot_angle": _guess(-0.1672, "rad", -0.6, -0.15, "of the landing sound foot, toe down"),
        "sound_gap": _guess(0.083805, "L", 0.02, 0.12, "sound heel ahead of the riser behind it"),
        "over": _guess(0.56987, "foot length", 0.3, 0.6, "of the prosthetic foot beyond the edge"),
        "roll_stiffness": _guess(0.5906, "m g L", 0.05, 0.8, "sound ankle, while the heel comes down"),
        "roll_damping": _guess(0.042359, "m g L sqrt(L/g)", 0.0, 0.06, "as that"),
        "roll_most": _guess(1.1, "1", 0.2, 1.1, "of what carries the force on the ball"),
        "roll_time": _guess(0.6063, "sqrt(L/g)", 0.4, 1.6, "in which the heel comes down"),
        "ahead": _guess(0.029914, "L", -0.15, 0.2, "extrapolated mass centre ahead as the sound foot lifts"),
        "onset": _guess(0.22239, "sqrt(L/g)", 0.03, 0.6, "in which the landed sound leg begins to push"),
        "most_up": _guess(1.9845, "weight", 1.1, 2.0, "most that it pushes up"),
        "height_stiffness": _guess(7.3385, "m g/L", 3.0, 25.0, "hip held to its way down"),
        "height_damping": _guess(2.0092, "m sqrt(g/L)", 2.0, 10.0, "as that"),
        "hip": _guess(0.88976, "L", 0.85, 1.02, "hip above the next ankle as that foot is to land"),
        "hip_rate": _guess(-0.072242, "sqrt(g L)", -0.4, 0.0, "its rate then"),
        "centre": _guess(0.33336, "L", 0.1, 0.35, "mass centre ahead of the sound ankle then"),
        "centre_rate": _guess(0.16689, "sqrt(g L)", 0.0, 0.35, "its rate then"),
        "later": _guess(0.5, "sqrt(L/g)", -0.5, 0.5, "this is to be so much later than the end of the swing"),
        "thigh_high": _guess(0.77488, "rad", 0.45, 0.95, "prosthetic thigh in swing, forward"),
        "high_until": _guess(0.23257, "1", 0.2, 0.8, "share of the swing at which it is there"),
        "aim_after": _guess(0.49867, "1", 0.05, 0.5, "share of the swing until it points at the foothold"),
        "thigh_stiffness": _guess(0.72314, "m g L", 0.5, 2.0, "as a swinging sound hip"),
        "thigh_damping": _guess(0.52719, "m g L sqrt(L/g)", 0.1, 0.6, "as that"),
        "share": _guess(0.90247, "weight", 0.0, 1.2, "on the sound leg as the prosthetic foot lands"),
        "giving": _guess(0.47929, "sqrt(L/g)", 0.1, 2.0, "time in which it is given up"),
        "press": _guess(0.86417, "1", -6.0, 1.0, "of the prosthetic knee then, 1 straight"),
        "bend": _guess(0.068221, "m g L/rad", 0.0, 0.5, "prosthetic hip towards the planned yielding"),
        "bent": _guess(0.93469, "rad", 0.8, 1.4, "planned prosthetic knee as the sound foot lands"),
        "clearance": _guess(0.030436, "L", 0.0233, 0.116, "lift of the sound foot over the edge"),
        "lean_prosthetic": _guess(0.00097812, "rad", -0.2, 0.4, "trunk over the prosthetic leg, forward"),
        "lean_sound": _guess(0.14994, "rad", -0.1, 0.5, "trunk over the sound leg"),
        "speed": _guess(0.16326, "sqrt(g L)", 0.0, 0.35, "along, while the weight goes onto the prosthetic leg"),
        "reach_rate": _guess(0.014783, "sqrt(g L)", 0.0, 0.4, "of a late foot down"),
        "last_knee": _guess(0.84406, "rad", 0.2, 1.2, "sound knee after the last landing"),
        "last_centre": _guess(0.00099018, "L", -0.02, 0.03, "mass centre ahead of the ankle then"),
        "last_time": _guess(1.8297, "sqrt(L/g)", 1.5, 4.0, "in which the body is stopped there"),
    }


def gains() -> dict[str, float]:
    """Fresh set of the gains as plain numbers in the units of `flight`: the same whatever the knee's setting."""
    return {name: row.value for name, row in flight().items() if name != "steps"}


def parameters() -> dict[str, Sourced]:
    """Fresh set of all of them."""
    return flight()
