"""The prosthetic knee, the prosthetic ankle and the end stops: passive, and the same in every activity."""

from __future__ import annotations

from typing import Any

from sim.law.compiled import law


@law
def is_loaded(load: float, was_loaded: int, knee: Any) -> int:
    """Whether the loaded resistance acts: above `load_on` yes, below `load_off` no, between as before."""
    if load > knee.load_on:
        return 1
    return 0 if load < knee.load_off else was_loaded


@law
def knee_torque(flexion: float, flexion_rate: float, loaded: int, knee: Any) -> float:
    """Torque of the prosthetic knee [N m], flexing positive.

    Loaded, a damper against flexion (linear or quadratic in the rate) and a light one against extension. Unloaded,
    a light damper both ways and an assist that brings the shank forward and fades over the last 3 degrees.
    """
    if loaded:
        if flexion_rate <= 0.0:
            return -knee.extension_resistance * flexion_rate
        if knee.quadratic:
            return -knee.flexion_resistance * flexion_rate * flexion_rate
        return -knee.flexion_resistance * flexion_rate
    resistance = knee.swing_flexion_resistance if flexion_rate > 0.0 else knee.swing_extension_resistance
    return -resistance * flexion_rate - knee.extension_assist * min(1.0, max(0.0, flexion / 0.05))


@law
def stop_torque(over: float, rate_into: float, stiffness: float, damping: float) -> float:
    """Torque against an end stop [N m]: a spring, and a damper while closing that grows over the first 2 degrees."""
    if over <= 0.0:
        return 0.0
    return stiffness * over + damping * max(0.0, rate_into) * min(1.0, over / 0.035)


@law
def knee_stop(flexion: float, flexion_rate: float, knee: Any) -> float:
    """End stops at full extension and at the greatest flexion [N m], flexing positive."""
    straight = stop_torque(-flexion, -flexion_rate, knee.stop_stiffness, knee.stop_damping)
    bent = stop_torque(flexion - knee.maximum_flexion, flexion_rate, knee.stop_stiffness, knee.stop_damping)
    return straight - bent


@law
def ankle_stop(dorsiflexion: float, rate: float, knee: Any) -> float:
    """Ends of the ankle's range [N m]: 38 degrees up, as bent-knee lunges reach (from memory), 46 down (ours)."""
    up = stop_torque(dorsiflexion - 0.66, rate, 0.3 * knee.stop_stiffness, 0.1 * knee.stop_damping)
    down = stop_torque(-0.8 - dorsiflexion, -rate, 0.3 * knee.stop_stiffness, 0.1 * knee.stop_damping)
    return down - up
