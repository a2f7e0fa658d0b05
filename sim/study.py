"""A few walks side by side: what a command about rail, helper, posture, ramp or uphill found."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.caution import CAUTION
from sim.result import WalkResult
from sim.scenario import Scenario, to_dict

if TYPE_CHECKING:
    import pandas as pd

Value = float | str | None
#: A foot carries while it has more than this share of the weight (ours).
CARRIES = 0.05


@dataclass(frozen=True, eq=False)
class Study:
    """Result of several walks.

    Attributes
    ----------
    activity : str
    scenario : Scenario
        What is common to all walks.
    told : str
        One or a few sentences: what was found.
    found : dict of str to float, str or None
        Numbers that belong to all of them, units in the names.
    rows : tuple of dict
        One per walk (or part of a way), the same columns in each.
    software : dict of str to str, float or int
        What is needed to repeat it.
    """

    activity: str
    scenario: Scenario
    told: str
    found: Mapping[str, Value]
    rows: Sequence[Mapping[str, Value]]
    software: Mapping[str, str | float | int]

    def to_dataframe(self) -> pd.DataFrame:
        """The rows."""
        import pandas as pd

        return pd.DataFrame(list(self.rows))

    def to_json_dict(self) -> dict[str, Any]:
        """Everything as plain values for JSON; numbers that are not finite become None."""
        return {
            "activity": self.activity,
            "scenario": to_dict(self.scenario),
            "told": self.told,
            "found": plain(self.found),
            "rows": [plain(row) for row in self.rows],
            "software": dict(self.software),
            "caution": CAUTION,
        }


def plain(row: Mapping[str, Value]) -> dict[str, Value]:
    """A row with None for numbers that JSON has no word for."""
    return {
        name: None if isinstance(value, float) and not math.isfinite(value) else value for name, value in row.items()
    }


#: Metrics of a walk that every row repeats, see `docs/metrics.md`.
METRICS_SHOWN = (
    "speed_m_s",
    "sound_peak_force_bw",
    "prosthetic_peak_force_bw",
    "knee_loaded_peak_rate_deg_s",
    "knee_loaded_peak_flexion_deg",
    "knee_flexion_at_sound_landing_deg",
    "sound_com_ahead_at_other_landing_m",
    "prosthetic_com_ahead_at_other_landing_m",
    "trunk_lean_deg",
    "positive_work_j_per_m",
    "mean_vertical_force_bw",
    "stride_variation",
)


def walk_row(result: WalkResult) -> dict[str, Value]:
    """One walk in a row: outcome, steps, some metrics, what rail and helper gave, prosthetic hip, energy residual.

    Means of rail and helper, per body weight, and peaks of the hip are over `judged_frames`; None where there are
    none. A fall after a measured stride has the numbers up to it.
    """
    row: dict[str, Value] = {"outcome": result.outcome, "steps": float(len(result.step_records))}
    row |= {name: result.metrics[name] for name in METRICS_SHOWN}
    row |= outside_means(result) | hip_peaks(result)
    row["residual_fraction"] = result.energy["residual_fraction"]
    return row


def judged_frames(result: WalkResult) -> slice | None:
    """Frames from the first to the last landing on the straight slope; of a fall without its last two steps.

    None if no stride was measured, or the result is invalid.
    """
    rows = result.step_records
    if result.outcome == "invalid" or result.metrics["measured_strides"] is None:
        return None
    usable = rows if result.outcome == "walked" else rows[: max(0, len(rows) - 2)]
    times = usable["time"][usable["heel_x"] >= result.slope_start_x - 1e-9]
    if len(times) < 2:
        return None
    found = np.searchsorted(result.frames["time"], times[[0, -1]])
    return slice(int(found[0]), int(found[1]))


def outside_means(result: WalkResult) -> dict[str, Value]:
    """Mean force of rail and helper [BW]: upward, and what pushes forward (holds back: negative) beside it, taken along
    the slope; None without frames to judge.
    """
    part, weight = judged_frames(result), result.scenario.person.weight
    slope = math.radians(result.scenario.slope_deg)
    out: dict[str, Value] = {}
    for name in ("rail", "helper"):
        forward, up = None, None
        if part is not None:
            x, y = (result.frames["forces"][name][part].mean(axis=0) / weight).tolist()
            forward = x / math.cos(slope)
            up = y - forward * math.sin(slope)
        out |= {f"{name}_up_bw": up, f"{name}_forward_bw": forward}
    return out


def hip_peaks(result: WalkResult) -> dict[str, Value]:
    """Moments of the prosthetic hip per body mass [N m/kg]: greatest extending one while the leg carries, mean of the
    extending part there, greatest flexing one at any time.
    """
    part, weight = judged_frames(result), result.scenario.person.weight
    names = ("extension_peak_nm_per_kg", "extension_mean_nm_per_kg", "flexion_peak_nm_per_kg")
    if part is None:
        return {f"prosthetic_hip_{name}": None for name in names}
    series, mass = result.series, result.scenario.person.mass_kg
    torque = series.hip_torque[part, 0]
    carries = series.load[part, 0] > CARRIES * weight
    extending = np.maximum(-torque[carries], 0.0)
    values = (extending.max(initial=0.0), extending.mean() if len(extending) else 0.0, torque.max(initial=0.0))
    return {f"prosthetic_hip_{name}": float(value) / mass for name, value in zip(names, values, strict=True)}
