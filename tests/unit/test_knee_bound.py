"""The search that trains a person for one knee alone: what it measures and what it calls a good walk."""

import math

import numpy as np
import pytest

from experiments.knee_bound.one_gait import CELLS, Slope, missed
from experiments.knee_bound.run import DEAR, FALL, SETTLED, Judge, cost_of, felt_or_not, felt_table, measures, table
from experiments.tune_gains.encode import read
from experiments.tune_gains.score import COLUMN
from sim.gains import read_gains

KNOWN = {"step": 0.5, "speed": 0.75, "step_time": 2.0 / 3.0, "weight": 700.0}
#: A walk with every measure inside its line.
FINE = {
    "length": 0.5, "duration": 0.66, "speed": 0.75, "double_support": 0.17, "knee_at_landing": 0.02,
    "knee_of_stance": math.radians(24.0), "knee_swing_peak": math.radians(65.0), "knee_early_peak": math.radians(25.0),
}  # fmt: skip


def steps_like(count=24, **changed):
    steps = np.zeros((26, max(COLUMN.values()) + 3))
    for name, value in (FINE | changed).items():
        steps[:count, COLUMN[name]] = value
    steps[:count, COLUMN["time"]] = 0.66 * np.arange(1, count + 1)
    steps[:count, COLUMN["leg"]] = np.arange(count) % 2
    steps[:count, COLUMN["peak"] : COLUMN["peak"] + 2] = 1.1 * KNOWN["weight"]
    steps[:SETTLED, COLUMN["speed"]] = 0.1  # before the gait has settled nothing counts
    return steps


def test_a_walk_inside_every_line_costs_its_knee_flexion_alone():
    found = measures(steps_like(), KNOWN)
    assert all(low <= value <= high for name, (value, low, high) in found.items() if name != "knee")
    assert found["knee"][0] == pytest.approx(24.0)
    assert found["double support"][0] == pytest.approx(0.17 / 0.66)
    assert cost_of(steps_like(), 0, 10.0, KNOWN) == pytest.approx(-24.0)


@pytest.mark.parametrize(
    ("name", "changed", "by"),
    [
        ("sound knee", {"knee_early_peak": math.radians(40.0)}, (40.0 - 35.0) / 2.5),
        ("double support", {"double_support": 0.231}, (0.35 - 0.3) / 0.02),
        ("speed", {"speed": 0.6}, (0.9 - 0.8) / 0.02),
        ("swing knee", {"knee_swing_peak": math.radians(44.0)}, (50.0 - 44.0) / 3.0),
    ],
)
def test_what_is_beyond_a_line_costs_by_how_far(name, changed, by):
    steps = steps_like(**changed)
    value, low, high = measures(steps, KNOWN)[name]
    assert not low <= value <= high
    assert cost_of(steps, 0, 10.0, KNOWN) == pytest.approx(DEAR * by - 24.0, rel=1e-6)


def test_a_fall_or_a_walk_that_never_settles_costs_most_and_the_longer_it_lasts_the_less():
    assert cost_of(steps_like(), 1, 6.0, KNOWN) == FALL - 6.0
    assert cost_of(steps_like(SETTLED), 0, 10.0, KNOWN) == FALL - 10.0


def test_the_measures_are_those_of_the_walk():
    judge = Judge((-8.0, 0.5, 40.0))
    steps, status, _ = judge.walk(np.array([read(read_gains())]))
    found = measures(steps[0], judge.known)
    assert status[0] == 0
    assert found["sound step"][0] == pytest.approx(1.0, abs=0.1)
    assert 10.0 < found["knee"][0] < 35.0
    assert judge.known["weight"] == pytest.approx(75.0 * 9.81)


def test_the_table_names_what_is_missed():
    before, after = measures(steps_like(), KNOWN), measures(steps_like(knee_of_stance=math.radians(26.0)), KNOWN)
    last = table([((-8.0, 0.5, 50.0), before, before, 7), ((-8.0, 0.5, 50.0), before, after, 9)]).splitlines()[-2:]
    assert last[0].startswith("| -8 | 50 | 24.0 | 24.0 | 1.10 |")
    assert last[0].endswith("| knee | 7 |")
    assert last[1].endswith("| none | 9 |")


def test_without_what_is_felt_the_same_knee_is_walked_otherwise():
    felt, not_felt = felt_or_not((-8.0, 0.5, 45.0))
    assert felt["knee"][0] != not_felt["knee"][0]
    lines = felt_table([((-8.0, 0.5, 45.0), [felt, {}])]).splitlines()
    assert lines[1].count("---") == lines[2].count(" | ") + 1
    assert lines[2] == f"| -8 | 45 | {felt['knee'][0]:.1f} | falls | {felt['sound peak'][0]:.2f} | falls |"


def test_one_gait_is_judged_with_room_to_spare_and_a_stiff_knee_need_not_bend():
    found = measures(steps_like(), KNOWN)  # bends by 24 degrees
    assert missed(found, 50.0) == pytest.approx((26.0 - 24.0) / 3.0)
    assert missed(found, 90.0) == 0.0
    assert missed(measures(steps_like(knee_early_peak=math.radians(34.5)), KNOWN), 90.0) == pytest.approx(0.5 / 2.5)


def test_one_gait_walks_every_cell_with_every_record():
    row = read(read_gains())
    weak = row.copy()
    weak["coefficients"][:] = 0.0
    cost, found = Slope(-8.0).judge(np.array([row, weak]))
    assert len(found) == 2 * len(CELLS)
    assert all(found[: len(CELLS)])
    assert cost[0] < 5.0
    assert cost[1] > 100.0
