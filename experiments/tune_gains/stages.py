"""The order in which the gains are found: gentle slopes first, then outwards; each stage moves its knots only."""

from __future__ import annotations

from dataclasses import dataclass

from experiments.tune_gains.encode import STEP, TIME, VALUE


@dataclass(frozen=True)
class Stage:
    """One search. Slopes in degrees, negative downhill."""

    name: str
    knots: tuple[tuple[float, ...], ...]  # slopes of the knots whose gains move; those in one tuple together
    slopes: tuple[float, float]  # of the walks
    generations: int
    terms: tuple[int, ...] = (VALUE, STEP)
    shared: bool = False  # whether the gains that are the same everywhere move as well
    like: float | None = None  # begin with the gains of this knot
    able: bool = False  # able-bodied walkers instead of people with a prosthesis
    sigma: float = 0.05
    population: int = 256
    triples: int = 20
    fresh: int = 40  # generations between draws of scenarios


STAGES = (
    Stage(
        "gentle",
        ((-4.0,), (-8.0, -10.0, -12.0, -16.0)),
        (-9.0, -3.4),
        700,
        shared=True,
        sigma=0.03,
        population=192,
        triples=16,
    ),
    Stage("steep", ((-10.0,), (-12.0, -16.0)), (-12.5, -8.2), 450, sigma=0.04, population=192, triples=15),
    Stage("very steep", ((-16.0,),), (-15.6, -12.4), 80, population=128, triples=12),
    Stage("uphill", ((5.0,),), (1.0, 5.6), 80, like=0.0, population=128, triples=12),
    Stage("all", ((-12.0,), (-10.0,), (-8.0,), (-4.0,), (0.0,)), (-12.2, -3.6), 300, sigma=0.015, triples=32),
    Stage("brisk", (), (-10.0, 0.0), 200, terms=(TIME,), shared=True, able=True, sigma=0.1),
)
