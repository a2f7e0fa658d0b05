"""Rows about people walking: A, F, S, W (two sound legs) and P (one prosthesis)."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import mean

from experiments.validation.standing import p10
from experiments.validation.targets import Finding, Row, not_applicable, table
from experiments.validation.walks import Walks, able, able_of_angles, both, downhill, metric, prosthetic
from sim.result import WalkResult
from sim.scenario import Scenario

YIELDED = 15.0  # deg, row P08


def treadmill_step(speed: float) -> float:
    """Mean step length of the open treadmill trial at a belt speed [m]."""
    rows = table("treadmill-grf", "stance_events.csv")
    found = [row["step_length_m"] for row in rows if float(row["belt_speed_m_s"]) == speed and row["step_length_m"]]
    return mean(map(float, found))


def able_of_treadmill(speed: float) -> Scenario:
    """Two sound legs at the speed and step of the open treadmill trial."""
    return able(0.0, treadmill_step(speed), speed)


def able_of_slope(slope_deg: float, speed: float = 1.25) -> Scenario:
    """Two sound legs at the speed and step of the table of stride frequencies."""
    (step,) = (
        float(row["step_length_m_derived"])
        for row in table("slope-values", "stride_frequency_by_slope.csv")
        if (float(row["slope_deg"]), float(row["speed_m_s"])) == (slope_deg, speed)
    )
    return able(slope_deg, step, speed)


def check(
    scenarios: list[Scenario],
    compute: Callable[..., float],
    how: str,
    direction: Callable[..., bool] | None = None,
) -> Row:
    """Row whose number is computed from some walks, all of which must have walked."""

    def row(walks: Walks) -> Finding:
        results = [walks.of(scenario) for scenario in scenarios]
        fallen = [result for result in results if result.outcome != "walked"]
        if fallen:
            return Finding(None, how, fell=told(fallen[0]))
        ours = compute(*results)
        if math.isnan(ours):
            return Finding(None, how, fell="the quantity could not be measured in this walk")
        return Finding(ours, f"{how}; {', '.join(map(pace, results))}", direction=direction and direction(*results))

    return row


def told(result: WalkResult) -> str:
    """What happened, where."""
    s = result.scenario
    where = f"{s.slope_deg:g} deg, {s.step_length_m:.2f} m, {s.speed:.2f} m/s"
    return f"the walk {result.outcome} on {where} ({result.reason.partition(';')[0].rstrip('.')})"


def pace(result: WalkResult) -> str:
    steps = both(result, "step_length_m")
    return f"walked {result.scenario.slope_deg:g} deg at {metric(result, 'speed_m_s'):.2f} m/s, {steps:.2f} m"


def of_both(scenario: Scenario, name: str, how: str) -> Row:
    """Metric of a walk with two sound legs, mean of both."""
    return check([scenario], lambda result: both(result, name), how)


def of_one(scenario: Scenario, name: str, how: str, factor: float = 1.0) -> Row:
    return check([scenario], lambda result: factor * metric(result, name), how)


def angles() -> dict[str, Row]:
    level, five, ten = (able_of_angles(slope) for slope in (0.0, -5.0, -10.0))
    landing, early, swing = "knee_flexion_at_landing_deg", "knee_early_stance_peak_deg", "knee_swing_peak_deg"
    ankle, how = "ankle_dorsiflexion_peak_deg", "mean of both legs"

    def farther(a: WalkResult, b: WalkResult) -> float:
        return max(both(a, landing), both(b, landing), key=lambda value: abs(value - 3.5))

    def rises(flat: WalkResult, down: WalkResult) -> bool:
        return both(down, early) > both(flat, early)

    def ratio(flat: WalkResult, down: WalkResult) -> float:
        return both(down, "thigh_range_deg") / both(flat, "thigh_range_deg")

    return {
        "A01": of_both(level, landing, how),
        "A02": check([five, ten], farther, "of -5 and -10 deg the one farther from the middle of the band"),
        "A03": of_both(level, early, how),
        "A04": of_both(five, early, how),
        "A05": check([level, ten], lambda _flat, down: both(down, early), "must exceed level; both legs", rises),
        "A06": of_both(ten, "knee_flexion_at_half_stride_deg", how),
        "A07": of_both(level, swing, how),
        "A08": of_both(ten, swing, how),
        "A09": of_both(level, ankle, how),
        "A10": of_both(ten, ankle, how),
        "A11": check([level, ten], ratio, "must be below 1; both legs", lambda a, b: ratio(a, b) < 1.0),
    }


def forces() -> dict[str, Row]:
    slow, fast = able_of_treadmill(1.30), able_of_treadmill(1.88)
    how, first = "mean of both legs, low-passed at 25 Hz", "first_peak_bw"

    def grows(walks: Walks) -> Finding:
        found = check([fast], lambda result: both(result, first), f"{how}; must exceed that at 1.30 m/s")(walks)
        other = walks.of(slow)
        if found.ours is None or other.outcome != "walked":
            return found
        return Finding(found.ours, found.how, direction=found.ours > both(other, first))

    return {
        "F01": of_both(slow, first, how),
        "F02": grows,
        "F03": of_both(slow, "second_peak_bw", how),
        "F04": of_both(slow, "mid_stance_force_bw", how),
        "F05": of_both(slow, "braking_peak_bw", how),
    }


def steps() -> dict[str, Row]:
    level, down, share = able_of_slope(0.0), able_of_slope(-9.0), "stance_share"
    chosen = not_applicable("step length and speed are settings of a walk here, the walker does not choose them")

    def change(flat: WalkResult, slope: WalkResult) -> float:
        return both(slope, share) - both(flat, share)

    return {
        "S02": chosen,
        "S03": chosen,
        "S04": not_applicable("with speed and step length set, the cadence is set too"),
        "S05": of_both(level, share, "mean of both legs"),
        "S06": check([level, down], change, "mean of both legs, published step lengths"),
        "W01": check([able_of_angles(0.0), able_of_angles(-10.9)], moments, "above 1; both legs", braced),
    }


def moments(flat: WalkResult, down: WalkResult) -> float:
    name = "knee_extending_moment_early_nm_per_kg"
    return both(down, name) / both(flat, name)


def braced(flat: WalkResult, down: WalkResult) -> bool:
    return moments(flat, down) > 1.0


def amputees() -> dict[str, Row]:
    level, five = prosthetic(0.0), prosthetic(-5.0)
    share, peak = "stance_share", "peak_vertical_force_bw"

    def rise(flat: WalkResult, down: WalkResult) -> float:
        return 100.0 * (metric(down, f"sound_{peak}") - metric(flat, f"sound_{peak}"))

    def sound_longer(result: WalkResult) -> bool:
        return metric(result, f"sound_{share}") > metric(result, f"prosthetic_{share}")

    order = "the firm part: longer than on the prosthetic side"
    return {
        "P01": check([level, five], rise, "sound foot, low-passed"),
        "P02": check([level], lambda result: 100.0 * metric(result, f"sound_{share}"), order, sound_longer),
        "P03": of_one(level, f"prosthetic_{share}", "level", 100.0),
        "P04": of_one(level, f"sound_{peak}", "level"),
        "P05": of_one(level, f"prosthetic_{peak}", "level"),
        "P06": of_one(level, "prosthetic_knee_swing_peak_deg", "level"),
        "P07": of_one(level, "prosthetic_knee_early_stance_peak_deg", "greatest from 5 to 35 % of the stride"),
        "P08": first_yield,
        "P10": p10,
    }


def first_yield(walks: Walks) -> Finding:
    """Row P08, in single support: late double support bends the knee for the swing on any slope."""
    how, fallen = "knee flexion when the sound foot lands; start settings, 0.50 m, 0.75 m/s; comparison only", 0
    for slope in range(0, -16, -1):
        result = walks.of(downhill(float(slope)))
        if result.outcome != "walked":
            fallen += 1
        elif metric(result, "knee_flexion_at_sound_landing_deg") > YIELDED:
            return Finding(float(slope), how)
    return Finding(None, how, fell=f"no walk down to -15 deg passes 15 deg of flexion ({fallen} of 16 did not hold)")


def rows() -> dict[str, Row]:
    """All rows about people."""
    return angles() | forces() | steps() | amputees()
