"""The search by Gauss-Newton steps: what it measures, and that a step does what its linear model says."""

import json
from types import SimpleNamespace

import numpy as np
import pytest

from experiments.knee_bound.run import measures as measures_of_one
from experiments.tune_gains import newton, newton_walks
from experiments.tune_gains.encode import read
from experiments.tune_gains.polish import one
from experiments.tune_gains.scenarios import pack
from experiments.tune_gains.score import DEGREE
from experiments.tune_gains.walks import ProcessorWalks
from sim.gains import GAINS_FILE, read_gains

NAMES = [line.name for line in newton.LINES]


def inside():
    """A value of every line that is well inside its limits."""
    middle = 0.5 * (np.maximum(newton.LOW, -100.0) + np.minimum(newton.HIGH, 100.0))
    return np.where(newton.HIGH - newton.LOW > 50.0, 0.0, middle)


def walkers_of(walks):
    """Walks of the draw that are all in the window, one triple of neighbours."""
    return SimpleNamespace(
        weights=np.ones(walks), mask=np.ones((walks, len(NAMES))), triples=np.arange(3).reshape(1, 3)
    )


@pytest.fixture(scope="module")
def walked():
    settings, plants, known = pack([one(-8.0, 0.5, 40.0)])
    steps, status, _ = ProcessorWalks(settings, plants).run(np.array([read(read_gains())]), 14.0, newton.TIME_STEP)
    assert status[0] == 0
    return steps, known


def test_lines_are_measured_as_the_search_of_one_knee_measures_them(walked):
    steps, known = walked
    here = dict(zip(NAMES, newton.measures(np, steps, known)[0], strict=True))
    there = measures_of_one(steps[0], {name: float(value[0]) for name, value in known.items()})
    pairs = {
        "knee at sound landing": "knee", "prosthetic peak": "prosthetic peak", "sound peak": "sound peak",
        "sound knee": "sound knee", "double support": "double support", "knee at landing": "knee at landing",
        "swing knee": "swing knee", "sound step": "sound step", "other step": "prosthetic step", "speed": "speed",
    }  # fmt: skip
    for mine, other in pairs.items():
        assert here[mine] == pytest.approx(there[other][0], rel=0.02, abs=0.3 if "landing" in mine else 1e-9), mine
    assert max(abs(here["trunk back"]), here["trunk forward"]) == pytest.approx(there["trunk"][0], abs=0.3)
    assert here["trunk back"] < here["trunk forward"]


def test_each_line_looks_at_its_own_column(walked):
    steps, known = walked
    before = newton.measures(np, steps, known)[0]
    knee = ("knee_of_stance", "knee at sound landing", 1.0 / DEGREE)
    for column, line, scale in (knee, ("clearance", "clearance", 1.0)):
        more = steps.copy()
        more[:, :, newton.COLUMN[column]] += 0.1
        change = dict(zip(NAMES, newton.measures(np, more, known)[0] - before, strict=True))
        assert change[line] == pytest.approx(0.1 * scale, rel=1e-6)
        assert {name for name, value in change.items() if abs(value) > 1e-6} <= {line, "crouch"}


def test_lines_look_at_the_last_steps_only(walked, monkeypatch):
    steps, known = walked
    monkeypatch.setattr(newton, "LAST", 6)
    made = int((steps[0, :, newton.COLUMN["time"]] > 0.0).sum())
    assert made - 6 > newton.SETTLED
    before = newton.measures(np, steps, known)
    for step, seen in ((made - 8, False), (made - 5, True)):
        bent = steps.copy()
        bent[:, step, newton.COLUMN["trunk"]] = -1.0
        assert (newton.measures(np, bent, known) != before).any() == seen


def test_what_is_outside_costs_squared_and_a_fall_costs_more():
    values = np.repeat(inside()[None, None], 4, 0).repeat(3, 1)
    knee = NAMES.index("knee at sound landing")
    values[1, 0, knee] = newton.LOW[knee] - newton.TOLERANCE[knee]
    values[2, 0, knee] = newton.LOW[knee] - 2.0 * newton.TOLERANCE[knee]
    fell = np.zeros((4, 3), bool)
    fell[3, 1] = True
    cost, _ = newton.merit(walkers_of(3), values, fell)
    assert cost[0] == 0.0
    assert cost[2] == pytest.approx(4.0 * cost[1])
    assert cost[1] == pytest.approx(newton.LINES[knee].weight / 3.0)
    assert cost[3] == pytest.approx(newton.FALL / 3.0)


def test_a_bump_among_neighbours_costs_until_it_is_small_enough():
    values = np.repeat(inside()[None, None], 2, 0).repeat(3, 1)
    values[:, :, newton.PEAKS] = 1.1
    values[0, 1, newton.PEAKS[1]] += 0.9 * newton.FREE
    values[1, 1, newton.PEAKS[1]] += newton.FREE + newton.ROUGH_TOLERANCE
    cost, _ = newton.merit(walkers_of(3), values, np.zeros((2, 3), bool))
    assert cost[0] == 0.0
    assert cost[1] == pytest.approx(newton.ROUGH / 3.0)


def linear_case():
    """Three walks, three numbers: of the knee, of the middle's peak beside its neighbours, and of all three peaks."""
    base = np.repeat(inside()[None], 3, 0)
    knee, peak = NAMES.index("knee at sound landing"), newton.PEAKS[1]
    base[:, knee] = newton.LOW[knee] - 4.0
    base[:, peak] = 1.1
    base[1, peak] = 1.2
    slope = np.zeros((3, 3, len(NAMES)))
    slope[0, :, knee] = 100.0
    slope[1, 1, peak] = 1.0
    slope[2, :, peak] = 1.0
    return base, slope, knee, peak


def test_a_step_brings_what_is_outside_to_its_limit_and_no_farther():
    base, slope, knee, peak = linear_case()
    step = newton.best_step(walkers_of(3), base, slope, np.ones(3, bool), (1e-6,))[0]
    after = base + np.tensordot(step, slope, 1)
    assert after[:, knee] == pytest.approx(newton.LOW[knee], abs=0.01)
    assert after[1, peak] - after[(0, 2), peak].mean() == pytest.approx(newton.FREE, abs=1e-3)
    assert step[2] == pytest.approx(0.0, abs=1e-6)  # what moves neighbours alike does not make the map even


def test_damping_shortens_a_step_and_walks_that_fell_have_no_say():
    base, slope, *_ = linear_case()
    short, shorter = newton.best_step(walkers_of(3), base, slope, np.ones(3, bool), (0.1, 10.0))
    assert 0.0 < shorter[0] < short[0] < 0.04
    base[2] = inside() + 50.0  # a walk that fell measures anything
    base[2, NAMES.index("knee at sound landing")] = 500.0
    usable = np.array([True, True, False])
    step = newton.best_step(walkers_of(3), base, slope, usable, (1e-6,))[0]
    assert step[0] == pytest.approx(0.04, abs=1e-3)


@pytest.mark.parametrize("some", [None, 2])
def test_rounds_of_a_search_do_not_make_it_worse_and_leave_its_gains(some, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(newton, "spread_over", lambda _judges, key, gains: newton.walk_in_worker(key, gains))
    monkeypatch.setattr(newton, "Judges", lambda _workers: None)
    monkeypatch.setattr(newton, "DAMPING", (0.01, 1.0))
    monkeypatch.setattr(newton, "OFF", 0.0)  # so that the first cost is that of the gains as they are
    monkeypatch.setitem(newton.MOVED, "few", newton.Part(((-10.0,),), (newton.VALUE,), (), habits=False))
    numbers = newton.numbers_of
    monkeypatch.setattr(newton, "numbers_of", lambda part, row: numbers(part, row)[:3])
    options = SimpleNamespace(
        start=GAINS_FILE, out=tmp_path / "gains.json", part="few", seconds=0.1, size=1, fresh=1, longest=0.03,
        most=newton.MOST, slopes=(-11.0, -9.0), walks="alone", some=some, ways=False, seed=1, workers=1,
    )  # fmt: skip
    newton.search(options)
    told = capsys.readouterr().out
    before, after = (float(number) for number in told.split(" cost ")[1].split(" (")[0].split(" -> "))
    assert after <= before
    start = [newton.Walkers(options.slopes, seed, 1, "alone") for seed in (1000, 1500)]
    gains = np.array([read(read_gains())])
    assert before == pytest.approx(np.mean([newton.merit(w, *w.walk(gains))[0][0] for w in start]), abs=1e-3)
    last, mean = (json.loads(path.read_text()) for path in (options.out, newton.mean_of(options.out)))
    assert last["gains"] == mean["gains"]  # of one round
    assert "mean of 1 rounds" in mean["found"]["stages"][-1]["stage"]


def test_probes_to_one_side_and_to_both_sides_point_the_same_way():
    """They agree as far as walks are smooth: measured, a correlation of 0.7 for the knee's line."""
    key, row = ((-11.0, -9.0), 3, 1, "alone"), read(read_gains())
    moved = newton.numbers_of(newton.MOVED["window"], row)[:4]
    point, ways = newton.encode(row, moved), np.eye(4)
    pool = SimpleNamespace(submit=lambda f, *given: SimpleNamespace(result=lambda: f(*given)))
    judges = SimpleNamespace(count=1, pool=pool)
    base, one_side, usable = newton.slopes_at(judges, key, point, ways, row, moved, True)
    again, both, _ = newton.slopes_at(judges, key, point, ways, row, moved, False)
    assert (base == again).all()
    knee = NAMES.index("knee at sound landing")
    assert np.corrcoef(one_side[:, usable, knee].ravel(), both[:, usable, knee].ravel())[0, 1] > 0.5


def test_cells_of_the_report_are_neighbours_along_one_axis_each():
    report = newton_walks.cells_of_report()
    assert len(report.cells) == 343 + 36
    assert len(report.triples) == 3 * 5 * 49
    for a, b, c in report.triples[::50]:
        low, middle, high = (np.array(report.cells[k]) for k in (a, b, c))
        low[2], middle[2], high[2] = (np.log(cell[2]) for cell in (low, middle, high))
        assert middle == pytest.approx(0.5 * (low + high))  # the resistance by equal ratios
        assert ((high - low) != 0.0).sum() == 1
    some = report.among([5, 700])
    assert [some.cells[k] for triple in some.triples for k in triple] == [
        report.cells[k] for kept in (5, 700) for k in report.triples[kept]
    ]
    assert some.cells[some.map_cells :] == report.cells[343:]
    walkers = newton.Walkers((0.0, 0.0), 0, 0, some)
    assert len(walkers.weights) == len(some.cells)
    assert set(walkers.weights) == {newton_walks.DRAWS["map"], newton_walks.DRAWS["window"]}


def test_the_worst_triples_are_the_least_even_ones_and_a_fall_beside_walks_is_worse(monkeypatch):
    report = newton_walks.cells_of_report()
    values = np.full((1, len(report.cells), len(NAMES)), 1.1)
    fell = np.zeros((1, len(report.cells)), bool)
    values[0, report.triples[10][1], newton.PEAKS[0]] += 0.2
    fell[0, report.triples[400][1]] = True
    row = read(read_gains())
    monkeypatch.setattr(newton, "spread_over", lambda *_: (values, fell))
    worst = newton.worst_of(None, ((0.0, 0.0), 0, 0, report), np.array([row]), 12)
    assert 10 in worst
    assert 400 in worst
    with_fall = [k for k in worst if report.triples[400][1] in report.triples[k]]
    assert worst[-len(with_fall) :] == with_fall


def test_walks_in_the_window_and_stiff_ones_are_where_they_should_be():
    rng = np.random.default_rng(4)
    window, stiff = newton_walks.window_walks(rng, 2).walkers, newton_walks.stiff_walks(rng, 2).walkers
    assert len(window) == 16
    assert len(stiff) == 8
    assert all(33.0 <= walk.knee.flexion_resistance <= 51.0 for walk in window)
    assert all(-10.3 <= walk.slope_deg <= -7.7 for walk in window)
    assert all(58.0 <= walk.knee.flexion_resistance <= 116.0 for walk in stiff)


def test_steep_walks_are_steeper_than_the_map_and_crowd_about_the_walk_of_the_report():
    walks = newton_walks.steep_walks(np.random.default_rng(4), 4).walkers
    assert len(walks) == 48
    assert all(-15.3 <= walk.slope_deg <= -12.3 for walk in walks)
    assert all(0.43 <= walk.step_length_m <= 0.57 for walk in walks)
    near = [abs(np.log(walk.knee.flexion_resistance / 45.0)) < 0.125 * np.log(1.6) for walk in walks]
    assert 20 <= sum(near) <= 28  # half of them within an eighth of the range


def test_steeper_than_the_map_lines_count_less_but_for_the_peaks():
    steep = newton.Walkers((-11.9, -4.1), 1, 1, "steep")
    map_ = newton.Walkers((-11.9, -4.1), 1, 1, "window")
    trunk, knee, peak = (NAMES.index(name) for name in ("trunk back", "knee at sound landing", "prosthetic peak"))
    assert (steep.mask[:, trunk] == newton.BESIDE).all()
    assert (steep.mask[:, knee] == 0.0).all()
    assert (steep.mask[:, peak] == 1.0).all()
    assert (map_.mask[:, trunk] == 1.0).all()
    assert map_.mask[:, knee].any()


def test_far_outside_a_line_counts_as_far_as_it_is_told_to():
    values = np.repeat(inside()[None, None], 2, 0).repeat(3, 1)
    peak = newton.PEAKS[0]
    values[1, :, peak] = newton.HIGH[peak] + 20.0 * newton.TOLERANCE[peak]
    fell = np.zeros((2, 3), bool)
    assert newton.merit(walkers_of(3), values, fell)[0][1] == pytest.approx(newton.MOST**2)
    assert newton.merit(walkers_of(3), values, fell, 30.0)[0][1] == pytest.approx(400.0)
