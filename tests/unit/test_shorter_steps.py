"""The part of docs/why-shorter-steps.md about our walker: what is measured, and of which gains it is."""

import math
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from experiments.shorter_steps import run, walker
from experiments.shorter_steps.walker import Row
from sim.errors import RampwalkError

PAGE = (Path(walker.__file__).parents[2] / "docs" / "why-shorter-steps.md").read_text(encoding="utf-8")


def rows(power, outcome="walked"):
    values = {"speed": 1.0, "ground": 1.0, "knee": 1.0, "slope": 64.0, "peak": 1.2}
    return [Row(-5.0, "a pace", s, outcome, rule=s**2, blow=7.0 * s**power, **values) for s in (0.4, 0.5, 0.6)]


def test_the_page_is_of_the_present_gains():
    assert walker.gains_mark() in PAGE, "run: python -m experiments.shorter_steps.run --write docs/why-shorter-steps.md"


def test_the_page_has_every_walk():
    part = PAGE.partition(walker.BEGIN)[2].partition(walker.END)[0]
    for slope in walker.SLOPES:
        for pace in walker.PACES:
            table = part.partition(f"Slope {slope:g} degrees, {pace}:")[2].split("\n\n")[1].splitlines()
            assert table[0] == "| " + " | ".join(walker.HEAD) + " |"
            assert [line.split("|")[1].strip() for line in table[2:]] == [f"{step:.2f}" for step in walker.STEPS]
            assert {line.count("|") for line in table} == {len(walker.HEAD) + 1}


def test_the_formula_is_that_of_the_passive_walker():
    for step in (0.3, 0.6):
        lost = walker.rigid_loss(run.MASS, run.LEG, step, 1.1)
        assert lost == pytest.approx(run.strike_loss(step, 1.1), rel=1e-6)


def test_negative_work_of_the_landing_leg_ends_when_the_other_foot_is_off():
    time = 0.01 * np.arange(101)
    load = np.full((101, 2), 500.0)
    load[50:, 0] = 0.0  # the trailing foot leaves at 0.5 s
    force = np.zeros((101, 2, 2))
    force[:, 1] = (-30.0, 500.0)
    velocity = np.tile([1.0, 0.0], (101, 1))
    series = SimpleNamespace(
        time=time, load=load, ground_force=force, mass_centre_velocity=velocity, interval=0.01
    )
    person = SimpleNamespace(weight=700.0)
    result = SimpleNamespace(series=series, scenario=SimpleNamespace(person=person))
    assert walker.blow(result, 1, 0.2) == pytest.approx(30.0 * 0.3)
    velocity[:, 0] = -1.0  # pushed along: no work taken
    assert walker.blow(result, 1, 0.2) == 0.0


def test_powers_are_fitted_over_completed_walks():
    assert walker.power_of_step(rows(3), "blow") == pytest.approx(3.0)
    assert math.isnan(walker.power_of_step(rows(3)[:2], "blow"))
    assert math.isnan(walker.power_of_step(rows(3, "fell"), "blow"))


def test_a_fall_stands_in_the_table():
    made = walker.generated([*rows(2), Row(-5.0, "a pace", 0.7, "fell")])
    assert "| 0.70 | *fell* |" in made
    assert "| -5 degrees, a pace | 2.0 | 2.0 | 0.0 |" in made


def test_a_page_is_renewed_between_its_marks_only():
    page = f"before {walker.BEGIN} old {walker.END} after"
    renewed = walker.renewed(page, rows(2))
    assert renewed.startswith("before ")
    assert renewed.endswith(" after")
    assert "old" not in renewed
    with pytest.raises(RampwalkError, match="lacks its marks"):
        walker.renewed("nothing", rows(2))


def test_a_walk_is_measured():
    row = walker.row_of(-8.0, next(iter(walker.PACES)), 0.5)
    assert row.outcome in {"walked", "fell", "stalled"}
    if row.outcome == "walked":
        assert 0.0 < row.ground < row.slope * row.step  # the ground keeps less than gravity gives
        assert row.blow > 0.0
        assert row.slope == pytest.approx(75.0 * 9.81 * math.sin(math.radians(8.0)))
