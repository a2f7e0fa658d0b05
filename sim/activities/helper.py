"""A helper at the pelvis: the least support with which a walk succeeds."""

from __future__ import annotations

from collections.abc import Mapping

from sim.activities.walk import walk
from sim.bisect import edge_between, first_that_holds
from sim.result import WalkResult
from sim.scenario import Scenario, replace_by_name
from sim.study import Study, Value, walk_row

#: Lifted shares that are walked first, and how closely the least one is then found (both ours).
SHARES, PRECISION = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6), 0.005
#: Where nothing needs to be lifted: shares of the hold that are walked, and how closely the least is found (ours).
HOLDS, HOLD_PRECISION = (0.0, 0.25, 0.5, 0.75, 1.0), 0.03


def helper_study(scenario: Scenario) -> Study:
    """Walk without help and with hands at the pelvis that lift ever more; find the least share with which it succeeds.

    Parameters
    ----------
    scenario : Scenario
        `helper.support` `none` counts as `constant`.

    Returns
    -------
    Study
        A row without help, then one per lifted share. `least_lifted_share` is None if no share will do, 0 if hands
        that lift nothing but hold the pace are enough; then `least_hold_share` says which share of the hold's stiffness
        and damping is. Where a larger share fails again, `fails_again_from` says so.
    """
    kind = scenario.helper.support if scenario.helper.on else "constant"
    results: dict[float, WalkResult] = {}

    def succeeds(share: float) -> bool:
        results[share] = walk(replace_by_name(scenario, {"helper.support": kind, "helper.lifted_share": share}))
        return results[share].outcome == "walked"

    free = walk(replace_by_name(scenario, {"helper.support": "none"}))
    tried = [(share, succeeds(share)) for share in SHARES]
    least, below = first_that_holds(tried)
    if least is not None and below is not None:
        least = edge_between(succeeds, below, least, PRECISION)[1]
    hold = _least_hold(scenario, kind) if least == 0.0 and free.outcome != "walked" else None
    again = next((share for share, good in tried if least is not None and share > least and not good), None)
    rows: list[dict[str, Value]] = [{"helper": "none", "lifted_share": None, **walk_row(free)}]
    rows += [{"helper": kind, "lifted_share": share, **walk_row(results[share])} for share in sorted(results)]
    found: dict[str, Value] = {
        "walks_without_help": float(free.outcome == "walked"),
        "least_lifted_share": least,
        "least_hold_share": hold,
        "fails_again_from": again,
    }
    if least is not None:
        energy, way = results[least].energy, _way(results[least])
        for direction in ("in", "out"):
            work = energy[f"helper_{direction}_j"]
            found[f"helper_work_{direction}_j_per_m"] = None if work is None else work / way
    return Study("helper", scenario, _told(free, found, scenario, kind), found, tuple(rows), free.software)


def _way(result: WalkResult) -> float:
    """How far the hip came, along x [m]."""
    hip = result.series.hip[:, 0]
    return float(hip[-1] - hip[0])


def _least_hold(scenario: Scenario, kind: str) -> float | None:
    """Least share of the hold's stiffness and damping with which hands that lift nothing are enough."""
    hands = scenario.helper

    def succeeds(share: float) -> bool:
        softer = {
            "helper.support": kind,
            "helper.lifted_share": 0.0,
            "helper.hold_stiffness_n_per_m": share * hands.hold_stiffness_n_per_m,
            "helper.hold_damping_n_s_per_m": share * hands.hold_damping_n_s_per_m,
        }
        return walk(replace_by_name(scenario, softer)).outcome == "walked"

    least, below = first_that_holds([(share, succeeds(share)) for share in HOLDS])
    if least is not None and below is not None:
        least = edge_between(succeeds, below, least, HOLD_PRECISION)[1]
    return least


def _told(free: WalkResult, found: Mapping[str, Value], scenario: Scenario, kind: str) -> str:
    if free.outcome == "walked":
        return "The walk succeeds without help."
    said = f"Without help: {free.outcome} after {len(free.step_records)} steps."
    least, hold, again = (found[name] for name in ("least_lifted_share", "least_hold_share", "fails_again_from"))
    if not isinstance(least, float):
        return f"{said} No lifted share up to {max(SHARES):g} lets it succeed; steps, speed or knee do not fit it."
    what = f"hands that lift {100 * least:.1f} % of the weight{' at first' if kind == 'fading' else ''}"
    if isinstance(hold, float):
        stiffness = hold * scenario.helper.hold_stiffness_n_per_m
        what = f"hands that lift nothing and hold the pace with {stiffness:.0f} N/m"
    said = f"{said} The least help with which it succeeds: {what}."
    if isinstance(again, float):
        said += f" Lifting {100 * again:.0f} % it fails again: more is not always better."
    return said
