"""Evening out the report's map: the least change of numbers that brings all lines within a limit."""

import json
from types import SimpleNamespace

import numpy as np
import pytest

from experiments.acceptance.run import measure, scenario
from experiments.tune_gains import even_map
from experiments.tune_gains.encode import VALUE, encode, read
from experiments.tune_gains.joint import numbers_of
from experiments.tune_gains.newton import MOVED
from sim.gains import GAINS_FILE, read_gains


def test_unevenness_is_the_distance_of_the_middle_from_the_mean_of_the_ends():
    peaks = np.array([[1.0, 1.1], [1.2, 1.1], [1.1, 1.3]])
    found = even_map.unevenness(peaks, np.array([[0, 1, 2], [1, 2, 0]]))
    assert found == pytest.approx(np.array([[0.15, -0.1], [0.0, 0.2]]))


def test_the_least_change_is_that_of_the_textbook_for_one_line():
    slope = np.array([[3.0, 4.0, 0.0]])
    step = even_map.least_change(np.array([0.09]), slope, np.array([0.07]))
    assert step == pytest.approx(-0.02 * slope[0] / 25.0)  # against the slope, as far as needed


def test_many_lines_end_at_their_limits_and_nothing_smaller_does():
    rng = np.random.default_rng(4)
    start, slope = rng.uniform(-0.09, 0.09, 20), rng.standard_normal((20, 60))
    high = np.append(np.full(10, 0.06), np.full(10, 0.03))
    step = even_map.least_change(start, slope, high)
    assert (start + slope @ step - high).max() == pytest.approx(0.0, abs=1e-12)
    for _ in range(50):  # any other allowed step is longer: it lies beyond the plane through the least one
        other = even_map.least_change(start, slope, high - 0.02 * rng.random()) + 1e-4 * rng.standard_normal(60)
        if (start + slope @ other <= high).all():
            assert other @ step >= step @ step * (1.0 - 1e-6)


def test_lines_within_their_limits_ask_for_nothing_and_contradictions_have_no_step():
    high = np.full(2, 0.06)
    assert even_map.least_change(np.array([0.05, -0.01]), np.ones((2, 3)), high) == pytest.approx(np.zeros(3))
    assert even_map.least_change(np.full(2, 0.09), np.array([[1.0, 0.0], [-1.0, 0.0]]), high) is None


def test_a_line_that_no_number_changes_is_left_as_it_is():
    slope = np.array([[0.0, 0.0], [2.0, 0.0]])
    step = even_map.least_change(np.array([0.079, 0.09]), slope, np.full(2, 0.07))
    assert step == pytest.approx([-0.01, 0.0])
    assert (even_map.least_change(np.array([0.09]), np.zeros((1, 2)), np.array([0.07])) == 0.0).all()
    assert (even_map.least_change(np.zeros(0), np.zeros((0, 2)), np.zeros(0)) == 0.0).all()


def test_falls_come_before_uneven_cells_and_those_before_the_worst():
    triples = np.array([[0, 1, 2], [1, 2, 3]])
    even = np.full((4, 2), 1.1)
    bumpy, fallen = even.copy(), even.copy()
    bumpy[1, 0] += 0.1
    fallen[3] = np.nan
    inside, outside = np.full((3, 6), -0.1), np.array([[-0.1, 0.01]])
    assert even_map.verdict(even, triples, inside) == (0, 0, 0.0)
    assert even_map.verdict(even, triples, outside) == (0, 1, 0.0)
    assert even_map.verdict(bumpy, triples, outside) == pytest.approx((0, 2, 0.1))
    assert even_map.verdict(bumpy, triples, outside) < even_map.verdict(fallen, triples, inside)


def test_margins_are_those_of_the_report():
    gains, cell = read(read_gains()), (-10.0, 0.5, 50.0)
    found = measure(scenario(*cell))
    margins = dict(zip([*even_map.WATCHED_METRICS, "trunk", "steady"], even_map.margins_of((gains, cell)), strict=True))
    assert margins["sound_knee_early_stance_peak_deg"] == pytest.approx(
        found["sound_knee_early_stance_peak_deg"] / 35.0 - 1.0
    )
    assert margins["knee_flexion_at_sound_landing_deg"] == pytest.approx(
        1.0 - found["knee_flexion_at_sound_landing_deg"] / 25.0
    )
    assert margins["trunk"] == pytest.approx(found["trunk_furthest_deg"] / 6.0 - 1.0)
    assert max(margins.values()) <= 0.0  # inside all of them
    gentle = even_map.margins_of((gains, (-5.0, 0.5, 50.0)))
    assert gentle[3] == -1.0  # the knee is asked for on -8 degrees and steeper
    assert even_map.margins_of((gains, (-10.0, 0.5, 3.0))) == (1.0,) * 6  # falls


def test_a_walk_takes_the_gains_it_is_given():
    row = read(read_gains())
    cell = (-10.0, 0.5, 40.0)
    found = measure(scenario(*cell))
    assert even_map.peaks_of((row, cell)) == pytest.approx([found[name] for name in even_map.PEAKS])
    other = row.copy()
    numbers = row["coefficients"].copy()
    numbers[VALUE] += 0.004 * (row["high"] - row["low"])
    other["coefficients"] = numbers
    assert even_map.peaks_of((other, cell)) != pytest.approx([found[name] for name in even_map.PEAKS], abs=1e-4)


class Here:
    """A pool that works in this process."""

    def __init__(self, workers):
        pass

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def map(self, do, jobs, **_):
        return map(do, jobs)


def test_a_search_levels_a_bump_and_keeps_the_gains_that_do(tmp_path, monkeypatch, capsys):
    start = encode(read(read_gains()), numbers_of(MOVED["steepest"], read(read_gains())))

    def fake(job):  # the middle cell's sound peak rises with the first number
        gains, cell = job
        first = encode(gains, numbers_of(MOVED["steepest"], gains))[0] - start[0]
        return (1.1 + (0.09 + 2.0 * first if cell[0] == 1.0 else 0.0), 1.0)

    cells = SimpleNamespace(cells=((0.0,) * 3, (1.0,) * 3, (2.0,) * 3, (-8.0,) * 3), map_cells=3, triples=((0, 1, 2),))
    monkeypatch.setattr(even_map, "ProcessPoolExecutor", Here)
    monkeypatch.setattr(even_map, "cells_of_report", lambda: cells)
    monkeypatch.setattr(even_map, "peaks_of", fake)
    monkeypatch.setattr(even_map, "margins_of", lambda job: (-0.5 + job[1][0] / 1e3,) * 6)
    out = tmp_path / "even.json"
    even_map.search(SimpleNamespace(start=GAINS_FILE, part="steepest", workers=1, out=out, chance=2, seed=1))
    kept = json.loads(out.read_text())
    gains = read(kept)
    assert fake((gains, (1.0,)))[0] - 1.1 <= min(even_map.LIMITS) + 1e-9
    assert kept["found"]["stages"][-1]["stage"] == "even map steepest"
    assert "(0, 1, 0.09" in capsys.readouterr().out
