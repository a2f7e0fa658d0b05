"""Length of the residual femur beside the intact one.

Does not claim: the range of all users; these were 13 young athletic people.
"""

from sim.parameters.sourced import Sourced

SOURCE = "Baum BS, Schnall BL, Tis JE, Lipton JS 2008 Injury 39:728-733, abstract, 13 users"


def parameters() -> dict[str, Sourced]:
    """Fresh set: shortest and longest residual femur [fraction of the intact one]."""
    unit = "fraction of the intact femur"
    return {
        "shortest": Sourced(0.57, unit, SOURCE, "seen", note="above this, length hardly altered gait"),
        "longest": Sourced(1.0, unit, SOURCE, "seen", note="knee disarticulation"),
    }
