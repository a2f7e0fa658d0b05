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
    step = even_map.least_change(np.array([-0.09]), slope, 0.07)
    assert step == pytest.approx(0.02 * slope[0] / 25.0)  # along the slope, as far as needed


def test_many_lines_end_at_their_limit_and_nothing_smaller_does():
    rng = np.random.default_rng(4)
    start, slope = rng.uniform(-0.09, 0.09, 20), rng.standard_normal((20, 60))
    step = even_map.least_change(start, slope, 0.06)
    assert np.abs(start + slope @ step).max() == pytest.approx(0.06)
    for _ in range(50):  # any other allowed step is longer: it lies beyond the plane through the least one
        other = even_map.least_change(start, slope, 0.06 - 0.02 * rng.random()) + 1e-4 * rng.standard_normal(60)
        if np.abs(start + slope @ other).max() <= 0.06:
            assert other @ step >= step @ step * (1.0 - 1e-6)


def test_lines_within_the_limit_ask_for_nothing_and_contradictions_have_no_step():
    assert even_map.least_change(np.array([0.05, -0.01]), np.ones((2, 3)), 0.06) == pytest.approx(np.zeros(3))
    assert even_map.least_change(np.array([0.09, -0.09]), np.ones((2, 3)), 0.06) is None


def test_a_line_that_no_number_changes_is_left_as_it_is():
    slope = np.array([[0.0, 0.0], [2.0, 0.0]])
    assert even_map.least_change(np.array([0.079, 0.09]), slope, 0.07) == pytest.approx([-0.01, 0.0])


def test_falls_come_before_uneven_cells_and_those_before_the_worst():
    triples = np.array([[0, 1, 2], [1, 2, 3]])
    even = np.full((4, 2), 1.1)
    bumpy, fallen = even.copy(), even.copy()
    bumpy[1, 0] += 0.1
    fallen[3] = np.nan
    assert even_map.verdict(even, triples) == (0, 0, 0.0)
    assert even_map.verdict(bumpy, triples) == pytest.approx((0, 1, 0.1))
    assert even_map.verdict(even, triples) < even_map.verdict(bumpy, triples) < even_map.verdict(fallen, triples)


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

    cells = SimpleNamespace(cells=((0.0,) * 3, (1.0,) * 3, (2.0,) * 3), map_cells=3, triples=((0, 1, 2),))
    monkeypatch.setattr(even_map, "ProcessPoolExecutor", Here)
    monkeypatch.setattr(even_map, "cells_of_report", lambda: cells)
    monkeypatch.setattr(even_map, "peaks_of", fake)
    out = tmp_path / "even.json"
    even_map.search(SimpleNamespace(start=GAINS_FILE, part="steepest", workers=1, out=out))
    kept = json.loads(out.read_text())
    gains = read(kept)
    assert fake((gains, (1.0,)))[0] - 1.1 == pytest.approx(min(even_map.LIMITS), abs=1e-4)
    assert kept["found"]["stages"][-1]["stage"] == "even map steepest"
    assert "(0, 1, 0.09" in capsys.readouterr().out
