"""Walking with the trunk leaning: the lean that was asked for comes out."""

import pytest

from sim.activities.walk import walk
from sim.scenario import Scenario

SLOPE_DEG = -8.0


@pytest.mark.parametrize("lean", [-10.0, -7.0, 2.5])
def test_a_lean_is_walked(lean):
    result = walk(Scenario(slope_deg=SLOPE_DEG, trunk_lean_deg=lean))
    assert result.outcome == "walked"
    assert result.metrics["trunk_lean_deg"] == pytest.approx(lean, abs=0.5)


def test_the_person_starts_upright_and_leans_step_by_step():
    steps = walk(Scenario(slope_deg=SLOPE_DEG, trunk_lean_deg=-10.0)).steps["trunk_lean_mean_deg"]
    assert abs(steps[0]) < 1.0
    assert steps[1] > steps[3] > steps[7] - 1.0
    assert steps[7] == pytest.approx(-10.0, abs=2.0)
