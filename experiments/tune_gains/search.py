"""Find the gains: an evolution strategy over stages, see `stages.py`.

    python -m experiments.tune_gains.search --start experiments/tune_gains/start.json --out gains.json
    python -m experiments.tune_gains.search --stages gentle --population 24 --triples 6 --workers 2 --out gains.json

On a CUDA card all walks of a generation run at once; without one, processes share them. Each candidate is one set of
gains, judged on every scenario of the current draw; the draw changes every few generations. The score is in `score.py`,
the scenarios in `scenarios.py`, what is varied in `encode.py`.
"""

from __future__ import annotations

import argparse
import datetime
import json
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from experiments.tune_gains.encode import VALUE, as_file, coordinates, encode, read, tables
from experiments.tune_gains.scenarios import draw, pack
from experiments.tune_gains.score import bumps
from experiments.tune_gains.score import terms as score_terms
from experiments.tune_gains.stages import STAGES, Stage
from experiments.tune_gains.walks import best_walks
from sim.gains import GAINS_FILE


class Bench:
    """One draw of scenarios, ready to judge points of the search."""

    def __init__(self, stage: Stage, seed: int, seconds: float, dt: float, row: Any) -> None:
        self.seconds, self.dt, self.row = seconds, dt, row
        self.moved = moved_by(stage, row)
        self.scenarios = draw(stage.triples, seed, stage.slopes)
        settings, plants, known = pack(self.scenarios)
        self.walks = best_walks(settings, plants)
        self.known = {name: self.walks.xp.asarray(value) for name, value in known.items()}

    def judge(self, points: np.ndarray[Any, Any]) -> tuple[np.ndarray[Any, Any], dict[str, np.ndarray[Any, Any]]]:
        """Cost of each point, shape (points,), and the mean of each term, shape (points,) each."""
        xp, p, m = self.walks.xp, len(points), len(self.scenarios)
        steps, status, lasted = self.walks.run(tables(points, self.row, self.moved), self.seconds, self.dt)
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


def moved_by(stage: Stage, row: Any) -> Any:
    """Coordinates that a stage moves."""
    knots = [tuple(knot_at(row, slope) for slope in tied) for tied in stage.knots]
    return coordinates(knots, stage.terms, stage.habits)


def knot_at(row: Any, slope: float) -> int:
    """Index of the knot at this slope [degrees]."""
    return int(np.abs(np.degrees(row["slope"]) - slope).argmin())


_BENCH: dict[Any, Bench] = {}


def judge_in_worker(key: Any, row: Any, points: np.ndarray[Any, Any]) -> Any:
    """As Bench.judge, in a worker process that keeps its bench."""
    if key not in _BENCH:
        _BENCH.clear()
        _BENCH[key] = Bench(*key, row)
    return _BENCH[key].judge(points)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--stages", default="", help="comma list of stages, in order; all if empty")
    parser.add_argument("--seconds", type=float, default=1e9, help="time after which no stage goes on")
    parser.add_argument("--generations", type=int, help="instead of the stage's own")
    parser.add_argument("--population", type=int, help="instead of the stage's own")
    parser.add_argument("--triples", type=int, help="instead of the stage's own")
    parser.add_argument("--sigma", type=float, help="instead of the stage's own")
    parser.add_argument("--keep-knots", action="store_true", help="do not begin with the gains of a neighbouring knot")
    parser.add_argument("--walk-seconds", type=float, default=9.0)
    parser.add_argument("--time-step", type=float, default=5e-4)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=0, help="processes, without a card")
    options = parser.parse_args()
    names = [stage.name for stage in STAGES]
    chosen = [name for name in options.stages.split(",") if name] or names
    unknown = [name for name in chosen if name not in names]
    if unknown:
        raise SystemExit(f"--stages knows {', '.join(names)}; not {', '.join(unknown)}")
    given = {
        name: getattr(options, name)
        for name in ("generations", "population", "triples", "sigma")
        if getattr(options, name) is not None
    }
    table = json.loads(options.start.read_text())
    table["found"] = {"by": "experiments/tune_gains/search.py", "start": options.start.name, "stages": []}
    begin = time.time()
    pool = ProcessPoolExecutor(options.workers) if options.workers else None
    for k, name in enumerate(chosen):
        if time.time() - begin < options.seconds:
            stage = replace(STAGES[names.index(name)], **given)
            if options.keep_knots:
                stage = replace(stage, like=None)
            table = search(stage, table, options, k, pool, begin)


def search(
    stage: Stage, template: dict[str, Any], options: argparse.Namespace, k: int, pool: Any, begin: float
) -> dict[str, Any]:
    """Run one stage; returns the gains file with the mean of the last generation, also kept in `options.out`."""
    import cma

    row = read(template)
    moved = moved_by(stage, row)
    if stage.like is not None:
        for slope in (slope for tied in stage.knots for slope in tied):
            row["coefficients"][:, knot_at(row, slope)] = row["coefficients"][:, knot_at(row, stage.like)]
    low = np.array([0.0 if c.term == VALUE else -0.6 for c in moved])
    high = np.array([1.0 if c.term == VALUE else 0.6 for c in moved])
    point = np.clip(encode(row, moved), low + 0.01, high - 0.01)
    size = {"popsize": stage.population, "seed": options.seed + k, "bounds": [list(low), list(high)], "verbose": -9}
    strategy = cma.CMAEvolutionStrategy(point, stage.sigma, size)
    bench, started, table = None, time.time(), template
    for generation in range(1, stage.generations + 1):
        if generation % stage.fresh == 1:
            seed = 1000 * (options.seed + k) + generation // stage.fresh
            key = (stage, seed, options.walk_seconds, options.time_step)
            bench = None if pool else Bench(*key, row)
        asked = np.array(strategy.ask())
        if pool:
            parts = np.array_split(asked, options.workers)
            results = [job.result() for job in [pool.submit(judge_in_worker, key, row, part) for part in parts]]
            cost = np.concatenate([r[0] for r in results])
            means = {name: np.concatenate([r[1][name] for r in results]) for name in results[0][1]}
        else:
            assert bench is not None
            cost, means = bench.judge(asked)
        strategy.tell(list(asked), list(cost))
        last = generation == stage.generations or time.time() - begin > options.seconds
        if generation % 10 == 0 or generation == 1 or last:
            best = int(cost.argmin())
            shown = " ".join(f"{name} {value[best]:.2f}" for name, value in means.items() if value[best] > 0.1)
            print(
                f"{stage.name} {generation} {time.time() - started:.0f} s best {cost[best]:.2f} "
                f"median {np.median(cost):.2f} sigma {strategy.sigma:.3f} | {shown}",
                flush=True,
            )
            mean = np.clip(np.asarray(strategy.mean), low, high)
            table = as_file(tables(mean[None], row, moved)[0], template)
            table["found"]["date"] = datetime.datetime.now(datetime.UTC).date().isoformat()
            table["found"]["stages"] = [
                *template["found"]["stages"],
                {
                    "stage": stage.name,
                    "generations": generation,
                    "population": stage.population,
                    "triples": stage.triples,
                    "sigma": stage.sigma,
                    "seed": options.seed + k,
                    "walk_seconds": options.walk_seconds,
                    "time_step_s": options.time_step,
                    "numbers": len(moved),
                    "score": round(float(np.median(cost)), 3),
                },
            ]
            options.out.write_text(json.dumps(table, indent=1) + "\n")
        if last:
            break
    return table


if __name__ == "__main__":
    main()
