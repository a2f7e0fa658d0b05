"""The order in which the gains are found: gentle slopes first, then outwards; each stage moves its knots only."""

from __future__ import annotations

from dataclasses import dataclass

from experiments.tune_gains.encode import STEP, VALUE


@dataclass(frozen=True)
class Stage:
    """One search. Slopes in degrees, negative downhill."""

    name: str
    knots: tuple[tuple[float, ...], ...]  # slopes of the knots whose gains move; those in one tuple together
    slopes: tuple[float, float]  # of the walks
    generations: int
    terms: tuple[int, ...] = (VALUE, STEP)
    habits: bool = False  # whether how firmly paths are held moves as well
    like: float | None = None  # begin with the gains of this knot
    sigma: float = 0.05
    population: int = 256
    triples: int = 20
    fresh: int = 40  # generations between draws of scenarios


STAGES = (
    Stage("gentle", ((-4.0,), (-8.0, -10.0, -12.0, -16.0)), (-9.4, -3.4), 450, habits=True, sigma=0.03, population=192,
          triples=16),
    Stage("level", ((0.0, 5.0),), (-4.4, 1.2), 160, sigma=0.04, population=192, triples=15),
    Stage("eleven", ((-12.0, -16.0),), (-11.9, -9.4), 110, sigma=0.04, population=192, triples=15),
    Stage("rise", ((5.0,),), (0.2, 3.9), 120, sigma=0.06, population=192, triples=12),
    Stage("uphill", ((5.0,),), (1.6, 6.0), 160, sigma=0.06, population=192, triples=12),
    Stage("twelve", ((-12.0, -16.0),), (-12.8, -9.8), 230, sigma=0.03, population=192, triples=15),
    Stage("very steep", ((-16.0,),), (-16.2, -12.2), 250, like=-12.0, sigma=0.04, population=192, triples=12),
)  # fmt: skip
