"""From the time series and the table of steps of a walk to numbers. Definitions: `docs/metrics.md`."""

from __future__ import annotations

from typing import Any

from sim.body import Body
from sim.metrics.balance import balance_metrics
from sim.metrics.definitions import METRICS, Definition
from sim.metrics.forces import force_metrics
from sim.metrics.gait import steadiness, step_metrics
from sim.metrics.joints import angle_metrics, prosthetic_knee_metrics
from sim.metrics.strides import Record, Rows, filtered_forces, measured_landings, on_slope, strides_of
from sim.metrics.work import work_metrics
from sim.series import Series, surface_of

__all__ = ["METRICS", "Definition", "Record", "measure", "on_slope", "record_of"]


def record_of(settings: Any, body: Body, series: Series, rows: Rows, ended_early: bool) -> Record | None:
    """What the metrics are taken from, or None if the walk ended before one stride could be measured.

    Parameters
    ----------
    settings : record of `SETTINGS`
        Of the walk.
    body : Body
    series : Series
    rows : ndarray of `STEP`, shape (steps,)
        All steps.
    ended_early : bool
        The walk fell or stalled.
    """
    surface = surface_of(settings["ground"])
    landings = measured_landings(rows, surface.start_x, ended_early)
    if landings is None:
        return None
    filtered = filtered_forces(series)
    strides = [strides_of(leg, landings[leg], rows, series, filtered) for leg in range(2)]
    if strides[0] is None or strides[1] is None:
        return None
    return Record(
        series=series,
        rows=rows,
        surface=surface,
        body=body,
        weight=float(settings["person"]["weight"]),
        passive=bool(settings["person"]["passive"][0]),
        load_on=float(settings["knee"]["load_on"]),
        load_off=float(settings["knee"]["load_off"]),
        filtered=filtered,
        strides=(strides[0], strides[1]),
    )


def measure(record: Record | None) -> dict[str, float | None]:
    """All metrics by name, in the order of the tables in `docs/metrics.md`; all None without a record."""
    if record is None:
        return dict.fromkeys(METRICS)
    found = steadiness(record) | step_metrics(record) | force_metrics(record) | balance_metrics(record)
    found |= angle_metrics(record) | prosthetic_knee_metrics(record) | work_metrics(record)
    return {name: found[name] for name in METRICS}
