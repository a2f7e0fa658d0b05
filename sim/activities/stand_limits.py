"""How much lean, push and unloading a stance bears, for each kind of lock."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sim.activities.stand import Stand, stand
from sim.activities.stand_metrics import LIFTED, TRIAL
from sim.posture_scenario import KneeLock

KINDS = ("none", "flexion-lock", "permanent-lock")
#: Time that a trial goes on after its growth or push has ended [s] (ours): a fall takes about one second.
AFTER = 2.5
#: Largest nudge that is tried, as a share of the body weight, and how finely the smallest that topples is found (ours).
LARGEST_NUDGE, NUDGE_STEPS = 0.8, 7


def limits(settings: Stand) -> dict[str, float | str | None]:
    """What a stance with its lock bears.

    Parameters
    ----------
    settings : Stand
        `trial` and `seconds` have no effect.

    Returns
    -------
    dict
        `lock`, then for each trial what ended it (`*_ended_by`: "lock", "knee", "foot lifted" (the prosthetic one),
        "balance lost" or "nothing") and its value there: `lean_forward_mm` (of the mass centre),
        `push_forward_n`, `push_backward_n` (slow pushes), `unload_prosthetic_load_bw`, and `nudge_forward_n`,
        `nudge_backward_n`, the smallest short pushes that topple (None: not even the largest).
    """
    table: dict[str, float | str | None] = {"lock": settings.lock.kind}
    largest = LARGEST_NUDGE * settings.person.weight
    trials = (
        ("lean_forward_mm", "lean", settings.push_n, "trial_mass_centre_forward_mm"),
        ("push_forward_n", "push", 0.3 * largest, "trial_push_n"),
        ("push_backward_n", "push", -0.3 * largest, "trial_push_n"),
        ("unload_prosthetic_load_bw", "unload", settings.push_n, "trial_prosthetic_load_bw"),
    )
    for name, trial, push, metric in trials:
        seconds = TRIAL + settings.ramp_seconds + AFTER
        result = stand(replace(settings, trial=trial, push_n=push, seconds=seconds))
        table[name] = result.metrics[metric]
        table[f"{name.rpartition('_')[0]}_ended_by"] = _ended_by(result.metrics)
    table["nudge_forward_n"] = smallest_nudge(settings, largest)
    table["nudge_backward_n"] = smallest_nudge(settings, -largest)
    return table


def _ended_by(metrics: dict[str, float | None]) -> str:
    at = metrics["trial_event_at_s"]
    if at is None:
        return "nothing"
    if metrics["lock_opened_at_s"] == at:
        return "lock"
    if metrics["knee_yielded_at_s"] == at:
        return "knee"
    return "foot lifted" if (metrics["trial_prosthetic_load_bw"] or 0.0) < LIFTED + 0.005 else "balance lost"


def smallest_nudge(settings: Stand, largest: float) -> float | None:
    """Smallest short push that topples [N], with the sign of `largest`; None if that does not.

    By halving, to the `NUDGE_STEPS`-th part of a power of two of the largest; that more push topples sooner is assumed.
    """
    seconds = TRIAL + settings.push_duration_s + AFTER

    def topples(push: float) -> bool:
        return stand(replace(settings, trial="nudge", push_n=push, seconds=seconds)).outcome == "fell"

    if not topples(largest):
        return None
    low, high = 0.0, largest
    for _ in range(NUDGE_STEPS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if topples(middle) else (middle, high)
    return high


def limits_of_locks(settings: Stand, kinds: tuple[str, ...] = KINDS) -> list[dict[str, Any]]:
    """`limits` for each kind of lock, all else equal."""
    return [limits(replace(settings, lock=_with_kind(settings.lock, kind))) for kind in kinds]


def _with_kind(lock: KneeLock, kind: str) -> KneeLock:
    return replace(lock, kind=kind)
