"""Masses and limits of prosthetic parts that the trade knows (targets row Q02 and its neighbours).

Does not claim: any single product. All recalled, medium trust; the values are the middles of the recalled bands.
"""

from sim.parameters.sourced import Sourced

SOURCE = "prosthetics textbooks in general, no single source"


def parameters() -> dict[str, Sourced]:
    """Fresh set of masses [kg] and the largest knee flexion [deg]."""
    bands = {
        "socket_with_liner": (1.0, 2.5),
        "knee_unit": (0.8, 1.4),
        "pylon_and_adapters": (0.2, 0.5),
        "foot_without_shoe": (0.4, 0.8),
        "shoe": (0.3, 0.5),
        "whole_prosthesis_without_shoe": (3.0, 5.0),
    }
    rows = {
        name: Sourced(round((low + high) / 2, 3), "kg", SOURCE, "from memory", low, high)
        for name, (low, high) in bands.items()
    }
    rows["maximum_knee_flexion"] = Sourced(127.5, "deg", SOURCE, "from memory", 115, 140, "enough for sitting")
    return rows
