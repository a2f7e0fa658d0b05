"""One cell of the lesson's grid: walked, measured, packed; what a worker does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.cell import crash_row
from sim.grid import Cell
from sim.lesson.frames import CHANNELS, SAMPLE_S, channels_of, repeats, shown_frames
from sim.lesson.packing import packed, quantised
from sim.scenario import Scenario, replace_by_name
from sim.table import Row

if TYPE_CHECKING:
    from sim.result import WalkResult

#: Measured values that the page tells of -> digits.
NUMBERS = {
    "sound_peak_force_bw": 3,
    "prosthetic_peak_force_bw": 3,
    "knee_loaded_peak_rate_deg_s": 1,
    "sound_step_length_m": 3,
    "prosthetic_step_length_m": 3,
    "speed_m_s": 3,
    "sound_leg_work_out_j_per_m": 1,
    "prosthetic_leg_work_out_j_per_m": 1,
    "knee_energy_share_of_slope": 3,
    "measured_strides": 0,
    "stride_variation": 3,
}


def lesson_row(base: Scenario, cell: Cell) -> Row:
    """Walk one cell; a crash is a row, too, without bytes."""
    try:
        from sim.activities.walk import walk

        return row_of(walk(replace_by_name(base, cell)))
    except Exception as err:  # noqa: BLE001  # a crash is a cell without a walk, not the end of the page
        return crash_row(base, cell, "lesson", err)


def row_of(result: WalkResult) -> Row:
    """Outcome, measured values, and the packed moments of a walk (none of an `invalid` one)."""
    frames = shown_frames(result) if result.outcome != "invalid" else np.zeros(0, np.int64)
    row: dict[str, Any] = {
        "outcome": result.outcome,
        "stage": "",
        "steps": len(result.step_records),
        "seconds": round(float(result.frames[-1]["time"]), 2) if len(result.frames) else 0.0,
        "start": round(float(result.series.time[frames[0]]), 4) if len(frames) else 0.0,
        "samples": len(frames),
        "repeats": repeats(result) and len(frames) > 0,
        "numbers": {name: _rounded(result.metrics[name], digits) for name, digits in NUMBERS.items()},
        "packed": b"",
    }
    if len(frames):
        row["packed"] = packed(quantised(channels_of(result, frames), list(CHANNELS.values())))
        row |= _ending(result) | {"reached_slope": bool(result.series.hip[-1, 0] > result.slope_start_x)}
    return row


def _ending(result: WalkResult) -> dict[str, str]:
    """Which way a fall went, by the speed of the mass centre at its end."""
    backward = result.series.mass_centre_velocity[-1, 0] < 0.0
    return {"toward": "backward" if backward else "forward"} if result.outcome == "fell" else {}


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None or not np.isfinite(value) else round(value, digits)


__all__ = ["NUMBERS", "SAMPLE_S", "lesson_row", "row_of"]
