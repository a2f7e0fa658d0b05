"""What standing is measured by, and when a lock opened, a knee yielded or the balance was lost."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.law.posture_records import HYPEREXTENSION, TOE_LOADED, UNLOADED
from sim.posture_result import Metrics, how_it_fell
from sim.series import Series, turned

if TYPE_CHECKING:
    from sim.activities.stand import Stand
    from sim.drivers.posture_loop import PostureRun
    from sim.upright import Upright

#: Time to settle before anything is measured or tried [s] (ours).
SETTLE = 2.0
#: When a hip that presses the knee at first has let go, and when a trial begins [s] (ours).
LET_GO, TRIAL = 2.5, 3.0
#: A prosthetic knee bent this much further than while it stood still has yielded [rad] (ours; 3 degrees).
YIELDED = math.radians(3.0)
#: A foot with less than this share of the weight does not stand (as `sim.law.phase.LOADED_SHARE`).
LIFTED = 0.027
#: A mass centre this far from where the person wants it has got out of hand [m] (ours).
ASTRAY = 0.05
CAUSES = {HYPEREXTENSION: "hyperextension", UNLOADED: "unloading", TOE_LOADED: "toe load"}


def stand_metrics(settings: Stand, run: PostureRun, series: Series, start: Upright) -> Metrics:
    """What is measured, by the names of `METRICS`; `start` is the pose that the run began in."""
    time, weight = series.time, settings.person.weight
    still = (time >= LET_GO) & (time <= TRIAL) if settings.trial != "hold" else time >= SETTLE
    metrics: Metrics = dict.fromkeys(METRICS)
    metrics["time_s"] = run.time
    event = _event(settings, run, series)
    if event is not None:
        at, metrics["lock_opened_at_s"], metrics["knee_yielded_at_s"] = event
        k = min(int(at / series.interval), len(time) - 1)
        if settings.trial != "hold":
            metrics["trial_event_at_s"] = at
            moved = series.mass_centre[k] - series.mass_centre[min(int(TRIAL / series.interval), len(time) - 1)]
            metrics["trial_mass_centre_forward_mm"] = 1000.0 * float(moved[0])
            metrics["trial_trunk_lean_deg"] = -math.degrees(float(series.trunk[k]))
            metrics["trial_push_n"] = float(run.frames["push"][k])
            metrics["trial_prosthetic_load_bw"] = float(series.load[k, 0]) / weight
    if not still.any():
        return metrics
    load, push = series.load[still].mean(axis=0), series.push[still].mean(axis=0)
    slope = math.radians(settings.slope_deg)
    vertical = series.ground_force[still, :, 1].mean(axis=0)
    metrics["prosthetic_load_share"] = float(vertical[0] / vertical.sum())
    metrics["prosthetic_load_share_by_statics"] = _lever(series, still)
    metrics["mean_normal_force_bw"] = float(load.sum() / weight)
    metrics["mean_force_along_slope_bw"] = float(push.sum() / weight)
    metrics["normal_over_weight_cos_slope"] = float(load.sum() / (weight * math.cos(slope)))
    if settings.slope_deg:
        metrics["along_over_weight_sin_slope"] = float(push.sum() / (weight * math.sin(slope)))
    minutes = series.time[still] / 60.0
    flexion, ahead = np.degrees(series.knee_flexion[still, 0]), 1000.0 * series.mass_centre[still, 0]
    if len(minutes) > 2:
        metrics["knee_creep_deg_per_min"] = float(np.polyfit(minutes, flexion, 1)[0])
        metrics["mass_centre_creep_mm_per_min"] = float(np.polyfit(minutes, ahead, 1)[0])
    metrics["mass_centre_sway_mm"] = float(np.ptp(ahead))
    metrics["prosthetic_knee_flexion_deg"] = float(flexion.mean())
    metrics["prosthetic_knee_extending_moment_nm"] = float(series.knee_stop_torque[still, 0].mean())
    metrics["prosthetic_hip_extending_torque_nm"] = -float(series.hip_torque[still, 0].mean())
    metrics["sound_knee_flexion_deg"] = float(np.degrees(series.knee_flexion[still, 1]).mean())
    metrics["sound_knee_extending_torque_nm"] = -float(series.knee_torque[still, 1].mean())
    metrics["lock_closed"] = float(run.frames["lock_closed"][still].max())
    metrics["hip_placed_off_balance_mm"] = 1000.0 * start.off
    return metrics


#: What `rampwalk stand` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "prosthetic_load_share",
    "prosthetic_load_share_by_statics",
    "mean_normal_force_bw",
    "mean_force_along_slope_bw",
    "normal_over_weight_cos_slope",
    "along_over_weight_sin_slope",
    "knee_creep_deg_per_min",
    "mass_centre_creep_mm_per_min",
    "mass_centre_sway_mm",
    "prosthetic_knee_flexion_deg",
    "prosthetic_knee_extending_moment_nm",
    "prosthetic_hip_extending_torque_nm",
    "sound_knee_flexion_deg",
    "sound_knee_extending_torque_nm",
    "lock_closed",
    "lock_opened_at_s",
    "knee_yielded_at_s",
    "hip_placed_off_balance_mm",
    "trial_event_at_s",
    "trial_mass_centre_forward_mm",
    "trial_trunk_lean_deg",
    "trial_push_n",
    "trial_prosthetic_load_bw",
)


def _lever(series: Series, still: Any) -> float:
    """Share of the prosthetic leg in the vertical force by moment balance about the sound foot's pressure.

    The feet also press against each other along the slope; with one foot lower that force has a moment of its own.
    """
    centre, force = series.mass_centre[still].mean(axis=0), series.ground_force[still].mean(axis=0)
    places = []
    for leg in range(2):
        foot = series.foot[still, leg]
        heel = series.sole[still, leg, 0] - series.ankle[still, leg]
        height = heel[:, 0] * np.sin(foot) - heel[:, 1] * np.cos(foot)  # ankle above the sole, in the foot
        under = np.stack([series.pressure_centre[still, leg], -height], axis=-1)
        places.append((series.ankle[still, leg] + turned(under, foot)).mean(axis=0))
    (px, py), (sx, sy) = places
    weight = float(force[:, 1].sum())
    return float(((centre[0] - sx) * weight + (py - sy) * force[0, 0]) / ((px - sx) * weight))


def _event(settings: Stand, run: PostureRun, series: Series) -> tuple[float, float | None, float | None] | None:
    """First of: lock open, knee yielding, foot lifted, balance lost, fall; with the times of the first two."""
    after = series.time > SETTLE
    if not after.any():
        return (run.time, None, None) if run.status else None
    closed = run.frames["lock_closed"].astype(bool)
    opened = np.flatnonzero(after[1:] & closed[:-1] & ~closed[1:])
    base = series.knee_flexion[np.flatnonzero(after)[0], 0]
    bent = np.flatnonzero(after & (series.knee_flexion[:, 0] > base + YIELDED))
    lifted = np.flatnonzero(after & (series.load[:, 0] < LIFTED * settings.person.weight))
    lock_at = float(series.time[opened[0] + 1]) if len(opened) else None
    yield_at = float(series.time[bent[0]]) if len(bent) else None
    times = [at for at in (lock_at, yield_at) if at is not None]
    times += [float(series.time[lifted[0]])] if len(lifted) else []
    astray = np.abs(series.mass_centre[:, 0] - run.frames["wanted_centre"])
    lost = np.flatnonzero(after & (astray > ASTRAY) & (settings.trial not in {"hold", "nudge"}))
    times += [float(series.time[lost[0]])] if len(lost) else []
    times += [run.time] if run.status else []
    return (min(times), lock_at, yield_at) if times else None


def stand_reason(settings: Stand, run: PostureRun, series: Series, metrics: Metrics) -> str:
    """What happened and what to try."""
    if run.status:
        return f"Fell: {how_it_fell(run, series)}; try a smaller push or lean, or other feet."
    share, opened = metrics["prosthetic_load_share"], metrics["lock_opened_at_s"]
    told = f"Stood {run.time:.1f} s"
    if share is not None:
        told += f", {100 * share:.0f} % of the load on the prosthetic leg"
    if opened is not None:
        told += f"; the lock opened after {opened:.1f} s by {CAUSES[int(run.memory['lock']['cause'])]}"
    if metrics["knee_yielded_at_s"] is not None:
        told += f"; the prosthetic knee yielded after {metrics['knee_yielded_at_s']:.1f} s"
    if settings.lock.kind == "flexion-lock" and metrics["lock_closed"] == 0.0:
        told += "; the lock did not close: try a lower lock.close_load_n"
    return f"{told}."


