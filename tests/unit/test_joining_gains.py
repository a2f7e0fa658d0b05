"""Gains joined from two files: what is taken from which, and where."""

import json

import numpy as np
import pytest

from experiments.tune_gains import join
from experiments.tune_gains.encode import LITTLE_YIELD, STEP, VALUE, YIELD, as_file, read
from sim.gains import GAINS_FILE, read_gains
from sim.law.records import GAIN_NAMES

LEAN = GAIN_NAMES.index("slope_lean")


@pytest.fixture
def two():
    """The gains, and others that differ in every number that may differ."""
    row = read(read_gains())
    other = row.copy()
    numbers = row["coefficients"].copy()
    numbers[VALUE] += 0.1
    numbers[STEP] += 0.2
    numbers[YIELD] += 0.03
    other["coefficients"] = numbers
    return row, other


def test_a_mean_has_its_share_of_the_other_gains_at_its_knots_only(two):
    row, other = two
    knots = join.knots_at(row, [-12.0, -6.0])
    mixed = join.mean(row, other, 0.25, knots)["coefficients"]
    rest = [k for k in range(len(row["slope"])) if k not in knots]
    assert np.degrees(row["slope"][knots]) == pytest.approx([-12.0, -6.0])
    assert mixed[VALUE, knots] - row["coefficients"][VALUE, knots] == pytest.approx(0.025)
    assert mixed[STEP, knots] - row["coefficients"][STEP, knots] == pytest.approx(0.05)
    assert (mixed[:, rest] == row["coefficients"][:, rest]).all()


def test_a_stiff_knee_is_answered_as_by_the_other_gains(two):
    row, other = two
    numbers = join.stiff_like(row, other, 1.5, join.knots_at(row, None))["coefficients"]
    for knot in range(len(row["slope"])):
        felt = numbers[VALUE, knot] - numbers[YIELD, knot] - 1.5 * numbers[LITTLE_YIELD, knot]
        least = other["coefficients"][VALUE, knot] - other["coefficients"][YIELD, knot]
        assert felt[join.ANSWERS] == pytest.approx(least[join.ANSWERS])
    assert (numbers[LITTLE_YIELD][:, ~join.ANSWERS] == 0.0).all()
    assert (numbers[:LITTLE_YIELD] == row["coefficients"][:LITTLE_YIELD]).all()


def test_a_slope_without_a_knot_is_said(two):
    with pytest.raises(SystemExit, match=r"no knot at -7 deg; there are -16, -12"):
        join.knots_at(two[0], [-8.0, -7.0])


def test_files_are_joined_from_the_command_line(two, tmp_path, monkeypatch):
    other, out = tmp_path / "other.json", tmp_path / "out.json"
    template = read_gains()
    other.write_text(json.dumps(as_file(two[1], template)))
    common = ["join", "--start", str(GAINS_FILE), "--other", str(other), "--out", str(out), "--knots=-8"]
    monkeypatch.setattr("sys.argv", [*common, "--share", "1", "--stiff", "2"])
    join.main()
    found = json.loads(out.read_text())["gains"]["slope_lean"]
    knot = join.knots_at(two[0], [-8.0])[0]
    assert found["per_step"][knot] == pytest.approx(two[1]["coefficients"][STEP, knot, LEAN], abs=1e-4)
    assert found["per_step"][knot + 1] == pytest.approx(two[0]["coefficients"][STEP, knot + 1, LEAN], abs=1e-4)
