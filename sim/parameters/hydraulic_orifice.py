"""Exponent of hydraulic knee torque on knee rate at one setting (targets row Q03).

Does not claim: a real unit, which mixes orifice (2) and leakage (1). Recalled, high trust as physics.
"""

from sim.parameters.sourced import Sourced

SOURCE = "fluid mechanics of a sharp-edged orifice, textbooks in general"


def parameters() -> dict[str, Sourced]:
    """Fresh set: the exponent [1]."""
    return {"rate_exponent": Sourced(2.0, "1", SOURCE, "from memory", 1.0, 2.0, "pure orifice")}
