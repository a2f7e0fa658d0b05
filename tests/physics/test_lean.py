"""Walking with the trunk leaning: the lean that was asked for comes out."""

import math

import numpy as np
import pytest

from sim.activities.walk import walk
from sim.body import build_body
from sim.gains import read_gains
from sim.law.phase import LITTLE_YIELD, YIELD_SPAN
from sim.scenario import Knee, Scenario

SLOPE_DEG = -8.0


def answer_deg(result):
    """How far the person leans besides the wanted lean [deg]: with the slope, and as the prosthetic leg gives way."""
    table, scenario = read_gains(), result.scenario
    w = scenario.step_length_m / build_body(scenario.person, scenario.components, scenario.foot).leg_length
    w = (w - table["reference"]["step_per_leg_length"]) / table["span"]["step_per_leg_length"]

    def gain(name, felt):
        row, knot = table["gains"][name], table["knots_deg"].index(SLOPE_DEG)
        factors = {
            "value": 1.0, "per_step": w, "per_yield": min(max(felt, -1.0), 1.0),
            "per_little_yield": min(max(felt + 1.0, -LITTLE_YIELD), 0.0),
        }  # fmt: skip
        terms = (np.broadcast_to(row[term], len(table["knots_deg"]))[knot] * factor for term, factor in factors.items())
        return min(max(sum(terms), row["low"]), row["high"])

    bent = math.radians(result.metrics["knee_flexion_at_sound_landing_deg"])
    return math.degrees(gain("slope_lean", (bent - gain("wanted_yield", 0.0)) / YIELD_SPAN))


@pytest.mark.parametrize("lean", [-9.0, -7.0, 2.5])
def test_a_lean_is_walked(lean):
    result = walk(Scenario(slope_deg=SLOPE_DEG, trunk_lean_deg=lean))
    assert result.outcome == "walked"
    assert result.metrics["trunk_lean_deg"] == pytest.approx(lean + answer_deg(result), abs=0.5)


def test_one_leans_farther_back_on_a_stiffer_knee_by_what_is_felt():
    soft, stiff = (walk(Scenario(slope_deg=SLOPE_DEG, knee=Knee(flexion_resistance=c))) for c in (26.0, 80.0))
    for result in (soft, stiff):
        assert result.metrics["trunk_lean_deg"] == pytest.approx(answer_deg(result), abs=0.5)
    assert soft.metrics["trunk_lean_deg"] - stiff.metrics["trunk_lean_deg"] > 1.0


def test_the_person_starts_upright_and_leans_step_by_step():
    result = walk(Scenario(slope_deg=SLOPE_DEG, trunk_lean_deg=-7.0))
    steps = result.steps["trunk_lean_mean_deg"]
    assert abs(steps[0]) < 1.0
    assert steps[1] > steps[3] > steps[7] - 1.0
    assert steps[7] == pytest.approx(-7.0 + answer_deg(result), abs=1.0)
