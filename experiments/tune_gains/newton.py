"""Bring every line of the walk inside its limits by Gauss-Newton steps: all numbers of a part at once.

    python -m experiments.tune_gains.newton --part "slopes bend" --ways --out gains.json --seconds 480
    python -m experiments.tune_gains.newton --part window --walks window --some 120 \
        --slopes=-11.95:-6.5 --size 1 --out gains.json

A settled gait changes smoothly with its gains. So what each line of each walk does when one number moves is measured
(central differences, thousands of walks), and a least-squares problem tells how to move all numbers: how far every line
is outside its limits, squared, and how uneven the map is. Of steps of several lengths the one is taken that is best on
the same walks, on walks that were not measured, and on ramps with ends. Every round draws new walks, or takes those of
the acceptance report (`--walks report`): its human walks, and of its map the neighbours that are least even by then.
"""

from __future__ import annotations

import argparse
import datetime
import json
import time
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from experiments.tune_gains.encode import LITTLE_YIELD, STEP, TIME, VALUE, YIELD, encode, read, tables
from experiments.tune_gains.joint import (
    PARTS,
    TIME_STEP,
    Judges,
    Part,
    numbers_of,
    parser_of,
    triples_between,
    ways_of,
)
from experiments.tune_gains.newton_walks import DRAWS, SOME, Cells, cells_of_report
from experiments.tune_gains.polish import keep
from experiments.tune_gains.scenarios import pack
from experiments.tune_gains.score import COLUMN, DEGREE, excess

#: How far a number is moved to see what it does, in ranges of the gain.
PROBE = 0.003
#: Steps after which a gait has settled, and how many of the last ones are looked at (a slow drift shows at the end).
SETTLED, LAST = 9, 12
#: What is outside counts so much per tolerance, at most; a fall costs this.
MOST, FALL = 6.0, 200.0
#: Deviation from the neighbours' mean that is free, and the tolerance [BW]; its weight beside a line.
FREE, ROUGH_TOLERANCE, ROUGH = 0.055, 0.015, 2.0
#: Weight of the ways with ends.
WAYS = 0.03
#: Weight of a line where nobody asks for it: beside the window, or steeper than the map.
BESIDE = 0.1
#: Steepest slope at which more is asked for than a walk with human peaks [rad].
STEEPEST_ASKED = -12.05 * DEGREE
#: A step is judged with gains that are off by so much as well, so many times: what works at one point only is no gait.
OFF, OFTEN = 0.002, 3
#: The mean of so many of the last rounds is kept too: smoother than any of them.
LATEST = 8
#: What can be moved: as in the joint search, and knots few enough for processors.
MOVED = PARTS | {
    "steepest": Part(((-12.0,), (-10.0,)), (VALUE,), (), habits=False),
    "steeper": Part(((-16.0,),), (VALUE, STEP, TIME, YIELD, LITTLE_YIELD), ()),
    "window": Part(((-10.0,), (-9.0,), (-8.0,)), (VALUE, STEP, YIELD, LITTLE_YIELD), (), habits=False),
    "haste level": Part(((0.0,),), (TIME,), ()),
    "haste": Part(((-12.0,), (-10.0,), (-9.0,), (-8.0,), (-6.0,), (-4.0,), (0.0,)), (TIME,), ()),
}
#: Lengths of the steps that are tried: damping of the least squares.
DAMPING = tuple(10.0**k for k in np.arange(-3.0, 2.1, 0.5))


class Line(NamedTuple):
    """A wish: inside low to high, in tolerances beyond, for some walks."""

    name: str
    low: float
    high: float
    tolerance: float
    weight: float
    who: str = "all"  # prosthesis, middle (of the window, downhill); less beside: window, map


#: With room to spare to the limits of the acceptance report. All ours.
LINES = (
    Line("knee at sound landing", 25.6, 50.0, 0.5, 1.0, "middle"),
    Line("prosthetic peak", 0.97, 1.25, 0.04, 1.0),
    Line("sound peak", 1.02, 1.30, 0.04, 1.0),
    Line("trunk back", -5.75, 90.0, 0.25, 1.0, "map"),
    Line("trunk forward", -90.0, 5.75, 0.25, 1.0, "map"),
    Line("sound knee", 12.0, 34.2, 1.0, 1.0, "window"),
    Line("double support", 0.12, 0.28, 0.03, 1.0),
    Line("knee at landing", -2.0, 4.5, 3.0, 1.0, "prosthesis"),
    Line("swing knee", 54.0, 77.0, 5.0, 0.7, "middle"),
    Line("sound step", 0.95, 1.05, 0.03, 1.0),
    Line("other step", 0.95, 1.05, 0.03, 1.0),
    Line("speed", 0.97, 1.03, 0.03, 1.0),
    Line("sound step varies", 0.0, 0.01, 0.005, 1.0),
    Line("other step varies", 0.0, 0.01, 0.005, 1.0),
    Line("sound step time varies", 0.0, 0.01, 0.005, 1.0),
    Line("other step time varies", 0.0, 0.01, 0.005, 1.0),
    Line("prosthetic peak varies", 0.0, 0.012, 0.006, 0.7),
    Line("sound peak varies", 0.0, 0.012, 0.006, 0.7),
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
    used = done & (xp.arange(steps.shape[1])[None, :] >= xp.maximum(SETTLED, done.sum(1) - LAST)[:, None])
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
        xp.where(used, col("trunk", 0), 1.0).min(1) / DEGREE,
        xp.where(used, col("trunk", 2), -1.0).max(1) / DEGREE,
        mean(col("knee_early_peak"), other) / DEGREE,
        mean(col("double_support") / known["step_time"][:, None], used),
        mean(col("knee_at_landing"), other) / DEGREE,
        mean(col("knee_swing_peak"), other) / DEGREE,
        mean(col("length"), sound) / step,
        mean(col("length"), other) / step,
        mean(col("speed"), used) / known["speed"],
        spread(col("length"), sound) / step,
        spread(col("length"), other) / step,
        spread(col("duration"), sound) / known["step_time"],
        spread(col("duration"), other) / known["step_time"],
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
    """All draws of one seed, or cells of the report: walks them with many gain records. `some` is a key of `SOME`."""

    def __init__(self, slopes: tuple[float, float], seed: int, size: int, some: str | Cells) -> None:
        from experiments.tune_gains.walks import best_walks

        self.drawn, weights, masks, self.triples = [], [], [], np.zeros((0, 3), np.int64)
        if isinstance(some, Cells):
            draws, self.triples = some.draws(), np.array(some.triples, np.int64).reshape(-1, 3)
        else:
            drawers = [drawer or triples_between(*slopes) for drawer in SOME[some]]
            draws = [drawer(np.random.default_rng([seed, i]), size) for i, drawer in enumerate(drawers)]
        for draw in draws:
            settings, plants, known = pack(draw.walkers)
            if draw.triples:
                self.triples = np.arange(len(settings)).reshape(-1, 3)  # the first draw
            walks = best_walks(settings, plants)
            self.drawn.append(Drawn(walks, {k: walks.xp.asarray(v) for k, v in known.items()}, draw.seconds))
            weights.append(np.full(len(settings), DRAWS[draw.name]))
            prosthesis = known["passive"] > 0.5
            middle = prosthesis & (known["middle"] > 0.5) & (known["slope"] < -7.0 * DEGREE)
            steeper = known["slope"] < STEEPEST_ASKED
            window = np.where(prosthesis & ((known["middle"] < 0.5) | steeper), BESIDE, 1.0)
            who = {
                "all": np.ones(len(settings)), "prosthesis": prosthesis, "middle": middle & ~steeper,
                "window": window, "map": np.where(steeper, BESIDE, 1.0),
            }  # fmt: skip
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


def merit(
    walkers: Walkers, values: np.ndarray[Any, Any], fell: np.ndarray[Any, Any], most: float = MOST
) -> tuple[Any, dict[str, float]]:
    """Cost of each point, shape (points,), and what that of the first is made of."""
    out = np.minimum(excess(np, values, LOW, HIGH, TOLERANCE), most) ** 2 * LINE_WEIGHT * walkers.mask
    out = np.where(fell[:, :, None], 0.0, out)
    count = walkers.weights.sum()
    lines = (out * walkers.weights[:, None]).sum(1) / count
    falls = (fell * walkers.weights).sum(1) * FALL / count
    rough = np.zeros(len(values))
    for peak in PEAKS:
        three = values[:, walkers.triples, peak]
        whole = ~fell[:, walkers.triples].any(2)
        off = excess(np, three[:, :, 1] - 0.5 * (three[:, :, 0] + three[:, :, 2]), -FREE, FREE, ROUGH_TOLERANCE)
        rough += ROUGH * np.where(whole, np.minimum(off, most) ** 2, 0.0).sum(1) / count
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


def worst_of(judges: Judges, key: Any, gains: np.ndarray[Any, Any], count: int) -> list[int]:
    """The triples of neighbours that are least even, worst last; a fall beside two that walk is worse than any."""
    values, fell = spread_over(judges, key, gains)
    triples = np.array(key[3].triples)
    three, falls = values[0][triples][:, :, PEAKS], fell[0][triples].sum(1)
    off = np.abs(three[:, 1] - 0.5 * (three[:, 0] + three[:, 2])).max(1)
    off = np.where(falls == 0, off, np.where(falls == 1, 1.0, 0.0))  # of two or three falls nothing can be compared
    return [int(k) for k in np.argsort(off, kind="stable")[-count:]]


def slopes_at(
    judges: Judges, key: Any, point: np.ndarray[Any, Any], ways: np.ndarray[Any, Any], row: Any, moved: Any, once: bool
) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Lines of each walk, how they change with each way, and which walks lasted.

    Central differences, or with `once` those to one side.
    """
    n = len(ways)
    probes = [point[None], point + PROBE * ways] + ([] if once else [point - PROBE * ways])
    values, fell = spread_over(judges, key, tables(np.concatenate(probes), row, moved))
    back = slice(0, 1) if once else slice(n + 1, None)
    slope = (values[1 : n + 1] - values[back]) / (PROBE if once else 2.0 * PROBE)
    slope[fell[1 : n + 1] | fell[back]] = 0.0
    return values[0].astype(float), slope, ~fell[0]


def search(options: argparse.Namespace) -> None:
    """Step after step until the time is over; the gains are always in `options.out`."""
    begin = time.time()
    template = json.loads(options.start.read_text())
    row, part, size = read(template), MOVED[options.part], options.size
    moved = numbers_of(part, row)
    all_ways = ways_of(part, moved, row)
    low = np.array([0.002 if c.term == VALUE else -3.0 for c in moved])
    high = np.array([0.998 if c.term == VALUE else 3.0 for c in moved])
    point = np.clip(encode(row, moved), low, high)
    judges = Judges(options.workers)
    print(f"{len(moved)} numbers, {len(all_ways)} ways", flush=True)
    latest: list[Any] = []
    rounds, longest = 0, options.longest
    while time.time() - begin < options.seconds:
        seed = 1000 * options.seed + rounds // options.fresh
        if options.walks == "report":
            other_key = (options.slopes, 0, 0, cells_of_report())
            worst = worst_of(judges, other_key, tables(point[None], row, moved), 10 * size)
            key = (*other_key[:3], other_key[3].among(worst))
        else:
            key, other_key = ((options.slopes, s, size, options.walks) for s in (seed, 500 + seed))
        walkers, others = Walkers(*key), Walkers(*other_key)
        rng = np.random.default_rng([options.seed, rounds])
        ways = all_ways[np.sort(rng.permutation(len(all_ways))[: options.some])]
        base, slope, usable = slopes_at(judges, key, point, ways, row, moved, options.some is not None)
        steps = best_step(walkers, base, slope, usable, DAMPING[:: 2 if options.some else 1])
        size_of = np.abs(steps).max(1)
        steps *= np.minimum(1.0, longest / np.maximum(size_of, 1e-9))[:, None]
        tried = np.concatenate([point[None], *(point + (share * steps) @ ways for share in (1.0, 0.5))])
        tried = np.clip(tried, low, high)
        off = OFF * rng.standard_normal((0 if options.some else OFTEN, len(moved)))
        about = np.clip(tried[None] + np.concatenate([np.zeros((1, len(moved))), off])[:, None], low, high)
        records, near = tables(tried, row, moved), tables(about.reshape(-1, len(moved)), row, moved)
        cost, shown = merit(walkers, *spread_over(judges, key, near), options.most)
        cost2, shown2 = merit(others, *spread_over(judges, other_key, near), options.most)
        cost, cost2 = (c.reshape(len(off) + 1, -1).mean(0) for c in (cost, cost2))
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
        elif size_of[(k - 1) % len(steps)] > longest:
            longest = min(1.25 * longest, options.longest)
        point = tried[k]
        note = {
            "stage": f"newton {options.part}", "rounds": rounds, "size": size, "seed": options.seed,
            "numbers": len(moved), "score": round(float(total[k]), 3),
            "date": datetime.datetime.now(datetime.UTC).date().isoformat(),
        }  # fmt: skip
        keep(tables(point[None], row, moved)[0], template, note, options.out)
        latest = [*latest[-LATEST + 1 :], point]
        mean = {**note, "stage": f"{note['stage']}, mean of {len(latest)} rounds"}
        keep(tables(np.mean(latest, 0)[None], row, moved)[0], template, mean, mean_of(options.out))


def mean_of(out: Path) -> Path:
    """Where the mean of the last rounds goes, beside the last."""
    return out.with_stem(f"{out.stem}-mean")


def slopes_of(text: str) -> tuple[float, float]:
    """Two slopes from the command line."""
    low, high = (float(part) for part in text.split(":"))
    return low, high


def main() -> None:
    parser = parser_of(__doc__, MOVED, part="slopes bend", size=6, fresh=1)
    parser.add_argument("--longest", type=float, default=0.03, help="bound of a number's step, in its range")
    parser.add_argument("--slopes", type=slopes_of, default=(-11.9, -4.1), help="of the triples of neighbours, a:b")
    parser.add_argument("--walks", choices=[*SOME, "report"], default="all", help="what is walked beside these triples")
    parser.add_argument("--some", type=int, help="so many numbers a round, one probe each: for processors")
    parser.add_argument("--most", type=float, default=MOST, help="a line counts so many tolerances outside, at most")
    parser.add_argument("--ways", action="store_true", help="ramps with ends have a say in the length of a step")
    search(parser.parse_args())


if __name__ == "__main__":
    main()
