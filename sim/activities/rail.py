"""Walking with a hand on a rail: what the carried share does in the plane, and what the side does across it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.activities.walk import walk
from sim.frontal import Frontal, hip_moment, share_on_prosthetic, shift_that_evens
from sim.result import WalkResult
from sim.scenario import Scenario, replace_by_name
from sim.study import CARRIES, Study, Value, judged_frames, walk_row

#: Carried shares that are walked beside the wanted one (ours: the span of the setting).
SHARES = (0.0, 0.05, 0.10, 0.15)
SIDES_WITH_RAIL = ("prosthetic", "sound")


def rail_study(scenario: Scenario, frontal: Frontal | None = None, shares: Sequence[float] = SHARES) -> Study:
    """Walk with a hand on the rail carrying each share; of each walk, what both sides of the rail would mean.

    Parameters
    ----------
    scenario : Scenario
        Its rail is used; the side does not matter in the plane.
    frontal : Frontal, optional
        Lateral distances for the statics across the way.
    shares : sequence of float
        Carried shares of the weight; the scenario's own is added.

    Returns
    -------
    Study
        Two rows per share, one per side of the rail, which differ only across the way (`*_hip_frontal_nm`,
        `prosthetic_share_both_feet`).
    """
    frontal = frontal or Frontal()
    rows: list[dict[str, Value]] = []
    software: dict[str, str | float | int] = {}
    for share in sorted({*shares, scenario.rail.carried_share}):
        side = scenario.rail.side if scenario.rail.on else SIDES_WITH_RAIL[0]
        result = walk(replace_by_name(scenario, {"rail.side": side, "rail.carried_share": share}))
        software = result.software
        for side in SIDES_WITH_RAIL:
            start: dict[str, Value] = {"carried_share": share, "rail_side": side}
            rows.append(start | across(result, share, side, frontal) | walk_row(result))
    found = _found(scenario, rows, frontal)
    return Study("rail", scenario, _told(rows, found), found, tuple(rows), software)


def across(result: WalkResult, share: float, side: str, frontal: Frontal) -> dict[str, Value]:
    """Frontal hip moments while one foot stands, per side [N m], and how both feet share the load [1]; statics.

    Parameters
    ----------
    result : WalkResult
    share : float
        Of the weight, on the rail.
    side : str
        Where the rail is.
    frontal : Frontal
    """
    body, carried = result.body, share * result.scenario.person.weight
    out: dict[str, Value] = {}
    for leg, name in enumerate(("prosthetic", "sound")):
        effort = press(result, leg, carried)
        moment = None if effort is None else hip_moment(leg, carried, side, body, frontal, effort)
        out[f"{name}_hip_frontal_nm"] = moment
    return out | {"prosthetic_share_both_feet": share_on_prosthetic(carried, side, body, frontal)}


def press(result: WalkResult, leg: int, carried: float) -> float | None:
    """Mean vertical force under a foot that stands alone / (weight - carried); None if it never does."""
    part = judged_frames(result)
    if part is None:
        return None
    weight = result.scenario.person.weight
    load, vertical = result.series.load[part], result.series.ground_force[part, :, 1]
    alone = (load[:, leg] > CARRIES * weight) & (load[:, 1 - leg] <= CARRIES * weight)
    return float(vertical[alone, leg].mean()) / (weight - carried) if np.any(alone) else None


def _found(scenario: Scenario, rows: Sequence[dict[str, Value]], frontal: Frontal) -> dict[str, Value]:
    """Prosthetic side of the rail less sound side at the scenario's own share (row C04), and where it turns."""
    from sim.body import build_body

    share = scenario.rail.carried_share
    own = {str(row["rail_side"]): row for row in rows if row["carried_share"] == share}
    out: dict[str, Value] = {"carried_share": share}
    for name in ("prosthetic_hip_frontal_nm", "prosthetic_share_both_feet"):
        ends = [own[side][name] for side in SIDES_WITH_RAIL]
        known = [value for value in ends if isinstance(value, float)]
        out[f"{name}_rail_there_less_other_side"] = known[0] - known[1] if len(known) == 2 else None
    body = build_body(scenario.person, scenario.components, scenario.foot)
    out["lean_to_rail_that_evens_load_m"] = shift_that_evens(share * scenario.person.weight, body, frontal)
    return out


def _told(rows: Sequence[dict[str, Value]], found: dict[str, Value]) -> str:
    walked = sum(row["outcome"] == "walked" for row in rows) // 2
    said = f"{walked} of {len(rows) // 2} carried shares were walked."
    moment = found["prosthetic_hip_frontal_nm_rail_there_less_other_side"]
    share = found["prosthetic_share_both_feet_rail_there_less_other_side"]
    if not isinstance(moment, float) or not isinstance(share, float) or found["carried_share"] == 0.0:
        return said
    percent, lean = 100 * float(str(found["carried_share"])), 100 * float(str(found["lean_to_rail_that_evens_load_m"]))
    return (
        f"{said} With {percent:.3g} % of the weight on the rail, statics across the way give the prosthetic hip "
        f"{abs(moment):.0f} N m {'more' if moment > 0 else 'less'} to hold with the rail on its side than with it on "
        f"the sound side. Standing on both feet with the trunk in the middle, the prosthetic foot carries a share "
        f"that is {abs(share):.2f} {'larger' if share > 0 else 'smaller'}; it carries more than without a rail only if "
        f"the trunk leans further than {lean:.1f} cm to the rail."
    )
