"""A long way down: what adds up over many steps, from the steady strides of one computed walk.

Nothing here is walked to its end. The measured strides are taken as all strides of the way: no start, no stop, no
tiring, no oil that warms and thins.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sim.metrics import record_of
from sim.metrics.gait import peaks
from sim.metrics.strides import STEADY
from sim.pack import pack_settings

if TYPE_CHECKING:
    import pandas as pd

    from sim.result import WalkResult

WAY_M, SHORTEST_WAY_M, LONGEST_WAY_M = 100.0, 1.0, 100_000.0
"""Usual way along the slope and its range [m] (ours: a long ramp, or some short ones)."""
PEAK_LEVEL_BW, PEAK_LEVEL_RANGE_BW = 1.2, (0.1, 5.0)
"""Force above which a stance of the sound leg is counted [body weights] (ours: about the first peak of a brisk walk on
the level), and its range."""
SUMS = {
    "steps": ("steps", 0),
    "time_s": ("time [s]", 0),
    "slope_energy_kj": ("given by the slope [kJ]", 1),
    "sound_leg_taken_kj": ("taken by the sound leg [kJ]", 1),
    "sound_peaks_above": ("sound-leg peaks above the level", 0),
    "knee_taken_kj": ("taken by the prosthetic knee under load [kJ]", 2),
    "knee_share_of_slope": ("share of the slope's", 2),
    "knee_mean_power_w": ("mean power of the knee [W]", 1),
}
"""Column -> what a table calls it, digits."""


def descent_of(result: WalkResult, way: float = WAY_M, level: float = PEAK_LEVEL_BW) -> dict[str, Any]:
    """Sums over a way down.

    Parameters
    ----------
    result : WalkResult
        Of a person with a prosthesis on a downhill slope.
    way : float
        Along the slope [m].
    level : float
        Sound-leg peaks above this are counted [body weights].

    Returns
    -------
    dict
        `outcome`, `measured_strides`, `stride_variation`, and `SUMS`; NaN unless the walk was completed and measured.
    """
    metrics = result.metrics
    found: dict[str, Any] = {"outcome": result.outcome}
    found |= {name: _number(metrics[name]) for name in ("measured_strides", "stride_variation")}
    found |= dict.fromkeys(SUMS, math.nan)
    record = None
    if result.outcome == "walked":
        settings = pack_settings(result.scenario)[0]
        record = record_of(settings, result.body, result.series, result.step_records, ended_early=False)
    if record is None:
        return found
    prosthetic_steps = way / (_number(metrics["prosthetic_step_length_m"]) + _number(metrics["sound_step_length_m"]))
    time = way / _number(metrics["speed_m_s"])
    above = float((peaks(record, 1) > level * record.weight).mean())
    knee = _number(metrics["knee_energy_per_step_j"]) * prosthetic_steps
    given = record.slope_energy(way)
    return found | {
        "steps": 2.0 * prosthetic_steps,
        "time_s": time,
        "slope_energy_kj": math.nan if given is None else given / 1000.0,
        "sound_leg_taken_kj": _number(metrics["sound_leg_work_out_j_per_m"]) * way / 1000.0,
        "sound_peaks_above": above * prosthetic_steps,
        "knee_taken_kj": knee / 1000.0,
        "knee_share_of_slope": math.nan if given is None else knee / given,
        "knee_mean_power_w": knee / time,
    }


def _number(value: float | None) -> float:
    return math.nan if value is None else value


def descent_table(rows: Sequence[tuple[str, Mapping[str, Any]]]) -> pd.DataFrame:
    """Table of several settings, `what` first."""
    import pandas as pd

    return pd.DataFrame([{"what": what, **row} for what, row in rows])


def descent_lines(table: pd.DataFrame, way: float, level: float) -> list[str]:
    """A column per setting, and what the sums stand on."""
    width = max(len(title) for title, _ in SUMS.values()) + 2
    names = [str(what) for what in table["what"]]
    columns = [max(len(name), 12) + 2 for name in names]
    lines = [" " * width + "".join(f"{name:>{column}}" for name, column in zip(names, columns, strict=True))]
    for name, (title, digits) in SUMS.items():
        cells = [_cell(row, name, digits) for row in table.to_dict("records")]
        lines.append(f"{title:{width}}" + "".join(f"{cell:>{n}}" for cell, n in zip(cells, columns, strict=True)))
    counts = ", ".join(
        f"{row['measured_strides']:.0f} strides ({100.0 * row['stride_variation']:.1f} %)"
        for row in table.to_dict("records")
        if row["outcome"] == "walked" and not math.isnan(row["measured_strides"])
    )
    lines += [
        "",
        f"Sums over {way:g} m along the slope; level of the peaks {level:g} body weights.",
        f"Reckoned from the measured strides of one computed walk each: {counts or 'none'}; in brackets how they vary.",
    ]
    unsteady = table.loc[table["stride_variation"] >= STEADY, "what"].tolist()
    if unsteady:
        lines.append(f"Not steady, so only rough: {', '.join(map(str, unsteady))}.")
    return [*lines, "Nobody walked so far here: no start or stop, no tiring, no warming of the damper."]


def _cell(row: Mapping[Any, Any], name: str, digits: int) -> str:
    if row["outcome"] != "walked":
        return str(row["outcome"])
    return "-" if math.isnan(row[name]) else f"{row[name]:.{digits}f}"
