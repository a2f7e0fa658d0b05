"""The tables behind the figures, one row per point."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.scenario import Scenario
from sim.series import SIDES

if TYPE_CHECKING:
    import pandas as pd

    from sim.metrics import Record
    from sim.metrics.strides import Stride
    from sim.result import WalkResult

SLOPE, STEP, RESISTANCE = "slope_deg", "step_length_m", "knee.flexion_resistance"
"""Columns of a sweep's table that the figures draw over."""
PEAK, RATE, YIELD = "sound_peak_force_bw", "knee_loaded_peak_rate_deg_s", "knee_loaded_peak_flexion_deg"
"""Columns that they draw."""
PACES = ("fixed cadence", "fixed speed")
_SHOWN = ("outcome", "steady", PEAK, "prosthetic_peak_force_bw", RATE, YIELD)
SWEEP_COLUMNS = (SLOPE, STEP, RESISTANCE, "wanted_speed_m_s", *_SHOWN)
"""Columns of a sweep's table that the figures need, beside those of its axes."""
#: Without a measured stride, the last seconds of a walk are drawn [s].
LAST_SECONDS = 2.0
#: Poses of a strip.
POSES = 9

Array = NDArray[np.float64]


# -------------------------------------------------------------------------------- from a sweep
def nearest_value(values: Sequence[Any], wanted: float) -> float:
    """The one of some numbers that is nearest to a wanted one."""
    return float(min(values, key=lambda value: (abs(value - wanted), value)))


def slice_of(table: pd.DataFrame, at: Mapping[str, object]) -> pd.DataFrame:
    """Rows in which the named columns have these values."""
    for column, value in at.items():
        table = table[table[column] == value]
    return table


def sweep_data(table: pd.DataFrame, *more: str) -> pd.DataFrame:
    """The columns of a sweep's table that the figures over step length and resistance show, and `more`."""
    return table[[*more, *SWEEP_COLUMNS]].reset_index(drop=True)


# -------------------------------------------------------------------------------- from walks
def travel_data(results: Sequence[WalkResult]) -> pd.DataFrame:
    """Mass centre over the last measured prosthetic stride of each walk; walks without one are left out.

    Returns
    -------
    DataFrame
        `step_length_m` (wanted), `stride_percent` from one touch of the prosthetic foot to its next,
        `standing_foot` (the one that landed last), `travel_m`, how far the mass centre is ahead of the prosthetic ankle
        that stood first, `ahead_m`, how far ahead of the standing foot's ankle, both dropped plumb onto the surface,
        and `height_m` above the surface, perpendicular to it.
    """
    import pandas as pd

    parts = []
    for result in results:
        record = record_of_walk(result)
        if record is not None:
            columns = {STEP: result.scenario.mean_step_length} | _travel(record, record.strides[0][-1])
            parts.append(pd.DataFrame(columns))
    names = [STEP, "stride_percent", "standing_foot", "travel_m", "ahead_m", "height_m"]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=names)


def record_of_walk(result: WalkResult) -> Record | None:
    """Measured strides of a walk and what belongs to them; None if there are none."""
    from sim.metrics import record_of
    from sim.pack import pack_settings

    if result.outcome == "invalid" or len(result.frames) < 2:
        return None
    settings, ended_early = pack_settings(result.scenario)[0], result.outcome != "walked"
    return record_of(settings, result.body, result.series, result.step_records, ended_early)


def _travel(record: Record, stride: Stride) -> dict[str, Any]:
    series, surface = record.series, record.surface
    begin, end, landing = stride.touch, stride.next_contact, stride.other_landing
    centre = series.mass_centre[begin : end + 1]
    own = float(np.median(series.ankle[begin : stride.lift, stride.leg, 0]))
    other = float(np.median(series.ankle[landing : end + 1, 1 - stride.leg, 0]))
    standing = np.arange(begin, begin + len(centre)) >= landing
    plumb = centre[:, 0] / math.cos(surface.slope)
    return {
        "stride_percent": 100.0 * np.arange(len(centre)) / (len(centre) - 1),
        "standing_foot": np.where(standing, SIDES[1 - stride.leg], SIDES[stride.leg]),
        "travel_m": plumb - own / math.cos(surface.slope),
        "ahead_m": plumb - np.where(standing, other, own) / math.cos(surface.slope),
        "height_m": surface.above(centre),
    }


def last_window(result: WalkResult) -> slice:
    """Frames that a figure of one walk shows: the last two measured strides, or of a fall the last seconds."""
    record = record_of_walk(result) if result.outcome == "walked" else None
    if record is None:
        interval = result.series.interval or 1.0
        return slice(max(0, len(result.frames) - round(LAST_SECONDS / interval)), len(result.frames))
    strides = record.strides[0]
    end = min(strides[-1].next_contact + 1, len(result.frames))
    return slice(strides[max(0, len(strides) - 2)].touch, end)


def pose_frames(result: WalkResult, window: slice) -> list[int]:
    """Frames of the poses of a strip: over the last stride of a window of two, or over all of a fall."""
    begin, end = window.start, window.stop - 1
    if result.outcome == "walked":
        landings = [float(row["time"]) for row in result.step_records if int(row["leg"]) == 0]
        inside = [round(time / result.series.interval) for time in landings]
        begin = max([frame for frame in inside if begin <= frame < end - 20], default=begin)
    return [round(frame) for frame in np.linspace(begin, end, POSES)]


def walk_data(result: WalkResult) -> pd.DataFrame:
    """Time series of the window of `last_window`, and the number of the pose that is drawn, if one is."""
    from sim.metrics.strides import filtered_forces

    window = last_window(result)
    frame = result.to_dataframe()
    if result.outcome != "invalid" and len(frame) > 1:
        smooth = filtered_forces(result.series)[:, :, 0] / result.scenario.person.weight
        for leg, side in enumerate(SIDES):
            frame[f"{side}_force_low_passed_bw"] = smooth[:, leg]
    else:
        for side in SIDES:
            frame[f"{side}_force_low_passed_bw"] = frame[f"{side}_force_across_surface_bw"]
    pose = np.full(len(frame), np.nan)
    pose[pose_frames(result, window)] = np.arange(1, POSES + 1)
    frame["pose"] = pose
    return frame.iloc[window].reset_index(drop=True)


def ground_heights(scenario: Scenario, x: Array) -> Array:
    """Height of the ground at places [m]: level, a blend in which the slope grows evenly, the slope."""
    from sim.law.ground import height_and_slope
    from sim.pack import pack_settings

    ground = pack_settings(scenario)[0]["ground"]
    return np.array([height_and_slope(ground, float(place))[0] for place in x])
