import io
import itertools
import math
import os
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context

import numpy as np
import pandas as pd
import pytest

import sim.activities.walk
from sim.activities.walk import walk
from sim.errors import RampwalkError
from sim.grid import axes_of, cells_of, parse_range
from sim.metrics import METRICS
from sim.pool import worker_pool
from sim.progress import PlainLine, duration_text
from sim.scatter import LARGEST_CHUNK, chunks
from sim.scenario import Scenario, replace_by_name
from sim.sweep import run_cell, sweep
from sim.table import as_table, column_of, columns, input_row, row_key, setting_values, write_table
from sim.table_reader import read_table

BASE = Scenario(strides=1)
OVER = {"slope_deg": [-5.0, -8.0], "flexion_resistance": [30.0, 60.0]}


def same(first, second):
    pd.testing.assert_frame_equal(first, second, check_exact=True)


@pytest.fixture(scope="module")
def table():
    return sweep(BASE, OVER)


# -------------------------------------------------------------------------------- the table
def test_one_row_per_cell_in_the_order_of_the_grid(table):
    assert list(zip(table["slope_deg"], table["knee.flexion_resistance"], strict=True)) == list(
        itertools.product(*OVER.values())
    )
    assert tuple(table.columns) == columns()


def test_a_row_says_what_the_walk_says(table):
    result = walk(replace_by_name(BASE, {"slope_deg": -8.0, "knee.flexion_resistance": 30.0}))
    row = table.iloc[2]
    assert row["outcome"] == result.outcome
    assert row["reason"] == result.reason
    assert row["steps_made"] == len(result.step_records)
    for name, value in result.metrics.items():
        assert row[name] == value or (value is None and math.isnan(row[name])), name
    for name, value in result.energy.items():
        assert row[f"energy_{name}"] == value or (value is None and math.isnan(row[f"energy_{name}"])), name


def test_only_what_was_asked_varies(table):
    fixed = [column_of(name) for name in setting_values(BASE) if name not in {"slope_deg", "knee.flexion_resistance"}]
    for column in fixed:
        assert len(table[column].drop_duplicates()) == 1, column


def test_measured_and_wanted_values_have_their_own_columns():
    row = input_row(Scenario(step_length_m=0.4, cadence_steps_per_min=100.0))
    assert row["wanted_speed_m_s"] == pytest.approx(0.4 * 100 / 60)
    assert row["wanted_cadence_steps_per_min"] == 100.0
    assert row["wanted_sound_step_length_m"] == row["wanted_prosthetic_step_length_m"] == 0.4
    assert not set(row) & set(METRICS)


def test_rows_hold_no_arrays():
    row = run_cell(BASE, {"slope_deg": -5.0})
    assert all(isinstance(value, str | int | float | None) for value in row.values())
    assert len(repr(row)) < 20_000


def test_csv_has_units_and_gives_every_bit_back(table, tmp_path):
    write_table(table, tmp_path / "table.csv")
    head = (tmp_path / "table.csv").read_text().splitlines()[0].split(",")
    assert "knee.flexion_resistance [N m s/rad]" in head
    assert "slope_deg" in head
    assert "foot.ankle_stiffness [N m/rad]" in head
    same(table, read_table(tmp_path / "table.csv"))


def test_key_follows_the_inputs_and_nothing_else(table):
    assert table["key"].nunique() == len(table)
    assert row_key(BASE) == row_key(Scenario(strides=1))
    assert row_key(BASE) != row_key(replace_by_name(BASE, {"time_step_s": 2e-4}))


# -------------------------------------------------------------------------------- workers and order
def test_two_processes_give_the_same_bits(table):
    with worker_pool(2) as pool:
        assert pool.submit(os.getenv, "OPENBLAS_NUM_THREADS").result() == "1"
        same(table, sweep(BASE, OVER, pool))


def test_a_pool_leaves_the_environment_as_it_was(monkeypatch):
    monkeypatch.setenv("OMP_NUM_THREADS", "7")
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    with worker_pool(1):
        pass
    assert os.environ["OMP_NUM_THREADS"] == "7"
    assert "OPENBLAS_NUM_THREADS" not in os.environ


def test_the_order_of_axes_and_values_changes_only_the_order_of_rows(table):
    turned = sweep(BASE, {name: values[::-1] for name, values in reversed(OVER.items())})
    same(turned.sort_values("key", ignore_index=True), table.sort_values("key", ignore_index=True))


def test_any_executor_with_futures_will_do(table):
    with ThreadPoolExecutor(2) as pool:
        same(table, sweep(BASE, OVER, pool))


def test_chunks_hold_every_cell_once():
    for count in (1, 7, 64, 1000, 5000):
        cells = [{"slope_deg": -float(index)} for index in range(count)]
        parts = list(chunks(cells))
        assert [number for chunk in parts for number, _ in chunk] == list(range(count))
        assert max(len(chunk) for chunk in parts) <= LARGEST_CHUNK
    assert len(parts) < 5000 / (LARGEST_CHUNK - 1)


# -------------------------------------------------------------------------------- what goes wrong
def test_a_fall_is_a_row():
    row = run_cell(BASE, {"knee.flexion_resistance": 0.0})
    assert row["outcome"] in {"fell", "stalled"}
    assert row["reason"]


@pytest.fixture
def fault(monkeypatch):
    """A walk that fails on -8 degrees only."""
    real = sim.activities.walk.walk

    def faulty(scenario):
        if scenario.slope_deg == -8.0:
            raise ZeroDivisionError("injected\nfault")
        return real(scenario)

    monkeypatch.setattr(sim.activities.walk, "walk", faulty)


@pytest.mark.usefixtures("fault")
@pytest.mark.parametrize("threads", [0, 2])
def test_a_crash_is_a_row_and_the_rest_goes_on(table, threads):
    if threads:
        with ThreadPoolExecutor(threads) as pool:
            found = sweep(BASE, OVER, pool)
    else:
        found = sweep(BASE, OVER)
    same(found.iloc[:2], table.iloc[:2])
    crashed = found.iloc[2:]
    assert (crashed["outcome"] == "crashed").all()
    assert (crashed["stage"] == "walk").all()
    assert crashed["message"].str.startswith("ZeroDivisionError: injected fault").all()
    assert crashed["knee.flexion_resistance"].tolist() == [30.0, 60.0]
    assert crashed["key"].tolist() == table["key"].tolist()[2:]
    assert crashed["sound_peak_force_bw"].isna().all()


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_broken_pool_is_replaced(table):
    with ProcessPoolExecutor(2, get_context("spawn"), os._exit, (3,)) as pool:
        same(table, sweep(BASE, OVER, pool))


def test_values_that_contradict_each_other_are_a_row():
    found = sweep(BASE, {"load_on_n": [100.0, 160.0], "load_off_n": [110.0]})
    assert found["outcome"].iloc[0] == "crashed"
    assert found["stage"].tolist() == ["scenario", ""]
    assert "knee.load_off_n = 110 N must be below knee.load_on_n = 100 N" in found["message"].iloc[0]
    assert found["knee.load_on_n"].tolist() == [100.0, 160.0]


def test_a_grid_without_any_allowed_cell_is_an_error():
    with pytest.raises(RampwalkError, match="must be below"):
        sweep(BASE, {"load_on_n": [100.0], "load_off_n": [110.0, 120.0]})


@pytest.mark.parametrize(
    ("over", "said"),
    [
        ({"slope_dg": [1.0]}, "did you mean 'slope_deg'"),
        ({"person.mas_kg": [70.0]}, "did you mean 'person.mass_kg'"),
        ({"slope_deg": [-90.0]}, "slope_deg = -90 deg is outside -20 to 15 deg"),
        ({"slope_deg": []}, "has no values"),
        ({"slope_deg": -5.0}, "is not a list"),
        ({"law": "linear"}, "is not a list"),
        ({"law": ["lineer"]}, "did you mean 'linear'"),
        ({"slope_deg": [-5.0, -5]}, "twice"),
        ({"mass_kg": [70.0], "person.mass_kg": [80.0]}, "given as an axis twice"),
        ({"strides": [1.5]}, "not a whole number"),
        ({"slope_deg": [float("nan")]}, "not finite"),
        ({"slope_deg": np.linspace(-9, 9, 2000), "trunk_lean_deg": np.linspace(-9, 9, 2000)}, "more than 1000000"),
    ],
)
def test_a_grid_that_cannot_be_is_refused_before_any_walk(over, said):
    with pytest.raises(RampwalkError, match=said):
        sweep(BASE, over)


def test_values_come_to_the_type_of_the_setting():
    axes = axes_of({"strides": np.array([1, 2]), "slope_deg": np.array([-5]), "speed_m_s": [None, 1]})
    assert axes == {"strides": (1, 2), "slope_deg": (-5.0,), "speed_m_s": (None, 1.0)}
    assert isinstance(axes["slope_deg"][0], float)
    assert len(cells_of(axes)) == 4


def test_no_axes_is_one_walk():
    assert len(sweep(BASE, {})) == 1


# -------------------------------------------------------------------------------- ranges
@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("-4:-12:5", (-4.0, -6.0, -8.0, -10.0, -12.0)),
        ("0.35:0.65:7", (0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65)),
        ("10:1000:3:log", (10.0, 100.0, 1000.0)),
        ("-1:-100:3:log", (-1.0, -10.0, -100.0)),
        ("0.4, 0.5", (0.4, 0.5)),
        ("linear,hydraulic", ("linear", "hydraulic")),
        ("1,2", (1, 2)),
    ],
)
def test_ranges(text, values):
    assert parse_range("x", text) == values


def test_a_logarithmic_range_has_even_ratios_and_exact_ends():
    values = np.array(parse_range("x", "20:300:8:log"))
    assert values[[0, -1]].tolist() == [20.0, 300.0]
    assert np.allclose(values[1:] / values[:-1], 15.0 ** (1 / 7))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1:2", "write for example"),
        ("1:2:3:4", "write for example"),
        ("1:2:3:log:5", "write for example"),
        ("1:2:x", "whole number"),
        ("1:2:1", "has 1 values"),
        ("1:2:999999", "has 999999 values"),
        ("1:1:3", "two different ends"),
        ("0:2:3:log", "above 0"),
        ("-1:2:3:log", "above 0"),
        ("a:2:3", "'a' where a number belongs"),
        ("nan:2:3", "'nan' where a number belongs"),
        ("1,,2", "empty place"),
        ("", "empty place"),
    ],
)
def test_what_is_not_a_range_is_said_in_a_sentence(text, said):
    with pytest.raises(RampwalkError, match=said) as caught:
        parse_range("--slope-deg", text)
    assert str(caught.value).startswith("--slope-deg = ")
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)


# -------------------------------------------------------------------------------- progress
def test_progress_is_told_of_every_walk():
    told = []
    sweep(BASE, {"slope_deg": [-5.0, -6.0, -7.0]}, progress=lambda done, total: told.append((done, total)))
    assert told == [(1, 3), (2, 3), (3, 3)]


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_the_plain_line_tells_the_remaining_time():
    clock = iter([0.0, 10.0, 10.1, 20.0])
    stream = Terminal()
    line = PlainLine("walks", stream, lambda: next(clock))
    line(1, 4)
    line(2, 4)  # a moment later: not shown
    line(4, 4)
    line.close()
    assert stream.getvalue() == "\r1 of 4 walks, 0:30 left\033[K\r4 of 4 walks, 0:00 left\033[K\n"


def test_in_a_log_the_line_comes_rarely():
    clock = iter([0.0, 5.0, 11.0])
    stream = io.StringIO()
    line = PlainLine("walks", stream, lambda: next(clock))
    line(1, 4)
    line(2, 4)
    line.close()
    assert stream.getvalue() == "2 of 4 walks, 0:11 left\n"


def test_durations():
    assert [duration_text(value) for value in (0.0, 61.0, 3725.0, math.inf)] == ["0:00", "1:01", "1:02:05", "?"]


def test_a_table_of_crashes_has_the_types_of_any_table():
    rows = [run_cell(BASE, {"load_on_n": 50.0})]
    same(as_table(rows).dtypes.to_frame(), as_table([run_cell(BASE, {})]).dtypes.to_frame())
