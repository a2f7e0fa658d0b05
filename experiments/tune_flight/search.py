"""One set of gains of a flight of stairs for many resistances: a seeded hill climb, and the table of where it works.

    python -m experiments.tune_flight.search --show
    python -m experiments.tune_flight.search --start start.json --out found.json --seconds 600 --seed 1

Nothing here asks for more or less of anything at a higher resistance: every scenario has the same score. `--show` tells
where three landings are made and where the person is stopped, of `--start` or of `sim/parameters/ours_flight.py`.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

from sim.activities.flight import AFTER, Flight, caught, run_flight
from sim.law.posture import LANDED_WELL
from sim.metrics.strides import filtered_forces
from sim.parameters import ours_flight
from sim.posture_pack import body_of
from sim.posture_result import series_of_posture
from sim.scenario import Knee

Gains = dict[str, float]
#: A resistance [N m s/rad] and a riser [m]: what the search tries.
SCENARIOS = [(r, riser) for riser in (0.15, 0.16, 0.17, 0.18) for r in range(34, 49)]
#: What `--show` tries.
RISERS, RESISTANCES = (0.12, 0.13, 0.14, 0.15, 0.16, 0.17, 0.18), range(30, 61)
#: A landing peak above this costs so much per body weight, at most twice that.
PEAK, PEAK_COSTS = 1.8, 0.05
#: Steps of a trial in shares of a gain's range, as powers of ten; shares of the gains that it moves.
STEPS, MOVED = (-2.3, -1.0), (0.05, 0.15, 0.4)
#: A trial is given up when it is behind the best set by so much on the scenarios run so far.
HOPELESS = 1.0


def outcome(own: Gains, resistance: float, riser: float) -> tuple[float, int, bool]:
    """Score of one run, at most 1; landings made; whether the person was stopped.

    0.2 for each landing, up to 0.15 for how near the next foot came to its place, up to 0.2 for standing after the last
    landing, 0.2 for being stopped, less for hard landings.
    """
    settings = Flight(knee=Knee(flexion_resistance=float(resistance)), riser_m=riser)
    body = body_of(settings)
    run, places = run_flight(settings, body, own)
    memory, series = run.memory["flight"], series_of_posture(run.frames, body)
    made, count = int(memory["made"]), settings.steps
    score = 0.2 * made
    if made < count:
        begin = int(np.searchsorted(series.time, memory["at"][made - 1] if made else 0.0))
        off = series.ankle[begin:, 1 - made % 2] - places[made]
        if len(off):
            score += 0.15 * math.exp(-float(np.hypot(*off.T).min()) / 0.15)
        return score, made, False
    stopped = run.status == LANDED_WELL and caught(settings, series, body)
    score += 0.2 * min(1.0, (run.time - float(memory["at"][count - 1])) / AFTER) + 0.2 * stopped
    first = int(np.searchsorted(series.time, memory["at"][0]))
    last = int(np.searchsorted(series.time, memory["at"][count - 1] + 0.35))
    peak = float(filtered_forces(series)[first:last, :, 0].max()) / settings.person.weight
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


def climb(own: Gains, seconds: float, seed: int, keep: Callable[[Gains], None]) -> None:
    """Try sets near the best one and keep what is better, until the time is over."""
    rng, until, tried = np.random.default_rng(seed), time.monotonic() + seconds, 0
    rows = {name: row for name, row in ours_flight.flight().items() if name in own}
    low, high = (np.array([getattr(row, end) for row in rows.values()]) for end in ("low", "high"))
    names, at = list(rows), np.array([own[name] for name in rows])
    best = value(own, range(len(SCENARIOS)))
    assert best is not None
    print(f"start {best.sum():.3f} of {len(SCENARIOS)}", flush=True)
    while time.monotonic() < until:
        moved = rng.random(len(at)) < rng.choice(MOVED)
        step = 10 ** rng.uniform(*STEPS) * rng.standard_normal(len(at)) * (high - low)
        there, tried = np.clip(at + moved * step, low, high), tried + 1
        order = rng.permutation(len(SCENARIOS))
        found = value(dict(zip(names, map(float, there), strict=True)), order, best)
        if found is not None and found.sum() > best.sum():
            at, best = there, found
            print(f"{tried} trials: {best.sum():.3f}, {(best > 0.85).sum()} stopped", flush=True)
            keep(dict(zip(names, map(float, at), strict=True)))
    print(f"{tried} trials in all, seed {seed}", flush=True)


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
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    own = ours_flight.gains() | (json.loads(Path(asked.start).read_text(encoding="utf-8")) if asked.start else {})
    if asked.show:
        show(own)
        return
    target = Path(asked.out)
    climb(own, asked.seconds, asked.seed, lambda found: target.write_text(json.dumps(found, indent=1) + "\n") and None)


if __name__ == "__main__":
    main()
