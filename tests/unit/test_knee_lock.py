"""The lock against flexion: rules of closing and opening, and what it holds."""

import numpy as np
import pytest

from sim.law.knee_lock import lock_torque, opening_cause, tend_lock
from sim.law.posture_records import (
    FLEXION_LOCK,
    HYPEREXTENSION,
    LOCK,
    LOCK_MEMORY,
    NEVER,
    NO_LOCK,
    PERMANENT_LOCK,
    TOE_LOADED,
    UNLOADED,
)

DT = 0.01


@pytest.fixture
def lock():
    record = np.zeros(1, LOCK)[0]
    record["kind"], record["close_load"], record["close_rate"], record["close_time"] = FLEXION_LOCK, 160.0, 0.1, 0.5
    record["open_hyperextension"], record["open_load"], record["open_toe_share"] = 45.0, 60.0, 0.6
    record["open_time"], record["stiffness"], record["damping"] = 0.1, 3000.0, 40.0
    return record


def after(lock, seconds, memory=None, flexion=0.1, rate=0.0, load=400.0, pressed=0.0, toe=0.0):
    memory = np.zeros(1, LOCK_MEMORY)[0] if memory is None else memory
    for i in range(round(seconds / DT)):
        tend_lock(1.0 + i * DT, DT, flexion, rate, load, pressed, toe, lock, memory)
    return memory


def test_it_closes_after_standing_still_for_its_time(lock):
    assert after(lock, 0.45)["closed"] == 0
    memory = after(lock, 0.55)
    assert memory["closed"] == 1
    assert memory["angle"] == pytest.approx(0.1)


@pytest.mark.parametrize("restless", [{"rate": 0.2}, {"load": 150.0}, {"toe": 0.7}])
def test_it_does_not_close_while_moving_unloaded_or_on_the_toe(lock, restless):
    assert after(lock, 3.0, **restless)["closed"] == 0


@pytest.mark.parametrize(
    ("acting", "cause"),
    [({"pressed": 50.0}, HYPEREXTENSION), ({"load": 50.0}, UNLOADED), ({"toe": 0.65}, TOE_LOADED)],
)
def test_each_rule_opens_it_after_its_time_and_says_so(lock, acting, cause):
    memory = after(lock, 1.0)
    assert after(lock, 0.08, memory, **acting)["closed"] == 1
    assert after(lock, 0.1, memory, **acting)["closed"] == 0
    assert (memory["cause"], memory["openings"]) == (cause, 1)


def test_a_rule_of_zero_is_left_out(lock):
    for rule in ("open_hyperextension", "open_load", "open_toe_share"):
        lock[rule] = 0.0
    assert opening_cause(1.0, 500.0, 1.5, lock) == NEVER


def test_closed_it_resists_flexion_only(lock):
    memory = after(lock, 1.0)
    assert lock_torque(0.12, 0.0, lock, memory) == pytest.approx(-3000.0 * 0.02)
    assert lock_torque(0.12, 1.0, lock, memory) < lock_torque(0.12, 0.0, lock, memory)
    assert lock_torque(0.09, -1.0, lock, memory) == 0.0


def test_no_lock_never_closes_and_a_permanent_one_never_opens(lock):
    lock["kind"] = NO_LOCK
    assert after(lock, 5.0)["closed"] == 0
    lock["kind"] = PERMANENT_LOCK
    memory = after(lock, 0.1)
    assert memory["closed"] == 1
    assert after(lock, 5.0, memory, load=0.0, pressed=200.0, toe=1.1)["closed"] == 1
