"""A ladder of practice: situations from bends in place to free walking, ordered by computed burden, as small steps up.

A suggestion to discuss. Every rung changes one thing by one notch. Of all ways from the easiest bend to free walking on
the steepest slope with the longest steps, the one with the smallest largest step up is taken, then the most even.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sim.activities.bend import Bend
from sim.activities.step_to import StepTo
from sim.errors import RampwalkError
from sim.frontal import Frontal
from sim.ladder_burden import PARTS, Burden, burden_of_bend, burden_of_step_to, burden_of_walk
from sim.parameters import ours_practice, ramps_ada
from sim.posture_scenario import InPlace
from sim.scenario import Ground, Scenario, replace_by_name
from sim.settings import as_dict, check, number, section, whole

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


def burden_of(settings: Ladder, situation: Situation) -> Burden:
    """Run the situation and tell what it costs."""
    if situation.bend is None and not situation.leads:
        return burden_of_walk(scenario_of(settings, situation), settings.frontal)
    names = ("person", "components", "knee", "foot", "contact", "lock", "numerics")
    shared = {name: getattr(settings, name) for name in names}
    if situation.leads:
        return burden_of_step_to(StepTo(**shared, leads=situation.leads), settings.frontal)
    assert situation.bend is not None
    return burden_of_bend(Bend(**shared, weight_on_prosthetic=situation.bend, repeats=1), settings.frontal)


@dataclass(frozen=True)
class Rung:
    """One rung: the situation, what it costs, and how it differs from the one below.

    Attributes
    ----------
    step_up : float
        Burden less that of the rung below; 0 for the first.
    tie : bool
        Whether the order of this rung and the one below flips when one weight is halved or doubled.
    """

    situation: Situation
    burden: Burden
    total: float
    step_up: float
    tie: bool


@dataclass(frozen=True)
class Climb:
    """A ladder and all that it was chosen from; `rungs` is empty if free walking is not reached."""

    settings: Ladder
    rungs: tuple[Rung, ...]
    tried: tuple[tuple[Situation, Burden], ...]

    @property
    def largest_step_up(self) -> float:
        """Of the ladder."""
        return max((rung.step_up for rung in self.rungs), default=math.nan)

    @property
    def beyond_bound(self) -> list[Rung]:
        """Rungs whose step up is larger than the bound."""
        return [rung for rung in self.rungs if rung.step_up > self.settings.largest_step_up]

    def to_json_dict(self) -> dict[str, Any]:
        """Rungs, all situations and settings as plain values."""
        weights = self.settings.weights()
        return {
            "suggestion": "to discuss, not a plan of treatment",
            "settings": as_dict(self.settings),
            "rungs": [
                {
                    "situation": rung.situation.name, "burden": rung.total, "step_up": rung.step_up, "tie": rung.tie,
                    "parts": dict(rung.burden.parts), "measured": dict(rung.burden.measured),
                }
                for rung in self.rungs
            ],
            "situations": [
                {
                    "situation": each.name, "outcome": burden.outcome,
                    "burden": burden.total(weights) if burden.done else None,
                }
                for each, burden in self.tried
            ],
        }  # fmt: skip


def climb(settings: Ladder, cost: Callable[[Ladder, Situation], Burden] = burden_of) -> Climb:
    """Build the ladder. Nothing is random.

    Parameters
    ----------
    settings : Ladder
    cost : callable
        Burden of a situation.
    """
    if not settings.person.has_prosthesis:
        raise RampwalkError("person.limbs = 'both-sound' needs no ladder; use 'one-prosthetic'.", "person.limbs")
    tried = [(each, cost(settings, each)) for each in situations(settings)]
    return Climb(settings, _rungs(settings, tried), tuple(tried))


def is_tie(one: Burden, other: Burden, weights: Mapping[str, float]) -> bool:
    """Whether the order of two burdens flips when any one weight is halved or doubled."""
    first = other.total(weights) - one.total(weights)
    for name in weights:
        for factor in (0.5, 2.0):
            changed = {**weights, name: factor * weights[name]}
            if (other.total(changed) - one.total(changed)) * first <= 0.0:
                return True
    return False


def _easiest(one: Situation) -> bool:
    """Whether this is the walk with the most support, the gentlest slope and the shortest steps."""
    return one.notch == (0, 0, 0)


def neighbours(one: Situation, other: Situation) -> bool:
    """Whether one thing differs by one notch.

    From any bend one may go on to the next bend, to step-to descent or to the easiest walk, and from step-to descent to
    the easiest walk.
    """
    if one.bend is not None:
        next_bend = other.bend is not None and other.notch == (one.notch[0] + 1,)
        return next_bend or other.leads != "" or _easiest(other)
    if one.leads:
        return _easiest(other)
    walks = other.bend is None and not other.leads
    return walks and sum(abs(a - b) for a, b in zip(one.notch, other.notch, strict=True)) == 1


def _rungs(settings: Ladder, tried: Sequence[tuple[Situation, Burden]]) -> tuple[Rung, ...]:
    """The way with the smallest largest step up, then the fewest rungs, then the most even; steps down only in ties."""
    weights = settings.weights()
    known = [(each, burden) for each, burden in tried if burden.done]
    totals = [burden.total(weights) for _, burden in known]
    goal = (FREE, settings.slopes - 1, settings.steps - 1)
    starts = [k for k, (each, _) in enumerate(known) if each.notch == (0,)]
    best: dict[int, tuple[float, int, float]] = {}
    heap: list[tuple[tuple[float, int, float], int, tuple[int, ...]]] = [((0.0, 0, 0.0), k, (k,)) for k in starts]
    while heap:
        so_far, k, way = heapq.heappop(heap)
        if k in best:
            continue
        best[k] = so_far
        if known[k][0].notch == goal:
            return _told(way, known, totals, weights)
        for j, (each, burden) in enumerate(known):
            if j in best or not neighbours(known[k][0], each):
                continue
            up = totals[j] - totals[k]
            if up < 0.0 and not is_tie(known[k][1], burden, weights):
                continue
            cost = (max(so_far[0], up), so_far[1] + 1, so_far[2] + up * up)
            heapq.heappush(heap, (cost, j, (*way, j)))
    return ()


def _told(
    way: Sequence[int], known: Sequence[tuple[Situation, Burden]], totals: Sequence[float], weights: Mapping[str, float]
) -> tuple[Rung, ...]:
    rungs = []
    for place, k in enumerate(way):
        before = way[place - 1] if place else k
        tie = place > 0 and is_tie(known[before][1], known[k][1], weights)
        rungs.append(Rung(*known[k], totals[k], totals[k] - totals[before], tie))
    return tuple(rungs)
