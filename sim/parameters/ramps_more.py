"""Ramps and landings of more building rules, beside those of `ramps_ada`.

Does not claim: that a ramp so built is allowed at a place; comfort; that a person with a prosthesis can use it.
Recalled, not looked up.
"""

import math

from sim.parameters.sourced import Sourced


def parameters() -> dict[str, Sourced]:
    """Fresh set: slopes as positive angles [deg], longest runs, rises and landings [m], rail heights [m]."""
    ada = "US ADA Standards 2010"
    german = "DIN 18040-1 (2010) section 4.3.8"
    world = "ISO 21542 (2011), ramps and handrails"
    return {
        "landing_ada": Sourced(1.525, "m", f"{ada} section 405.7.3: landings 60 in long", "from memory"),
        "rise_at_1_to_8": Sourced(0.075, "m", f"{ada} section 405.2: 3 in where space is short", "from memory"),
        "rise_at_1_to_10": Sourced(0.150, "m", f"{ada} section 405.2: 6 in where space is short", "from memory"),
        "slope_six_percent": Sourced(math.degrees(math.atan(0.06)), "deg", f"{german}: 6 %", "from memory"),
        "run_six_percent": Sourced(6.0, "m", f"{german}: a landing after 6 m", "from memory"),
        "landing_six_percent": Sourced(1.5, "m", f"{german}: landings 1.5 m long", "from memory"),
        "rail_height_world": Sourced(0.90, "m", world, "from memory", 0.85, 1.00, "upper of two rails"),
    }
