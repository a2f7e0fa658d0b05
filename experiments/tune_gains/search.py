"""Search for the person's gains: an evolution strategy over random scenarios, seeded and rerunnable.

    python -m experiments.tune_gains.search --seconds 500 --out gains.json          (on a CUDA card where there is one)
    python -m experiments.tune_gains.search --population 24 --triples 6 --out gains.json            (on a processor)

Each generation runs every candidate on every scenario of the current draw; the draw changes every `--fresh`
generations. The score is in `score.py`, the scenarios in `scenarios.py`, what is varied in `encode.py`.
"""

from __future__ import annotations

import argparse
import datetime
import json
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from experiments.tune_gains.encode import coordinates, decode, encode, tables
from experiments.tune_gains.scenarios import DRAWS, pack
from experiments.tune_gains.score import bumps
from experiments.tune_gains.score import terms as score_terms
from experiments.tune_gains.walks import best_walks
from sim.gains import GAINS_FILE, TERMS
from sim.law.records import GAIN_NAMES


class Bench:
    """One draw of scenarios, ready to judge points of the search."""

    def __init__(
        self, kind: str, triples: int, seed: int, seconds: float, dt: float, template: dict[str, Any]
    ) -> None:
        self.seconds, self.dt, self.template = seconds, dt, template
        self.scenarios = DRAWS[kind](triples, seed)
        settings, plants, known = pack(self.scenarios)
        self.walks = best_walks(settings, plants)
        self.known = {name: self.walks.xp.asarray(value) for name, value in known.items()}

    def judge(self, points: np.ndarray[Any, Any]) -> tuple[np.ndarray[Any, Any], dict[str, np.ndarray[Any, Any]]]:
        """Cost of each point, shape (points,), and the mean of each term, shape (points,) each."""
        xp, p, m = self.walks.xp, len(points), len(self.scenarios)
        steps, status, lasted = self.walks.run(tables(points, self.template), self.seconds, self.dt)
        known = {name: xp.tile(value, p) for name, value in self.known.items()}
        parts = score_terms(xp, steps, status, lasted, known, self.seconds)
        total = sum(parts.values()).reshape(p, m)
        triple = xp.arange(p * m).reshape(-1, 3)
        rough = bumps(xp, steps, status, known["weight"], triple).reshape(p, m // 3).mean(1)
        worst = xp.sort(total, 1)[:, -max(1, m // 8) :].mean(1)
        cost = total.mean(1) + 0.4 * worst + 3.0 * rough
        means = {name: value.reshape(p, m).mean(1) for name, value in parts.items()}
        means |= {"rough": 3.0 * rough, "worst": worst, "fell": (status.reshape(p, m) > 0).sum(1).astype(float)}
        if xp is np:
            return cost, means
        return xp.asnumpy(cost), {name: xp.asnumpy(value) for name, value in means.items()}


_BENCH: dict[tuple[Any, ...], Bench] = {}


def judge_in_worker(key: tuple[Any, ...], template: dict[str, Any], points: np.ndarray[Any, Any]) -> Any:
    """As Bench.judge, in a worker process that keeps its bench."""
    if key not in _BENCH:
        _BENCH.clear()
        _BENCH[key] = Bench(*key, template)
    return _BENCH[key].judge(points)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=600.0, help="time for the search")
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--population", type=int, default=384)
    parser.add_argument("--triples", type=int, default=32)
    parser.add_argument("--draw", choices=sorted(DRAWS), default="broad", help="which scenarios: see scenarios.py")
    parser.add_argument("--sigma", type=float, default=0.08)
    parser.add_argument("--walk-seconds", type=float, default=10.0)
    parser.add_argument("--time-step", type=float, default=5e-4)
    parser.add_argument("--fresh", type=int, default=40, help="generations between draws of scenarios")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="comma list of gains to move; the others stay as they start")
    parser.add_argument("--terms", default="", help="comma list of terms to move (value, per_slope, ...); all if empty")
    parser.add_argument("--workers", type=int, default=0, help="processes, without a card")
    options = parser.parse_args()
    search(options)


def search(options: argparse.Namespace) -> None:
    """Run the search and keep the mean of the last generation in `options.out`."""
    import cma

    template = json.loads(options.start.read_text())
    point = encode(template)
    values = len(GAIN_NAMES)
    low = np.where(np.arange(len(point)) < values, 0.0, -1.0)
    point = np.clip(point, low + 0.01, 0.99)
    moved = moved_coordinates(options.only, options.terms)
    strategy = cma.CMAEvolutionStrategy(
        point[moved],
        options.sigma,
        {"popsize": options.population, "seed": options.seed, "bounds": [list(low[moved]), 1.0], "verbose": -9},
    )
    pool = ProcessPoolExecutor(options.workers) if options.workers else None
    begin, generation, draw_seed, bench = time.time(), 0, options.seed * 1000, None
    while time.time() - begin < options.seconds:
        if generation % options.fresh == 0:
            draw_seed += 1
            key = (options.draw, options.triples, draw_seed, options.walk_seconds, options.time_step)
            bench = None if pool else Bench(*key, template)
        asked = strategy.ask()
        points = np.repeat(point[None], len(asked), 0)
        points[:, moved] = asked
        if pool:
            parts = np.array_split(points, options.workers)
            jobs = [pool.submit(judge_in_worker, key, template, part) for part in parts]
            results = [job.result() for job in jobs]
            cost = np.concatenate([r[0] for r in results])
            means = {name: np.concatenate([r[1][name] for r in results]) for name in results[0][1]}
        else:
            assert bench is not None
            cost, means = bench.judge(points)
        strategy.tell(asked, list(cost))
        generation += 1
        if generation % 10 == 0 or generation == 1:
            best = int(cost.argmin())
            shown = " ".join(f"{name} {value[best]:.2f}" for name, value in means.items() if value[best] > 0.1)
            print(
                f"{generation} {time.time() - begin:.0f} s best {cost[best]:.2f} median {np.median(cost):.2f} "
                f"sigma {strategy.sigma:.3f} | {shown}",
                flush=True,
            )
            point[moved] = strategy.mean
            keep(point, low, template, options, generation, draw_seed, float(np.median(cost)))
    point[moved] = strategy.mean
    keep(point, low, template, options, generation, draw_seed, float(np.median(cost)))


def moved_coordinates(only: str, terms: str) -> np.ndarray[Any, Any]:
    """Indices of the numbers that belong to the named gains and terms; all if none is named."""
    names = [name for name in only.split(",") if name]
    unknown = [name for name in names if name not in GAIN_NAMES]
    if unknown:
        raise SystemExit(f"--only names no gain of the file: {', '.join(unknown)}")
    chosen = [TERMS.index(term) for term in terms.split(",") if term] or range(len(TERMS))
    pairs = enumerate(coordinates())
    return np.array([k for k, (term, i) in pairs if term in chosen and (not names or GAIN_NAMES[i] in names)])


def keep(
    mean: Any, low: Any, template: dict[str, Any], options: argparse.Namespace, generation: int, seed: int, cost: float
) -> None:
    """Write the mean of the search as a gains file with how it came about."""
    table = decode(np.clip(np.asarray(mean), low, 1.0), template)
    table["found"] = {
        "by": "experiments/tune_gains/search.py",
        "date": datetime.datetime.now(datetime.UTC).date().isoformat(),
        "score": round(cost, 3),
        "score_is": "median cost of the last generation, see experiments/tune_gains/score.py",
        "scenarios": f"scenarios.py DRAWS['{options.draw}']({options.triples}, {seed}); redrawn every {options.fresh}",
        "generations": generation,
        "population": options.population,
        "seed": options.seed,
        "walk_seconds": options.walk_seconds,
        "time_step_s": options.time_step,
        "numbers_varied": len(coordinates()),
    }
    options.out.write_text(json.dumps(table, indent=1) + "\n")


if __name__ == "__main__":
    main()
