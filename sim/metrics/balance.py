"""Where the mass centre and the centre of pressure travel, the trunk, and how clear the swinging foot is."""

from __future__ import annotations

import math

import numpy as np

from sim.law.records import GRAVITY
from sim.metrics.forces import mean_of
from sim.metrics.gait import Metrics
from sim.metrics.strides import Array, Record, Stride, scuffs_per_step
from sim.series import SIDES

#: The centre of pressure counts while a foot carries more than this share of the weight (ours).
PRESSURE_FROM = 0.05
#: The part of a swing in which the toe must clear the ground (ours; before it lifts off, after it reaches down).
MID_SWING = (0.25, 0.85)


def balance_metrics(record: Record) -> Metrics:
    """Mass-centre travel, margin of stability, centre of pressure, trunk, toe clearance, scuffs."""
    out: Metrics = {}
    for leg, side in enumerate(SIDES):
        strides = record.strides[leg]
        travel = np.array([_travel(record, stride) for stride in strides])
        out[f"{side}_com_from_m"], out[f"{side}_com_to_m"] = travel.mean(axis=0).tolist()
        name = "com_forward_travel_m" if leg == 0 else "sound_com_forward_travel_m"
        out[name] = float((travel[:, 1] - travel[:, 0]).mean())
        out[f"{side}_com_over_foot_after_s"] = mean_of([_time_until_over(record, stride) for stride in strides])
        out[f"{side}_com_over_foot_share"] = float(np.mean([_share_over_foot(record, stride) for stride in strides]))
        ahead = [float(ahead_of_ankle(record, stride)[_other(stride)]) for stride in strides]
        out[f"{side}_com_ahead_at_other_landing_m"] = float(np.mean(ahead))
        out[f"{side}_margin_of_stability_m"] = float(np.mean([_margin(record, stride) for stride in strides]))
        out[f"{side}_pressure_travel_share"] = mean_of([_pressure_travel(record, stride) for stride in strides])
        out[f"{side}_toe_clearance_m"] = float(np.mean([_clearance(record, stride) for stride in strides]))
    out["toe_clearance_m"] = min(out[f"{side}_toe_clearance_m"] or 0.0 for side in SIDES)
    out["com_across_slope_excursion_m"] = float(np.mean([_excursion(record, s) for s in record.strides[1]]))
    steps = sorted({row for strides in record.strides for stride in strides for row in stride.rows})
    out["scuffs"] = float(scuffs_per_step(record.rows, record.series)[steps].sum())
    return out | _trunk(record)


def ahead_of_ankle(record: Record, stride: Stride) -> Array:
    """Mass centre ahead of the standing ankle over a stance, measured along the surface, shape (frames,) [m].

    Both are dropped plumb onto the surface, so 0 means that the mass is balanced over the ankle. The ankle is taken
    where it is for most of the stance (median), since it moves when the heel lifts.
    """
    part = slice(stride.touch, stride.lift)
    ankle = float(np.median(record.series.ankle[part, stride.leg, 0]))
    result: Array = (record.series.mass_centre[part, 0] - ankle) / math.cos(record.surface.slope)
    return result


def _other(stride: Stride) -> int:
    """Frame of the other foot's landing within a stance, counted from its touch."""
    return min(stride.other_landing, stride.lift - 1) - stride.touch


def _travel(record: Record, stride: Stride) -> tuple[float, float]:
    ahead = ahead_of_ankle(record, stride)
    return float(ahead[0]), float(ahead[-1])


def _time_until_over(record: Record, stride: Stride) -> float | None:
    """From touch until the mass centre is plumb over the ankle [s]; None if it never is."""
    over = np.flatnonzero(ahead_of_ankle(record, stride) >= 0.0)
    return float(over[0]) * record.series.interval if len(over) else None


def _share_over_foot(record: Record, stride: Stride) -> float:
    """Share of stance in which the mass centre is plumb over the sole of the flat foot."""
    ahead = ahead_of_ankle(record, stride)
    heel, toe = record.body.sole_points[stride.leg, [0, 2], 0]
    return float(((ahead >= heel) & (ahead <= toe)).mean())


def _margin(record: Record, stride: Stride) -> float:
    """Toe of the foot that lands less the extrapolated mass centre, level distance [m].

    Extrapolated mass centre = x + v / sqrt(g / l) with l from the landing ankle to the mass centre; Hof, Gazendam
    and Sinke (2005), doi 10.1016/j.jbiomech.2004.03.025. Their pendulum stands on level ground; the slope's small
    change of the formula is left out.
    """
    series, k, leg = record.series, stride.touch, stride.leg
    length = float(np.hypot(*(series.mass_centre[k] - series.ankle[k, leg])))
    extrapolated = series.mass_centre[k, 0] + series.mass_centre_velocity[k, 0] * math.sqrt(length / GRAVITY)
    return float(series.sole[k, leg, 2, 0] - extrapolated)


def _pressure_travel(record: Record, stride: Stride) -> float | None:
    """How far the centre of pressure travels under the foot, share of the foot's whole length."""
    part = slice(stride.touch, stride.lift)
    carrying = record.series.load[part, stride.leg] > PRESSURE_FROM * record.weight
    places = record.series.pressure_centre[part, stride.leg][carrying]
    return float(np.ptp(places)) / record.body.foot_length if len(places) else None


def _excursion(record: Record, stride: Stride) -> float:
    """Highest less lowest place of the mass centre in a stride, perpendicular to the surface [m]."""
    part = record.series.mass_centre[stride.first : stride.last]
    return float(np.ptp(record.surface.above(part)))


def _clearance(record: Record, stride: Stride) -> float:
    """Least height of ball and toe above the surface in the middle of the swing [m]."""
    swing = stride.next_contact - stride.lift
    first, last = (stride.lift + round(share * swing) for share in MID_SWING)
    points = record.series.sole[first : max(last, first + 1), stride.leg, 1:]
    return float(record.surface.above(points).min())


def _trunk(record: Record) -> Metrics:
    strides = record.strides[1]
    lean = -np.degrees(record.series.trunk)
    ranges = [np.ptp(lean[stride.first : stride.last]) for stride in strides]
    return {
        "trunk_lean_deg": float(lean[strides[0].first : strides[-1].last].mean()),
        "trunk_lean_range_deg": float(np.mean(ranges)),
    }
