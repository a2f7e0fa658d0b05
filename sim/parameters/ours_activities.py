"""Guesses and choices of the authors about standing, bending, sitting and the single stair, each with its range.

Does not claim: anything measured. The lock is a stand-in for any lock against flexion, with rules of our own.
"""

from sim.parameters.sourced import Sourced


def _guess(value: float, unit: str, low: float, high: float, why: str) -> Sourced:
    return Sourced(value, unit, f"ours: {why}", "ours", low, high)


def hold() -> dict[str, Sourced]:
    """Fresh set of how firmly a plan is held, in units of body mass m, leg length L and g (unit in the name's row)."""
    return {
        "along_stiffness": _guess(2.6, "m g/L", 1.5, 5, "above 1, or an upright body tips; 5.4 rad/s"),
        "along_damping": _guess(2.6, "m sqrt(g/L)", 1.5, 4, "about critical"),
        "height_stiffness": _guess(14.0, "m g/L", 6, 30, "a hip held to 2 cm by a sixth of the weight"),
        "height_damping": _guess(6.0, "m sqrt(g/L)", 3, 10, "about critical"),
        "sinking_damping": _guess(1.5, "m sqrt(g/L)", 0.2, 4, "a leg that carries a share still slows a fall"),
        "trunk_stiffness": _guess(1.2, "m g L", 0.8, 2, "as found for the walk, 800 N m/rad at 75 kg"),
        "trunk_damping": _guess(0.6, "m g L sqrt(L/g)", 0.3, 1, "as found for the walk"),
        "ankle_damping": _guess(0.016, "m g L sqrt(L/g)", 0.005, 0.03, "as found for the walk"),
        "foot_flat": _guess(0.25, "m g L", 0.1, 0.5, "a standing foot is kept flat, as in the walk"),
        "hip_strategy": _guess(0.4, "1", 0, 1, "less than half of it, or the trunk sways over"),
        "guard_angle": _guess(0.15, "rad", 0.05, 0.5, "the last 9 degrees before straight"),
        "guard_torque": _guess(0.004, "m g L", 0, 0.02, "just softens"),
        "guard_damping": _guess(0.1, "m g L sqrt(L/g)", 0.05, 0.3, "as found for the walk"),
        "knee_press": _guess(0.02, "m g L", 0.005, 0.06, "13 N m at 75 kg: the knee stays clear of bending"),
        "balance_rate": _guess(0.8, "1/s", 0.3, 2, "slower than the fall of an upright body, or it sways"),
        "balance_limit": _guess(0.12, "leg lengths", 0.05, 0.2, "about half a foot"),
        "least_sound_share": _guess(0.3, "1", 0.1, 0.4, "the only foot that can balance stays on the ground"),
        "pace_time": _guess(0.15, "s", 0.05, 0.4, "a person does not change pace at once"),
        "pace_length": _guess(0.006, "leg lengths", 0.002, 0.02, "the plan keeps within some millimetres of the hip"),
        "fastest_pace": _guess(1.3, "1", 1, 2, "of the plan: what is much faster is out of hand"),
        "shift_time": _guess(0.025, "s", 0.01, 0.06, "quicker, foot and ground shake; slower, balance sways"),
        "feel_time": _guess(0.05, "s", 0.02, 0.15, "a short reflex"),
        "swing_hip_stiffness": _guess(1.4, "m g L", 0.8, 2, "as found for the walk"),
        "swing_hip_damping": _guess(0.4, "m g L sqrt(L/g)", 0.2, 0.8, "as found for the walk"),
        "swing_knee_stiffness": _guess(0.9, "m g L", 0.4, 1.5, "as found for the walk"),
        "swing_knee_damping": _guess(0.12, "m g L sqrt(L/g)", 0.05, 0.3, "as found for the walk"),
        "swing_ankle_stiffness": _guess(0.126, "m g L", 0.05, 0.3, "as found for the walk"),
        "swing_ankle_damping": _guess(0.01, "m g L sqrt(L/g)", 0.004, 0.03, "as found for the walk"),
    }


def lock() -> dict[str, Sourced]:
    """Fresh set of the rules of a lock against flexion and of what holds it."""
    return {
        "close_load": _guess(160.0, "N", 80, 300, "as the load at which the resistance begins"),
        "close_rate": _guess(5.0, "deg/s", 1, 20, "a knee that stands still"),
        "close_time": _guess(0.5, "s", 0.1, 2, "a short wait"),
        "open_hyperextension": _guess(45.0, "N m", 15, 80, "above what pressing the knee straight gives"),
        "open_load": _guess(60.0, "N", 20, 150, "the leg is lifted"),
        "open_toe_share": _guess(0.6, "1", 0.4, 1.0, "pressure well out on the forefoot"),
        "open_time": _guess(0.1, "s", 0.0, 0.5, "longer than a shake"),
        "stiffness": _guess(3000.0, "N m/rad", 1000, 10000, "as the end stops"),
        "damping": _guess(40.0, "N m s/rad", 5, 80, "as the end stops"),
    }


def stand() -> dict[str, Sourced]:
    """Fresh set of choices about standing."""
    return {
        "slope": _guess(-8.0, "deg", -13, -3, "as the walk"),
        "foot_ahead": _guess(0.15, "m", 0, 0.3, "half a short step"),
        "weight": _guess(0.45, "1", 0.2, 0.7, "a little less than half on the prosthetic leg"),
        "lean": _guess(0.0, "deg", -10, 20, "upright"),
        "seconds": _guess(12.0, "s", 5, 60, "2 s to settle, 10 s to watch"),
        "push": _guess(100.0, "N", 20, 300, "a firm push; a trial that grows ends there"),
        "push_height": _guess(0.30, "m", 0.0, 0.5, "about the mass centre of the trunk"),
        "push_duration": _guess(0.3, "s", 0.1, 1.0, "a nudge"),
        "ramp_seconds": _guess(20.0, "s", 10, 60, "slow enough to be nearly still"),
    }


def bend() -> dict[str, Sourced]:
    """Fresh set of choices about bending in place."""
    return {
        "foot_ahead": _guess(0.12, "m", 0, 0.2, "half a foot ahead, so that the shank can stay upright"),
        "weight": _guess(0.5, "1", 0.2, 0.8, "evenly on both legs"),
        "depth": _guess(40.0, "deg", 15, 60, "as the ramp asks for, well inside what both legs hold"),
        "down": _guess(2.5, "s", 1, 5, "slow"),
        "up": _guess(2.0, "s", 1, 5, "slow"),
        "repeats": _guess(3.0, "1", 2, 6, "the second and third are alike"),
        "rise_share": _guess(0.3, "1", 0.0, 0.5, "what the residual hip gives on the way up, knee passive"),
        "rest": _guess(1.0, "s", 0.5, 2, "a pause standing straight"),
    }


def sit() -> dict[str, Sourced]:
    """Fresh set of choices about sitting down and standing up."""
    return {
        "foot_ahead": _guess(0.08, "m", 0, 0.2, "the prosthetic foot a little ahead, where its ankle lets the shank"),
        "weight": _guess(0.5, "1", 0.2, 0.8, "even, where a share is asked for"),
        "down": _guess(2.5, "s", 1.2, 4, "unhurried; healthy people take about 1.5 to 2.5 s (recalled)"),
        "up": _guess(3.5, "s", 1.5, 5, "slow: the sound leg lifts most of the body, without arms"),
        "rise_share": _guess(0.2, "1", 0.0, 0.3, "what the residual hip gives from a seat; with more it tips the body"),
        "seat_point_down": _guess(0.09, "m", 0.06, 0.12, "flesh under the hip"),
        "seat_stiffness": _guess(30.0, "body weights per leg length", 15, 90, "29 mm under body weight: flesh and pad"),
        "seat_dissipation": _guess(1.5, "s/m", 0.3, 3, "as the foot"),
        "seat_friction": _guess(0.5, "1", 0.3, 0.9, "cloth on wood"),
        "largest_lean": _guess(40.0, "deg", 30, 60, "trunk angle when people rise from a seat, recalled as 40 to 50"),
    }


def stair() -> dict[str, Sourced]:
    """Fresh set of choices about the single stair."""
    return {
        "foot_over_edge": _guess(0.5, "fraction of foot length", 0.3, 0.6, "the forefoot over the edge"),
        "swing": _guess(0.5, "s", 0.4, 1.0, "sound foot from one tread to the next"),
        "start_speed": _guess(0.08, "m/s", 0.0, 0.3, "body's speed forward as the sound foot lifts"),
        "clearance": _guess(0.05, "m", 0.02, 0.1, "the sound foot's lift over the edge"),
        "shift": _guess(1.0, "s", 0.6, 2, "weight onto the prosthetic leg before the step"),
        "landing_knee": _guess(20.0, "deg", 5, 35, "knee of the sound leg that carries after the landing"),
    }


def parameters() -> dict[str, Sourced]:
    """Fresh set of all of them, the activity before the name."""
    groups = {"hold": hold(), "lock": lock(), "stand": stand(), "bend": bend(), "sit": sit(), "stair": stair()}
    return {f"{group}_{name}": row for group, rows in groups.items() for name, row in rows.items()}
