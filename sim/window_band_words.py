"""What a band says: how many can use a resistance, how far the ends of the windows lie apart, in numbers and lines."""

from __future__ import annotations

from collections.abc import Sequence

from sim.window import HIGH, LOW, grid_of
from sim.window_band import GROUPS, Band, Member

RESISTANCES = 81
"""Resistances at which the share of members inside their windows is told (ours: 5 % apart, enough for a curve)."""


def users_of(members: Sequence[Member], resistance: float | None, per_kg_of: float | None = None) -> int:
    """How many can use a resistance [N m s/rad]; with `per_kg_of` [kg] each takes it in proportion to body mass."""
    if resistance is None:
        return 0
    return sum(
        member.can_use(resistance if per_kg_of is None else resistance * member.mass / per_kg_of) for member in members
    )


def spread_of_ends(members: Sequence[Member]) -> dict[str, tuple[float, float, float]]:
    """Least, median and greatest lower and upper limit of the members that have a window; empty without one."""
    import numpy as np

    mains = [member.main for member in members if member.main is not None]
    if not mains:
        return {}
    ends = {"lower": [low for low, _ in mains], "upper": [high for _, high in mains]}
    return {name: (min(values), float(np.median(values)), max(values)) for name, values in ends.items()}


def shares_over(members: Sequence[Member], per_kg_of: float | None = None) -> list[tuple[float, float]]:
    """Resistances by equal ratios, and the share of members who can use each."""
    count = max(1, len(members))
    return [(at, users_of(members, at, per_kg_of) / count) for at in grid_of(LOW, HIGH, RESISTANCES)]


def band_lines(band: Band) -> list[str]:
    """The band in plain lines."""
    lines = [f"Uncertainty ({band.seconds:.0f} s):"]
    for group, members in band.groups.items():
        count, having = len(members), sum(bool(member.pieces) for member in members)
        lines.append(f"  Of {count} {GROUPS[group]}, {having} have a window.")
        if band.refused[group]:
            lines.append(f"    {band.refused[group]} more were drawn that no scenario allows.")
        for end, (least, median, most) in spread_of_ends(members).items():
            lines.append(f"    {end} limit {least:.3g} to {most:.3g} N m s/rad, median {median:.3g}")
        if band.start is not None:
            told = f"{users_of(members, band.start)} of {count} can use {band.start:.3g} N m s/rad"
            if group == "people":
                per_kg = band.start / band.mass
                own = users_of(members, band.start, band.mass)
                told += f", {own} of {count} the same per kg of their own mass ({per_kg:.2g})"
            lines.append(f"    {told}.")
    if band.start is None:
        lines.append("  Without a window there is no first trial value that they could use.")
    return [*lines, "  A first trial value is only that: a place to begin with the person, not a recommendation."]
