"""Numbers and where they come from: one file per published source, and `ours` for what we guessed.

Every file gives a fresh set from `parameters()` and says in its first lines what the set does not claim.
"""

from sim.parameters import (
    foot_length_hansen2004,
    foot_stiffness_bench2013,
    gravity,
    hydraulic_orifice,
    lengths_drillis1966,
    ours,
    ours_activities,
    ours_flight,
    ours_practice,
    ours_support,
    prosthesis_mass_hale1990,
    prosthesis_parts_recalled,
    prosthesis_sup2009,
    ramps_ada,
    ramps_more,
    residual_hip_strength_2014,
    residual_length_baum2008,
    segments_winter2009,
    stairs_and_seats_ada,
    strength_anderson2007,
    walk_ratio_sekiya1996,
)
from sim.parameters.sourced import HOW_KNOWN, Sourced

SOURCES = (
    foot_length_hansen2004,
    foot_stiffness_bench2013,
    gravity,
    hydraulic_orifice,
    lengths_drillis1966,
    ours,
    ours_activities,
    ours_flight,
    ours_practice,
    ours_support,
    prosthesis_mass_hale1990,
    prosthesis_parts_recalled,
    prosthesis_sup2009,
    ramps_ada,
    ramps_more,
    residual_hip_strength_2014,
    residual_length_baum2008,
    segments_winter2009,
    stairs_and_seats_ada,
    strength_anderson2007,
    walk_ratio_sekiya1996,
)

__all__ = ["HOW_KNOWN", "SOURCES", "Sourced", "all_parameters"]


def all_parameters() -> dict[str, dict[str, Sourced]]:
    """Every parameter of every source file: file name -> parameter name -> value."""
    return {module.__name__.rpartition(".")[2]: module.parameters() for module in SOURCES}
