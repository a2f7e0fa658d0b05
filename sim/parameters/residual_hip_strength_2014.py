"""Hip strength of the residual limb beside that of people without an amputation.

Does not claim: that every user is weaker. Scaled to body mass and thigh length, another study (Sawers A, Fatone S
2023) found the residual side stronger than the intact one; the deficit depends on the scaling.
"""

from sim.parameters.sourced import Sourced

SOURCE = "Biomed Hum Kinet 2014;6(1) doi:10.2478/bhk-2014-0011, abstract, 12 above-knee users"


def parameters() -> dict[str, Sourced]:
    """Fresh set: peak hip flexor torque, residual limb / people without an amputation [1]."""
    return {
        "active_users": Sourced(0.653, "1", SOURCE, "seen", note="extensors similar"),
        "inactive_users": Sourced(0.559, "1", SOURCE, "seen"),
    }
