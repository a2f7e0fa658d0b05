"""One set of gains of a flight of stairs for many resistances: a seeded hill climb, and the table of where it works.

    python -m experiments.tune_flight.search --show
    python -m experiments.tune_flight.search --start start.json --out found.json --trials 1000 --seed 1

Nothing here asks for more or less of anything at a higher resistance: every scenario has the same score. `--show` tells
where three landings are made and where the person is stopped, of `--start` or of `sim/parameters/ours_flight.py`.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

from sim.activities.flight import AFTER, PEAK_WITHIN, Flight, caught, run_flight
from sim.law.posture import LANDED_WELL
from sim.law.records import GRAVITY
from sim.metrics.strides import filtered_forces
from sim.parameters import ours_flight
from sim.posture_pack import body_of
from sim.posture_result import series_of_posture
from sim.scenario import Knee

Gains = dict[str, float]
#: A resistance [N m s/rad] and a riser [m]: what the search tries, every third resistance on each riser.
SCENARIOS = [(r, h) for k, h in enumerate((0.15, 0.16, 0.17, 0.18)) for r in range(34 + k % 3, 49, 3)]
#: What `--show` tries.
RISERS, RESISTANCES = (0.12, 0.13, 0.14, 0.15, 0.16, 0.17, 0.18), range(30, 61)
#: A landing peak above this costs so much per body weight, at most twice that.
PEAK, PEAK_COSTS = 1.8, 0.05
#: Of each landing what its place under the body counts, where the extrapolated mass centre should be ahead of the ankle
#: [m], and how far from there is as good (as in runs that stop).
UNDER, NEAR = ((0.0, 0.0), (0.15, -0.02), (0.1, -0.02)), 0.03
#: Steps of a trial in shares of a gain's range, as powers of ten; shares of the gains that it moves.
STEPS, MOVED = (-2.3, -0.7), (0.04, 0.1, 0.3)
#: A trial is given up when it is behind the best set by so much on the scenarios run so far.
HOPELESS = 0.35


def outcome(own: Gains, resistance: float, riser: float) -> tuple[float, int, bool]:
    """Score of one run, at most 1; landings made; whether the person was stopped.

    0.1 for each landing, up to 0.1 for how near the next foot came to its place, 0.15 and 0.1 at most for how far under
    the body second and third foot landed, 0.1 for standing after that, 0.35 for being stopped, less for hard landings.
    """
    settings = Flight(knee=Knee(flexion_resistance=float(resistance)), riser_m=riser)
    body = body_of(settings)
    run, places = run_flight(settings, body, own)
    memory, series = run.memory["flight"], series_of_posture(run.frames, body)
    made, count, last = int(memory["made"]), settings.steps, len(series.time) - 1
    landed = np.searchsorted(series.time, memory["at"][:made]).clip(0, last)
    score = 0.1 * made
    if made < count:
        off = series.ankle[landed[-1] if made else 0 :, 1 - made % 2] - places[made]
        score += 0.1 * math.exp(-float(np.hypot(*off.T).min()) / 0.15)
    for k, (share, wanted) in enumerate(UNDER[:made]):
        speed, foot = series.mass_centre_velocity[landed[k], 0], series.ankle[landed[k], 1 - k % 2, 0]
        ahead = float(series.mass_centre[landed[k], 0] + speed * math.sqrt(body.leg_length / GRAVITY) - foot)
        score += share * math.exp(-max(0.0, abs(ahead - wanted) - NEAR) / 0.1)
    if made < count:
        return score, made, False
    stopped = run.status == LANDED_WELL and caught(settings, series, body)
    score += 0.1 * min(1.0, (run.time - float(memory["at"][count - 1])) / AFTER) + 0.35 * stopped
    watched = slice(landed[0], landed[-1] + round(PEAK_WITHIN / series.interval))
    peak = float(filtered_forces(series)[watched, :, 0].max()) / settings.person.weight
    return score - PEAK_COSTS * min(2.0, max(0.0, peak - PEAK)), made, stopped


def value(own: Gains, order: Iterable[int], best: np.ndarray | None = None) -> np.ndarray | None:
    """Score in each scenario, run in this order; None when it falls hopelessly behind the best ones."""
    scores, ahead = np.zeros(len(SCENARIOS)), 0.0
    for k in order:
        scores[k] = outcome(own, *SCENARIOS[k])[0]
        if best is not None:
            ahead += scores[k] - best[k]
            if ahead < -HOPELESS:
                return None
    return scores


def climb(own: Gains, trials: int, seed: int, keep: Callable[[Gains], object]) -> None:
    """Try sets near the best one and keep what is better, so many times."""
    rng = np.random.default_rng(seed)
    rows = {name: row for name, row in ours_flight.flight().items() if name in own}
    low, high = (np.array([getattr(row, end) for row in rows.values()]) for end in ("low", "high"))
    names, at = list(rows), np.array([own[name] for name in rows])
    best = value(own, range(len(SCENARIOS)))
    assert best is not None
    print(f"start {best.sum():.3f} of {len(SCENARIOS)}", flush=True)
    for tried in range(1, trials + 1):
        moved = rng.random(len(at)) < rng.choice(MOVED)
        step = 10 ** rng.uniform(*STEPS) * rng.standard_normal(len(at)) * (high - low)
        there = np.clip(at + moved * step, low, high)
        order = rng.permutation(len(SCENARIOS))
        found = value(dict(zip(names, map(float, there), strict=True)), order, best)
        if found is not None and found.sum() > best.sum():
            at, best = there, found
            print(f"{tried} trials: {best.sum():.3f}, {(best > 0.82).sum()} stopped", flush=True)
            keep(dict(zip(names, map(float, at), strict=True)))


def show(own: Gains) -> None:
    """For every riser a letter per resistance: `+` stopped, else the landings made."""
    print(f"riser  {RESISTANCES[0]} to {RESISTANCES[-1]} N m s/rad")
    for riser in RISERS:
        ends = [outcome(own, resistance, riser)[1:] for resistance in RESISTANCES]
        letters = "".join("+" if stopped else str(made) for made, stopped in ends)
        stops = [r for r, (_, stopped) in zip(RESISTANCES, ends, strict=True) if stopped]
        three = [r for r, (made, _) in zip(RESISTANCES, ends, strict=True) if made == 3]
        print(f"{riser:.2f}   {letters}  three landings: {spans(three)}; stopped: {spans(stops)}", flush=True)


def spans(numbers: list[int]) -> str:
    """Whole numbers as ranges: 38 to 42, 44."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs) or "none"


def main() -> None:
    """Show, or search and write what was found."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--show", action="store_true")
    parser.add_argument("--start", metavar="FILE", help="gains to begin with (JSON); else those of the repository")
    parser.add_argument("--out", metavar="FILE", default="found.json")
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    own = ours_flight.gains() | (json.loads(Path(asked.start).read_text(encoding="utf-8")) if asked.start else {})
    if asked.show:
        show(own)
        return
    target = Path(asked.out)
    climb(own, asked.trials, asked.seed, lambda found: target.write_text(json.dumps(found, indent=1) + "\n", "utf-8"))


if __name__ == "__main__":
    main()
