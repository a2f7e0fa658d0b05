"""Joint angles of both legs, and what the prosthetic knee does under load."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sim.metrics.forces import mean_of
from sim.metrics.gait import Metrics
from sim.metrics.signals import first_at_least
from sim.metrics.strides import Array, Record, Stride
from sim.series import SIDES

#: The knee has begun to yield when it is this much beyond its least flexion of the stance [rad] (ours, 5 degrees).
ONSET = np.radians(5.0)


def angle_metrics(record: Record) -> Metrics:
    """Angles at the events that reference rows A01 to A11 name, for both legs."""
    out: Metrics = {}
    series = record.series
    for leg, side in enumerate(SIDES):
        strides = record.strides[leg]
        knee, ankle = np.degrees(series.knee_flexion[:, leg]), np.degrees(series.dorsiflexion[:, leg])
        thigh = np.degrees(series.thigh[:, leg])
        extending = -(series.knee_torque + series.knee_stop_torque)[:, leg] / record.body.total_mass
        values = {
            "knee_flexion_at_landing_deg": [knee[stride.touch] for stride in strides],
            "knee_early_stance_peak_deg": [_during(knee, stride, 0.05, 0.35).max() for stride in strides],
            "knee_flexion_at_half_stride_deg": [_during(knee, stride, 0.5, 0.5)[0] for stride in strides],
            "knee_swing_peak_deg": [knee[stride.lift : stride.next_contact].max() for stride in strides],
            "ankle_dorsiflexion_peak_deg": [_during(ankle, stride, 0.2, 0.62).max() for stride in strides],
            "thigh_range_deg": [np.ptp(thigh[stride.first : stride.last]) for stride in strides],
            "knee_extending_moment_early_nm_per_kg": [_during(extending, s, 0.0, 0.35).max() for s in strides],
        }
        out |= {f"{side}_{name}": float(np.mean(value)) for name, value in values.items()}
    return out


def _during(values: Array, stride: Stride, begin: float, end: float) -> Array:
    """Samples between two shares of a stride that begins when the foot touches; at least one sample."""
    length = stride.last - stride.first
    first = stride.touch + round(begin * length)
    return values[first : max(stride.touch + round(end * length), first + 1)]


def loaded_frames(load: Array, load_on: float, load_off: float) -> NDArray[np.bool_]:
    """Frames in which the prosthetic knee has its loaded resistance: from above `load_on` until below `load_off`.

    Parameters
    ----------
    load : ndarray, shape (n,)
        On the foot [N].
    load_on, load_off : float
        [N]
    """
    known = np.where(load > load_on, 1, np.where(load < load_off, 0, -1))
    last_known = np.maximum.accumulate(np.where(known >= 0, np.arange(len(load)), -1))
    return np.where(last_known >= 0, known[np.maximum(last_known, 0)] == 1, False)


def prosthetic_knee_metrics(record: Record) -> Metrics:
    """Flexion, rate, moment and energy of the prosthetic knee; None for all but the angles if it is a sound one."""
    strides, series = record.strides[0], record.series
    flexion, rate = np.degrees(series.knee_flexion[:, 0]), np.degrees(series.knee_rate[:, 0])
    out: Metrics = {
        "knee_flexion_at_sound_landing_deg": float(np.mean([flexion[stride.other_landing] for stride in strides])),
        "knee_reextension_deg": float(np.mean([_reextension(record, stride) for stride in strides])),
        "knee_flexion_onset_percent_of_stance": mean_of([_onset(record, stride) for stride in strides]),
        "knee_loaded_peak_flexion_deg": None,
        "knee_loaded_peak_rate_deg_s": None,
        "knee_single_support_peak_rate_deg_s": None,
        "knee_peak_moment_nm_per_kg": None,
        "knee_energy_per_step_j": None,
        "knee_energy_share_of_slope": None,
    }
    if not record.passive:
        return out
    loaded = loaded_frames(series.load[:, 0], record.load_on, record.load_off)
    resisting = -series.knee_torque[:, 0] / record.body.total_mass
    found = [_loaded_part(stride, loaded) for stride in strides]
    parts = [part for part in found if len(part)]
    single = [part[part < stride.other_landing] for part, stride in zip(found, strides, strict=True)]
    energy = float(np.mean([record.rows["knee_absorbed"][list(stride.rows)].sum() for stride in strides]))
    length = float(np.mean([record.rows["length"][list(stride.rows)].sum() for stride in strides]))
    given = record.slope_energy(length)
    return out | {
        "knee_loaded_peak_flexion_deg": mean_of([float(flexion[part].max()) for part in parts]),
        "knee_loaded_peak_rate_deg_s": mean_of([float(rate[part].max()) for part in parts]),
        "knee_single_support_peak_rate_deg_s": mean_of([float(rate[part].max()) for part in single if len(part)]),
        "knee_peak_moment_nm_per_kg": mean_of([float(resisting[part].max()) for part in parts]),
        "knee_energy_per_step_j": energy,
        "knee_energy_share_of_slope": None if given is None else energy / given,
    }


def _loaded_part(stride: Stride, loaded: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Frames of a stance in which the knee is loaded."""
    return stride.touch + np.flatnonzero(loaded[stride.touch : stride.lift])


def _reextension(record: Record, stride: Stride) -> float:
    """Largest fall of the knee angle between the middle of stance and the other foot's landing (row P09) [deg]."""
    middle = stride.touch + (stride.lift - stride.touch) // 2
    part = np.degrees(record.series.knee_flexion[min(middle, stride.other_landing - 1) : stride.other_landing, 0])
    return float((np.maximum.accumulate(part) - part).max())


def _onset(record: Record, stride: Stride) -> float | None:
    """When the knee has yielded by `ONSET` from its least flexion of this stance [% of stance]."""
    flexion = record.series.knee_flexion[stride.touch : stride.lift, 0]
    least = int(np.argmin(flexion))
    later = first_at_least(flexion[least:], float(flexion[least]) + ONSET)
    return None if later is None else 100.0 * (least + later) / len(flexion)
