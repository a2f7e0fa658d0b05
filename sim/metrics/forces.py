"""Ground forces of each leg, in body weights, and what statics says of their sum."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.metrics.gait import Metrics, peaks
from sim.metrics.signals import highest_short_peak, low_pass, rise_rate
from sim.metrics.strides import Array, Record, Stride
from sim.series import SIDES

#: Longest force excursion that counts as a spike [s] (owner's limit).
SPIKE_TIME = 0.020
#: Share of stance in which a touchdown spike may hide the braking peak (reference row F05).
BRAKING_FROM = 0.03


def mean_of(values: Sequence[float | None]) -> float | None:
    """Mean of the numbers among some values, None if there are none."""
    numbers = [value for value in values if value is not None]
    return float(np.mean(numbers)) if numbers else None


def force_metrics(record: Record) -> Metrics:
    """Peaks, loading rates, impulse shares, spikes, and the two balances of a steady walk."""
    out: Metrics = {}
    for leg, side in enumerate(SIDES):
        for name, value in _leg_metrics(record, leg).items():
            out[f"{side}_{name}"] = value
    return out | _balances(record)


def _leg_metrics(record: Record, leg: int) -> Metrics:
    strides, weight, series = record.strides[leg], record.weight, record.series
    across, along = record.filtered[:, leg, 0] / weight, record.filtered[:, leg, 1] / weight
    vertical = low_pass(series.ground_force[:, leg, 1] / weight, series.interval)
    raw = series.load[:, leg] / weight
    shapes = [stance_shape(across[stride.contact : stride.lift]) for stride in strides]
    braking = [along[_after_touch(stride) : stride.lift] for stride in strides]
    spikes = [_spike(raw, across, stride, series.interval) for stride in strides]
    return {
        "peak_force_bw": float(peaks(record, leg).mean()) / weight,
        "peak_force_raw_bw": float(np.mean([_raw_peak(record, stride) for stride in strides])) / weight,
        "peak_vertical_force_bw": float(np.mean([vertical[s.contact : s.lift].max() for s in strides])),
        "first_peak_bw": mean_of([shape[0] for shape in shapes]),
        "mid_stance_force_bw": mean_of([shape[1] for shape in shapes]),
        "second_peak_bw": mean_of([shape[2] for shape in shapes]),
        "braking_peak_bw": float(np.mean([part.min() for part in braking])),
        "propulsion_peak_bw": float(np.mean([part.max() for part in braking])),
        "loading_rate_bw_s": mean_of([_loading_rate(across, stride, series.interval) for stride in strides]),
        "impulse_share": float(np.mean([_impulse_share(series.load, stride) for stride in strides])),
        "spike_bw": max(spikes),
    }


def stance_shape(force: Array) -> tuple[float, float, float]:
    """First peak, lowest value between, second peak of one stance.

    The first peak is the maximum of the first half of stance, the second that of the second half, as in the open
    treadmill data (Fukuchi, Fukuchi, Duarte 2018).
    """
    half = (len(force) + 1) // 2
    first, second = int(np.argmax(force[:half])), half + int(np.argmax(force[half:]))
    return float(force[first]), float(force[first : second + 1].min()), float(force[second])


def _after_touch(stride: Stride) -> int:
    return stride.contact + round(BRAKING_FROM * (stride.lift - stride.contact))


def _raw_peak(record: Record, stride: Stride) -> float:
    """From the law's own table, which sees every time step [N]; a stance lasts from its landing into two steps."""
    return float(max(record.rows["raw_peak"][row, stride.leg] for row in stride.rows))


def _spike(raw: Array, across: Array, stride: Stride, interval: float) -> float:
    part = slice(stride.contact, stride.lift)
    return highest_short_peak(raw[part], float(across[part].max()), SPIKE_TIME / interval)


def _loading_rate(across: Array, stride: Stride, interval: float) -> float | None:
    half = stride.contact + (stride.lift - stride.contact + 1) // 2
    start = stride.contact - 1  # the frame before contact, so that the rise starts low
    rise = across[start:half]
    return rise_rate(rise[: int(np.argmax(rise)) + 1], interval)


def _impulse_share(load: Array, stride: Stride) -> float:
    both = load[stride.first : stride.last].sum(axis=0)
    return float(both[stride.leg] / both.sum())


def _balances(record: Record) -> Metrics:
    """Reference rows M01 and M02: over whole steady strides the ground's mean force is the weight, straight up."""
    strides = record.strides[1]
    part = slice(strides[0].first, strides[-1].last)
    load, push = record.series.load[part].sum(), record.series.push[part].sum()
    vertical = record.series.ground_force[part, :, 1].sum(axis=1).mean()
    return {
        "mean_force_along_to_across": -float(push / load),
        "mean_vertical_force_bw": float(vertical) / record.weight,
    }
