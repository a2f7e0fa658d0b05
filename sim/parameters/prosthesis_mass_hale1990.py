"""Mass of a prosthetic shank with nothing added (targets row Q01).

Does not claim: that foot and shoe were counted or not; the abstract does not say.
"""

from sim.parameters.sourced import Sourced

SOURCE = "Hale SA 1990 Prosthet Orthot Int 14:125-135, abstract, 6 above-knee users"


def parameters() -> dict[str, Sourced]:
    """Fresh set [kg]."""
    note = "39 % of the sound shank; the upper end is a shank loaded up to the sound one"
    return {"shank_mass": Sourced(1.33, "kg", SOURCE, "seen", 1.33, 3.37, note)}
