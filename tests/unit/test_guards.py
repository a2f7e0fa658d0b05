"""A run whose physics does not hold is no result, however it ended, and says when and why."""

import json
import math

import numpy as np
import pytest

from sim.activities import walk as module
from sim.activities.guards import (
    MOST_RESIDUAL,
    MOST_SEPARATION,
    breach_of,
    finite_rows,
    first_time,
    separations,
)
from sim.activities.walk import walk
from sim.drivers.engine import Pivot
from sim.law.records import FRAME
from sim.scenario import Scenario, replace_by_name
from sim.table import result_row

SCENARIO = Scenario(strides=1)
PIVOTS = [Pivot(0, 1, (0.0, -0.2), (0.0, 0.3))]


def frames_of(count=10):
    """Two bodies that hang together, the others at rest, every 10 ms."""
    frames = np.zeros(count, FRAME)
    frames["time"] = 0.01 * np.arange(count)
    frames["body"][:, 0, :3] = [1.0, 1.0, 0.3]
    x, y = 1.0 + 0.2 * math.sin(0.3), 1.0 - 0.2 * math.cos(0.3)
    frames["body"][:, 1, :3] = [x + 0.3 * math.sin(-0.5), y - 0.3 * math.cos(-0.5), -0.5]
    return frames


def closed(_moment):
    return 0.0


def test_joints_that_hold_are_together_however_their_bodies_are_turned():
    assert separations(frames_of()["body"], PIVOTS) == pytest.approx(np.zeros(10), abs=1e-12)
    assert breach_of(frames_of(), PIVOTS, 0.09, closed) is None


def test_a_joint_that_comes_apart_is_found_with_its_time():
    frames = frames_of()
    frames["body"][6:, 1, 0] += 1.01 * MOST_SEPARATION
    assert separations(frames["body"], PIVOTS)[[5, 6]] == pytest.approx([0.0, 1.01 * MOST_SEPARATION], abs=1e-12)
    breach = breach_of(frames, PIVOTS, 0.09, closed)
    assert breach.time == pytest.approx(0.06)
    assert "a joint came apart (by 1.01 mm at most, allowed 1 mm)" in breach.cause
    frames["body"][6:, 1, 0] -= 0.02 * MOST_SEPARATION
    assert breach_of(frames, PIVOTS, 0.09, closed) is None


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("field", ["body", "forces"])
def test_a_number_that_is_none_is_found_with_its_time(field, value):
    frames = frames_of()
    if field == "body":
        frames["body"][4, 3, 5] = value
    else:
        frames["forces"]["friction_damping"][4, 1, 2] = value
    assert finite_rows(frames).tolist() == [index != 4 for index in range(10)]
    breach = breach_of(frames, PIVOTS, 0.09, closed)
    assert (breach.time, breach.cause) == (pytest.approx(0.04), "a number left the finite range")


def test_energy_out_of_nowhere_is_found_with_its_time():
    breach = breach_of(frames_of(), PIVOTS, 8.0, lambda moment: 2 * MOST_RESIDUAL * (moment > 3.7))
    assert breach.time == pytest.approx(3.7, abs=0.02)
    assert "0.2 % of the energy is unaccounted for" in breach.cause
    assert breach_of(frames_of(), PIVOTS, 8.0, lambda _: MOST_RESIDUAL) is None
    assert "energy book" in breach_of(frames_of(), PIVOTS, 8.0, lambda _: math.nan).cause


def test_the_first_of_several_breaches_is_told():
    frames = frames_of()
    frames["body"][6:, 1, 0] += 1.0
    frames["body"][8:, 1, 0] = math.nan
    assert "joint" in breach_of(frames, PIVOTS, 0.09, lambda _: 1.0 * (_ > 0.07)).cause
    assert breach_of(frames, PIVOTS, 0.09, lambda _: 1.0).time < 0.02


def test_a_run_without_frames_is_no_breach():
    assert breach_of(frames_of(0), PIVOTS, 0.0, closed) is None


def test_first_time_halves():
    assert first_time(lambda moment: moment >= 2.0, 10.0) == pytest.approx(2.0, abs=0.02)


# -------------------------------------------------------------------------------- faults injected into a real walk
def spoiled(monkeypatch, spoil):
    """Result of a walk whose run was spoiled after it ended well."""
    run_walk = module.run_walk

    def run_and_spoil(*arguments, **named):
        run = run_walk(*arguments, **named)
        if len(run.frames) > 40:
            spoil(run)
        return run

    assert walk(SCENARIO).outcome == "walked"
    monkeypatch.setattr(module, "run_walk", run_and_spoil)
    return walk(SCENARIO)


def nan_in_a_force(run):
    run.frames["forces"]["hip"][40, 0] = math.nan


def loose_knee(run):
    run.frames["body"][40:, 2, 1] += 0.01


def energy_from_nowhere(run):
    run.book["work"][0] += 0.05 * run.book["through"].sum() * (run.time > 0.1)


def energy_not_finite(run):
    run.book["now"][0] = math.nan


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (nan_in_a_force, "after 0.10 s a number left the finite range"),
        (loose_knee, "after 0.10 s a joint came apart (by 10 mm"),
        (energy_from_nowhere, "% of the energy is unaccounted for"),
        (energy_not_finite, "the energy book holds a number that is not finite"),
    ],
)
def test_a_spoiled_walk_never_counts_as_walked(monkeypatch, spoil, said):
    result = spoiled(monkeypatch, spoil)
    assert result.outcome == "invalid"
    assert said in result.reason
    assert "numerics.time_step_s = 0.000125" in result.reason
    assert all(value is None for value in result.metrics.values())
    plain = json.loads(json.dumps(result.to_json_dict(), allow_nan=False))
    assert plain["outcome"] == "invalid"
    row = result_row(result, "key")
    assert (row["outcome"], row["stage"], row["message"]) == ("invalid", "walk", result.reason)


@pytest.mark.parametrize("loop", ["compiled", "batch"])
def test_a_walk_that_blows_up_is_invalid(loop):
    """A damper of 20 N m s/rad on a foot of 0.005 kg m2 turns it back too far in each step of 1 ms."""
    stiff = {"foot.ankle_damping": 20.0, "foot.ankle_stiffness": 1500.0, "numerics.time_step_s": 1e-3}
    result = walk(replace_by_name(SCENARIO, stiff | {"numerics.loop": loop}))
    assert result.outcome == "invalid"
    assert "a joint came apart" in result.reason or "finite" in result.reason
    assert "try numerics.time_step_s = 0.0005" in result.reason
    assert walk(replace_by_name(SCENARIO, stiff | {"numerics.time_step_s": 5e-5})).outcome != "invalid"


def test_a_good_walk_is_far_from_the_limits():
    result = walk(SCENARIO)
    assert result.energy["residual_fraction"] < 0.02 * MOST_RESIDUAL
