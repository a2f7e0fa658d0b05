"""Linear stiffness of prosthetic feet on the bench, heel and forefoot.

Does not claim: angular stiffness; a shoe (softer); the curve, which stiffens with load.
"""

from sim.parameters.sourced import Sourced

SOURCE = "earlier bench studies as listed in a paper on angular stiffness of prosthetic feet, 2013, PMC4023839"


def parameters() -> dict[str, Sourced]:
    """Fresh set [N/m]; the values are the geometric middles of the ranges."""
    return {
        "heel_stiffness": Sourced(49e3, "N/m", SOURCE, "derived", 27e3, 90e3),
        "forefoot_stiffness": Sourced(19e3, "N/m", SOURCE, "derived", 5e3, 76e3),
    }
