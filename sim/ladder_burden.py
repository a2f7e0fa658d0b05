"""What a situation of practice costs, by name: the parts of a burden, each told in its own size, and their sum."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim.activities.bend import Bend, bend
from sim.activities.step_to import StepTo, step_to
from sim.activities.walk import walk
from sim.body import Body
from sim.frontal import Frontal, hip_moment
from sim.law.records import PROSTHETIC
from sim.metrics.balance import PRESSURE_FROM
from sim.parameters import ours_practice
from sim.scenario import GRAVITY, Scenario
from sim.series import Series

_OURS = ours_practice.ladder()
SOUND_PEAK_BW, KNEE_RATE_DEG_S, MARGIN_M = (_OURS[name].value for name in ("sound_peak", "knee_rate", "margin"))
STANDS_S = 1.5
"""From here on a bend counts: the person stands still by then [s] (ours)."""
PARTS = {
    "sound_peak": "peak force of the sound leg",
    "knee_rate": "rate of the loaded prosthetic knee",
    "margin": "what the margin of stability lacks",
    "hip_effort": "peak torque of the hip on the prosthetic side",
    "frontal": "moment beside the hip on the prosthetic side",
}
"""Part of the burden -> what it is."""


@dataclass(frozen=True)
class Burden:
    """What a situation costs.

    Attributes
    ----------
    done : bool
        Whether it was completed; if not, the rest is empty.
    outcome : str
    measured : dict of str to float
        sound_peak_force_bw, knee_rate_deg_s, margin_of_stability_m, hip_torque_share_of_strength, frontal_moment_nm.
    parts : dict of str to float
        Name of `PARTS` -> its size; 0 is nothing.
    """

    done: bool
    outcome: str
    measured: Mapping[str, float]
    parts: Mapping[str, float]

    def total(self, weights: Mapping[str, float]) -> float:
        """Weighted sum of the parts."""
        return sum(weights[name] * value for name, value in self.parts.items())


def burden_of_walk(scenario: Scenario, frontal: Frontal) -> Burden:
    """Walk, and tell what it costs."""
    result = walk(scenario)
    metrics, body = result.metrics, result.body
    wanted = ("sound_peak_force_bw", "knee_loaded_peak_rate_deg_s", "sound_margin_of_stability_m")
    values = [metrics[name] for name in (*wanted, "prosthetic_margin_of_stability_m")]
    if result.outcome != "walked" or any(value is None for value in values):
        return Burden(False, result.outcome, {}, {})
    peak, rate, *margins = [float(value) for value in values if value is not None]
    half = len(result.series.time) // 2  # the later half: settled
    torque = float(np.abs(result.series.hip_torque[half:, PROSTHETIC]).max())
    carried = scenario.rail.carried_share * scenario.person.weight if scenario.rail.on else 0.0
    moment = hip_moment(PROSTHETIC, carried, scenario.rail.side, body, frontal)
    return _burden(scenario, body, frontal, "walked", peak, rate, min(margins), torque, moment)


def burden_of_bend(settings: Bend, frontal: Frontal) -> Burden:
    """Bend in place, and tell what it costs; on two feet nothing hangs from a hip to the side."""
    result = bend(settings)
    if result.outcome != "bent":
        return Burden(False, result.outcome, {}, {})
    series, metrics = result.series, result.metrics
    moved = series.time > STANDS_S
    rate, torque = metrics["knee_peak_rate_deg_s"], metrics["prosthetic_hip_peak_torque_nm"]
    assert rate is not None  # it was bent
    assert torque is not None
    peak = float(series.load[moved, 1].max()) / settings.person.weight
    margin = float(_margins_on_two_feet(series, settings.person.weight)[moved].min())
    scenario = settings.walk_scenario()
    return _burden(scenario, result.body, frontal, "bent", peak, rate, margin, torque, 0.0)


def burden_of_step_to(settings: StepTo, frontal: Frontal) -> Burden:
    """Step and close up, and tell what it costs."""
    result = step_to(settings)
    metrics = result.metrics
    torque_name = "prosthetic_hip_peak_torque_nm"
    wanted = ("sound_peak_force_bw", "knee_peak_rate_deg_s", "lead_margin_of_stability_m", torque_name)
    values = [metrics[name] for name in wanted]
    if result.outcome != "closed up" or any(value is None for value in values):
        return Burden(False, result.outcome, {}, {})
    peak, rate, margin, torque = [float(value) for value in values if value is not None]
    moment = hip_moment(PROSTHETIC, 0.0, "none", result.body, frontal)
    return _burden(settings.walk_scenario(), result.body, frontal, "closed up", peak, rate, margin, torque, moment)


def _margins_on_two_feet(series: Series, weight: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Foremost loaded toe less the extrapolated mass centre, each moment [m]; as the margin of a walk."""
    length = series.mass_centre[:, 1] - series.ankle[:, :, 1].min(axis=1)
    ahead = series.mass_centre[:, 0] + series.mass_centre_velocity[:, 0] * np.sqrt(length / GRAVITY)
    toe = np.where(series.load > PRESSURE_FROM * weight, series.sole[:, :, 2, 0], -math.inf).max(axis=1)
    return np.asarray(toe - ahead)


def _burden(
    scenario: Scenario, body: Body, frontal: Frontal, outcome: str, peak: float, rate: float, margin: float,
    torque: float, moment: float,
) -> Burden:  # fmt: skip
    person = scenario.person
    strength = person.hip_strength_nm_per_kg * person.mass_kg * person.residual_hip_strength_fraction
    alone = hip_moment(PROSTHETIC, 0.0, "none", body, frontal)
    return Burden(
        True,
        outcome,
        {
            "sound_peak_force_bw": peak,
            "knee_rate_deg_s": rate,
            "margin_of_stability_m": margin,
            "hip_torque_share_of_strength": torque / strength,
            "frontal_moment_nm": moment,
        },
        {
            "sound_peak": peak / SOUND_PEAK_BW,
            "knee_rate": rate / KNEE_RATE_DEG_S,
            "margin": max(0.0, 1.0 - margin / MARGIN_M),
            "hip_effort": torque / strength,
            "frontal": moment / alone,
        },
    )


