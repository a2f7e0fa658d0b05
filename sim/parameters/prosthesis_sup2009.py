"""Knee damping in swing and ankle stiffness used in a laboratory above-knee prosthesis (targets row Q04).

Does not claim: a yield resistance under load; stance of that device was ruled by springs. One user, level ground.
The printed unit of the damping did not fit; it is read as N m s/deg and converted.
"""

from sim.parameters.sourced import Sourced

SOURCE = (
    "Sup F, Varol HA, Mitchell J, Withrow TJ, Goldfarb M 2009 IEEE/ASME Trans Mechatron 14:667-676 "
    "doi:10.1109/TMECH.2009.2032688 Table III"
)


def parameters() -> dict[str, Sourced]:
    """Fresh set: swing damping [N m s/rad], ankle stiffness in stance [N m/rad]."""
    damping = "N m s/rad"
    return {
        "swing_flexion_damping": Sourced(1.15, damping, SOURCE, "derived", 0.57, 1.15),
        "swing_extension_damping": Sourced(1.72, damping, SOURCE, "derived", 1.72, 2.58),
        "ankle_stiffness": Sourced(229.0, "N m/rad", SOURCE, "derived", 172.0, 286.0, "middle of the band"),
    }
