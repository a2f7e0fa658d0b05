"""Walking with the trunk leaning: the lean that was asked for comes out."""

import math

import pytest

from sim.activities.walk import walk
from sim.law.phase import MOST_ANSWER
from sim.scenario import Knee, Scenario

SLOPE_DEG = -8.0


@pytest.mark.parametrize("lean", [-10.0, -7.0, 2.5])
def test_a_lean_is_walked(lean):
    result = walk(Scenario(slope_deg=SLOPE_DEG, trunk_lean_deg=lean))
    assert result.outcome == "walked"
    answer = math.degrees(MOST_ANSWER)  # how far the person leans beside, as the prosthetic leg gives way
    assert result.metrics["trunk_lean_deg"] == pytest.approx(lean, abs=answer + 0.5)


def test_one_leans_farther_back_on_a_stiffer_knee_by_what_the_answer_allows():
    soft, stiff = (
        walk(Scenario(slope_deg=SLOPE_DEG, knee=Knee(flexion_resistance=c))).metrics["trunk_lean_deg"]
        for c in (26.0, 80.0)
    )
    assert 1.0 < soft - stiff < 2.0 * math.degrees(MOST_ANSWER) + 0.3


def test_the_person_starts_upright_and_leans_step_by_step():
    steps = walk(Scenario(slope_deg=SLOPE_DEG, trunk_lean_deg=-10.0)).steps["trunk_lean_mean_deg"]
    assert abs(steps[0]) < 1.0
    assert steps[1] > steps[3] > steps[7] - 1.0
    assert steps[7] == pytest.approx(-10.0, abs=2.0)
