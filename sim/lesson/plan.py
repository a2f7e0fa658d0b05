"""Which walks the lesson page holds, and which two of them each ready lesson compares."""

from __future__ import annotations

from typing import Any, NamedTuple

from sim.grid import Axes, axes_of
from sim.plots.data import RESISTANCE, SLOPE, STEP
from sim.scenario import Scenario

#: Slopes and steps on which the gains were found, so where the walk is at its best (docs/limits.md); resistances from
#: one that gives way to one that hardly bends.
GRID = {
    SLOPE: (-4.0, -5.0, -6.0, -8.0, -10.0),
    STEP: (0.4, 0.45, 0.5, 0.55, 0.6, 0.65),
    RESISTANCE: (15.0, 20.0, 25.0, 32.0, 40.0, 60.0, 120.0, 250.0),
}
SMALL_GRID = {SLOPE: (-6.0, -10.0), STEP: (0.4, 0.5, 0.6), RESISTANCE: (15.0, 25.0, 40.0, 250.0)}
STRIDES, SMALL_STRIDES = 8, 4
"""Strides on the slope of every walk (ours: enough to settle; 240 walks then take half a minute on two processors)."""
SAME_PEAK_BW = 0.08
"""Peaks that differ by less are called the same [body weights]: the map is no smoother than that (docs/limits.md)."""
SAME_RATE_SHARE = 0.1
"""Knee rates that differ by less than this share of the larger are called the same (ours)."""


class Walker(NamedTuple):
    """One of the two: wanted step length [m] and flexion resistance [N m s/rad]."""

    step_length_m: float
    resistance: float


class Comparison(NamedTuple):
    """Two walkers on one slope, what the page asks, and what the rule of thumb would say.

    Attributes
    ----------
    slope_deg : float
    a, b : Walker
    question : str
        One of `QUESTIONS`.
    rule : str
        The answer of the rule of thumb; the page says so when the model does something else.
    """

    slope_deg: float
    a: Walker
    b: Walker
    question: str
    rule: str


#: Question -> its possible answers.
QUESTIONS = {
    "peak": ("a", "same", "b", "fall"),
    "rate": ("a", "same", "b", "fall"),
    "leg": ("prosthetic", "same", "sound", "fall"),
    "fall": ("both", "a", "b", "neither"),
}
_ENOUGH, _STEEP = 40.0, -10.0
LESSONS: dict[str, tuple[Comparison, ...]] = {
    "steps": (
        Comparison(-4.0, Walker(0.6, 60.0), Walker(0.45, 60.0), "peak", "a"),
        Comparison(_STEEP, Walker(0.6, 60.0), Walker(0.4, 60.0), "peak", "a"),
    ),
    "resistance": (
        Comparison(_STEEP, Walker(0.55, 15.0), Walker(0.55, _ENOUGH), "fall", "b"),
        Comparison(_STEEP, Walker(0.55, 25.0), Walker(0.55, _ENOUGH), "rate", "a"),
        Comparison(_STEEP, Walker(0.55, _ENOUGH), Walker(0.55, 250.0), "peak", "b"),
    ),
    "sound": (
        Comparison(_STEEP, Walker(0.55, _ENOUGH), Walker(0.55, 25.0), "leg", "sound"),
        Comparison(_STEEP, Walker(0.55, _ENOUGH), Walker(0.55, 250.0), "leg", "sound"),
    ),
}
"""Lesson -> its comparisons; titles and texts are in the texts of the page, notes for the teacher in docs/lessons/."""


def lesson_axes(small: bool = False) -> Axes:
    """Axes of the grid of walks; `small` for a quick look."""
    return axes_of(SMALL_GRID if small else GRID)


def lesson_base(small: bool = False) -> Scenario:
    """What all walks share: everything at its default."""
    return Scenario(strides=SMALL_STRIDES if small else STRIDES)


def plan_dict() -> dict[str, Any]:
    """Questions, tolerances and lessons as plain values for the page."""
    return {
        "questions": {name: list(answers) for name, answers in QUESTIONS.items()},
        "same_peak_bw": SAME_PEAK_BW,
        "same_rate_share": SAME_RATE_SHARE,
        "lessons": {
            name: [
                {
                    "slope_deg": each.slope_deg,
                    "walkers": [each.a._asdict(), each.b._asdict()],
                    "question": each.question,
                    "rule": each.rule,
                }
                for each in comparisons
            ]
            for name, comparisons in LESSONS.items()
        },
    }
