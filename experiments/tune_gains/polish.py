"""Polish gains on the processor: one number at a time, up and down, on a fixed set of walks of the main job.

    python -m experiments.tune_gains.polish --start sim/data/gains.json --out gains.json --seconds 600

Where the evolution strategy leaves a good set, this pattern search takes what is left. Deterministic for a given number
of rounds; nothing is drawn at random but the order of the numbers (seeded).
"""

from __future__ import annotations

import argparse
import itertools
import json
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from experiments.tune_gains.encode import VALUE, as_file, coordinates, encode, read, tables
from experiments.tune_gains.scenarios import pack
from experiments.tune_gains.score import terms as score_terms
from experiments.tune_gains.search import knot_at
from sim.gains import GAINS_FILE
from sim.scenario import Knee, Person, Scenario

#: What is weighed otherwise than in the score: the misses that are left, and what a polish cannot change.
WEIGHT = {"yield": 2.0, "loading knee": 2.0, "double support": 2.0, "scuffs": 0.2, "effort": 0.2, "positive work": 0.5}
SECONDS, TIME_STEP = 9.0, 5e-4


def scenarios() -> list[Scenario]:
    """The middle of the main job, its corners, and two other people."""

    def one(slope: float, step: float, resistance: float, person: Person | None = None) -> Scenario:
        return Scenario(
            slope_deg=slope, step_length_m=step, speed_m_s=1.5 * step, person=person or Person(),
            knee=Knee(flexion_resistance=resistance),
        )  # fmt: skip

    middle = itertools.product((-5.0, -6.5, -8.0, -9.0, -10.0), (0.45, 0.5, 0.55), (26.0, 36.0, 50.0))
    corners = itertools.product((-4.0, -11.0), (0.40, 0.60), (30.0, 110.0))
    people = (Person(mass_kg=55.0, stature_m=1.6), Person(mass_kg=100.0, stature_m=1.9))
    return [
        *(one(*cell) for cell in middle),
        *(one(*cell) for cell in corners),
        *(one(-8.0, 0.5 * p.stature_m / 1.75, 40.0 * p.mass_kg / 75.0, p) for p in people),
        *(one(0.0, 0.5, 40.0), one(-12.0, 0.5, 50.0)),
    ]


_WALKS: Any = None


def cost(row: Any) -> tuple[float, dict[str, float]]:
    """Mean score of the walks, and its parts."""
    global _WALKS  # noqa: PLW0603  (each worker process packs once)
    from experiments.tune_gains.walks import ProcessorWalks

    if _WALKS is None:
        settings, plants, known = pack(scenarios())
        _WALKS = (ProcessorWalks(settings, plants), known)
    walks, known = _WALKS
    steps, status, lasted = walks.run(np.array([row]), SECONDS, TIME_STEP)
    parts = score_terms(np, steps, status, lasted, known, SECONDS)
    each = sum(WEIGHT.get(name, 1.0) * value for name, value in parts.items())
    worst = np.sort(each)[-8:].mean()
    return float(each.mean() + 0.3 * worst), {name: float(value.mean()) for name, value in parts.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--step", type=float, default=0.03, help="first step, as a share of each gain's range")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    template = json.loads(options.start.read_text())
    row = read(template)
    knots = [(knot_at(row, slope),) for slope in (-4.0, -8.0, -10.0, -12.0)]
    moved = coordinates(knots, (VALUE,), shared=True)
    point = encode(row, moved)
    pace = np.full(len(moved), options.step)
    begin, rounds, tried = time.time(), 0, 0
    order = np.random.default_rng(options.seed)
    with ProcessPoolExecutor(2) as pool:
        best, parts = cost(row)
        print(f"start {best:.3f}", {k: round(v, 2) for k, v in parts.items() if v > 0.05}, flush=True)
        while time.time() - begin < options.seconds:
            rounds += 1
            for k in order.permutation(len(moved)):
                if time.time() - begin > options.seconds:
                    break
                both = np.repeat(point[None], 2, 0)
                both[0, k], both[1, k] = min(0.99, point[k] + pace[k]), max(0.01, point[k] - pace[k])
                results = list(pool.map(cost, tables(both, row, moved)))
                tried += 2
                side = 0 if results[0][0] <= results[1][0] else 1
                if results[side][0] < best - 1e-6:
                    best, parts = results[side]
                    point, pace[k] = both[side], 1.6 * pace[k]
                else:
                    pace[k] *= 0.5
            shown = {k: round(v, 2) for k, v in parts.items() if v > 0.05}
            print(f"round {rounds} {time.time() - begin:.0f} s tried {tried} cost {best:.3f} {shown}", flush=True)
            table = as_file(tables(point[None], row, moved)[0], template)
            table["found"].setdefault("stages", []).append(
                {"stage": "polish", "rounds": rounds, "tried": tried, "seed": options.seed, "score": round(best, 3)}
            )
            options.out.write_text(json.dumps(table, indent=1) + "\n")


if __name__ == "__main__":
    main()
