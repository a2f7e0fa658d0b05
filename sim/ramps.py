"""Standard ramps from building rules as ways with ends: level, down, landing, down, level, and the same up."""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.errors import unknown_name
from sim.parameters import Sourced, ours_support, ramps_ada, ramps_more
from sim.profile import Part

_ADA, _MORE, _OURS = ramps_ada.parameters(), ramps_more.parameters(), ours_support.ramp()


class Ramp(NamedTuple):
    """One ramp of the rules."""

    slope: Sourced  # positive angle [deg]
    longest_run: float  # level length between landings [m]
    landing: Sourced  # [m]
    run_source: str


def _by_rise(slope: Sourced, rise: Sourced) -> Ramp:
    return Ramp(slope, rise.value / math.tan(math.radians(slope.value)), _MORE["landing_ada"], rise.source)


_ONE_TO_TEN = Sourced(math.degrees(math.atan(0.1)), "deg", _MORE["rise_at_1_to_10"].source, "from memory", note="1:10")
PRESETS: dict[str, Ramp] = {
    "1:20": Ramp(_ADA["steepest_path"], _OURS["free_run"].value, _MORE["landing_ada"], _OURS["free_run"].source),
    "6%": Ramp(
        _MORE["slope_six_percent"],
        _MORE["run_six_percent"].value,
        _MORE["landing_six_percent"],
        _MORE["run_six_percent"].source,
    ),
    "1:12": _by_rise(_ADA["steepest_new_ramp"], _ADA["longest_rise"]),
    "1:10": _by_rise(_ONE_TO_TEN, _MORE["rise_at_1_to_10"]),
    "1:8": _by_rise(_ADA["steep_existing_ramp"], _MORE["rise_at_1_to_8"]),
}
"""Ramps by name; the longest run of 1:20 is ours, because a path has none."""


def preset(name: str) -> Ramp:
    """One of `PRESETS`. Raises RampwalkError."""
    if name not in PRESETS:
        raise unknown_name(name, PRESETS, "ramp")
    return PRESETS[name]


def ramp_parts(
    slope_deg: float, run: float, landing: float, level: float, runs: int, on_slope: bool = False
) -> list[Part]:
    """Level, then slope and landing in turn, then level.

    Parameters
    ----------
    slope_deg : float
        Downhill negative.
    run, landing, level : float
        Lengths of a slope, of a landing between two, and of the way before and after [m].
    runs : int
        How many slopes, 1 or more.
    on_slope : bool
        Begin on the first slope, without the level way before it.
    """
    word = "down" if slope_deg < 0.0 else "up" if slope_deg > 0.0 else "flat"
    parts = [] if on_slope else [Part("level before", level, 0.0)]
    for k in range(runs):
        number = f" {k + 1}" if runs > 1 else ""
        parts.append(Part(f"{word}{number}", run, slope_deg))
        if k + 1 < runs:
            parts.append(Part("landing" + (f" {k + 1}" if runs > 2 else ""), landing, 0.0))
    return [*parts, Part("level after", level, 0.0)]
