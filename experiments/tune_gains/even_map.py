"""Even out the last cells of the report's map by the least change of the gains, walked by the bench itself.

    python -m experiments.tune_gains.even_map --start gains.json --out even.json --part steepest --chance 60 --seed 11

The searches walk a leaner loop, whose peaks differ by a hundredth of a body weight from those that the report takes.
So the last hundredths are settled here: what each number does to the least even triples of neighbours, and to the human
walks that are next to a limit, is measured with the bench's own walks and metrics, and the smallest step is taken that
should bring all of them inside. Of a few such steps the best is kept, and of small random changes of it those that are
better still.
"""

from __future__ import annotations

import argparse
import datetime
import json
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
from scipy.optimize import nnls

from experiments.acceptance.run import EVEN, HUMAN, STEEP_ONLY, UPRIGHT, measure, scenario, steady
from experiments.tune_gains.encode import encode, read, tables
from experiments.tune_gains.joint import numbers_of
from experiments.tune_gains.newton import MOVED, PROBE
from experiments.tune_gains.newton_walks import cells_of_report
from experiments.tune_gains.polish import keep
from sim.gains import GAINS_FILE

Array = np.ndarray[Any, Any]
Cell = tuple[float, float, float]

PEAKS = ("sound_peak_force_bw", "prosthetic_peak_force_bw")
#: A triple takes part in the step from this much on [BW], a human walk from this share of a limit below it.
WATCHED, NEAR = 0.07, 0.02
#: Limits that are tried [BW], inside what the report asks for. Share of a limit that human walks are to stay below it.
LIMITS = (0.068, 0.072, 0.075, 0.077, 0.0785)
SPARE = 0.002
#: Random changes: so many of the numbers, by so much of their ranges.
SOME, LITTLE = 0.3, 0.0003
#: Metrics of human walks that are watched: those that were ever next to a limit.
WATCHED_METRICS = (
    "sound_peak_force_bw", "prosthetic_peak_force_bw", "sound_knee_early_stance_peak_deg",
    "knee_flexion_at_sound_landing_deg",
)  # fmt: skip


def measure_with(gains: Any, cell: Cell) -> dict[str, Any]:
    """As the report measures a walk on this slope [deg], step [m] and resistance, but with these gains."""
    with patch("sim.activities.walk.pack_gains", lambda: np.array([gains])):
        return measure(scenario(*cell))


def peaks_of(job: tuple[Any, Cell]) -> tuple[float, ...]:
    """Both peaks [BW] of a walk, given its gains and cell; NaN if it fell."""
    row = measure_with(*job)
    return tuple(row[name] if row["outcome"] == "walked" else np.nan for name in PEAKS)


def margins_of(job: tuple[Any, Cell]) -> tuple[float, ...]:
    """How far a human walk is beyond each limit, in shares of the limit, given gains and cell; below 0 is inside."""
    row, slope_deg = measure_with(*job), job[1][0]
    if row["outcome"] != "walked":
        return (1.0,) * (len(WATCHED_METRICS) + 2)
    found = []
    for name in WATCHED_METRICS:
        low, high = HUMAN[name]
        beyond = max(row[name] / high - 1.0, 1.0 - row[name] / low)
        found.append(-1.0 if name in STEEP_ONLY and slope_deg > -8.0 else beyond)
    return (*found, row["trunk_furthest_deg"] / UPRIGHT - 1.0, -1.0 if steady(row) else 1.0)


def unevenness(peaks: Array, triples: Array) -> Array:
    """How far the middle of each triple is from the mean of its ends [BW].

    Parameters
    ----------
    peaks : shape (..., cells, peaks)
    triples : indices of cells, shape (triples, 3)

    Returns
    -------
    shape (..., triples, peaks)
    """
    middle: Array = peaks[..., triples[:, 1], :]
    return middle - 0.5 * (peaks[..., triples[:, 0], :] + peaks[..., triples[:, 2], :])


def least_change(start: Array, slope: Array, high: Array) -> Array | None:
    """The smallest step of the numbers after which no line should be above its limit; None if there is none.

    Lines that no number changes (of slopes with knots of their own) are left as they are. Least distance programming by
    non-negative least squares (Lawson and Hanson 1974, chapter 23).

    Parameters
    ----------
    start, high : shape (lines,)
    slope : change of each line with each number, shape (lines, numbers)
    """
    changed = np.abs(slope).max(1, initial=0.0) > 0.0
    if not changed.any():
        return np.zeros(slope.shape[1])
    sides, least = -slope[changed], (start - high)[changed]  # sides @ step >= least
    weights, _ = nnls(np.concatenate([sides.T, least[None]]), np.append(np.zeros(slope.shape[1]), 1.0), maxiter=20000)
    rest = np.append(sides.T @ weights, least @ weights - 1.0)
    return None if abs(rest[-1]) < 1e-9 else -rest[:-1] / rest[-1]


def verdict(peaks: Array, triples: Array, margins: Array) -> tuple[int, int, float]:
    """Falls, triples and human lines outside, and the least even triple [BW]: the less the better."""
    off = np.abs(unevenness(peaks, triples))
    outside = int((off > EVEN).sum()) + int((margins > 0.0).sum())
    return int(np.isnan(peaks[:, 0]).sum()), outside, float(np.nanmax(off))


class Bench:
    """The report's map and human walks, all of them or those next to a limit."""

    def __init__(self, pool: Any, options: argparse.Namespace) -> None:
        self.pool = pool
        self.template = json.loads(options.start.read_text())
        self.row = read(self.template)
        self.moved = numbers_of(MOVED[options.part], self.row)
        report = cells_of_report()
        self.cells, self.triples = report.cells[: report.map_cells], np.array(report.triples)
        self.human = report.cells[report.map_cells :]

    def walk(self, what: Any, points: Array, some: Sequence[Cell]) -> Array:
        """`peaks_of` or `margins_of` all these cells at all points, shape (points, cells, what is told)."""
        if not some:
            return np.zeros((len(points), 0, 1))
        jobs = [(gains, cell) for gains in tables(points, self.row, self.moved) for cell in some]
        return np.array(list(self.pool.map(what, jobs, chunksize=7))).reshape(len(points), len(some), -1)

    def judge(self, point: Array) -> tuple[int, int, float]:
        """Verdict on the whole map and all human walks."""
        peaks = self.walk(peaks_of, point[None], self.cells)[0]
        return verdict(peaks, self.triples, self.walk(margins_of, point[None], self.human)[0])

    def watch(self, point: Array) -> int:
        """Choose the lines that are near a limit at this point; how many."""
        off = unevenness(self.walk(peaks_of, point[None], self.cells)[0], self.triples)
        margins = self.walk(margins_of, point[None], self.human)[0]
        lines = np.argwhere(np.abs(off) > WATCHED)
        kept = np.unique(self.triples[lines[:, 0]])
        place = np.full(len(self.cells), -1)
        place[kept] = np.arange(len(kept))
        self.lines, self.places = lines[:, 1], place[self.triples[lines[:, 0]]]
        self.some = [self.cells[k] for k in kept]
        self.near = [cell for cell, margin in zip(self.human, margins, strict=True) if margin.max() > -NEAR]
        return 2 * len(lines) + margins.shape[1] * len(self.near)

    def watched(self, points: Array) -> Array:
        """Those lines, shape (points, lines): unevenness to both sides, then margins."""
        off = unevenness(self.walk(peaks_of, points, self.some), self.places)[:, np.arange(len(self.lines)), self.lines]
        margins = self.walk(margins_of, points, self.near).reshape(len(points), -1)
        return np.concatenate([off, -off, margins], 1)

    def limits(self, even: float, spare: float) -> Array:
        """Limit of each watched line."""
        margins = (len(WATCHED_METRICS) + 2) * len(self.near)
        return np.append(np.full(2 * len(self.lines), even), np.full(margins, -spare))


def search(options: argparse.Namespace) -> None:
    """Measure, step, compare, try; the best gains are in `options.out`."""
    begin = time.time()
    with ProcessPoolExecutor(options.workers) as pool:
        bench = Bench(pool, options)
        point = encode(bench.row, bench.moved)
        best, best_point = bench.judge(point), point

        def better(candidate: Array, told: str) -> None:
            nonlocal best, best_point
            found = bench.judge(candidate)
            print(f"{told} {time.time() - begin:.0f} s: {found}", flush=True)
            if found < best:
                best, best_point = found, candidate
                note = {
                    "stage": f"even map {options.part}", "numbers": len(point), "seed": options.seed, "tried": told,
                    "score": round(best[2], 4), "date": datetime.datetime.now(datetime.UTC).date().isoformat(),
                }  # fmt: skip
                keep(tables(candidate[None], bench.row, bench.moved)[0], bench.template, note, options.out)

        print(f"{len(point)} numbers, {bench.watch(point)} lines; falls, outside, least even: {best}", flush=True)
        probed = bench.watched(np.concatenate([point[None], point + PROBE * np.eye(len(point))]))
        slope = np.nan_to_num((probed[1:] - probed[0]) / PROBE).T
        for limit in LIMITS:
            step = least_change(probed[0], slope, bench.limits(limit, SPARE))
            if step is None:
                print(f"limit {limit}: these numbers cannot bring all lines inside", flush=True)
            else:
                better(point + step, f"limit {limit}, step {np.abs(step).max():.4f}")
        if options.chance:
            bench.watch(best_point)
        rng = np.random.default_rng(options.seed)
        for k in range(options.chance):
            change = LITTLE * rng.standard_normal(len(point)) * (rng.random(len(point)) < SOME)
            if (bench.watched((best_point + change)[None])[0] <= bench.limits(EVEN, 0.0)).all():
                better(best_point + change, f"change {k + 1}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--part", choices=[name for name, part in MOVED.items() if part.knots], default="steepest")
    parser.add_argument("--chance", type=int, default=0, help="so many small random changes of the best")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    search(parser.parse_args())


if __name__ == "__main__":
    main()
