"""Segment masses, mass centres and radii of gyration: Dempster's cadaver table as Winter prints it.

Does not claim: young or old, male or female in particular; a residual limb; any other cut between thigh and trunk.
Tables that cut elsewhere (de Leva 1996) must never be mixed with this one.
"""

from sim.parameters.sourced import Sourced

SOURCE = (
    "Dempster WT 1955 (WADC-TR-55-159) via Winter DA 2009, Biomechanics and Motor Control of Human Movement, "
    "4th ed., Wiley, Table 4.1"
)


def parameters() -> dict[str, Sourced]:
    """Fresh set: per segment the share of body mass, and mass centre and gyration as shares of segment length.

    Mass centres count from the upper joint, for head-arms-trunk upward from the hip. Gyration is about the mass
    centre. The foot's length is ankle to second metatarsal head, the trunk's is hip to shoulder.
    """
    table = {
        "head_arms_trunk": (0.678, 0.626, 0.496),
        "thigh": (0.100, 0.433, 0.323),
        "shank": (0.0465, 0.433, 0.302),
        "foot": (0.0145, 0.5, 0.475),
    }
    rows = {}
    for segment, (mass, centre, gyration) in table.items():
        rows[f"{segment}_mass"] = Sourced(mass, "fraction of body mass", SOURCE, "seen")
        rows[f"{segment}_centre"] = Sourced(centre, "fraction of segment length", SOURCE, "seen")
        rows[f"{segment}_gyration"] = Sourced(gyration, "fraction of segment length", SOURCE, "seen")
    return rows
