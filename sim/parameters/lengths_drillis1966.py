"""Segment lengths as shares of stature: Drillis and Contini as Winter prints them.

Does not claim: one person's proportions, nor footwear. A survey of 6068 adults has the hip lower (0.513 men, 0.519
women, to the trochanter).
"""

from sim.parameters.sourced import Sourced

SOURCE = "Drillis R, Contini R 1966 (NYU TR 1166-03) via Winter DA 2009, 4th ed., Wiley, Fig. 4.1"


def parameters() -> dict[str, Sourced]:
    """Fresh set of lengths, standing and without footwear [fraction of stature]."""
    table = {
        "thigh_length": 0.245,
        "shank_length": 0.246,
        "ankle_height": 0.039,
        "foot_length": 0.152,
        "hip_to_shoulder": 0.288,
    }
    return {name: Sourced(value, "fraction of stature", SOURCE, "seen") for name, value in table.items()}
