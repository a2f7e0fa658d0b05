"""Acceleration of free fall.

Does not claim: a place; it is the rounded conventional value, as in the reference rows this package is checked with.
"""

from sim.parameters.sourced import Sourced

SOURCE = "conventional value 9.80665 m/s2 (CGPM 1901), rounded"


def parameters() -> dict[str, Sourced]:
    """Fresh set [m/s2]."""
    return {"gravity": Sourced(9.81, "m/s2", SOURCE, "from memory", 9.80, 9.82)}
