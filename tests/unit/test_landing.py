"""A walk that begins after the last landing of another."""

import numpy as np
import pytest

from sim import RampwalkError, Scenario, replace_by_name, walk
from sim.activities.walk import SPARE_LANDINGS
from sim.body import build_body
from sim.drivers import landing
from sim.drivers.landing import carry_over, minimal_of_state, sole_points
from sim.law.records import BODIES, MEMORY
from sim.pack import pack_gains, pack_plant, pack_settings

BASE = replace_by_name(Scenario(), {"slope_deg": -6.0, "step_length_m": 0.5, "strides": 3})


@pytest.fixture(scope="module")
def before():
    result = walk(BASE)
    assert result.outcome == "walked"  # else the tests below test nothing
    return result


def test_a_walk_goes_on_from_itself_as_if_it_had_never_stopped(before):
    longer = walk(replace_by_name(BASE, {"strides": 5}))
    on = walk(BASE, start=before)
    made = len(before.step_records)
    rest = longer.step_records[made : made + 3]
    assert len(rest) == 3
    for name in ("leg", "length", "duration", "knee_at_landing", "knee_drop"):
        np.testing.assert_allclose(on.step_records[name][:3], rest[name], atol=1e-3, err_msg=name)
    assert (on.start, before.start) == ("neighbour", "standing")
    assert on.started_from == (BASE,)
    assert len(on.step_records) == 2 * BASE.strides + SPARE_LANDINGS  # no way to the slope
    assert np.all(on.step_records["heel_x"] >= on.slope_start_x)


def test_it_says_so_in_its_json(before):
    plain = walk(replace_by_name(BASE, {"slope_deg": -6.5}), start=before).to_json_dict()
    assert plain["start"] == "neighbour"
    assert [scenario["slope_deg"] for scenario in plain["started_from"]] == [-6.0]
    assert before.to_json_dict()["started_from"] == []


def carried(before, **changes):
    scenario = replace_by_name(BASE, changes)
    settings = pack_settings(scenario)
    plant = pack_plant(build_body(scenario.person, scenario.components, scenario.foot))
    memory, state = np.zeros(1, MEMORY), np.zeros(6 * BODIES)
    carry_over(before.landing, settings, pack_gains(), plant, memory, scenario.numerics.time_step_s, state)
    return settings, memory[0], state


def depths(settings, state):
    """How far heel, ball and toe of both feet are in the straight ground where forces act next, shape (6,)."""
    q, v, points = np.zeros(9), np.zeros(9), np.zeros((2, 3, 2))
    minimal_of_state(settings, state, q, v)
    q += BASE.numerics.time_step_s * v
    sole_points(settings, q, points)
    ground = settings[0]["ground"]
    x, height, slope = (ground[name][1] for name in ("x", "height", "slope"))
    return ((height + slope * (points[..., 0] - x) - points[..., 1]) / np.hypot(1.0, slope)).ravel()


@pytest.mark.parametrize("slope", [-9.0, -2.0, 3.0])
def test_the_feet_stand_on_the_new_slope_as_on_the_old_one(before, slope):
    settings, memory, state = carried(before, slope_deg=slope)
    old = depths(before.landing.settings, before.landing.state)
    assert old.max() > 0.0  # they stand
    np.testing.assert_allclose(depths(settings, state), old, atol=1e-9)
    assert memory["landed_time"] < 0.0
    heels = memory["heel_x"]
    assert heels[1 - memory["stance"]] == pytest.approx(settings[0]["ground"]["x"][1])
    assert heels[memory["stance"]] > heels[1 - memory["stance"]]


def test_a_larger_person_stands_alike_and_moves_by_froude(before):
    settings, memory, state = carried(before, stature_m=1.1 * BASE.person.stature_m)
    old = before.landing
    ratio = float(settings[0]["person"]["leg_length"] / old.settings[0]["person"]["leg_length"])
    assert ratio == pytest.approx(1.1)
    np.testing.assert_allclose(depths(settings, state), ratio * depths(old.settings, old.state), atol=1e-9)
    speed, was = np.hypot(*state[3:5]), np.hypot(*old.state[3:5])
    assert speed / was == pytest.approx(np.sqrt(ratio))
    assert memory["speed_adjust"] == pytest.approx(np.sqrt(ratio) * old.memory[0]["speed_adjust"])


def test_every_field_of_the_memory_has_its_way_of_coming_over():
    named = (*landing.AS_IT_IS, *landing.MOVED, *landing.SCALED, *landing.MADE_ANEW)
    assert sorted(named) == sorted(MEMORY.names)


def test_nothing_of_the_walk_before_is_changed(before):
    kept = [part.tobytes() for part in (before.landing.state, before.landing.memory, before.landing.settings)]
    first = walk(replace_by_name(BASE, {"slope_deg": -7.0}), start=before)
    again = walk(replace_by_name(BASE, {"slope_deg": -7.0}), start=before)
    assert [part.tobytes() for part in (before.landing.state, before.landing.memory, before.landing.settings)] == kept
    assert first.frames.tobytes() == again.frames.tobytes()


def test_what_is_no_start_gets_one_sentence(before):
    fell = walk(replace_by_name(BASE, {"knee.flexion_resistance": 0.0}))
    assert fell.outcome != "walked"
    sound = replace_by_name(BASE, {"limbs": "both-sound"})
    for scenario, start, said in (
        (BASE, fell, "outcome 'fell'" if fell.outcome == "fell" else "outcome"),
        (BASE, "there", "not the result of a walk"),
        (sound, before, "same kind of walker"),
    ):
        with pytest.raises(RampwalkError, match=said):
            walk(scenario, start=start)
