"""What helps more: the effect of single changes from the present setting, ranked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim.errors import RampwalkError
from sim.grid import Cell, rounded
from sim.scenario import Scenario, replace_by_name
from sim.window import RESISTANCE
from sim.window_criteria import Row

if TYPE_CHECKING:
    import pandas as pd

SHORTER_M, SLOWER_SHARE, MILDER_DEG, RESISTANCE_SHARE = 0.05, 0.10, 2.0, 0.20
RAIL_SIDE = "sound"
"""Side of the hand on the rail; in the plane both act alike."""
_SAME_TIME_S = 0.0005
"""Wanted step times that differ by less are equal [s]."""
EFFECTS = {
    "sound_peak_force_bw": 1,
    "knee_loaded_peak_rate_deg_s": 1,
    "positive_work_j_per_m": 1,
    "least_margin_of_stability_m": -1,
}
"""What is compared: 1 where less is better, -1 where more is."""
HELP_COLUMNS = (
    "outcome",
    "sound_peak_force_bw",
    "knee_loaded_peak_rate_deg_s",
    "positive_work_j_per_m",
    "sound_margin_of_stability_m",
    "prosthetic_margin_of_stability_m",
)


@dataclass(frozen=True)
class Change:
    """One thing that could be done, as settings laid over the present ones."""

    what: str
    settings: Mapping[str, object]


def paced(base: Scenario, share: float = 1.0) -> Cell:
    """Settings that hold the base's speed, or a share of it, whatever else changes; its rhythm stays as given."""
    own = {"sound_step_time_s": base.sound_step_time_s, "prosthetic_step_time_s": base.prosthetic_step_time_s}
    times = {name: None if time is None else rounded(time / share) for name, time in own.items()}
    speed = None if None not in times.values() else rounded(share * base.speed)
    return {**times, "speed_m_s": speed, "cadence_steps_per_min": None, "walk_ratio_m_min": None}


def cadenced(base: Scenario) -> Cell:
    """Settings that hold the base's cadence, whatever the step length; its rhythm stays as given."""
    if None not in (base.sound_step_time_s, base.prosthetic_step_time_s):
        return {}
    return {"speed_m_s": None, "walk_ratio_m_min": None, "cadence_steps_per_min": rounded(60.0 / base.step_time)}


def single_changes(base: Scenario) -> list[Change]:
    """Changes that the scenario allows. Speed is held where only the step length changes, and the reverse."""
    prosthetic, sound = base.step_lengths
    shorter: Cell = {"step_length_m": rounded(sound - SHORTER_M)}
    if prosthetic == sound:
        shorter |= {"sound_step_length_m": None, "prosthetic_step_length_m": None}
    else:
        shorter = {"sound_step_length_m": rounded(sound - SHORTER_M)}
        shorter["prosthetic_step_length_m"] = rounded(prosthetic - SHORTER_M)
    resistance = base.knee.flexion_resistance
    changes = [
        Change("steps 5 cm shorter, same cadence", {**shorter, **cadenced(base)}),
        Change("10 % slower, same steps", paced(base, 1.0 - SLOWER_SHARE)),
        Change("flexion resistance 20 % less", {RESISTANCE: rounded((1.0 - RESISTANCE_SHARE) * resistance)}),
        Change("flexion resistance 20 % more", {RESISTANCE: rounded((1.0 + RESISTANCE_SHARE) * resistance)}),
    ]
    if base.slope_deg:
        milder = math.copysign(max(0.0, abs(base.slope_deg) - MILDER_DEG), base.slope_deg)
        changes.append(Change("slope 2 deg less", {"slope_deg": rounded(milder)}))
    if not base.rail.on:
        changes.append(Change("a hand on the rail", {"rail.side": RAIL_SIDE}))
    if prosthetic != sound:
        even: Cell = {"step_length_m": rounded(base.mean_step_length)}
        even |= {"sound_step_length_m": None, "prosthetic_step_length_m": None}
        changes.append(Change("both steps equal", {**even, **paced(base)}))
    if abs(base.step_times[0] - base.step_times[1]) > _SAME_TIME_S:
        time = rounded(base.step_time)
        pace = {"speed_m_s": None, "cadence_steps_per_min": None, "walk_ratio_m_min": None}
        rhythm: Cell = {"sound_step_time_s": time, "prosthetic_step_time_s": time, **pace}
        changes.append(Change("even rhythm", rhythm))
    return [change for change in changes if _allowed(base, change)]


def _allowed(base: Scenario, change: Change) -> bool:
    try:
        replace_by_name(base, change.settings)
    except RampwalkError:
        return False
    return True


def ranked(present: Row, rows: Sequence[tuple[Change, Row]]) -> pd.DataFrame:
    """Effects of changes, the most helpful first.

    Rank: mean of the four relative improvements (of the margin relative to 0.1 m, ours); a change after which the walk
    is not completed comes last.

    Parameters
    ----------
    present : mapping
        Row of the present walk with `HELP_COLUMNS`; it must be completed.
    rows : sequence of (Change, mapping)

    Returns
    -------
    DataFrame
        `change`, `outcome`, each of `EFFECTS` with its difference, `improvement`.
    """
    import pandas as pd

    now = _effects(present)
    found = []
    for change, row in rows:
        line: dict[str, object] = {"change": change.what, "outcome": row["outcome"]}
        after = _effects(row) if row["outcome"] == "walked" else dict.fromkeys(EFFECTS, math.nan)
        gains = []
        for name, sign in EFFECTS.items():
            line[name], line[f"{name}_difference"] = after[name], after[name] - now[name]
            scale = 0.1 if name.startswith("least_margin") else abs(now[name])
            gains.append(-sign * (after[name] - now[name]) / scale if scale else math.nan)
        line["improvement"] = sum(gains) / len(gains)
        found.append(line)
    table = pd.DataFrame(found)
    return table.sort_values("improvement", ascending=False, kind="stable", na_position="last", ignore_index=True)


def _effects(row: Row) -> dict[str, float]:
    margins = [float(row[f"{side}_margin_of_stability_m"]) for side in ("sound", "prosthetic")]
    values = {name: float(row[name]) for name in EFFECTS if name in row}
    return {name: values.get(name, min(margins)) for name in EFFECTS}


def help_lines(table: pd.DataFrame, present: Row) -> list[str]:
    """The ranking in plain lines."""
    if present["outcome"] != "walked":
        return [f"What helps more: the present walk {present['outcome']}, so there is nothing to compare with."]
    head = "What helps more, from the present setting (most helpful first):"
    return [head, *(f"  {row['change']}: {effect_words(row)}" for row in table.to_dict("records"))]


def effect_words(row: Mapping[Any, Any]) -> str:
    """What one change does, from a row of `ranked`."""
    if row["outcome"] != "walked":
        return f"the walk is not completed ({row['outcome']})"
    return (
        f"sound-leg peak {row['sound_peak_force_bw_difference']:+.2f} BW, knee rate "
        f"{row['knee_loaded_peak_rate_deg_s_difference']:+.0f} deg/s, effort "
        f"{row['positive_work_j_per_m_difference']:+.1f} J/m, margin "
        f"{100.0 * row['least_margin_of_stability_m_difference']:+.1f} cm"
    )
