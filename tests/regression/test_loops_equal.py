"""The compiled loop is the readable one: same bits. And a repeated walk is the same walk."""

import numpy as np
import pytest

from sim.activities.walk import walk
from sim.body import build_body
from sim.drivers.loops import run_walk
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.scenario import Scenario, replace_by_name

SCENARIO = replace_by_name(
    Scenario(), {"slope_deg": -8.0, "step_length_m": 0.5, "knee.flexion_resistance": 40.0, "strides": 1}
)


def run(loop, scenario=SCENARIO, start=None):
    body = build_body(scenario.person, scenario.components, scenario.foot)
    records = pack_settings(scenario), pack_gains(), pack_plant(body)
    return run_walk(*records, 4, 4.0, scenario.numerics.time_step_s, loop=loop, start=start)


def assert_same_bits(compiled, readable):
    assert (compiled.loop, readable.loop) == ("compiled", "batch")
    assert compiled.time_steps == readable.time_steps > 1000
    assert compiled.status == readable.status
    assert len(compiled.steps) > 0
    for kept in ("steps", "frames", "book"):
        assert getattr(compiled, kept).tobytes() == getattr(readable, kept).tobytes(), kept
    assert compiled.landing is not None
    for kept in ("settings", "state", "memory"):
        assert getattr(compiled.landing, kept).tobytes() == getattr(readable.landing, kept).tobytes(), kept


def test_both_loops_give_the_same_bits():
    assert_same_bits(run("compiled"), run("batch"))


def test_both_loops_go_on_from_a_landing_with_the_same_bits():
    landing = run("compiled").landing
    steeper = replace_by_name(SCENARIO, {"slope_deg": -8.5, "person.stature_m": 1.8})
    assert_same_bits(run("compiled", steeper, landing), run("batch", steeper, landing))


@pytest.mark.parametrize("loop", ["compiled", "batch"])
def test_a_walk_says_which_loop_ran(loop):
    result = walk(replace_by_name(SCENARIO, {"numerics.loop": loop}))
    assert result.software["loop"] == loop
    assert result.software["time_step_s"] == SCENARIO.numerics.time_step_s


def test_a_repeated_walk_is_the_same_to_the_last_bit():
    first, again = walk(SCENARIO), walk(SCENARIO)
    assert first.frames.tobytes() == again.frames.tobytes()
    assert first.metrics == again.metrics
    assert first.energy == again.energy
    assert np.array_equal(first.step_records, again.step_records)
