"""Walk ratio: step length divided by cadence.

Does not claim: slopes. On -9 degrees another group walked with 12 % less. Recalled, medium to high trust.
"""

from sim.parameters.sourced import Sourced

SOURCE = "Sekiya N et al 1996 J Hum Mov Stud 30:241-257 (healthy adults, level)"


def parameters() -> dict[str, Sourced]:
    """Fresh set: the ratio [m min/step]."""
    return {"walk_ratio": Sourced(0.0065, "m min/step", SOURCE, "from memory", 0.0055, 0.0072)}
