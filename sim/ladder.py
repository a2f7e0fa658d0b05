"""A ladder of practice: situations from bends in place to free walking, ordered by computed burden, as small steps up.

A suggestion to discuss. Every rung changes one thing by one notch. Of all ways from the easiest bend to free walking on
the steepest slope with the longest steps, the one with the smallest largest step up is taken, then the most even.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sim.activities.bend import Bend
from sim.activities.step_to import StepTo
from sim.caution import CAUTION
from sim.errors import RampwalkError
from sim.ladder_burden import Burden, burden_of_bend, burden_of_step_to, burden_of_walk
from sim.ladder_situations import FREE, Ladder, Situation, scenario_of, situations
from sim.result import software_of
from sim.settings import as_dict


def burden_of(settings: Ladder, situation: Situation) -> Burden:
    """Run the situation and tell what it costs."""
    if situation.bend is None and not situation.leads:
        return burden_of_walk(scenario_of(settings, situation), settings.frontal)
    shared = settings.shared_sections()
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
        weights, numerics = self.settings.weights(), self.settings.numerics
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
            "software": software_of(numerics.time_step_s, numerics.iterations, numerics.loop),
            "caution": CAUTION,
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
