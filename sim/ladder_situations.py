"""What a ladder of practice chooses from: bends in place, step-to descent, walks over supports, slopes and steps."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from sim.activities.step_to import StepTo
from sim.errors import RampwalkError
from sim.frontal import Frontal
from sim.ladder_burden import PARTS
from sim.parameters import ours_practice, ramps_ada
from sim.posture_scenario import InPlace
from sim.scenario import Ground, Scenario, replace_by_name
from sim.settings import check, number, section, whole

_OURS, _RAMPS = ours_practice.ladder(), ramps_ada.parameters()
SUPPORTS = (
    "rail on the sound side and a helper",
    "rail on the sound side",
    "light hand on a rail on the sound side",
    "light hand on a rail on the prosthetic side",
    "free",
)
"""From most to least support."""
FREE = len(SUPPORTS) - 1
LEADS = ("prosthetic", "sound")
_SIDES = ("sound", "sound", "sound", "prosthetic", "none")
_LIGHT = (2, 3)
"""Supports with a light hand."""
_RANGES = (("gentlest_deg", "steepest_deg"), ("shortest_step_m", "longest_step_m"), ("bend_least", "bend_most"))


@dataclass(frozen=True, kw_only=True)
class Ladder(InPlace):
    """The person, the knee, and between which situations the ladder leads.

    Slopes lead from `gentlest_deg` to `steepest_deg` down, steps from `shortest_step_m` to `longest_step_m`, bends from
    `bend_least` to `bend_most` of the weight on the prosthetic leg, each in so many notches. Weights multiply the parts
    of the burden. `largest_step_up` is the bound that a ladder should keep.
    """

    gentlest_deg: float = number(_OURS["gentlest"], 0.5, 15, "a positive angle, downhill")
    steepest_deg: float = number(_RAMPS["steep_existing_ramp"], 1, 20, "a positive angle, downhill")
    slopes: int = whole(_OURS["slopes"], 2, 8, "2 to 8 slopes")
    shortest_step_m: float = number(_OURS["shortest_step"], 0.15, 1.2, "people take steps of 0.3 to 0.9 m")
    longest_step_m: float = number(_OURS["longest_step"], 0.15, 1.2, "people take steps of 0.3 to 0.9 m")
    steps: int = whole(_OURS["steps"], 2, 6, "2 to 6 lengths")
    bend_least: float = number(_OURS["bend_least"], 0.05, 0.95, "share of the weight")
    bend_most: float = number(_OURS["bend_most"], 0.05, 0.95, "share of the weight")
    strides: int = whole(_OURS["strides"], 2, 100, "8 strides settle")
    weight_sound_peak: float = number(_OURS["weight"], 0, 10, "0 leaves it out")
    weight_knee_rate: float = number(_OURS["weight"], 0, 10, "0 leaves it out")
    weight_margin: float = number(_OURS["weight"], 0, 10, "0 leaves it out")
    weight_hip_effort: float = number(_OURS["weight"], 0, 10, "0 leaves it out")
    weight_frontal: float = number(_OURS["weight"], 0, 10, "0 leaves it out")
    largest_step_up: float = number(_OURS["largest_step"], 0.01, 10, "of the burden")
    frontal: Frontal = section(Frontal)

    def __post_init__(self) -> None:
        check(self)
        for low, high in _RANGES:
            least, most = getattr(self, low), getattr(self, high)
            if least >= most:
                told = f"{low} = {least:g} must be below {high} = {most:g}; change one of them."
                raise RampwalkError(told, low, least)

    def weights(self) -> dict[str, float]:
        """Part of the burden -> weight."""
        return {name: getattr(self, f"weight_{name}") for name in PARTS}


@dataclass(frozen=True)
class Situation:
    """Something to practise.

    Attributes
    ----------
    bend : float or None
        Share of the weight on the prosthetic leg in a bend in place.
    leads : str
        Which foot leads in a step-to descent; empty for a bend and for a walk.
    support : int
        Index in `SUPPORTS`.
    slope_deg, step_m : float
        Of a walk; downhill positive.
    notch : tuple of int
        Place in the grid: support, slope, step; of a bend its number; of a step-to descent two numbers.
    """

    bend: float | None
    leads: str
    support: int
    slope_deg: float
    step_m: float
    notch: tuple[int, ...]

    @property
    def name(self) -> str:
        """In words."""
        if self.bend is not None:
            return f"bend in place, {100 * self.bend:.0f} % of the weight on the prosthetic leg"
        if self.leads:
            steps = f"steps of {100 * self.step_m:.0f} cm closed up, the {self.leads} foot leading"
            return f"step-to descent, {self.slope_deg:.1f} deg, {steps}, {SUPPORTS[self.support]}"
        return f"walk down {self.slope_deg:.1f} deg, steps of {100 * self.step_m:.0f} cm, {SUPPORTS[self.support]}"


def _even(low: float, high: float, count: int) -> list[float]:
    return [low + (high - low) * k / (count - 1) for k in range(count)]


def situations(settings: Ladder) -> list[Situation]:
    """All that the ladder chooses from: bends, step-to descent, walks over supports, slopes and steps."""
    shares = _even(settings.bend_least, settings.bend_most, 4)
    bends = [Situation(share, "", FREE, 0.0, 0.0, (k,)) for k, share in enumerate(shares)]
    walks = [
        Situation(None, "", support, slope, step, (support, a, b))
        for support in range(len(SUPPORTS))
        for a, slope in enumerate(_even(settings.gentlest_deg, settings.steepest_deg, settings.slopes))
        for b, step in enumerate(_even(settings.shortest_step_m, settings.longest_step_m, settings.steps))
    ]
    step = StepTo()
    pairs = [
        Situation(None, leads, FREE, -step.slope_deg, step.step_m, (0, k)) for k, leads in enumerate(LEADS)
    ]
    return bends + pairs + walks


def scenario_of(settings: Ladder, situation: Situation) -> Scenario:
    """The walk of a situation; rail and helper with their defaults."""
    base = replace(settings.walk_scenario(-situation.slope_deg), ground=Ground())
    changes: dict[str, Any] = {"step_length_m": situation.step_m, "strides": settings.strides}
    changes["rail.side"] = _SIDES[situation.support]
    if situation.support in _LIGHT:
        changes["rail.carried_share"] = _OURS["light_hand"].value * base.rail.carried_share
    changes["helper.support"] = "constant" if situation.support == 0 else "none"
    return replace_by_name(base, changes)
