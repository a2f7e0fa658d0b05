"""Down a flight of stairs step over step: the prosthetic knee yields, the sound foot lands below, and in turn."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim.body import PROSTHETIC, SOUND, Body
from sim.drivers.posture_loop import PostureRun, run_posture
from sim.flight_pack import ankle_before_edge, footholds, pack_flight, pack_treads
from sim.law.posture import LANDED_WELL
from sim.metrics.strides import filtered_forces
from sim.pack import pack_plant
from sim.parameters import ours_flight, stairs_and_seats_ada
from sim.posture_pack import Knot, body_of, pack_plan, pack_posture
from sim.posture_result import Metrics, PostureResult, how_it_fell, invalid_result, result_of, series_of_posture
from sim.posture_scenario import InPlace
from sim.series import Series
from sim.settings import check, number, whole
from sim.stance_pose import Array, mass_centre
from sim.upright import Upright, upright, upright_or_error

_STEP, _FLIGHT = stairs_and_seats_ada.parameters(), ours_flight.flight()
#: Standing before it begins, weight going onto the prosthetic leg, and watched after the last landing [s]; sound foot
#: behind the prosthetic one at the start [m] (all ours).
SETTLE, SHIFT, AFTER, BEHIND = 0.6, 1.0, 2.0, 0.06
#: Slack of the prosthetic hip, 1 pressed straight and -1 wholly slack; share left on the sound leg as it lifts (ours).
SLACK, LIFTED = -1.0, 0.1
#: A hip so far from both feet is a fall [leg lengths] (ours: between two feet on a stair it is far from both).
FARTHEST = 1.2
#: Caught: hip at least so high above the last tread [leg lengths], sinking no faster and moving no faster along [m/s]
#: (ours).
CAUGHT_HIGH, CAUGHT_SINKING, CAUGHT_SPEED = 0.75, 0.15, 0.15
#: Longest time from one landing to the next [s], and in which a landing's peak is looked for [s] (ours).
LONGEST, PEAK_WITHIN = 2.0, 0.35


@dataclass(frozen=True, kw_only=True)
class Flight(InPlace):
    """Down `steps` treads step over step, the sound foot first; each foot passes the other to the next tread.

    The prosthetic foot stands with its forefoot over the edge. Nothing else is asked of the person: how it is done is
    that of `sim.parameters.ours_flight`.
    """

    steps: int = whole(_FLIGHT["steps"], 1, 7, "1 is a single stair, 3 a whole stride, 7 three strides")
    riser_m: float = number(_STEP["riser"], 0.08, 0.2, "building rules allow 0.1 to 0.18 m")
    tread_m: float = number(_STEP["tread"], 0.24, 0.4, "building rules ask for 0.28 m at least")

    def __post_init__(self) -> None:
        check(self)


def flight(settings: Flight) -> PostureResult:
    """Go down. Nothing is random.

    Raises
    ------
    RampwalkError
        If nobody has a prosthesis, or the person cannot stand like that in balance.
    """
    settings.need_passive_knee("stairs step over step are")
    body = body_of(settings)
    run, places = run_flight(settings, body, ours_flight.gains())
    broken = invalid_result("flight", settings, run, body, METRICS)
    if broken:
        return broken
    series = series_of_posture(run.frames, body)
    metrics = _metrics(settings, run, places, series)
    outcome = "stuck"
    if run.status == LANDED_WELL:
        outcome = "landed" if caught(settings, series, body) else "gave way"
    elif run.status:
        outcome = "fell"
    return result_of("flight", settings, run, body, outcome, _reason(outcome, settings, run, series, metrics), metrics)


def caught(settings: Flight, series: Series, body: Body) -> bool:
    """Whether the body has been stopped over the last foot that landed."""
    leg = SOUND if settings.steps % 2 else PROSTHETIC
    tread = -settings.steps * settings.riser_m
    high = float(series.hip[-1, 1]) - tread > CAUGHT_HIGH * body.leg_length
    sinking = -float((series.hip[-1, 1] - series.hip[-20, 1]) / (19 * series.interval))
    slow = abs(float(series.mass_centre_velocity[-1, 0])) < CAUGHT_SPEED
    over = abs(float(series.mass_centre[-1, 0] - series.ankle[-1, leg, 0])) < body.foot_length
    return high and sinking < CAUGHT_SINKING and slow and over


def run_flight(settings: Flight, body: Body, own: Mapping[str, float]) -> tuple[PostureRun, Array]:
    """One run with given gains of the person (units: `sim.flight_pack.pack_flight`), and where the ankles should land.

    The places are those of each landing, shape (steps, 2) [m].
    """
    record = pack_posture(settings)
    row, contact = record[0], record[0]["base"]["contact"]["stiffness"]
    both = (float(contact[0]), float(contact[1]))
    stands = upright(body, 0.0, BEHIND, 0.5, 0.0, both, settings.foot.ankle_stiffness)
    standing = upright_or_error(stands, BEHIND)
    edge = float(standing.feet.ankle[PROSTHETIC, 0]) + ankle_before_edge(body, own["over"])
    places = footholds(body, edge, settings.riser_m, settings.tread_m, own, settings.steps)
    start = SETTLE + SHIFT
    pack_treads(row, edge, settings.riser_m, settings.tread_m, settings.steps)
    pack_flight(row, body, own, places, settings.riser_m, start)
    row["swing"]["watch"] = AFTER
    row["most_ahead"] = row["most_behind"] = FARTHEST * body.leg_length
    pack_plan(record, _knots(body, standing, own["start_speed"], start))
    numerics = settings.numerics
    seconds = start + LONGEST * settings.steps + AFTER
    run = run_posture(
        record, pack_plant(body), standing.q, seconds, numerics.time_step_s, numerics.iterations, numerics.loop
    )
    return run, places


def _knots(body: Body, standing: Upright, speed: float, start: float) -> list[Knot]:
    """Stand, then bring the body forward; from the first lift on the law of the flight goes on."""
    hip, centre = (float(standing.hip[0]), float(standing.hip[1])), float(mass_centre(standing.q, body)[0])
    forward = speed * 2.0 * SHIFT / 1.5  # half of it done, and fastest, at the lift
    over = Knot(start + SHIFT, hip, 0.0, LIFTED, 0.0, SLACK, (0.0, 0.0), centre + forward)
    return [
        Knot(SETTLE - 0.3, hip, 0.0, 0.5, 0.0, 1.0, (0.0, 0.0), centre),
        Knot(SETTLE, hip, 0.0, 0.5, 0.0, SLACK, (0.0, 0.0), centre),
        over,
        Knot(over.time + 1.0, hip, 0.0, LIFTED, 0.0, SLACK, (0.0, 0.0), centre + forward),
    ]


# -------------------------------------------------------------------------------- what came out
#: What `rampwalk flight` measures; meaning in `docs/activities.md`.
METRICS = (
    "time_s",
    "landings",
    "stride_time_s",
    "speed_along_m_s",
    "knee_peak_rate_deg_s",
    "knee_flexion_at_sound_landing_deg",
    "knee_energy_per_step_j",
    "knee_flexion_at_prosthetic_landing_deg",
    "sound_landing_peak_bw",
    "prosthetic_landing_peak_bw",
    "landing_speed_m_s",
    "sound_knee_peak_flexion_deg",
    "sound_knee_peak_torque_nm",
    "edge_peak_force_bw",
    "farthest_from_foothold_m",
)


def landings(run: PostureRun) -> list[tuple[int, float, float]]:
    """Leg, time of the lift and of the landing [s] of each landing that was made."""
    memory, made = run.memory["flight"], int(run.memory["flight"]["made"])
    legs = [SOUND if k % 2 == 0 else PROSTHETIC for k in range(made)]
    return [(legs[k], float(memory["lifted_at"][k]), float(memory["at"][k])) for k in range(made)]


def _metrics(settings: Flight, run: PostureRun, places: Array, series: Series) -> Metrics:
    metrics: Metrics = dict.fromkeys(METRICS)
    made, weight = landings(run), settings.person.weight
    metrics["time_s"], metrics["landings"] = run.time, float(len(made))
    if not made or len(series.time) < 2:
        return metrics
    smooth = filtered_forces(series)[:, :, 0] / weight
    last = len(series.time) - 1

    def at(moment: float) -> int:
        return min(int(np.searchsorted(series.time, moment)), last)

    def peaks(leg: int) -> float | None:
        found = [smooth[at(t) : at(t + PEAK_WITHIN) + 1, leg].max() for side, _, t in made if side == leg]
        return float(max(found)) if found else None

    begin = at(made[0][1])
    rates, bent, taken, straight, speeds = [], [], [], [], []
    for leg, lifted, landed in made:
        first, k = at(lifted), at(landed)
        speeds.append(-float(series.hip[k, 1] - series.hip[max(k - 1, 0), 1]) / series.interval)
        if leg == PROSTHETIC:
            straight.append(float(series.knee_flexion[k, 0]))
            continue
        rate, torque = series.knee_rate[first : k + 1, 0], series.knee_torque[first : k + 1, 0]
        rates.append(float(rate.max()))
        taken.append(-float((torque * np.maximum(rate, 0.0)).sum() * series.interval))
        bent.append(float(series.knee_flexion[k, 0]))
    metrics["knee_peak_rate_deg_s"] = math.degrees(max(rates))
    metrics["knee_flexion_at_sound_landing_deg"] = math.degrees(max(bent))
    metrics["knee_energy_per_step_j"] = float(np.mean(taken))
    if straight:
        metrics["knee_flexion_at_prosthetic_landing_deg"] = math.degrees(max(straight))
    metrics["sound_landing_peak_bw"], metrics["prosthetic_landing_peak_bw"] = peaks(SOUND), peaks(PROSTHETIC)
    metrics["landing_speed_m_s"] = max(speeds)
    if len(made) > 2:
        span = made[2][2] - made[0][2]
        metrics["stride_time_s"] = span
        moved = series.mass_centre[at(made[2][2]), 0] - series.mass_centre[at(made[0][2]), 0]
        metrics["speed_along_m_s"] = float(moved) / span
    landed = at(made[0][2])
    metrics["sound_knee_peak_flexion_deg"] = math.degrees(float(series.knee_flexion[landed:, SOUND].max()))
    metrics["sound_knee_peak_torque_nm"] = float(np.abs(series.knee_torque[landed:, SOUND]).max())
    metrics["edge_peak_force_bw"] = float(run.frames["edge"][begin:, 0].max() / weight)
    metrics["farthest_from_foothold_m"] = max(
        abs(float(series.ankle[at(t), leg, 0]) - x) for (leg, _, t), x in zip(made, places[:, 0], strict=False)
    )
    return metrics


def _reason(outcome: str, settings: Flight, run: PostureRun, series: Series, metrics: Metrics) -> str:
    made = len(landings(run))
    done = f"after {made} of {settings.steps} landings" if made else "before the first landing"
    if outcome == "fell":
        return f"Fell {done}: {how_it_fell(run, series)}; try another resistance or a lower riser."
    if outcome == "stuck":
        return f"Stuck {done}: the next foot did not land in time; try less resistance."
    told = (
        f"Made {made} landings, the sound foot with at most {metrics['sound_landing_peak_bw']:.2f} BW, the prosthetic "
        f"knee at up to {metrics['knee_peak_rate_deg_s']:.0f} deg/s"
    )
    if outcome == "gave way":
        return f"{told}, but the body was not stopped at the end; try another resistance or a lower riser."
    return f"{told}; stopped over the last foot."
