"""What came out of a walk: outcome, reason, steps, time series, metrics, energy, and what is needed to repeat it."""

from __future__ import annotations

import hashlib
import math
import platform
from dataclasses import dataclass
from functools import cached_property
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.body import Body
from sim.caution import CAUTION
from sim.drivers.landing import Landing
from sim.gains import GAINS_FILE
from sim.grid import STARTS
from sim.metrics import on_slope
from sim.metrics.strides import filtered_forces, scuffs_per_step
from sim.scenario import Scenario, to_dict
from sim.series import SIDES, Series, named_columns, series_of

if TYPE_CHECKING:
    import pandas as pd

    from sim.sources import Source

OUTCOMES = ("walked", "fell", "stalled", "invalid")


@dataclass(frozen=True, eq=False)
class WalkResult:
    """Result of one walk.

    Attributes
    ----------
    scenario : Scenario
    outcome : str
        One of `OUTCOMES`; a fall is a result. `invalid` is none: the physics did not hold, see
        `sim.activities.guards`.
    reason : str
        One or two sentences: what happened and what to try.
    metrics : dict of str to float or None
        Flat, units in the names, always the same names; see `docs/metrics.md`.
    energy : dict of str to float or None
        Of the whole run [J]; see `sim.ledger.energy_book`.
    software : dict of str to str, float or int
        Versions, time step, iterations, loop, hash of the gains: what is needed to repeat the walk.
    frames : ndarray of `FRAME`, shape (n,)
        Raw record every 2.5 ms.
    step_records : ndarray of `STEP`, shape (steps,)
        Raw table of steps, SI units.
    slope_start_x : float
        Where the straight slope begins [m].
    body : Body
        Segments of the person.
    landing : Landing, optional
        Where another walk can go on from, see `sim.activities.walk.walk`; only of a completed walk.
    started_from : tuple of Scenario
        Walks after whose last landing this one began, the first of them from the standing pose; empty for a walk that
        itself began there.
    """

    scenario: Scenario
    outcome: str
    reason: str
    metrics: dict[str, float | None]
    energy: dict[str, float | None]
    software: dict[str, str | float | int]
    frames: np.ndarray[Any, Any]
    step_records: np.ndarray[Any, Any]
    slope_start_x: float
    body: Body
    landing: Landing | None = None
    started_from: tuple[Scenario, ...] = ()

    @property
    def start(self) -> str:
        """One of `sim.grid.STARTS`: from the standing pose, or from a stride of a neighbour."""
        return STARTS[1] if self.started_from else STARTS[0]

    @cached_property
    def series(self) -> Series:
        """Named arrays over time."""
        return series_of(self.frames, self.body)

    @cached_property
    def steps(self) -> pd.DataFrame:
        """One row per step, units in the names."""
        import pandas as pd

        return pd.DataFrame(self.step_rows())

    def step_rows(self) -> dict[str, list[Any]]:
        """Columns of the table of steps, plain values."""
        weight = self.scenario.person.weight
        return step_columns(self.step_records, self.series, weight, self.slope_start_x)

    def to_dataframe(self) -> pd.DataFrame:
        """Time series, one row per frame, units in the names; with rail or helper their forces too."""
        import pandas as pd

        weight = self.scenario.person.weight
        return pd.DataFrame(named_columns(self.series, weight) | outside_columns(self.frames, weight))

    def sources(self, guesses: bool = False) -> tuple[Source, ...]:
        """Publications behind the settings used, with our guesses on demand; see `sim.sources.sources_of`."""
        from sim.sources import sources_of

        return sources_of(self.scenario, guesses)

    def to_json_dict(self) -> dict[str, Any]:
        """Everything but the time series as plain values for JSON; numbers that are not finite become None."""
        columns = self.step_rows()
        steps = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
        plain: dict[str, Any] = _finite(
            {
                "scenario": to_dict(self.scenario),
                "outcome": self.outcome,
                "reason": self.reason,
                "start": self.start,
                "started_from": [to_dict(scenario) for scenario in self.started_from],
                "metrics": self.metrics,
                "energy": self.energy,
                "steps": steps,
                "software": self.software,
                "caution": CAUTION,
            }
        )
        return plain


def outside_columns(frames: Any, weight: float) -> dict[str, Any]:
    """Force of rail and helper on the person, forward and up [BW]; empty if there was neither."""
    forces = frames["forces"]
    if not forces["supported"].any():
        return {}
    return {
        f"{name}_force_{direction}_bw": forces[name][:, k] / weight
        for name in ("rail", "helper")
        for k, direction in enumerate(("forward", "up"))
    }


def _finite(value: Any) -> Any:
    """Plain value with None instead of numbers that JSON has no word for."""
    if isinstance(value, dict):
        return {key: _finite(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_finite(inner) for inner in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def step_columns(rows: Any, series: Series, weight: float, slope_start_x: float) -> dict[str, list[Any]]:
    """Table of steps as columns of plain values.

    Parameters
    ----------
    rows : ndarray of `STEP`, shape (steps,)
    series : Series
    weight : float
        [N]
    slope_start_x : float
        A step is `on_slope` if both its heels are behind this [m].
    """
    columns: dict[str, list[Any]] = {
        "step": list(range(1, len(rows) + 1)),
        "landing_foot": [SIDES[int(leg)] for leg in rows["leg"]],
        "on_slope": on_slope(rows, slope_start_x).tolist(),
    }
    plain = {"time": "landing_time_s", "length": "length_m", "duration": "duration_s", "heel_x": "heel_x_m"}
    plain |= {"speed": "hip_speed_m_s", "double_support": "double_support_s"}
    plain |= {"knee_absorbed": "prosthetic_knee_energy_j", "positive_work": "positive_work_j"}
    columns |= {name: rows[field].tolist() for field, name in plain.items()}
    angles = {
        "knee_at_landing": "knee_flexion_of_landing_leg_deg",
        "knee_of_stance": "knee_flexion_of_standing_leg_deg",
        "knee_swing_peak": "knee_swing_peak_deg",
        "knee_early_peak": "standing_knee_early_peak_deg",
        "knee_drop": "standing_knee_reextension_deg",
        "knee_peak_rate": "standing_knee_peak_rate_deg_s",
    }
    columns |= {name: np.degrees(rows[field]).tolist() for field, name in angles.items()}
    # the walker counts backward lean positive: least and greatest change places
    for name, k in (("least", 2), ("mean", 1), ("greatest", 0)):
        columns[f"trunk_lean_{name}_deg"] = (-np.degrees(rows["trunk"][:, k])).tolist()
    filtered = _step_peaks(rows, series)
    for leg, side in enumerate(SIDES):
        columns[f"{side}_peak_force_bw"] = (filtered[:, leg] / weight).tolist()
        columns[f"{side}_peak_force_raw_bw"] = (rows["raw_peak"][:, leg] / weight).tolist()
        columns[f"{side}_knee_stop_energy_j"] = rows["stop_work"][:, leg].tolist()
    columns["scuffs"] = scuffs_per_step(rows, series).tolist()
    return columns


def _step_peaks(rows: Any, series: Series) -> np.ndarray[Any, Any]:
    """Highest low-passed load of each leg between landings, shape (steps, 2) [N]."""
    if not len(rows):
        return np.zeros((0, 2))
    load = filtered_forces(series)[:, :, 0]
    ends = np.minimum(np.ceil(rows["time"] / series.interval).astype(int), len(load) - 1)
    starts = np.concatenate([[0], ends[:-1]])
    return np.array([load[a : max(b, a + 1)].max(axis=0) for a, b in zip(starts, ends, strict=True)])


def software_of(time_step: float, iterations: int, loop: str) -> dict[str, str | float | int]:
    """What a walk was computed with.

    Parameters
    ----------
    time_step : float
        [s]
    iterations : int
        Passes of the joint solver.
    loop : str
        The one that ran, which is "batch" where the compiled one could not be built.
    """
    from sim import __version__

    return {
        "rampwalk": __version__,
        **{name: version(name) for name in ("pymunk", "numba", "numpy")},
        "python": platform.python_version(),
        "time_step_s": time_step,
        "iterations": iterations,
        "loop": loop,
        "gains_sha256": hashlib.sha256(GAINS_FILE.read_bytes()).hexdigest(),
    }
