"""Step-to descent, one cycle from rest to rest: one foot leads down the slope, the other closes up beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.body import PROSTHETIC, SOUND, Body
from sim.drivers.posture_loop import PostureRun, run_posture
from sim.law.posture import LANDED_WELL
from sim.metrics.strides import filtered_forces
from sim.pack import pack_plant
from sim.parameters import ours_practice
from sim.posture_pack import Knot, body_of, pack_plan, pack_posture
from sim.posture_result import Metrics, PostureResult, how_it_fell, invalid_result, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.scenario import GRAVITY
from sim.series import Series
from sim.settings import check, choice, number
from sim.stance_pose import Array, hip_over, mass_centre
from sim.upright import Upright, upright, upright_or_error

_OURS = ours_practice.step_to()
#: Standing before it begins, watched after the last landing [s]; the prosthetic foot ahead of the sound one when they
#: stand together [m]; time in which the plan ends standing [s] (all ours).
SETTLE, AFTER, APART, ENDING = 1.5, 0.8, 0.03, 2.0
#: Where the mass centre is taken over the foot that carries alone, ahead of its ankle [m] (ours).
OVER_SOUND, SHORT_OF_PROSTHETIC, AT_REST, BEHIND_LEAD = 0.03, -0.06, 0.03, -0.03
#: The sound foot lifts once the extrapolated mass centre is this far ahead of the prosthetic ankle [m] (ours).
LIFTS_AT = 0.0
#: A hip so far from the feet is a fall, and at rest so high, both in leg lengths; slower than this is at rest [m/s],
#: with the mass centre no further than this from the sound ankle [m] (ours).
FARTHEST, CAUGHT_HIGH, AT_REST_SPEED, AT_REST_PLACE = 1.2, 0.75, 0.25, 0.2
#: A swing may take this many times as long as planned (ours).
LONGEST = 2.5


@dataclass(frozen=True, kw_only=True)
class StepTo(InPlace):
    """One step of `step_m` down the slope with the foot that `leads`, and one that closes up.

    `swing_s` is the time of the prosthetic foot's swing, `close_s` of the sound foot's, `shift_s` the time in which the
    weight goes over before the first, and `over_s` before the second.
    """

    slope_deg: float = number(_OURS["slope"], -12, 0, "downhill is negative")
    leads: str = choice("prosthetic", "sound")
    step_m: float = number(_OURS["step"], 0.1, 0.5, "people step 0.2 to 0.4 m when one foot closes up")
    swing_s: float = number(_OURS["swing"], 0.3, 2, "a passive knee needs time to come forward")
    close_s: float = number(_OURS["close"], 0.2, 1, "longer than 0.5 s nobody stands on a prosthesis alone here")
    shift_s: float = number(_OURS["shift"], 0.3, 4, "weight onto one leg")
    over_s: float = number(_OURS["over"], 0.4, 4, "the body over the leading foot")

    def __post_init__(self) -> None:
        check(self)


def step_to(settings: StepTo) -> PostureResult:
    """Step and close up. Nothing is random.

    Raises
    ------
    RampwalkError
        If nobody has a prosthesis, or the person cannot stand like that in balance.
    """
    settings.need_passive_knee("step-to descent is")
    body = body_of(settings)
    run = _run(settings, body)
    broken = invalid_result("step-to", settings, run, body, METRICS)
    if broken:
        return broken
    series = series_of_posture(run.frames, body)
    metrics = _metrics(settings, run, series)
    outcome = "stuck"
    if run.status == LANDED_WELL:
        outcome = "closed up" if _at_rest(settings, series, body) else "not stopped"
    elif run.status:
        outcome = "fell"
    return result_of("step-to", settings, run, body, outcome, _reason(outcome, run, series, metrics), metrics)


def _at_rest(settings: StepTo, series: Series, body: Body) -> bool:
    """Whether the body stands over both feet at the end."""
    hip, slope = series.hip[-1], math.tan(math.radians(settings.slope_deg))
    ahead = float(series.mass_centre[-1, 0] - series.ankle[-1, SOUND, 0])
    slow = abs(float(series.mass_centre_velocity[-1, 0])) < AT_REST_SPEED
    high = float(hip[1] - slope * hip[0]) > CAUGHT_HIGH * body.leg_length
    return slow and high and abs(ahead) < AT_REST_PLACE


def _run(settings: StepTo, body: Body) -> PostureRun:
    record = pack_posture(settings, settings.slope_deg)
    row, contact = record[0], record[0]["base"]["contact"]["stiffness"]
    slope = math.radians(settings.slope_deg)
    first = settings.leads == "prosthetic"
    share = 0.4 if first else 0.5  # of the weight on the prosthetic leg at first (ours)
    both = (float(contact[0]), float(contact[1]))
    standing = upright_or_error(upright(body, slope, APART, share, 0.0, both, settings.foot.ankle_stiffness), APART)
    along = np.array([math.cos(slope), math.sin(slope)])
    legs = (PROSTHETIC, SOUND) if first else (SOUND, PROSTHETIC)
    lead = standing.feet.ankle[legs[1]] + settings.step_m * along  # beside the standing foot, and a step on
    row["hold"]["balance_rate"] = 0.0  # the plan moves the weight
    row["most_ahead"] = row["most_behind"] = FARTHEST * body.leg_length
    _pack_swings(row["swing"], settings, slope, legs, (lead, lead - APART * along))
    knots, resume = (_prosthetic_leads if first else _sound_leads)(settings, body, standing, lead)
    pack_plan(record, knots, resume_at=resume)
    numerics = settings.numerics
    return run_posture(
        record,
        pack_plant(body),
        standing.q,
        SETTLE + settings.shift_s + LONGEST * (settings.swing_s + settings.close_s) + settings.over_s + 1.0 + AFTER,
        numerics.time_step_s,
        numerics.iterations,
        numerics.loop,
    )


def _pack_swings(swing: Any, settings: StepTo, slope: float, legs: tuple[int, int], to: tuple[Array, Array]) -> None:
    first = legs[0] == PROSTHETIC
    swing["on"], swing["leg"], swing["ankle_to"] = 2, legs, to
    swing["duration"] = [settings.swing_s if leg == PROSTHETIC else settings.close_s for leg in legs]
    swing["clearance"], swing["foot_angle"] = _OURS["clearance"].value, slope
    swing["watch"], swing["ahead"] = AFTER, LIFTS_AT
    start = SETTLE + settings.shift_s
    latest = settings.over_s + 1.0 if first else settings.over_s
    swing["start"] = (start if first else start + 1.0, latest)
    swing["soonest"] = (SETTLE + 0.3 * settings.shift_s, 0.3)


def _knot(time: float, hip: Array, sound: float, hold: float, press: float, centre: float) -> Knot:
    return Knot(time, (float(hip[0]), float(hip[1])), 0.0, sound, hold, press, (0.0, 0.0), centre)


def _prosthetic_leads(settings: StepTo, body: Body, standing: Upright, lead: Array) -> tuple[list[Knot], float]:
    """Weight onto the sound leg, let the body down while the prosthetic foot goes ahead, then slowly over it.

    Shares, places, angles and times of the knots are ours, found by trying which steps come to rest.
    """
    start, swing, over = SETTLE + settings.shift_s, settings.swing_s, settings.over_s
    at = float(standing.feet.ankle[SOUND, 0])
    between = at + 0.35 * settings.step_m
    low = hip_over(lead, between, math.radians(3.0), body)
    top = hip_over(lead, float(lead[0]) + 0.02, math.radians(1.0), body)
    landed, arrived = start + swing + 0.3, start + swing + 0.3 + over
    centre = float(mass_centre(standing.q, body)[0])
    return [
        _knot(SETTLE, standing.hip, 0.6, 0.0, 1.0, centre),
        _knot(start, standing.hip, 1.0, 1.0, 0.5, at + OVER_SOUND),
        _knot(start + 0.4 * swing, standing.hip, 1.0, 1.0, 0.5, at + OVER_SOUND),
        _knot(start + swing, low, 0.7, 1.0, 1.0, between),
        _knot(landed, low, 0.6, 1.0, 1.0, between),
        _knot(arrived, top, 0.1, 0.0, 1.0, float(lead[0]) + AT_REST + SHORT_OF_PROSTHETIC),
        _knot(arrived + 0.01, top, 0.5, 1.0, 1.0, float(lead[0]) + AT_REST),
        _knot(arrived + ENDING, top, 0.5, 1.0, 1.0, float(lead[0]) + AT_REST),
    ], arrived + 0.01


def _sound_leads(settings: StepTo, body: Body, standing: Upright, lead: Array) -> tuple[list[Knot], float]:
    """Over the prosthetic foot until the sound one lands ahead, then over that while the prosthetic one closes up.

    Shares, places, angles and times of the knots are ours, as above.
    """
    start, over = SETTLE + settings.shift_s, settings.over_s
    behind = float(lead[0]) + BEHIND_LEAD
    low = hip_over(lead, float(lead[0]), math.radians(10.0), body)
    top = hip_over(lead, float(lead[0]) + 0.02, math.radians(8.0), body)
    centre = float(mass_centre(standing.q, body)[0])
    forward, landed = float(standing.feet.ankle[PROSTHETIC, 0]) + 0.1, start + 2.0
    closed = landed + over + settings.swing_s
    return [
        _knot(SETTLE, standing.hip, 0.5, 0.0, 1.0, centre),
        _knot(SETTLE + 0.3 * settings.shift_s, standing.hip, 0.5, 0.0, 0.0, centre),
        _knot(start + 1.0, standing.hip, 0.05, 0.0, 0.0, forward),
        _knot(landed - 0.01, standing.hip, 0.05, 0.0, 0.0, forward),
        _knot(landed, low, 1.0, 1.0, -0.5, behind),
        _knot(landed + over, top, 1.0, 1.0, -0.5, behind),
        _knot(closed, top, 1.0, 1.0, 0.0, behind),
        _knot(closed + 0.4, top, 0.6, 1.0, 1.0, behind),
        _knot(closed + ENDING, top, 0.6, 1.0, 1.0, behind),
    ], landed


# -------------------------------------------------------------------------------- what came out
#: What `rampwalk step-to` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "lead_landing_time_s",
    "close_landing_time_s",
    "lead_step_m",
    "feet_apart_at_end_m",
    "lead_margin_of_stability_m",
    "knee_peak_rate_deg_s",
    "knee_peak_flexion_deg",
    "sound_peak_force_bw",
    "prosthetic_peak_force_bw",
    "prosthetic_hip_peak_torque_nm",
    "mass_centre_speed_at_end_m_s",
)


def _metrics(settings: StepTo, run: PostureRun, series: Series) -> Metrics:
    metrics: Metrics = dict.fromkeys(METRICS)
    metrics["time_s"] = run.time
    stepped, landed = float(run.memory["stepped"]), float(run.memory["landed"])
    moving = series.time > SETTLE
    if stepped == 0.0 or not moving.any():
        return metrics
    weight, lead = settings.person.weight, PROSTHETIC if settings.leads == "prosthetic" else SOUND
    k = min(int(np.searchsorted(series.time, stepped)), len(series.time) - 1)
    metrics["lead_landing_time_s"] = stepped - SETTLE
    metrics["lead_step_m"] = abs(float(series.ankle[k, lead, 0] - series.ankle[k, 1 - lead, 0]))
    length = float(np.hypot(*(series.mass_centre[k] - series.ankle[k, lead])))
    extrapolated = series.mass_centre[k, 0] + series.mass_centre_velocity[k, 0] * math.sqrt(length / GRAVITY)
    metrics["lead_margin_of_stability_m"] = float(series.sole[k, lead, 2, 0] - extrapolated)
    loaded = moving & (series.load[:, PROSTHETIC] > settings.knee.load_on_n)
    if loaded.any():
        metrics["knee_peak_rate_deg_s"] = math.degrees(float(series.knee_rate[loaded, PROSTHETIC].max()))
        metrics["knee_peak_flexion_deg"] = math.degrees(float(series.knee_flexion[loaded, PROSTHETIC].max()))
    smooth = filtered_forces(series)[:, :, 0] / weight
    metrics["sound_peak_force_bw"] = float(smooth[moving, SOUND].max())
    metrics["prosthetic_peak_force_bw"] = float(smooth[moving, PROSTHETIC].max())
    metrics["prosthetic_hip_peak_torque_nm"] = float(np.abs(series.hip_torque[moving, PROSTHETIC]).max())
    if landed > 0.0:
        metrics["close_landing_time_s"] = landed - stepped
        metrics["feet_apart_at_end_m"] = float(series.ankle[-1, PROSTHETIC, 0] - series.ankle[-1, SOUND, 0])
        metrics["mass_centre_speed_at_end_m_s"] = float(series.mass_centre_velocity[-1, 0])
    return metrics


def _reason(outcome: str, run: PostureRun, series: Series, metrics: Metrics) -> str:
    if outcome == "fell":
        return f"Fell: {how_it_fell(run, series)}; try a shorter step, the other foot leading, or other times."
    if outcome == "stuck":
        return "A foot did not land in time; try a shorter step or more time."
    told = (
        f"Stepped {metrics['lead_step_m']:.2f} m and closed up {metrics['close_landing_time_s']:.1f} s later, the "
        f"sound leg with at most {metrics['sound_peak_force_bw']:.2f} BW, the loaded knee at up to "
        f"{metrics['knee_peak_rate_deg_s'] or 0.0:.0f} deg/s"
    )
    if outcome == "not stopped":
        return f"{told}, but the body was not stopped there; try a shorter step or the other foot leading."
    return f"{told}; at rest over both feet."
