"""What a sweep shows, in three sentences made from its numbers, whether or not they agree with the rules of thumb.

The rules (directions only, common practice): too little flexion resistance lets the knee bend too fast and overloads
the sound leg; shorter steps make the way down easier on it; steeper slopes make the knee yield more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sim.plots.data import PACES, PEAK, RATE, RESISTANCE, SLOPE, STEP, YIELD

if TYPE_CHECKING:
    import pandas as pd

#: A direction is taken for a rule if at least this share of the comparisons shows it (ours).
CLEAR = 0.9
#: Smaller differences count as none, share of the value (ours: half of what the time step may change, 2 %).
NOTHING = 0.01


class Trend(NamedTuple):
    """Change of a value between the two ends of many lines of completed walks.

    Attributes
    ----------
    lines : int
        Lines with two completed walks or more.
    rising, falling : int
        Those in which the value is larger, or smaller, at the high end, by more than `NOTHING`.
    low, high : float
        Median of the value at the low and at the high end.
    per_unit : float
        Median change of the value per unit of the axis.
    """

    lines: int
    rising: int
    falling: int
    low: float
    high: float
    per_unit: float


def trend(table: pd.DataFrame, along: str, value: str) -> Trend | None:
    """Compare the walks at the two ends of every line along one axis, all else equal; None without a pair.

    Parameters
    ----------
    table : DataFrame
        Of a sweep over some of slope, step length and resistance (and nothing else).
    along : str
        Column of the axis.
    value : str
        Column of the value.
    """
    others = [name for name in (SLOPE, STEP, RESISTANCE) if name != along]
    walked = table[(table["outcome"] == "walked") & table[value].notna()]
    pairs = []
    for _, rows in walked.groupby(others):
        ends = rows.sort_values(along).iloc[[0, -1]]
        low, high = ends[value]
        span = ends[along].iloc[1] - ends[along].iloc[0]
        if span > 0.0:
            pairs.append((low, high, (high - low) / span))
    if not pairs:
        return None
    ends_of = np.array(pairs)
    change = (ends_of[:, 1] - ends_of[:, 0]) / np.abs(ends_of[:, 0])
    rising, falling = int((change > NOTHING).sum()), int((change < -NOTHING).sum())
    return Trend(len(pairs), rising, falling, *np.median(ends_of, axis=0).tolist())


def findings(table: pd.DataFrame, paces: pd.DataFrame, start: float) -> list[str]:
    """Three sentences: on resistance, on step length, on slope.

    Parameters
    ----------
    table : DataFrame
        Sweep over slope, step length and resistance, or some of them.
    paces : DataFrame
        Walks over step length with the column `pace`; see `sim.survey_figures.pace_data`.
    start : float
        Flexion resistance from which "less" and "more" are counted; one of the table [N m s/rad].
    """
    return [_on_resistance(table, start), _on_step_length(paces), _on_slope(table)]


def _verdict(follows: int, against: int, lines: int, rule: str) -> str:
    if follows >= CLEAR * lines:
        return f"as the rule of thumb has it ({rule})"
    if against >= CLEAR * lines:
        return f"against the rule of thumb ({rule})"
    return f"so the rule of thumb ({rule}) does not hold throughout"


def _on_resistance(table: pd.DataFrame, start: float) -> str:
    parts = [part for part in (_on_less(table, start), _on_more(table, start)) if part]
    if not parts:
        return "Resistance: too few walks were completed to compare low and high flexion resistance."
    return f"Resistance: from the start value of {start:.3g} N m s/rad {'; '.join(parts)}."


def _on_less(table: pd.DataFrame, start: float) -> str:
    less = table[table[RESISTANCE] <= start]
    rate, peak = trend(less, RESISTANCE, RATE), trend(less, RESISTANCE, PEAK)
    if rate is None or peak is None:
        return ""
    rule = "too little resistance: the knee bends too fast and the sound leg is overloaded"
    follows, against = min(rate.falling, peak.falling), max(rate.rising, peak.rising)
    return (
        f"down to the lowest that still walks, the loaded knee bends faster in {rate.falling} of {rate.lines} "
        f"comparisons (median {rate.high:.0f} to {rate.low:.0f} deg/s) and the sound leg's peak is higher in "
        f"{peak.falling} and lower in {peak.rising} (median {peak.high:.2f} to {peak.low:.2f} BW), "
        f"{_verdict(follows, against, peak.lines, rule)}"
    )


def _on_more(table: pd.DataFrame, start: float) -> str:
    more = table[table[RESISTANCE] >= start]
    rate, peak = trend(more, RESISTANCE, RATE), trend(more, RESISTANCE, PEAK)
    if rate is None or peak is None:
        return ""
    rule = _verdict(rate.falling, rate.rising, rate.lines, "too much resistance: the knee bends too slowly")
    return (
        f"up to the highest, the knee bends slower in {rate.falling} of {rate.lines} (median {rate.low:.0f} to "
        f"{rate.high:.0f} deg/s), {rule}, and the sound leg's peak is higher in {peak.rising} and lower in "
        f"{peak.falling}"
    )


def _on_step_length(paces: pd.DataFrame) -> str:
    parts = []
    for pace in PACES:
        found = trend(paces[paces["pace"] == pace], STEP, PEAK)
        if found is not None:
            rule = "shorter steps, less load on the sound leg"
            parts.append(
                f"at {pace} higher in {found.rising} and lower in {found.falling} of {found.lines} comparisons (median "
                f"{0.1 * found.per_unit:+.2f} BW per 0.1 m), {_verdict(found.rising, found.falling, found.lines, rule)}"
            )
    if not parts:
        return "Step length: too few walks were completed to compare short and long steps."
    return f"Step length: from the shortest steps to the longest, the sound leg's peak is {'; '.join(parts)}."


def _on_slope(table: pd.DataFrame) -> str:
    down = table[table[SLOPE] < 0.0]
    found = trend(down, SLOPE, YIELD)
    parts = []
    for slope in dict.fromkeys((down[SLOPE].max(), down[SLOPE].min())):
        ended = down.loc[down[SLOPE] == slope, "outcome"]
        parts.append(f"{(ended == 'walked').sum()} of {len(ended)} on {slope:g} deg")
    shares = " and ".join(parts)
    if found is None:
        return f"Slope: too few walks were completed to compare slopes downhill ({shares})."
    # downhill is negative: the low end is the steep one
    rule = _verdict(found.falling, found.rising, found.lines, "steeper slope, more yield")
    return (
        f"Slope: from the mildest slope to the steepest that is walked, the prosthetic knee bends further under load "
        f"in {found.falling} of {found.lines} comparisons (median {found.high:.0f} to {found.low:.0f} deg), {rule}; "
        f"completed: {shares}."
    )
