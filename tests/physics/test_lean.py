"""Walking with the trunk leaning: the lean that was asked for comes out."""

import math

import numpy as np
import pytest

from sim.activities.walk import walk
from sim.body import build_body
from sim.gains import read_gains
from sim.law.phase import MOST_ANSWER
from sim.scenario import Knee, Scenario

SLOPE_DEG = -8.0


def answer_deg(result):
    """How far the person leans beside the wanted lean [deg], from how far the prosthetic knee was bent at last."""
    table, scenario = read_gains(), result.scenario
    w = scenario.step_length_m / build_body(scenario.person, scenario.components, scenario.foot).leg_length
    w = (w - table["reference"]["step_per_leg_length"]) / table["span"]["step_per_leg_length"]

    def gain(name):
        row, knot = table["gains"][name], table["knots_deg"].index(SLOPE_DEG)
        value, per_step = (np.broadcast_to(row[term], len(table["knots_deg"]))[knot] for term in ("value", "per_step"))
        return min(max(value + w * per_step, row["low"]), row["high"])

    bent = math.radians(result.metrics["knee_flexion_at_sound_landing_deg"])
    answer = gain("yield_lean") * (bent - gain("wanted_yield"))
    return math.degrees(min(max(answer, -MOST_ANSWER), MOST_ANSWER) + gain("slope_lean"))


@pytest.mark.parametrize("lean", [-10.0, -7.0, 2.5])
def test_a_lean_is_walked(lean):
    result = walk(Scenario(slope_deg=SLOPE_DEG, trunk_lean_deg=lean))
    assert result.outcome == "walked"
    assert result.metrics["trunk_lean_deg"] == pytest.approx(lean + answer_deg(result), abs=0.5)


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
