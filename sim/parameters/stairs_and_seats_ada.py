"""Stairs and seats of public ways in the USA: riser, tread and the height of a bench.

Does not claim: other countries, homes, comfort; that a person with a prosthesis can use such a stair or seat. Recalled.
"""

from sim.parameters.sourced import Sourced


def parameters() -> dict[str, Sourced]:
    """Fresh set: riser and tread of a step [m], height of a seat [m]; all recalled, not looked up."""
    stairs = "US ADA Standards 2010 section 504.2: risers 4 to 7 in, treads 11 in deep at least"
    bench = "US ADA Standards 2010 section 903.5: bench seats 17 to 19 in above the floor"
    return {
        "riser": Sourced(0.17, "m", stairs, "from memory", 0.1016, 0.1778, "near the upper end, as most stairs are"),
        "lowest_riser": Sourced(0.1016, "m", stairs, "from memory"),
        "highest_riser": Sourced(0.1778, "m", stairs, "from memory"),
        "tread": Sourced(0.28, "m", stairs, "from memory", 0.2794, 0.356, "the least depth, rounded"),
        "seat_height": Sourced(0.455, "m", bench, "from memory", 0.432, 0.483, "middle of the band"),
    }
