"""Bring every line of the walk inside its limits by Gauss-Newton steps: all numbers of a part at once.

    python -m experiments.tune_gains.newton --part "slopes bend" --ways --out gains.json --seconds 480
    python -m experiments.tune_gains.newton --part steepest --alone --slopes=-11.95:-9.2 --out gains.json --size 4

A settled gait changes smoothly with its gains. So what each line of each walk does when one number moves is measured
(central differences, thousands of walks), and a least-squares problem tells how to move all numbers: how far every line
is outside its limits, squared, and how uneven the map is. Of steps of several lengths the one is taken that is best on
the same walks, on walks that were not measured, and on ramps with ends. Every round draws new walks.
"""

from __future__ import annotations

import argparse
import datetime
import json
import time
from typing import Any, NamedTuple

import numpy as np

from experiments.tune_gains.encode import VALUE, encode, read, tables
from experiments.tune_gains.joint import (
    PARTS,
    TIME_STEP,
    Judges,
    Part,
    numbers_of,
    odd_steps,
    other_walks,
    parser_of,
    quick_walks,
    triples_between,
    ways_of,
)
from experiments.tune_gains.polish import keep
from experiments.tune_gains.scenarios import pack
from experiments.tune_gains.score import COLUMN, DEGREE, excess

#: How far a number is moved to see what it does, in ranges of the gain.
PROBE = 0.003
#: Steps after which a gait has settled.
SETTLED = 9
#: What is outside counts so much per tolerance, at most; a fall costs this.
MOST, FALL = 6.0, 120.0
#: Deviation from the neighbours' mean that is free, and the tolerance [BW]; its weight beside a line.
FREE, ROUGH_TOLERANCE, ROUGH = 0.03, 0.03, 2.0
#: Weight of the walks of a draw, and of the ways with ends.
DRAWS = {"even": 1.0, "otherwise": 0.3, "quick": 0.15, "odd steps": 0.1}
WAYS = 0.03
#: Weight beside the window of a line that is asked for in the window only.
BESIDE = 0.1
#: What can be moved: as in the joint search, and knots few enough for processors.
MOVED = PARTS | {"steepest": Part(((-12.0,), (-10.0,)), (VALUE,), (), habits=False)}
#: Lengths of the steps that are tried: damping of the least squares.
DAMPING = tuple(10.0**k for k in np.arange(-3.0, 2.1, 0.5))


class Line(NamedTuple):
    """A wish: inside low to high, in tolerances beyond, for some walks."""

    name: str
    low: float
    high: float
    tolerance: float
    weight: float
    who: str = "all"  # prosthesis, middle (of the window, downhill), window (others count less)


#: With room to spare to the limits of the acceptance report. All ours.
LINES = (
    Line("knee at sound landing", 26.5, 50.0, 3.0, 4.0, "middle"),
    Line("prosthetic peak", 0.97, 1.25, 0.04, 1.0),
    Line("sound peak", 1.02, 1.30, 0.04, 1.0),
    Line("trunk back", -5.4, 90.0, 1.0, 1.0),
    Line("trunk forward", -90.0, 5.4, 1.0, 1.0),
    Line("sound knee", 12.0, 33.0, 3.0, 1.0, "window"),
    Line("double support", 0.12, 0.28, 0.03, 1.0),
    Line("knee at landing", -2.0, 4.5, 3.0, 1.0, "prosthesis"),
    Line("swing knee", 54.0, 77.0, 5.0, 0.7, "middle"),
    Line("sound step", 0.95, 1.05, 0.03, 1.0),
    Line("other step", 0.95, 1.05, 0.03, 1.0),
    Line("speed", 0.97, 1.03, 0.03, 1.0),
    Line("sound step varies", 0.0, 0.006, 0.01, 1.0),
    Line("other step varies", 0.0, 0.006, 0.01, 1.0),
    Line("prosthetic peak varies", 0.0, 0.015, 0.03, 0.7),
    Line("sound peak varies", 0.0, 0.015, 0.03, 0.7),
    Line("sound swing knee", 50.0, 80.0, 10.0, 0.5),
    Line("crouch", -5.0, 48.0, 8.0, 1.0),
    Line("clearance", 0.015, 1.0, 0.01, 0.5),
    Line("step time", 0.88, 1.12, 0.05, 0.7),
    Line("stops", -1.0, 0.008, 0.02, 0.7),
    Line("spike", -1.0, 0.08, 0.1, 0.7),
    Line("work", -1.0, 0.14, 0.05, 0.3),
)


def measures(xp: Any, steps: Any, known: dict[str, Any]) -> Any:
    """What each line looks at, shape (walks, lines).

    Parameters
    ----------
    xp : numpy or cupy
    steps : shape (walks, most steps, columns of STEP), zero where no step was made
    known : arrays of shape (walks,): step, speed, step_time, slope [rad], weight, passive, middle
    """
    col = lambda name, k=0: steps[:, :, COLUMN[name] + k]  # noqa: E731
    done = col("time") > 0.0
    used = done & (xp.arange(steps.shape[1])[None, :] >= SETTLED)
    sound, other = used & (col("leg") == 1.0), used & (col("leg") == 0.0)
    weight, step = known["weight"], known["step"]

    def mean(value: Any, rows: Any) -> Any:
        return xp.where(rows, value, 0.0).sum(1) / xp.maximum(rows.sum(1), 1)

    def spread(value: Any, rows: Any) -> Any:
        return xp.sqrt(mean((value - mean(value, rows)[:, None]) ** 2, rows) + 1e-10)

    peak = [xp.where(used, col("peak", leg), 0.0).max(1) / weight for leg in range(2)]
    raw = [xp.where(used, col("raw_peak", leg), 0.0).max(1) / weight for leg in range(2)]
    downhill = xp.sin(xp.maximum(0.05, -known["slope"]))
    found = (
        mean(col("knee_of_stance"), sound) / DEGREE,
        peak[0],
        peak[1],
        mean(col("trunk", 0), used) / DEGREE,
        mean(col("trunk", 2), used) / DEGREE,
        mean(col("knee_early_peak"), other) / DEGREE,
        mean(col("double_support") / known["step_time"][:, None], used),
        mean(col("knee_at_landing"), other) / DEGREE,
        mean(col("knee_swing_peak"), other) / DEGREE,
        mean(col("length"), sound) / step,
        mean(col("length"), other) / step,
        mean(col("speed"), used) / known["speed"],
        spread(col("length"), sound) / step,
        spread(col("length"), other) / step,
        spread(peak_of(xp, col, 0), other) / weight,
        spread(peak_of(xp, col, 1), other) / weight,
        mean(col("knee_swing_peak"), sound) / DEGREE,
        mean(col("knee_of_stance"), other) / DEGREE,
        mean(col("clearance"), used),
        mean(col("duration"), used) / known["step_time"],
        mean(col("stop_work", 1), used) / (weight * step * downhill),
        xp.maximum(raw[0] - peak[0], raw[1] - peak[1]),
        mean(col("positive_work"), used) / (weight * step),
    )
    return xp.stack(found, 1)


def peak_of(xp: Any, col: Any, leg: int) -> Any:
    """A leg's peak over a stride: it falls into the step in which the foot lands or the one before."""
    peak = col("peak", leg)
    return xp.concatenate([peak[:, :1], xp.maximum(peak[:, 1:], peak[:, :-1])], 1)


class Drawn(NamedTuple):
    """Walks of one draw, ready to walk."""

    walks: Any
    known: dict[str, Any]
    seconds: float


class Walkers:
    """All draws of one seed: walks them with many gain records."""

    def __init__(self, slopes: tuple[float, float], seed: int, size: int, alone: bool) -> None:
        from experiments.tune_gains.walks import best_walks

        drawers = (triples_between(*slopes), other_walks, quick_walks, odd_steps)[: 1 if alone else None]
        self.drawn, weights, masks, self.triples = [], [], [], np.zeros((0, 3), np.int64)
        for i, drawer in enumerate(drawers):
            draw = drawer(np.random.default_rng([seed, i]), size)
            settings, plants, known = pack(draw.walkers)
            if draw.triples:
                self.triples = np.arange(len(settings)).reshape(-1, 3)  # the first draw
            walks = best_walks(settings, plants)
            self.drawn.append(Drawn(walks, {k: walks.xp.asarray(v) for k, v in known.items()}, draw.seconds))
            weights.append(np.full(len(settings), DRAWS[draw.name]))
            prosthesis = known["passive"] > 0.5
            middle = prosthesis & (known["middle"] > 0.5) & (known["slope"] < -7.0 * DEGREE)
            window = np.where(prosthesis & (known["middle"] > 0.5), 1.0, BESIDE)
            who = {"all": np.ones(len(settings)), "prosthesis": prosthesis, "middle": middle, "window": window}
            masks.append(np.stack([who[line.who].astype(float) for line in LINES], 1))
        self.weights = np.concatenate(weights)
        self.mask = np.concatenate(masks)

    def walk(self, gains: np.ndarray[Any, Any]) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
        """Measures, shape (points, walks, lines), and falls, shape (points, walks)."""
        waits = [drawn.walks.start(gains, drawn.seconds, TIME_STEP) for drawn in self.drawn]
        values, fell = [], []
        for (walks, known, _), wait in zip(self.drawn, waits, strict=True):
            xp, p = walks.xp, len(gains)
            steps, status, _ = wait()
            found = measures(xp, steps, {name: xp.tile(value, p) for name, value in known.items()})
            host = (lambda v: v) if xp is np else xp.asnumpy
            values.append(host(found).reshape(p, -1, len(LINES)))
            fell.append(host(status).reshape(p, -1) > 0)
        return np.concatenate(values, 1).astype(np.float32), np.concatenate(fell, 1)


LOW = np.array([line.low for line in LINES])
HIGH = np.array([line.high for line in LINES])
TOLERANCE = np.array([line.tolerance for line in LINES])
LINE_WEIGHT = np.array([line.weight for line in LINES])
PEAKS = [i for i, line in enumerate(LINES) if line.name in ("prosthetic peak", "sound peak")]


def merit(walkers: Walkers, values: np.ndarray[Any, Any], fell: np.ndarray[Any, Any]) -> tuple[Any, dict[str, float]]:
    """Cost of each point, shape (points,), and what that of the first is made of."""
    out = np.minimum(excess(np, values, LOW, HIGH, TOLERANCE), MOST) ** 2 * LINE_WEIGHT * walkers.mask
    out = np.where(fell[:, :, None], 0.0, out)
    count = walkers.weights.sum()
    lines = (out * walkers.weights[:, None]).sum(1) / count
    falls = (fell * walkers.weights).sum(1) * FALL / count
    rough = np.zeros(len(values))
    for peak in PEAKS:
        three = values[:, walkers.triples, peak]
        whole = ~fell[:, walkers.triples].any(2)
        off = excess(np, three[:, :, 1] - 0.5 * (three[:, :, 0] + three[:, :, 2]), -FREE, FREE, ROUGH_TOLERANCE)
        rough += ROUGH * np.where(whole, np.minimum(off, MOST) ** 2, 0.0).sum(1) / count
    parts = {line.name: float(lines[0, i]) for i, line in enumerate(LINES)} | {"fall": falls[0], "rough": rough[0]}
    return lines.sum(1) + falls + rough, parts


def best_step(
    walkers: Walkers, base: np.ndarray[Any, Any], slope: np.ndarray[Any, Any], usable: Any, damping: tuple[float, ...]
) -> np.ndarray[Any, Any]:
    """Steps of the numbers, shape (dampings, numbers), from the linear model of every line.

    Parameters
    ----------
    base : shape (walks, lines)
    slope : change of each line with each number, shape (numbers, walks, lines)
    usable : shape (walks,), walks that lasted at all probes
    """
    rows, values, low, high = [], [], [], []
    weight = np.sqrt(walkers.weights[:, None] * LINE_WEIGHT * walkers.mask * usable[:, None]) / TOLERANCE
    some = weight > 0.0
    rows.append((slope * weight)[:, some].T)
    values.append((base * weight)[some])
    low.append((LOW * weight)[some])
    high.append((HIGH * weight)[some])
    whole = usable[walkers.triples].all(1)
    for peak in PEAKS:
        mid, ends = walkers.triples[whole, 1], walkers.triples[whole][:, (0, 2)]
        scale = np.sqrt(ROUGH) / ROUGH_TOLERANCE
        rows.append(scale * (slope[:, mid, peak] - slope[:, ends, peak].mean(2)).T)
        values.append(scale * (base[mid, peak] - base[ends, peak].mean(1)))
        low.append(np.full(len(mid), -FREE * scale))
        high.append(np.full(len(mid), FREE * scale))
    jacobian, start = np.concatenate(rows).astype(float), np.concatenate(values).astype(float)
    lowest, highest = np.concatenate(low), np.concatenate(high)
    curvature = np.einsum("ij,ij->j", jacobian, jacobian)
    curvature += 0.1 * np.median(curvature)
    found = []
    for damp in damping:
        step = np.zeros(jacobian.shape[1])
        for i in range(12):  # which lines are outside changes with the step
            now = start + jacobian @ step
            over = np.where(now > highest, highest - start, np.where(now < lowest, lowest - start, 0.0))
            active = (now > highest) | (now < lowest)
            j = jacobian[active]
            new = np.linalg.solve(j.T @ j + damp * np.diag(curvature), j.T @ over[active])
            if np.abs(new - step).max() < 1e-5:
                break
            step = 0.5 * (step + new) if i > 3 else new  # halfway, or it may go to and fro
        found.append(step)
    return np.array(found)


_WALKERS: dict[Any, Walkers] = {}


def walk_in_worker(key: Any, gains: np.ndarray[Any, Any]) -> Any:
    """As Walkers.walk, in a worker process that keeps two draws."""
    if key not in _WALKERS:
        if len(_WALKERS) > 1:
            _WALKERS.clear()
        _WALKERS[key] = Walkers(*key)
    walkers = _WALKERS[key]
    # few enough at a time for the memory of a card
    some = [walkers.walk(part) for part in np.array_split(gains, max(1, len(gains) * len(walkers.weights) // 80000))]
    return np.concatenate([v for v, _ in some]), np.concatenate([f for _, f in some])


def spread_over(judges: Judges, key: Any, gains: np.ndarray[Any, Any]) -> tuple[Any, Any]:
    """Measures and falls of all points, from all workers."""
    shares = [share for share in np.array_split(gains, judges.count) if len(share)]
    found = [job.result() for job in [judges.pool.submit(walk_in_worker, key, share) for share in shares]]
    return np.concatenate([v for v, _ in found]), np.concatenate([f for _, f in found])


def search(options: argparse.Namespace) -> None:
    """Step after step until the time is over; the gains are always in `options.out`."""
    begin = time.time()
    template = json.loads(options.start.read_text())
    row, part, size = read(template), MOVED[options.part], options.size
    moved = numbers_of(part, row)
    ways = ways_of(part, moved, row)
    low = np.array([0.002 if c.term == VALUE else -3.0 for c in moved])
    high = np.array([0.998 if c.term == VALUE else 3.0 for c in moved])
    point = np.clip(encode(row, moved), low, high)
    judges = Judges(options.workers)
    print(f"{len(moved)} numbers, {len(ways)} ways", flush=True)
    rounds, longest = 0, options.longest
    while time.time() - begin < options.seconds:
        seed = 1000 * options.seed + rounds // options.fresh
        key, other_key = ((options.slopes, s, size, options.alone) for s in (seed, 500 + seed))
        walkers, others = Walkers(*key), Walkers(*other_key)
        probes = np.concatenate([point[None], point + PROBE * ways, point - PROBE * ways])
        values, fell = spread_over(judges, key, tables(probes, row, moved))
        base, n = values[0].astype(float), len(ways)
        slope = (values[1 : n + 1] - values[n + 1 :]) / (2.0 * PROBE)
        bad = fell[1 : n + 1] | fell[n + 1 :]
        slope[bad] = 0.0
        usable = ~fell[0]
        steps = best_step(walkers, base, slope, usable, DAMPING)
        size_of = np.abs(steps).max(1)
        steps *= np.minimum(1.0, longest / np.maximum(size_of, 1e-9))[:, None]
        tried = np.concatenate([point[None], *(point + (share * steps) @ ways for share in (1.0, 0.5))])
        tried = np.clip(tried, low, high)
        records = tables(tried, row, moved)
        cost, shown = merit(walkers, *spread_over(judges, key, records))
        cost2, shown2 = merit(others, *spread_over(judges, other_key, records))
        total = 0.5 * (cost + cost2)
        if options.ways:
            total = total + WAYS * judges.judge(("ways alone", seed, size), records)[0]
        k = int(np.argmin(total))
        rounds += 1
        worth = {name: round(0.5 * (value + shown2[name]), 2) for name, value in shown.items()}
        print(
            f"{rounds} {time.time() - begin:.0f} s cost {total[0]:.3f} -> {total[k]:.3f} (here {cost[0]:.3f} -> "
            f"{cost[k]:.3f}, others {cost2[0]:.3f} -> {cost2[k]:.3f}) choice {k} longest {longest:.3f} | "
            + " ".join(f"{name} {value}" for name, value in worth.items() if value > 0.01), flush=True,
        )  # fmt: skip
        if k == 0:
            longest *= 0.6
        elif size_of[(k - 1) % len(DAMPING)] > longest:
            longest *= 1.25
        point = tried[k]
        note = {
            "stage": f"newton {options.part}", "rounds": rounds, "size": size, "seed": options.seed,
            "numbers": len(moved), "score": round(float(total[k]), 3),
            "date": datetime.datetime.now(datetime.UTC).date().isoformat(),
        }  # fmt: skip
        keep(tables(point[None], row, moved)[0], template, note, options.out)


def slopes_of(text: str) -> tuple[float, float]:
    """Two slopes from the command line."""
    low, high = (float(part) for part in text.split(":"))
    return low, high


def main() -> None:
    parser = parser_of(__doc__, MOVED, part="slopes bend", size=6, fresh=1)
    parser.add_argument("--longest", type=float, default=0.03, help="first bound of a number's step, in its range")
    parser.add_argument("--slopes", type=slopes_of, default=(-11.9, -4.1), help="of the triples of neighbours, a:b")
    parser.add_argument("--alone", action="store_true", help="these triples alone: for a few knots on a processor")
    parser.add_argument("--ways", action="store_true", help="ramps with ends have a say in the length of a step")
    search(parser.parse_args())


if __name__ == "__main__":
    main()
