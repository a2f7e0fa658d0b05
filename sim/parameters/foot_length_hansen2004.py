"""How much of a foot's length can carry weight.

Does not claim: any single prosthetic foot; anything about stiffness. Recalled, not looked up.
"""

from sim.parameters.sourced import Sourced

SOURCE = "Hansen AH, Sam M, Childress DS 2004 J Prosthet Orthot 16:41-45"


def parameters() -> dict[str, Sourced]:
    """Fresh set: heel to the foremost point that carries, as a share of foot length."""
    unit = "fraction of foot length"
    return {
        "sound": Sourced(0.83, unit, SOURCE, "from memory", note="medium trust"),
        "prosthetic": Sourced(0.72, unit, SOURCE, "from memory", 0.63, 0.81, "middle of the band; medium trust"),
    }
