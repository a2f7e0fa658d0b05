"""Ramp slopes and rail heights of public ways in the USA (targets rows R01, R02, R03, H01).

Does not claim: other countries; comfort; that a person with a prosthesis can use such a ramp.
"""

import math

from sim.parameters.sourced import Sourced


def parameters() -> dict[str, Sourced]:
    """Fresh set: slopes as positive angles [deg], the longest single rise [m], the rail height [m]."""
    ada = "US ADA Standards 1991 section 4.8.2"
    guide = "US Access Board guide to the ADA Standards chapter 4 section 405"
    chicago = "Chicago Building Rehabilitation Code 14X"
    path = "US ADA Standards section 405 (summary page)"
    return {
        "steepest_path": Sourced(math.degrees(math.atan(1 / 20)), "deg", path, "derived", note="1:20, not yet a ramp"),
        "steepest_new_ramp": Sourced(math.degrees(math.atan(1 / 12)), "deg", ada, "derived", note="1:12"),
        "steep_existing_ramp": Sourced(math.degrees(math.atan(1 / 8)), "deg", chicago, "derived", note="1:8"),
        "longest_rise": Sourced(0.760, "m", ada, "seen", note="at 1:12 the run is 9.1 m long"),
        "rail_height": Sourced(0.915, "m", guide, "derived", 0.865, 0.965, "middle of the band"),
    }
