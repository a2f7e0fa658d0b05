"""Can one gait on one slope bend every knee of the window as far as a person's, with every other line kept?

    python -m experiments.knee_bound.one_gait --slope-deg=-8 --seconds 1500 --out gains.json

As `run.py`, but one set of gains for all `CELLS` of the slope: all terms of all gains at its knot are free, the term in
the felt yield too. The gains go to `--out`; at other slopes they are as before, so the map is not smooth across it.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from typing import Any

import numpy as np

from experiments.knee_bound.run import FALL, SECONDS, TIME_STEP, measures
from experiments.tune_gains.encode import STEP, VALUE, YIELD, as_file, coordinates, encode, read, tables
from experiments.tune_gains.polish import one
from experiments.tune_gains.scenarios import pack
from experiments.tune_gains.score import excess
from experiments.tune_gains.search import knot_at
from experiments.tune_gains.walks import ProcessorWalks
from sim.gains import read_gains

#: Steps [m] and resistances [N m s/rad]: the ends of the window, its middle, and a stiff knee that must still walk.
CELLS = ((0.45, 25.0), (0.45, 50.0), (0.5, 32.0), (0.5, 50.0), (0.55, 25.0), (0.55, 40.0), (0.55, 50.0), (0.45, 90.0))
STIFF = 60.0  # above, the knee is not asked to bend
#: Lines that are asked for with room to spare: name -> (least, most).
SPARE = {
    "knee": (26.0, 50.0), "sound peak": (1.02, 1.33), "prosthetic peak": (1.0, 1.25), "trunk": (0.0, 5.5),
    "sound knee": (10.0, 34.0), "double support": (0.1, 0.29),
}  # fmt: skip
POPULATION, SIGMA, SEED = 20, 0.015, 3


def missed(found: dict[str, tuple[float, float, float]], resistance: float) -> float:
    """How far a walk is outside its lines, in tenths of their width."""
    total = 0.0
    for name, (value, low, high) in found.items():
        if name == "knee" and resistance > STIFF:
            continue
        least, most = SPARE.get(name, (low, high))
        total += float(excess(np, value, least, most, 0.1 * (high - low)))
    return total


class Slope:
    """Walks all cells of a slope with many gain records."""

    def __init__(self, slope_deg: float) -> None:
        settings, plants, known = pack([one(slope_deg, *cell) for cell in CELLS])
        self.walks = ProcessorWalks(settings, plants)
        self.known = [{name: float(value[i]) for name, value in known.items()} for i in range(len(CELLS))]

    def judge(self, gains: np.ndarray[Any, Any]) -> tuple[np.ndarray[Any, Any], list[dict[str, Any]]]:
        """Cost of each record, shape (records,), and measures of each walk, record by record; empty after a fall."""
        steps, status, lasted = self.walks.run(gains, SECONDS, TIME_STEP)
        count = len(CELLS)
        found = [measures(steps[i], self.known[i % count]) if status[i] == 0 else {} for i in range(len(steps))]
        each = [
            missed(walk, CELLS[i % count][1]) if walk else FALL - float(lasted[i]) for i, walk in enumerate(found)
        ]
        cost = np.array(each).reshape(-1, count)
        worst = np.sort(cost, 1)[:, -2:].mean(1)
        return cost.mean(1) + 0.3 * worst, found


def search(slope_deg: float, seconds: float, out: Path) -> None:
    """Search until the time is over; the best gains so far are always in `out`."""
    import cma

    template = read_gains()
    row, slope = read(template), Slope(slope_deg)
    moved = coordinates([(knot_at(row, slope_deg),)], (VALUE, STEP, YIELD), habits=True)
    low = [0.0 if number.term == VALUE else -3.0 for number in moved]
    high = [1.0 if number.term == VALUE else 3.0 for number in moved]
    point = np.clip(encode(row, moved), np.array(low) + 0.002, np.array(high) - 0.002)
    options = {"popsize": POPULATION, "seed": SEED, "verbose": -9, "bounds": [low, high], "CMA_diagonal": True}
    strategy = cma.CMAEvolutionStrategy(point, SIGMA, options)
    best, begin, generation = np.inf, time.time(), 0
    while time.time() - begin < seconds:
        asked = strategy.ask()
        records = tables(np.array(asked), row, moved)
        cost, found = slope.judge(records)
        strategy.tell(asked, list(cost))
        generation += 1
        k = int(np.argmin(cost))
        if cost[k] < best:
            best = float(cost[k])
            out.write_text(json.dumps(as_file(records[k], template), indent=1) + "\n", encoding="utf-8")
            here = found[k * len(CELLS) : (k + 1) * len(CELLS)]
            told = " ".join(f"{w['knee'][0]:.0f}/{w['sound peak'][0]:.2f}" if w else "fell" for w in here)
            print(f"{generation} {time.time() - begin:.0f} s {best:.2f} knee/peak {told}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--slope-deg", type=float, default=-8.0, help="a knot of the gains")
    parser.add_argument("--seconds", type=float, default=1500.0)
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args()
    search(options.slope_deg, options.seconds, options.out)


if __name__ == "__main__":
    main()
