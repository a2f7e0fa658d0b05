"""How good a walk is: a sum of excesses over plain limits, one term a wish. Works on numpy and cupy arrays alike.

Every limit is ours, a sanity limit for walking; no row of the outside reference that is kept for checking is in here,
and no term looks at the trend over flexion resistance: the knee of the prosthesis is scored for the middle of the
window only (`middle`), and only downhill.
"""

from __future__ import annotations

from typing import Any

from sim.law.records import STEP

COLUMN = {name: STEP.fields[name][1] // 8 for name in STEP.names or ()}
DEGREE = 0.017453292519943295
#: The first landings are the way from the starting pose to the slope.
SKIP = 6


def excess(xp: Any, value: Any, low: float, high: float, tolerance: float) -> Any:
    """How far outside low..high, in tolerances."""
    return (xp.maximum(0.0, low - value) + xp.maximum(0.0, value - high)) / tolerance


def terms(  # noqa: PLR0915  (one wish after the other)
    xp: Any, steps: Any, status: Any, lasted: Any, scenario: dict[str, Any], seconds: float, skip: int = SKIP
) -> dict[str, Any]:
    """Every term of the score for every walk.

    Parameters
    ----------
    xp : numpy or cupy
    steps : shape (walks, most steps, columns of STEP), zero where no step was made
    status, lasted : shape (walks,), end of each walk and its time [s]
    scenario : arrays of shape (walks,): step, speed, step_time, slope [rad], weight, passive, middle
    seconds : time asked for
    skip : steps at the beginning that do not count
    """
    col = lambda name, k=0: steps[:, :, COLUMN[name] + k]  # noqa: E731
    one = {name: value[:, None] for name, value in scenario.items()}
    number = xp.arange(steps.shape[1])[None, :]
    done = col("time") > 0.0
    count = done.sum(1)
    first = xp.minimum(skip, xp.maximum(1, count - 4))
    used = done & (number >= first[:, None])
    sound_lands, other_lands = used & (col("leg") == 1.0), used & (col("leg") == 0.0)
    downhill = xp.sin(xp.maximum(0.05, -one["slope"]))
    per_step = one["weight"] * one["step"] * downhill  # energy that the slope gives in one step
    passive = one["passive"] > 0.5
    middle = (one["middle"] > 0.5) & passive & (one["slope"] < -6.5 * DEGREE)

    def mean(value: Any, rows: Any) -> Any:
        return xp.where(rows, value, 0.0).sum(1) / xp.maximum(rows.sum(1), 1)

    def spread(value: Any, rows: Any) -> Any:
        centre = mean(value, rows)[:, None]
        return xp.sqrt(mean((value - centre) ** 2, rows))

    out: dict[str, Any] = {}
    # progress in good steps, not in time: standing about until the walk counts as stalled is no merit
    good = xp.clip(1.5 - 2.0 * xp.abs(col("length") / one["step"] - 1.0), 0.0, 1.0)
    made = xp.where(done, good, 0.0).sum(1) / (seconds / scenario["step_time"] - 1.0)
    fallen = status > 0
    out["fall"] = xp.where(fallen, 300.0 + 5.0 * (1.0 - lasted / seconds), 0.0) + 80.0 * xp.maximum(0.0, 0.85 - made)
    out["step"] = 4.0 * mean(excess(xp, col("length") / one["step"], 0.97, 1.03, 0.1), used)
    out["step"] += 8.0 * excess(
        xp, (mean(col("length"), sound_lands) - mean(col("length"), other_lands)) / scenario["step"], -0.04, 0.04, 0.1
    )
    out["speed"] = 5.0 * excess(xp, mean(col("speed"), used) / scenario["speed"], 0.97, 1.03, 0.1)
    out["time"] = 2.0 * mean(excess(xp, col("duration") / one["step_time"], 0.88, 1.12, 0.1), used)
    for rows in (sound_lands, other_lands):
        out["steady"] = out.get("steady", 0.0) + 3.0 * (
            excess(xp, spread(col("length"), rows) / scenario["step"], 0.0, 0.01, 0.03)
            + excess(xp, spread(col("duration"), rows) / scenario["step_time"], 0.0, 0.01, 0.03)
            + excess(xp, spread(col("peak", 0), rows) / scenario["weight"], 0.0, 0.015, 0.03)
            + excess(xp, spread(col("peak", 1), rows) / scenario["weight"], 0.0, 0.015, 0.03)
        )
    # each leg's peak over a stride falls into the step in which it lands or the next
    peak = [col("peak", leg) / one["weight"] for leg in range(2)]
    pair = [xp.maximum(p[:, 1:], p[:, :-1]) for p in peak]
    rows = used[:, 1:] & used[:, :-1]
    for leg, (low, high) in enumerate(((0.95, 1.17), (1.02, 1.25))):
        high_of = xp.where(passive, high, 1.25)
        over = xp.maximum(0.0, pair[leg] - high_of) + xp.maximum(0.0, low - pair[leg])
        out[f"peak {leg}"] = 6.0 * mean(over / 0.1, rows)
        spike = xp.maximum(0.0, (col("raw_peak", leg) - col("peak", leg)) / one["weight"] - 0.06)
        out["spike"] = out.get("spike", 0.0) + 2.0 * mean(spike / 0.1, used)
    tilt = xp.maximum(xp.abs(col("trunk", 0)), xp.abs(col("trunk", 2)))
    out["trunk"] = 4.0 * mean(excess(xp, tilt, 0.0, 4.0 * DEGREE, 2.0 * DEGREE), used)
    out["trunk"] += 2.0 * excess(xp, mean(col("trunk", 1), used), -1.5 * DEGREE, 1.5 * DEGREE, 2.0 * DEGREE)
    out["knee landing"] = 3.0 * mean(
        xp.where(passive, excess(xp, col("knee_at_landing"), -1.0, 3.5 * DEGREE, 4.0 * DEGREE), 0.0), other_lands
    )
    yielded = excess(xp, col("knee_of_stance"), 28.0 * DEGREE, 48.0 * DEGREE, 8.0 * DEGREE)
    out["yield"] = 12.0 * mean(xp.where(middle, yielded, 0.0), sound_lands)
    held = excess(xp, col("knee_drop"), -1.0, 1.0 * DEGREE, 3.0 * DEGREE)
    out["no re-extension"] = 2.0 * mean(xp.where(middle, held, 0.0), sound_lands)
    swung = excess(xp, col("knee_swing_peak"), 54.0 * DEGREE, 75.0 * DEGREE, 8.0 * DEGREE)
    out["swing knee"] = 3.0 * mean(xp.where(middle, swung, 0.0), other_lands)
    flexed = excess(xp, col("knee_early_peak"), 13.0 * DEGREE, 33.0 * DEGREE, 5.0 * DEGREE)
    out["loading knee"] = 4.0 * mean(flexed, other_lands)
    swung = excess(xp, col("knee_swing_peak"), 50.0 * DEGREE, 80.0 * DEGREE, 10.0 * DEGREE)
    out["sound swing knee"] = 1.5 * mean(swung, sound_lands)
    crouched = excess(xp, col("knee_of_stance"), -1.0, 48.0 * DEGREE, 10.0 * DEGREE)
    out["crouch"] = 8.0 * mean(crouched, other_lands)
    out["stops"] = 2.0 * mean(excess(xp, col("stop_work", 1) / per_step, 0.0, 0.005, 0.02), used)
    out["stops"] += 0.5 * mean(excess(xp, col("stop_work", 0) / per_step, 0.0, 0.03, 0.05), used)
    both = excess(xp, col("double_support") / one["step_time"], 0.13, 0.27, 0.04)
    out["double support"] = 3.0 * mean(both, used)
    given = xp.maximum(xp.sin(-one["slope"]), 0.1) * one["weight"] * one["step"]  # on gentle slopes it cannot be little
    work = xp.where(one["slope"] < -3.0 * DEGREE, excess(xp, col("positive_work") / given, 0.0, 0.18, 0.1), 0.0)
    out["positive work"] = 1.0 * mean(work, used)
    spent = col("positive_work") / (one["weight"] * one["step"])
    out["effort"] = 4.0 * mean(spent, used) + 3.0 * mean(
        xp.where(one["slope"] > -3.0 * DEGREE, excess(xp, spent, 0.0, 0.1, 0.05), 0.0), used
    )
    out["clearance"] = 1.0 * mean(excess(xp, col("clearance"), 0.015, 1e12, 0.01), used)
    out["scuffs"] = 2.0 * mean(xp.minimum(col("scuffs"), 3.0), used)
    # while a walk ends early only its good steps count, or falling sooner would pay
    most = {name: 180.0 if name.startswith("peak") else 60.0 for name in out}  # a hard landing must not seem free
    gait = {
        name: xp.minimum(xp.nan_to_num(value, nan=60.0), most[name]) for name, value in out.items() if name != "fall"
    }
    return {"fall": out["fall"]} | {name: xp.where(fallen, 0.0, value) for name, value in gait.items()}


def bumps(xp: Any, steps: Any, status: Any, weight: Any, triple: Any, skip: int = SKIP) -> Any:
    """Roughness of the map: how far the middle of three neighbours is from the mean of the outer two, in peak force.

    Parameters
    ----------
    triple : shape (triples, 3), indices of walks whose scenarios lie on a line at equal distance
    skip : steps at the beginning that do not count
    """
    done = steps[:, :, COLUMN["time"]] > 0.0
    used = done & (xp.arange(steps.shape[1])[None, :] >= skip)
    total = 0.0
    for leg in range(2):
        value = xp.where(used, steps[:, :, COLUMN["peak"] + leg], 0.0).max(1) / weight
        low, mid, high = (value[triple[:, k]] for k in range(3))
        whole = (status[triple] == 0).all(1)
        total = total + xp.where(whole, xp.maximum(0.0, xp.abs(mid - 0.5 * (low + high)) - 0.03) / 0.05, 0.0)
    return xp.minimum(total, 6.0)
