"""Search the gains for everything at once: slopes down and up, quick steps, other people, and ramps with ends.

    python -m experiments.tune_gains.joint --part down --out gains.json --seconds 480
    python -m experiments.tune_gains.joint --part down --out gains.json --workers 2 --size 1 --population 16

As `search.py`, but with a draw in groups, each with its own weight, and with each number of the search in its own unit:
how far it may move before the score changes. Spread over all CUDA cards of the machine; without one, over processors.
"""

from __future__ import annotations

import argparse
import datetime
import json
import multiprocessing
import os
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from experiments.tune_gains.encode import (
    LITTLE_YIELD,
    STEP,
    TIME,
    VALUE,
    YIELD,
    Coordinate,
    coordinates,
    encode,
    read,
    tables,
)
from experiments.tune_gains.polish import ON_A_WAY, WAY_SECONDS, WEIGHT, OnWay, keep, one, way
from experiments.tune_gains.scenarios import pack
from experiments.tune_gains.score import SKIP, bumps
from experiments.tune_gains.score import terms as score_terms
from experiments.tune_gains.search import knot_at
from sim.gains import GAINS_FILE
from sim.law.records import GAIN_NAMES
from sim.scenario import Knee, Person, Scenario, replace_by_name

TIME_STEP = 5e-4
ABLE = Person(limbs="both-sound")
#: Weight of the roughness of the map, steps after which it is read, and steps after which such walks are judged: the
#: felt yield settles in four strides.
ROUGH, SETTLED, FELT = 45.0, 9, 8
#: What is weighed otherwise than in the score.
WEIGHT_HERE = WEIGHT | {"double support": 5.0, "trunk": 4.0}
#: As that, where the prosthetic knee is to bend farther in the middle of the window.
WEIGHT_BEND = WEIGHT_HERE | {"yield": 4.0, "loading knee": 4.0}
#: Distances of neighbours: degrees of slope, metres of step, ratio of resistance, as on a map of 7 by 7 by 7.
APART = (4.0 / 3.0, 1.0 / 30.0, 1.24)
#: What is otherwise than usual, one thing at a time, and from where to where.
OTHERWISE = (
    ("trunk_lean_deg", -9.0, 6.0), ("cadence_steps_per_min", 78.0, 106.0), ("knee.extension_assist_nm", 2.5, 6.0),
    ("person.stature_m", 1.55, 1.92), ("person.mass_kg", 52.0, 108.0),
)  # fmt: skip


class Draw(NamedTuple):
    """Walks that last equally long and how much their mean score weighs."""

    name: str
    weight: float
    seconds: float
    walkers: list[Any]
    triples: bool


class Part(NamedTuple):
    """What one search moves, and on which walks it is judged."""

    knots: tuple[tuple[float, ...], ...]  # those in one tuple share the term in the felt yield
    terms: tuple[int, ...]
    draws: tuple[Callable[[np.random.Generator, int], Draw], ...]
    shares: tuple[float, ...] = ()  # by how much the knots of a tuple move together; nothing: each for itself
    weight: dict[str, float] = WEIGHT_HERE
    habits: bool = True


def person_of(rng: np.random.Generator, others: float) -> tuple[Person, float, float]:
    """The default person or, with this chance, another; factors of step length and resistance."""
    if rng.random() > others:
        return Person(), 1.0, 1.0
    mass, stature = rng.uniform(53.0, 105.0), rng.uniform(1.58, 1.92)
    return Person(mass_kg=mass, stature_m=stature), stature / 1.75, mass / 75.0


def spread(rng: np.random.Generator, count: int, low: float, high: float) -> np.ndarray[Any, Any]:
    """Random numbers that fill a range evenly, in random order."""
    places: np.ndarray[Any, Any] = rng.permutation(count) + rng.random(count)
    return low + (high - low) * places / count


def triples_between(low: float, high: float) -> Callable[[np.random.Generator, int], Draw]:
    """Triples of neighbours on even slopes, most in the middle of the window."""

    def draw(rng: np.random.Generator, size: int) -> Draw:
        count = 44 * size // 4
        walkers = []
        slopes, steps, shares = spread(rng, count, low, high), spread(rng, count, 0.4, 0.6), spread(rng, count, 0, 1)
        for i, (any_slope, step, share) in enumerate(zip(slopes, steps, shares, strict=True)):
            if i % 5 < 3:  # the middle of the window, its ends more often: there one gait has to serve both
                resistance = 24.5 * (51.0 / 24.5) ** (0.5 - 0.5 * np.cos(np.pi * share))
            else:
                resistance = 28.0 * 4.0**share
            person, longer, stiffer = person_of(rng, 0.15)
            along = (0, 1, 0, 2, 0)[int(rng.integers(5))]  # over slope the map is roughest
            slope = np.clip(any_slope, low + APART[0], high - APART[0]) if along == 0 else any_slope
            for k in (-1, 0, 1):
                length = (step + (APART[1] * k if along == 1 else 0.0)) * longer
                tilt = slope + (APART[0] * k if along == 0 else 0.0)
                walkers.append(one(tilt, length, resistance * stiffer * (APART[2] ** k if along == 2 else 1), person))
        return Draw("even", 1.0, 12.5, walkers, True)

    return draw


def other_walks(rng: np.random.Generator, size: int) -> Draw:
    """Leans, paces, knees and people other than usual."""
    count = 6 * size
    slopes, shares = spread(rng, count, -10.7, -4.0), spread(rng, count, 0.0, 1.0)
    walkers = []
    for i, (slope, share) in enumerate(zip(slopes, shares, strict=True)):
        name, low, high = OTHERWISE[i % len(OTHERWISE)]
        plain = Scenario(slope_deg=slope, knee=Knee(flexion_resistance=float(rng.uniform(32.0, 55.0))))
        walkers.append(replace_by_name(plain, {name: float(low + (high - low) * share)}))
    return Draw("otherwise", 0.25, 10.0, walkers, False)


def able_walks(
    rng: np.random.Generator, slopes: np.ndarray[Any, Any], speeds: np.ndarray[Any, Any]
) -> list[Scenario]:
    """Able-bodied people on these slopes [deg] at these speeds, steps about as long as people take them."""
    walkers = []
    for slope, speed in zip(slopes, speeds, strict=True):
        length = 0.67 * (speed / 1.25) ** 0.5 * rng.uniform(0.97, 1.03) * (1.0 + 0.006 * slope)
        walkers.append(Scenario(slope_deg=float(slope), step_length_m=length, speed_m_s=float(speed), person=ABLE))
    return walkers


def quick_walks(rng: np.random.Generator, size: int) -> Draw:
    """Able-bodied people at their speeds, steps as people take them, and quick steps with a prosthesis."""
    slopes, speeds = np.concatenate([np.zeros(size), spread(rng, size, -9.5, 0.5)]), spread(rng, 2 * size, 0.95, 1.33)
    walkers = able_walks(rng, slopes, speeds)
    for slope, cadence in zip(spread(rng, size, -10.0, 0.5), spread(rng, size, 92.0, 106.0), strict=True):
        length = float(rng.uniform(0.44, 0.56))
        plain = one(float(slope), length, 40.0)
        walkers.append(replace(plain, speed_m_s=length * cadence / 60.0))
    return Draw("quick", 0.15, 10.0, walkers, False)


def odd_steps(rng: np.random.Generator, size: int) -> Draw:
    """Steps shorter and longer than asked for."""
    count = 2 * size
    walkers = []
    for i, (slope, share) in enumerate(zip(spread(rng, count, -10.0, -4.0), spread(rng, count, 0, 1), strict=True)):
        step = 0.345 + 0.05 * share if i % 2 else 0.6 + 0.055 * share
        walkers.append(one(float(slope), float(step), float(rng.uniform(30.0, 70.0))))
    return Draw("odd steps", 0.05, 10.0, walkers, False)


def level_walks(rng: np.random.Generator, size: int) -> Draw:
    """Level ground and what lies next to it."""
    walkers = [
        one(float(slope), float(step), float(rng.uniform(30.0, 100.0)), person_of(rng, 0.2)[0])
        for slope, step in zip(spread(rng, size, -3.5, 1.0), spread(rng, size, 0.42, 0.58), strict=True)
    ]
    return Draw("level", 0.15, 11.0, walkers, False)


def ways_between(low: float, high: float, each: int) -> Callable[[np.random.Generator, int], Draw]:
    """Ramps with ends."""

    def draw(rng: np.random.Generator, size: int) -> Draw:
        count = each * size
        walkers = []
        for slope, step in zip(spread(rng, count, low, high), spread(rng, count, 0.42, 0.57), strict=True):
            person, longer, stiffer = person_of(rng, 0.4)
            plain = one(0.0, float(step) * longer, float(rng.uniform(34.0, 55.0)) * stiffer, person)
            walkers.append(OnWay(plain, way(float(slope))))
        return Draw("ways", 0.25, WAY_SECONDS, walkers, False)

    return draw


def uphill(rng: np.random.Generator, size: int) -> Draw:
    """Up, most of it gently."""
    count = 18 * size // 2
    walkers = []
    for share, step in zip(spread(rng, count, 0.0, 1.0), spread(rng, count, 0.4, 0.58), strict=True):
        person, longer, _ = person_of(rng, 0.25)
        walkers.append(one(float(0.3 + 9.2 * share**1.3), float(step) * longer, 60.0, person))
    return Draw("uphill", 1.0, 15.0, walkers, False)


PARTS = {
    "down": Part(
        ((-12.0, -10.0, -9.0, -8.0), (-6.0, -4.0), (0.0,)), (VALUE, STEP, TIME),
        (triples_between(-11.9, -4.1), other_walks, quick_walks, level_walks, ways_between(-7.2, -2.6, 3)),
    ),
    "slopes": Part(
        ((-12.0, -10.0, -9.0, -8.0), (-6.0, -4.0)), (VALUE, STEP, YIELD),
        (triples_between(-11.9, -4.1), other_walks, quick_walks, odd_steps, ways_between(-7.2, -2.6, 3)),
    ),
    "bend": Part(
        ((-12.0, -10.0, -9.0, -8.0, -6.0),), (VALUE, STEP, YIELD),
        (triples_between(-11.9, -5.0), other_walks, quick_walks, odd_steps), (1.0, 1.0, 1.0, 1.0, 0.5), WEIGHT_BEND,
    ),
    "slopes bend": Part(
        ((-12.0, -10.0, -9.0, -8.0), (-6.0, -4.0)), (VALUE, STEP, YIELD, LITTLE_YIELD),
        (triples_between(-11.9, -4.1), other_walks, quick_walks, odd_steps, ways_between(-7.2, -2.6, 3)),
        weight=WEIGHT_BEND,
    ),
    "ways alone": Part((), (), (ways_between(-7.2, -2.6, 3),)),
    "up": Part(((2.5,), (5.0,), (9.0,)), (VALUE, STEP), (uphill,)),
    "up with ways": Part(((2.5,), (5.0,), (9.0,)), (VALUE, STEP), (uphill, ways_between(2.4, 5.2, 6))),
    "steep": Part(((-16.0,),), (VALUE, STEP), (triples_between(-14.6, -12.4),)),
}  # fmt: skip


class Group(NamedTuple):
    """A draw, packed and ready to walk."""

    draw: Draw
    walks: Any
    known: dict[str, Any]


class Bench:
    """One draw of every group, ready to judge points of the search."""

    def __init__(self, part: str, seed: int, size: int) -> None:
        from experiments.tune_gains.walks import best_walks

        self.groups, self.weight = [], PARTS[part].weight
        for i, drawn in enumerate(PARTS[part].draws):
            draw = drawn(np.random.default_rng([seed, i]), size)
            scenarios = [w.scenario if isinstance(w, OnWay) else w for w in draw.walkers]
            settings, plants, known = pack(scenarios)
            for row, walker in zip(settings, draw.walkers, strict=True):
                if isinstance(walker, OnWay):
                    walker.profile.fill(row["ground"])
            walks = best_walks(settings, plants)
            self.groups.append(Group(draw, walks, {k: walks.xp.asarray(v) for k, v in known.items()}))

    def judge(self, gains: np.ndarray[Any, Any]) -> tuple[np.ndarray[Any, Any], dict[str, np.ndarray[Any, Any]]]:
        """Cost of each gain record, shape (points,), and what it is made of."""
        p, cost = len(gains), np.zeros(len(gains))
        parts: dict[str, np.ndarray[Any, Any]] = {}
        waits = [walks.start(gains, draw.seconds, TIME_STEP) for draw, walks, _ in self.groups]
        for (draw, walks, known), wait in zip(self.groups, waits, strict=True):
            xp, m = walks.xp, len(draw.walkers)
            steps, status, lasted = wait()
            tiled = {name: xp.tile(value, p) for name, value in known.items()}
            skip = FELT if draw.triples else SKIP
            found = score_terms(xp, steps, status, lasted, tiled, draw.seconds, skip)
            if draw.name == "ways":
                found = {name: found[name] for name in ON_A_WAY}
            total = sum(self.weight.get(name, 1.0) * value for name, value in found.items()).reshape(p, m)
            worst = xp.sort(total, 1)[:, -max(1, m // 7) :].mean(1)
            one_cost = draw.weight * (total.mean(1) + 0.3 * worst)
            if draw.triples:
                triple = xp.arange(p * m).reshape(-1, 3)
                rough = bumps(xp, steps, status, tiled["weight"], triple, SETTLED).reshape(p, m // 3).mean(1)
                one_cost = one_cost + ROUGH * rough
                parts["rough"] = _host(xp, ROUGH * rough)
                for name, value in found.items():
                    parts[name] = _host(xp, value.reshape(p, m).mean(1))
            parts[f"{draw.name} cost"] = _host(xp, one_cost)
            parts[f"{draw.name} fell"] = _host(xp, (status.reshape(p, m) > 0).mean(1))
            cost += parts[f"{draw.name} cost"]
        return cost, parts


def _host(xp: Any, value: Any) -> np.ndarray[Any, Any]:
    return np.asarray(value if xp is np else xp.asnumpy(value), float)


_BENCH: dict[Any, Bench] = {}


def take_card(cards: Any) -> None:
    """Let this process see one card only."""
    if not cards.empty():
        os.environ["CUDA_VISIBLE_DEVICES"] = str(cards.get())


def judge_in_worker(key: tuple[str, int, int], gains: np.ndarray[Any, Any]) -> Any:
    """As Bench.judge, in a worker process that keeps its bench."""
    if key not in _BENCH:
        _BENCH.clear()
        _BENCH[key] = Bench(*key)
    return _BENCH[key].judge(gains)


def cards_here() -> list[str]:
    """CUDA cards that this process may use."""
    seen = os.environ.get("CUDA_VISIBLE_DEVICES")
    if seen is not None:
        return [card for card in seen.split(",") if card]
    return [str(i) for i in range(len(list(Path("/proc/driver/nvidia/gpus").glob("*"))))]


class Judges:
    """Worker processes that share the points of a generation."""

    def __init__(self, workers: int) -> None:
        context = multiprocessing.get_context("spawn")
        cards = cards_here()
        queue = context.Queue()
        for card in cards:
            queue.put(card)
        self.count = len(cards) or workers
        print(f"{self.count} workers, {len(cards)} cards", flush=True)
        self.pool = ProcessPoolExecutor(self.count, context, take_card, (queue,))

    def judge(self, key: Any, gains: np.ndarray[Any, Any]) -> tuple[np.ndarray[Any, Any], dict[str, Any]]:
        shares = [share for share in np.array_split(gains, self.count) if len(share)]
        results = [job.result() for job in [self.pool.submit(judge_in_worker, key, share) for share in shares]]
        names = results[0][1]
        return np.concatenate([r[0] for r in results]), {n: np.concatenate([r[1][n] for r in results]) for n in names}


def units_of(
    judges: Judges, key: tuple[str, int, int], row: Any, moved: Any, point: np.ndarray[Any, Any], rise: float,
    ways: np.ndarray[Any, Any],
) -> np.ndarray[Any, Any]:  # fmt: skip
    """How far one may go each way until the score has changed by about `rise`, in ranges of the gains."""
    probe = 0.02
    points = np.repeat(point[None], 2 * len(ways) + 1, 0)
    points[:-1:2] += probe * ways
    points[1:-1:2] -= probe * ways
    cost = judges.judge(key, tables(points, row, moved))[0]
    change = np.abs(cost[:-1] - cost[-1]).reshape(-1, 2).mean(1)
    units: np.ndarray[Any, Any] = np.clip(probe * np.sqrt(rise / np.maximum(change, 1e-6)), 0.002, 0.08)
    return units


def numbers_of(part: Part, row: Any) -> list[Coordinate]:
    """What a part moves; how a walk starts from rest on a slope is left, as no walk here does."""
    tied = [tuple(knot_at(row, slope) for slope in slopes) for slopes in part.knots]
    alone = [(knot,) for knots in tied for knot in knots]
    steep = [knot for knot in range(len(row["slope"])) if row["slope"][knot] < -0.06]
    found = coordinates(alone, [term for term in part.terms if term not in (YIELD, LITTLE_YIELD)], part.habits)
    found += coordinates(alone if part.shares else tied, [YIELD], habits=False) if YIELD in part.terms else []
    found += coordinates(alone, [LITTLE_YIELD], habits=False) if LITTLE_YIELD in part.terms else []
    return [n for n in found if not (GAIN_NAMES[n.gain].startswith("start_") and set(n.knots) & set(steep))]


def ways_of(part: Part, moved: list[Coordinate], row: Any) -> np.ndarray[Any, Any]:
    """Which numbers move together and by which share, shape (ways, numbers): each alone if the part has no shares."""
    if not part.shares:
        return np.eye(len(moved))
    share = {knot_at(row, slope): s for slopes in part.knots for slope, s in zip(slopes, part.shares, strict=True)}
    which = [(number.term, number.gain) for number in moved]
    found = np.zeros((len(set(which)), len(moved)))
    for i, one_way in enumerate(dict.fromkeys(which)):
        for k, number in enumerate(moved):
            found[i, k] = share[number.knots[0]] if which[k] == one_way else 0.0
    return found


def search(options: argparse.Namespace) -> None:
    """Search one part; the mean of the last generations goes to `options.out`."""
    import cma

    begin = time.time()
    template = json.loads(options.start.read_text())
    row = read(template)
    part = PARTS[options.part]
    moved = numbers_of(part, row)
    low = np.array([0.0 if c.term == VALUE else -3.0 for c in moved])
    high = np.array([1.0 if c.term == VALUE else 3.0 for c in moved])
    point = np.clip(encode(row, moved), low + 0.003, high - 0.003)
    judges, size, ways = Judges(options.workers), options.size, ways_of(part, moved, row)
    units = units_of(judges, (options.part, options.seed, size), row, moved, point, options.rise, ways)
    middle = np.percentile(units, (5, 50, 95)).round(4)
    print(f"{len(moved)} numbers, {len(ways)} ways, units {middle}, {time.time() - begin:.0f} s")
    settings = {
        "popsize": options.population, "seed": options.seed, "verbose": -9, "CMA_stds": units,
        "CMA_diagonal": not part.shares, "AdaptSigma": cma.sigma_adaptation.CMAAdaptSigmaCSA,
    }  # fmt: skip
    strategy = cma.CMAEvolutionStrategy(np.zeros(len(ways)), options.sigma, settings)
    generation, first, last = 0, np.nan, False
    while not last:
        key = (options.part, 100 * options.seed + generation // options.fresh, size)
        asked = np.array(strategy.ask())
        wanted = point + np.concatenate([asked, strategy.mean[None]]) @ ways
        inside = np.clip(wanted, low, high)
        cost, parts = judges.judge(key, tables(inside, row, moved))
        mine = {name: value[-1] for name, value in parts.items()}
        at_mean, cost = cost[-1], cost[:-1]
        outside = 0.01 * (((wanted - inside)[:-1] / (units @ ways)) ** 2).sum(1)
        strategy.tell(list(asked), list(cost + outside))
        generation += 1
        last = time.time() - begin > options.seconds
        first = at_mean if generation == 1 else first
        if generation > 30 and at_mean > 3.0 * first:
            raise SystemExit("the search has lost its way")
        if generation % 10 == 1 or last:
            shown = " ".join(f"{name} {value:.2f}" for name, value in mine.items() if value > 0.005)
            print(
                f"{options.part} {generation} {time.time() - begin:.0f} s mean {at_mean:.2f} median "
                f"{np.median(cost):.2f} sigma {strategy.sigma:.3f} | {shown}", flush=True,
            )  # fmt: skip
            mean = np.clip(point + np.asarray(strategy.mean) @ ways, low, high)
            note = {
                "stage": f"joint {options.part}", "generations": generation, "population": options.population,
                "size": size, "sigma": options.sigma, "seed": options.seed, "numbers": len(moved),
                "score": round(float(at_mean), 3), "date": datetime.datetime.now(datetime.UTC).date().isoformat(),
            }  # fmt: skip
            keep(tables(mean[None], row, moved)[0], template, note, options.out)


def parser_of(text: str | None, parts: dict[str, Part], **usual: Any) -> argparse.ArgumentParser:
    """Options that the searches of whole parts have alike; `usual` holds their values."""
    parser = argparse.ArgumentParser(description=text, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--part", choices=[name for name, part in parts.items() if part.knots])
    parser.add_argument("--seconds", type=float, default=480.0)
    parser.add_argument("--size", type=int, help="walks in a draw, in quarters of the usual number")
    parser.add_argument("--fresh", type=int, help="generations or rounds between draws")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2, help="processes, without a card")
    parser.set_defaults(**usual)
    return parser


def main() -> None:
    parser = parser_of(__doc__, PARTS, part="down", size=4, fresh=12)
    parser.add_argument("--population", type=int, default=256)
    parser.add_argument("--sigma", type=float, default=0.6, help="first spread, in units of each number")
    parser.add_argument("--rise", type=float, default=0.1, help="change of the score that makes a unit")
    search(parser.parse_args())


if __name__ == "__main__":
    main()
