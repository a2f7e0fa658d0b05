"""Largest voluntary joint torque of young men, at the best angle and zero rate.

Does not claim: how torque falls with angle, rate or age. Recalled, not looked up, low trust: a ceiling that keeps a
controller human, not a property of a person.
"""

from sim.parameters.sourced import Sourced

SOURCE = "Anderson DE, Madigan ML, Nussbaum MA 2007 J Biomech 40:3105-3113 (young men)"


def parameters() -> dict[str, Sourced]:
    """Fresh set of torques [fraction of body weight x stature]; the bands are ours, -/+ 30 %."""
    table = {
        "hip_extension": 0.161,
        "hip_flexion": 0.113,
        "knee_extension": 0.163,
        "knee_flexion": 0.087,
        "ankle_plantarflexion": 0.095,
        "ankle_dorsiflexion": 0.033,
    }
    unit = "fraction of body weight x stature"
    return {
        name: Sourced(value, unit, SOURCE, "from memory", 0.7 * value, 1.3 * value, "low trust")
        for name, value in table.items()
    }
