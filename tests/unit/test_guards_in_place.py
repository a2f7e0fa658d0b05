"""Standing, bending, sitting and the stair whose physics did not hold are no result."""

import math
from dataclasses import replace

import pytest

from sim.activities import bend as bending
from sim.activities import sit as sitting
from sim.activities import stair as stairs
from sim.activities import stand as standing
from sim.activities.guards import MOST_RESIDUAL, MOST_SEPARATION

ACTIVITIES = {
    "stand": (standing, standing.stand, standing.Stand(seconds=3.0)),
    "bend": (bending, bending.bend, bending.Bend(repeats=1)),
    "sit": (sitting, sitting.sit, sitting.Sit()),
    "stair": (stairs, stairs.stair, stairs.Stair()),
}


def nan_in_a_force(run):
    run.frames["base"]["forces"]["hip"][40, 0] = math.nan


def loose_knee(run):
    run.frames["base"]["body"][40:, 2, 1] += 10.0 * MOST_SEPARATION


def energy_from_nowhere(run):
    if run.time > 0.1:
        run.book["work"][0] += 50.0 * MOST_RESIDUAL * run.book["base"]["through"].sum()


def energy_not_finite(run):
    run.book["base"]["now"][0] = math.nan


FAULTS = {
    nan_in_a_force: "after 0.10 s a number left the finite range",
    loose_knee: "after 0.10 s a joint came apart (by 10 mm",
    energy_from_nowhere: "% of the energy is unaccounted for",
    energy_not_finite: "the energy book holds a number that is not finite",
}


@pytest.mark.parametrize(
    ("name", "fault"),
    [*(("stand", fault) for fault in FAULTS), *((name, loose_knee) for name in ACTIVITIES if name != "stand")],
    ids=lambda given: given if isinstance(given, str) else given.__name__,
)
def test_a_spoiled_run_is_invalid_and_has_no_metrics(monkeypatch, name, fault):
    module, act, settings = ACTIVITIES[name]
    run_posture = module.run_posture

    def spoiled(*arguments, **named):
        run = run_posture(*arguments, **named)
        again = run.until

        def until(moment):
            shorter = again(moment)
            if fault is energy_from_nowhere:
                fault(shorter)
            return shorter

        run.until = until
        fault(run)
        return run

    monkeypatch.setattr(module, "run_posture", spoiled)
    result = act(settings)
    assert result.outcome == "invalid"
    assert FAULTS[fault] in result.reason
    assert "half of numerics.time_step_s" in result.reason
    assert result.metrics
    assert all(value is None for value in result.metrics.values())
    assert result.to_json_dict()["outcome"] == "invalid"


@pytest.mark.parametrize("name", ACTIVITIES)
def test_a_good_run_is_far_from_the_limits(name):
    _, act, settings = ACTIVITIES[name]
    result = act(settings)
    assert result.outcome != "invalid"
    assert result.energy["residual_fraction"] < 0.02 * MOST_RESIDUAL


def test_standing_that_blows_up_is_invalid():
    """A damper of 20 N m s/rad on a foot of 0.005 kg m2 turns it back too far in each step of 1 ms."""
    settings = standing.Stand(seconds=3.0)
    foot = replace(settings.foot, ankle_damping=20.0, ankle_stiffness=1500.0)
    result = standing.stand(replace(settings, foot=foot, numerics=replace(settings.numerics, time_step_s=1e-3)))
    assert result.outcome == "invalid"
    assert "No result: after" in result.reason
