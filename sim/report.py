"""What a report tells of one person on one ramp: window, three walks, what helps, the one thing to watch."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim.scenario import Scenario, replace_by_name
from sim.table import setting_values
from sim.window import HIGH, LOW, RESISTANCE, Walk, find_windows
from sim.window_found import Window
from sim.window_study import present_and_helps

if TYPE_CHECKING:
    import pandas as pd

    from sim.result import WalkResult
    from sim.window_band import Band
    from sim.window_criteria import Criteria, Row

BEYOND = 1.3
"""The walks that are too low and too high lie this far beyond the ends of the window, by ratio (ours: well outside)."""
NARROW = 1.5
"""Window whose upper limit is below this many times its lower one: 20 % up or down leaves it (ours)."""
WATCH = {
    "fall": "whether the prosthetic knee holds at all: here the model falls",
    "knee_rate": "how fast the prosthetic knee bends under load: it should give slowly and evenly, not drop",
    "sound_peak": "how hard the sound foot lands: look and listen for a heavy step",
    "loading_rate": "how suddenly the sound leg takes the weight: look for a jolt at its landing",
    "knee_hardly_bends": "whether the prosthetic knee bends under load before the sound foot lands",
    "mass_centre_behind": "whether the body is over the prosthetic foot when the sound foot lands, not behind it",
    "speed": "whether the wanted pace can be kept",
    "step_time": "whether the wanted rhythm can be kept",
    "rhythm": "the rhythm: both steps should take about equally long, count them aloud",
    "hip_effort": "how hard the hip on the prosthetic side has to work: ask, and look for pulling with the trunk",
    "stall": "whether the walk keeps going at all: here the model stalls",
    "no_result": "nothing: the computation gave no result here",
}
"""Criterion -> what a person beside the ramp can see of it."""


@dataclass(frozen=True)
class Watch:
    """The one thing to watch.

    Attributes
    ----------
    criterion : str
    room : float
        How far it is from its limit at this place, as a share of the limit; below 0 it is beyond.
    """

    criterion: str
    room: float


@dataclass(frozen=True, eq=False)
class Report:
    """Everything that the page shows.

    Attributes
    ----------
    scenario : Scenario
    window : Window
    place : float or None
        First trial value, or without a window the resistance at which the fewest criteria are broken [N m s/rad].
    watch : Watch or None
    walks : tuple of (str, WalkResult)
        What its resistance is, and the walk; from low to high.
    start_row : mapping
        Row of the walk from which changes are counted.
    helps : DataFrame
        As of `sim.window_help.ranked`.
    band : Band or None
    band_missing : str
        Why there is no band although there is a file, or empty.
    seconds : float
    """

    scenario: Scenario
    window: Window
    place: float | None
    watch: Watch | None
    walks: tuple[tuple[str, WalkResult], ...]
    start_row: Row
    helps: pd.DataFrame
    band: Band | None
    band_missing: str
    seconds: float


def make_report(
    base: Scenario, criteria: Criteria, walk: Walk, band: Band | None = None, band_missing: str = ""
) -> Report:
    """Compute a report.

    Parameters
    ----------
    base : Scenario
    criteria : Criteria
    walk : callable
        See `sim.window.Walk`; its rows have `sim.window_study.STUDY_COLUMNS`.
    band : Band, optional
        Of the same scenario, made before.
    band_missing : str
        Why a band that is kept cannot be shown.

    Raises
    ------
    RampwalkError
        If the person has no prosthesis.
    """
    import time

    from sim.activities.walk import walk as walk_once

    begun = time.perf_counter()
    window = find_windows(base, [{}], walk, criteria)[0]
    place = window.first_trial
    if place is None:
        at = window.nearest()[0]
        place = None if math.isnan(at) else at
    start_row, helps = present_and_helps(base, walk, place)
    walks = [(what, walk_once(replace_by_name(base, {RESISTANCE: at}))) for what, at in three_places(window, place)]
    watch = None if place is None else to_watch(window, place)
    seconds = time.perf_counter() - begun
    return Report(base, window, place, watch, tuple(walks), start_row, helps, band, band_missing, seconds)


def three_places(window: Window, place: float | None) -> list[tuple[str, float]]:
    """Resistances of the three walks and what each is."""
    piece = window.main
    if piece is not None and place is not None:
        low, high = max(LOW, piece.low / BEYOND), min(HIGH, piece.high * BEYOND)
        return [("too low", low), ("first trial value", place), ("too high", high)]
    own = window.scenario.knee.flexion_resistance or LOW
    middle = own if place is None else place
    what = "the scenario's own" if place is None else "where the fewest criteria are broken"
    low, high = max(LOW, middle / BEYOND**2), min(HIGH, middle * BEYOND**2)
    return [("lower", low), (what, middle), ("higher", high)]


def to_watch(window: Window, place: float) -> Watch | None:
    """The criterion that is nearest to its limit at a resistance, or furthest beyond it.

    Of the walks that were made the one at the nearest resistance tells.
    """
    at = min(window.excess, key=lambda known: abs(math.log(known / place)))
    known = {name: value for name, value in window.excess[at].items() if not math.isnan(value)}
    if not known:
        return None
    name = max(known, key=lambda each: known[each])
    return Watch(name, -known[name])


def is_narrow(window: Window) -> bool:
    """Whether a fifth more or less of the first trial value may leave the window."""
    piece = window.main
    return piece is not None and piece.high < NARROW * piece.low


def changed_settings(scenario: Scenario) -> Mapping[str, Any]:
    """Settings that differ from the defaults, by full name, in their order."""
    usual, own = setting_values(Scenario()), setting_values(scenario)
    return {name: value for name, value in own.items() if value != usual[name]}
