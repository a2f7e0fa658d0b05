"""Work of the joints over the measured strides, per metre along the surface."""

from __future__ import annotations

import numpy as np

from sim.metrics.gait import Metrics
from sim.metrics.signals import power_in_and_out
from sim.metrics.strides import Record
from sim.series import SIDES


def work_metrics(record: Record) -> Metrics:
    """Work in and out of every joint, of the legs, of the end stops; the person's positive work."""
    series, out = record.series, Metrics()
    joints = {
        "hip": (series.hip_torque, series.hip_rate),
        "knee": (series.knee_torque, series.knee_rate),
        "ankle": (series.ankle_torque, series.ankle_rate),
    }
    given_by_person = 0.0
    for leg, side in enumerate(SIDES):
        strides = record.strides[leg]
        part = slice(strides[0].first, strides[-1].last)
        length = _length(record, leg)
        taken = 0.0
        for joint, (torque, rate) in joints.items():
            work = power_in_and_out(torque[part, leg], rate[part, leg], series.interval)
            out[f"{side}_{joint}_work_in_j_per_m"], out[f"{side}_{joint}_work_out_j_per_m"] = (
                value / length for value in work
            )
            taken += work[1] / length
            if joint == "hip" or leg == 1 or not record.passive:
                given_by_person += work[0] / length
        out[f"{side}_leg_work_out_j_per_m"] = taken
        stop = _stop_work(record, leg) / length
        out[f"{side}_knee_stop_work_out_j_per_m"] = stop
        out[f"{side}_knee_stop_share_of_slope"] = _share(record, stop)
    out["positive_work_j_per_m"] = given_by_person
    out["positive_work_share_of_gravity"] = _share(record, given_by_person)
    out["slope_energy_per_step_j"] = record.slope_energy(_length(record, 1) / (2.0 * len(record.strides[1])))
    return out


def _length(record: Record, leg: int) -> float:
    """Way along the surface in the measured strides of one leg [m]."""
    return float(sum(record.rows["length"][list(stride.rows)].sum() for stride in record.strides[leg]))


def _stop_work(record: Record, leg: int) -> float:
    """Energy taken by the end stops of one knee in its measured strides [J], by the law's own table."""
    return float(np.sum([record.rows["stop_work"][list(stride.rows), leg].sum() for stride in record.strides[leg]]))


def _share(record: Record, per_metre: float) -> float | None:
    given = record.slope_energy(1.0)
    return None if given is None else per_metre / given
