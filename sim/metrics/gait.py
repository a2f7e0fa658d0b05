"""Steps, times, contact with the ground, and how steady all of it is."""

from __future__ import annotations

import numpy as np

from sim.metrics.signals import CONTACT_N, variation
from sim.metrics.strides import STEADY, Array, Record
from sim.series import SIDES

Metrics = dict[str, float | None]


def step_metrics(record: Record) -> Metrics:
    """Lengths and times of the steps of each foot, their ratio, speed, cadence, shares of contact."""
    out: Metrics = {}
    for leg, side in enumerate(SIDES):
        own = record.rows[[stride.rows[1] for stride in record.strides[leg]]]
        out[f"{side}_step_length_m"] = float(own["length"].mean())
        out[f"{side}_step_time_s"] = float(own["duration"].mean())
        shares = [(stride.lift - stride.contact) / (stride.last - stride.first) for stride in record.strides[leg]]
        out[f"{side}_stance_share"] = float(np.mean(shares))
    lengths = [out[f"{side}_step_length_m"] or 0.0 for side in SIDES]
    out["step_length_asymmetry"] = (lengths[1] - lengths[0]) / (0.5 * sum(lengths))
    out["cadence_steps_per_min"] = 120.0 / sum(out[f"{side}_step_time_s"] or 0.0 for side in SIDES)
    out["speed_m_s"] = _speed(record)
    out["double_support_share"] = _double_support(record)
    return out


def _speed(record: Record) -> float:
    """Mean speed of the mass centre along the surface over the measured strides [m/s]."""
    strides, series = record.strides[1], record.series
    first, last = strides[0].first, strides[-1].last - 1
    moved = (series.mass_centre[last] - series.mass_centre[first]) @ record.surface.tangent
    return float(moved / (series.time[last] - series.time[first]))


def _double_support(record: Record) -> float:
    """Share of the stride in which both low-passed loads are above 20 N."""
    load = record.filtered[:, :, 0]
    both = (load[:, 0] > CONTACT_N) & (load[:, 1] > CONTACT_N)
    return float(np.mean([both[stride.first : stride.last].mean() for stride in record.strides[1]]))


def steadiness(record: Record) -> Metrics:
    """Stride-to-stride variation of both step lengths, both step times and both force peaks."""
    out: Metrics = {"measured_strides": float(len(record.strides[1]))}
    worst: list[float] = []
    for leg, side in enumerate(SIDES):
        own = record.rows[[stride.rows[1] for stride in record.strides[leg]]]
        values: dict[str, Array] = {
            "step_length": own["length"],
            "step_time": own["duration"],
            "peak_force": peaks(record, leg),
        }
        for name, value in values.items():
            spread = variation(value)
            out[f"{side}_{name}_variation"] = spread
            worst += [] if spread is None else [spread]
    out["stride_variation"] = max(worst) if worst else None
    out["steady"] = float(max(worst) < STEADY) if worst else None
    return out


def peaks(record: Record, leg: int) -> Array:
    """Highest low-passed force across the surface in each measured stance [N]."""
    load = record.filtered[:, leg, 0]
    return np.array([load[stride.contact : stride.lift].max() for stride in record.strides[leg]])
