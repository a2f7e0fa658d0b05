"""One stair down: prosthetic foot on the upper tread, forefoot over the edge; the sound foot lands below."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.body import HEEL, PROSTHETIC, SOUND, Body
from sim.drivers.posture_loop import PostureRun, run_posture
from sim.law.posture import LANDED_WELL
from sim.metrics.strides import filtered_forces
from sim.pack import pack_plant
from sim.parameters import ours_activities, stairs_and_seats_ada
from sim.posture_pack import Knot, body_of, pack_plan, pack_posture
from sim.posture_result import Metrics, PostureResult, how_it_fell, invalid_result, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.series import Series
from sim.settings import check, number
from sim.stance_pose import hip_over, mass_centre
from sim.upright import Upright, upright, upright_or_error

_STAIR, _STEP = ours_activities.stair(), stairs_and_seats_ada.parameters()
#: Standing before it begins, and watched after the landing [s]; run of the riser's face [m]; sound foot behind the
#: prosthetic one at the start, and its heel's gap to the riser when it lands, both [m] (all ours).
SETTLE, AFTER, FACE, BEHIND, GAP = 2.0, 0.6, 0.008, 0.06, 0.03
#: Slack of the prosthetic hip, 1 pressed straight and -1 wholly slack; share left on the sound leg as it lifts (ours).
SLACK, LIFTED = -1.0, 0.1
#: The body is stopped this softly, this far beyond the ankle below [m]; a hip so far from the feet [leg lengths] is a
#: fall (ours: between two feet on a stair it is far from both).
SOFTER, BEYOND, FARTHEST = 0.5, 0.05, 1.2
#: Hip at least so high above the lower tread [leg lengths], and sinking no faster [m/s], in a body that was caught
#: (ours).
CAUGHT_HIGH, CAUGHT_SPEED = 0.75, 0.15
#: A swing may take this many times as long as planned (ours).
LONGEST = 2.5


@dataclass(frozen=True, kw_only=True)
class Stair(InPlace):
    """One step down from a tread to the next, `riser_m` lower, the sound leg first.

    `foot_over_edge` is the share of the prosthetic foot that is beyond the edge, `swing_s` the time that the sound foot
    is to take, `start_speed_m_s` the speed of the body forward as it lifts.
    """

    riser_m: float = number(_STEP["riser"], 0.02, 0.3, "building rules allow 0.1 to 0.18 m")
    tread_m: float = number(_STEP["tread"], 0.2, 0.6, "building rules ask for 0.28 m at least")
    foot_over_edge: float = number(_STAIR["foot_over_edge"], 0.1, 0.6, "more and the foot slips off")
    swing_s: float = number(_STAIR["swing"], 0.2, 3, "people take 0.4 to 1 s")
    start_speed_m_s: float = number(_STAIR["start_speed"], 0.0, 1.0, "0.1 to 0.6 m/s")
    shift_s: float = number(_STAIR["shift"], 0.2, 3, "weight onto the prosthetic leg")

    def __post_init__(self) -> None:
        check(self)


def stair(settings: Stair) -> PostureResult:
    """Take the step. Nothing is random.

    Raises
    ------
    RampwalkError
        If the person cannot stand like that in balance.
    """
    body = body_of(settings)
    run, swing_start = _run(settings, body)
    broken = invalid_result("stair", settings, run, body, METRICS)
    if broken:
        return broken
    series = series_of_posture(run.frames, body)
    metrics = _metrics(settings, run, series, swing_start)
    outcome = "landed" if run.status == LANDED_WELL and _caught(settings, series, body) else "stuck"
    if run.status == LANDED_WELL and outcome == "stuck":
        outcome = "gave way"
    if run.status not in {0, LANDED_WELL}:
        outcome = "fell"
    return result_of("stair", settings, run, body, outcome, _reason(outcome, run, series, metrics), metrics)


def _caught(settings: Stair, series: Series, body: Body) -> bool:
    """Whether the sound leg has stopped the body: the hip is high enough above the lower tread and no longer sinks."""
    high = float(series.hip[-1, 1]) + settings.riser_m
    sinking = -float((series.hip[-1, 1] - series.hip[-20, 1]) / (19 * series.interval))
    return high > CAUGHT_HIGH * body.leg_length and sinking < CAUGHT_SPEED


def _pack_steps(row: Any, edge: float, riser: float) -> None:
    """Upper tread, riser with a steep face, lower tread; and the edge itself, which meets the sole."""
    ground, steep = row["base"]["ground"], -2.0 * riser / FACE
    ground["knots"] = 3
    ground["x"][:3] = edge, edge + 0.5 * FACE, edge + FACE
    ground["height"][:3], ground["slope"][:3] = (0.0, -0.5 * riser, -riser), (0.0, steep, 0.0)
    row["edge"]["on"], row["edge"]["x"][0], row["edge"]["y"][0] = 1, edge, 0.0


def _run(settings: Stair, body: Body) -> tuple[PostureRun, float]:
    record = pack_posture(settings)
    row, contact = record[0], record[0]["base"]["contact"]["stiffness"]
    stiffness = settings.foot.ankle_stiffness if settings.person.has_prosthesis else None
    both = (float(contact[0]), float(contact[1]))
    standing = upright_or_error(upright(body, 0.0, BEHIND, 0.5, 0.0, both, stiffness), BEHIND)
    ankle = float(standing.feet.ankle[PROSTHETIC, 0])
    toe_tip = ankle + float(body.sole_points[PROSTHETIC, HEEL, 0]) + body.foot_length
    edge = toe_tip - settings.foot_over_edge * body.foot_length
    _pack_steps(row, edge, settings.riser_m)
    swing_start = SETTLE + settings.shift_s
    target = edge + FACE + GAP - float(body.sole_points[1, HEEL, 0])
    swing = row["swing"]
    swing["on"], swing["leg"][0], swing["start"][0], swing["duration"][0] = 1, SOUND, swing_start, settings.swing_s
    swing["ankle_to"][0] = target, body.sole_height - settings.riser_m
    swing["ahead"] = math.inf
    swing["clearance"], swing["foot_angle"] = _STAIR["clearance"].value, 0.0
    swing["watch"] = AFTER
    row["hold"]["hip_strategy"] = 0.0  # after a landing the trunk is held first
    row["hold"]["along_stiffness"] *= SOFTER
    row["most_ahead"] = row["most_behind"] = FARTHEST * body.leg_length
    knots = _knots(settings, body, standing, target, swing_start)
    pack_plan(record, knots, resume_at=knots[3].time)
    numerics = settings.numerics
    run = run_posture(
        record,
        pack_plant(body),
        standing.q,
        swing_start + LONGEST * settings.swing_s + AFTER,
        numerics.time_step_s,
        numerics.iterations,
        numerics.loop,
    )
    return run, swing_start


def _knots(settings: Stair, body: Body, standing: Upright, target: float, swing_start: float) -> list[Knot]:
    """Stand, bring the body forward, wait for the landing, then carry it on the bent sound leg below."""
    hip, centre = (float(standing.hip[0]), float(standing.hip[1])), float(mass_centre(standing.q, body)[0])
    forward = settings.start_speed_m_s * 2.0 * settings.shift_s / 1.5  # half of it done, and fastest, at the lift
    below = np.array([target, body.sole_height - settings.riser_m])
    low = hip_over(below, target + 0.02, math.radians(_STAIR["landing_knee"].value), body)
    landed = (float(low[0]), float(low[1]))
    freed = Knot(SETTLE, hip, 0.0, 0.5, 0.0, SLACK, (0.0, 0.0), centre)
    over = Knot(swing_start + settings.shift_s, hip, 0.0, LIFTED, 0.0, SLACK, (0.0, 0.0), centre + forward)
    return [
        Knot(SETTLE - 0.3, hip, 0.0, 0.5, 0.0, 1.0, (0.0, 0.0), centre),
        freed,
        over,
        Knot(over.time + 0.01, landed, 0.0, 1.0, 1.0, -0.5, (0.0, 0.0), target + BEYOND),
        Knot(over.time + 1.5, landed, 0.0, 1.0, 1.0, -0.5, (0.0, 0.0), target + BEYOND),
    ]


# -------------------------------------------------------------------------------- what came out
#: What `rampwalk stair` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "landing_time_s",
    "knee_peak_rate_deg_s",
    "knee_flexion_at_landing_deg",
    "knee_energy_j",
    "landing_peak_bw",
    "landing_speed_m_s",
    "prosthetic_peak_load_bw",
    "edge_peak_force_bw",
)


def _metrics(settings: Stair, run: PostureRun, series: Series, swing_start: float) -> Metrics:
    metrics: Metrics = dict.fromkeys(METRICS)
    metrics["time_s"], weight = run.time, settings.person.weight
    landed = float(run.memory["landed"])
    begin = int(np.searchsorted(series.time, swing_start))
    end = int(np.searchsorted(series.time, landed)) if landed > 0.0 else len(series.time)
    if end <= begin + 1:
        return metrics
    part = slice(begin, end)
    rate, torque = series.knee_rate[part, 0], series.knee_torque[part, 0]
    metrics["knee_peak_rate_deg_s"] = math.degrees(float(rate.max()))
    metrics["knee_energy_j"] = -float((torque * np.maximum(rate, 0.0)).sum() * series.interval)
    metrics["prosthetic_peak_load_bw"] = float(series.load[part, 0].max() / weight)
    metrics["edge_peak_force_bw"] = float(run.frames["edge"][part, 0].max() / weight)
    if landed > 0.0 and end < len(series.time):
        smooth = filtered_forces(series)[:, 1, 0]
        metrics["landing_time_s"] = landed - swing_start
        metrics["knee_flexion_at_landing_deg"] = math.degrees(float(series.knee_flexion[end, 0]))
        metrics["landing_peak_bw"] = float(smooth[end : end + round(0.4 / series.interval)].max() / weight)
        metrics["landing_speed_m_s"] = -float((series.hip[end, 1] - series.hip[end - 1, 1]) / series.interval)
    return metrics


def _reason(outcome: str, run: PostureRun, series: Series, metrics: Metrics) -> str:
    if outcome == "fell":
        return f"Fell: {how_it_fell(run, series)}; try another resistance, a lower riser or another speed."
    if outcome == "gave way":
        return (
            f"Landed after {metrics['landing_time_s']:.2f} s with a peak of {metrics['landing_peak_bw']:.2f} BW, but "
            "the sound leg gave way; try more resistance, a lower riser or a quicker foot."
        )
    if outcome == "stuck":
        return "The sound foot did not land in time; try less resistance or more speed."
    return (
        f"Landed after {metrics['landing_time_s']:.2f} s, the prosthetic knee bent by "
        f"{metrics['knee_flexion_at_landing_deg']:.0f} deg at up to {metrics['knee_peak_rate_deg_s']:.0f} deg/s; "
        f"landing peak {metrics['landing_peak_bw']:.2f} BW."
    )
