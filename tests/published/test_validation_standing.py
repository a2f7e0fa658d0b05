"""Answers of standing, sitting and the stair to rows P10, C05 and C07: what they hang on, and that they can fail.

Row P10: Ernst and others 2017, doi 10.1186/s12984-017-0322-2; rows C05 and C07: common practice.
"""

import dataclasses
import math

import pytest

from experiments.validation import directions, standing
from experiments.validation.run import answer, rows
from experiments.validation.targets import targets
from experiments.validation.walks import Walks
from sim.scenario import Knee


def test_the_ground_extends_a_knee_let_go_on_the_level_and_flexes_it_on_a_slope():
    (level, straight), (slope, bent) = standing.let_go(0.0), standing.let_go(-10.0)
    assert level < -2.0
    assert slope > 2.0
    assert abs(math.degrees(straight)) < 0.5
    assert math.degrees(bent) > 15.0


def test_a_steeper_slope_asks_more_of_the_hip_that_holds_the_knee():
    share = {slope: standing.pressed(slope, 0.45, 0.15) for slope in (0.0, -10.0)}
    assert share[-10.0][0] == pytest.approx(share[0.0][0], abs=0.03)
    assert share[-10.0][1] > 1.1 * share[0.0][1]


def test_a_task_with_another_resistance_fails_the_row_of_one_law(monkeypatch):
    row, target, walks = rows()["C07"], targets()["C07"], Walks()
    assert answer(target, row, walks).status == "pass"
    usual = standing.tasks_in_place
    firmer = dataclasses.replace(Knee(), flexion_resistance=1.02 * Knee().flexion_resistance)
    monkeypatch.setattr(directions, "tasks_in_place", lambda knee: usual(knee) | {"stair": usual(firmer)["stair"]})
    found = answer(target, row, walks)
    assert found.finding.ours == pytest.approx(1.02, rel=1e-6)
    assert found.status != "pass"


def test_a_knee_that_stands_bent_on_no_slope_fails_the_row_of_yielding(monkeypatch):
    monkeypatch.setattr(directions, "more_flexed_than_level", lambda _slopes: -0.1)
    found = answer(targets()["C05"], rows()["C05"], Walks())
    assert found.gross
