"""The compiled loop of the activities in place is the readable one: same bits."""

import numpy as np
import pytest

from sim.activities.flight import Flight, flight
from sim.activities.sit import Sit, sit
from sim.activities.stair import Stair, stair
from sim.activities.stand import Stand, stand
from sim.posture_scenario import KneeLock
from sim.scenario import Numerics

CASES = {
    "stand": (stand, Stand, {"seconds": 3.0, "lock": KneeLock(kind="flexion-lock")}),
    "sit": (sit, Sit, {}),
    "stair": (stair, Stair, {}),
    "flight": (flight, Flight, {}),
}


@pytest.mark.parametrize("name", CASES)
def test_both_loops_give_the_same_bits(name):
    act, kind, changes = CASES[name]
    compiled, readable = (act(kind(numerics=Numerics(loop=loop), **changes)) for loop in ("compiled", "batch"))
    assert (compiled.software["loop"], readable.software["loop"]) == ("compiled", "batch")
    assert len(compiled.frames) == len(readable.frames) > 1000
    assert compiled.frames.tobytes() == readable.frames.tobytes()
    assert compiled.energy == readable.energy
    assert compiled.metrics == readable.metrics


def test_a_repeated_activity_is_the_same_to_the_last_bit():
    first, again = stair(Stair()), stair(Stair())
    assert np.array_equal(first.frames, again.frames)
    assert first.metrics == again.metrics
