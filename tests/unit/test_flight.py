"""A flight of stairs step over step: treads, footholds, and that each landing is on the tread it is for."""

import math

import numpy as np
import pytest

from sim.activities.flight import Flight, flight, landings
from sim.body import BALL, HEEL, PROSTHETIC, SOUND
from sim.flight_pack import FACE, ankle_before_edge, footholds, pack_treads
from sim.law.ground import height_and_slope
from sim.law.knee import knee_torque
from sim.parameters import ours_flight
from sim.posture_pack import body_of, pack_posture
from sim.scenario import Knee, Numerics


@pytest.fixture(scope="module")
def result():
    return flight(Flight())


def at(result, moment):
    return int(np.searchsorted(result.series.time, moment))


def test_treads_are_level_and_a_riser_apart():
    row = pack_posture(Flight())[0]
    pack_treads(row, 0.2, 0.15, 0.3, 3)
    ground = row["base"]["ground"]
    for k, x in enumerate((0.0, 0.35, 0.65, 5.0)):
        height, slope = height_and_slope(ground, x)
        assert (height, slope) == pytest.approx((-0.15 * k, 0.0), abs=1e-12)
    assert height_and_slope(ground, 0.2 + 0.5 * FACE)[0] == pytest.approx(-0.075)
    assert row["edge"]["on"] == 3
    assert row["edge"]["x"][:3] == pytest.approx([0.2, 0.5, 0.8])
    assert row["edge"]["y"][:3] == pytest.approx([0.0, -0.15, -0.3])


def test_footholds_are_beyond_the_riser_and_over_the_edge():
    body = body_of(Flight())
    own = ours_flight.gains()
    places = footholds(body, 1.0, 0.16, 0.3, own, 3)
    assert places[:, 1] == pytest.approx([body.sole_height - 0.16 * k for k in (1, 2, 3)])
    heel = places[0, 0] + body.sole_points[SOUND, HEEL, 0]
    assert heel == pytest.approx(1.0 + FACE + own["sound_gap"] * body.leg_length)
    assert places[2, 0] - places[0, 0] == pytest.approx(2 * 0.3)
    toe = places[1, 0] + body.sole_points[PROSTHETIC, HEEL, 0] + body.foot_length
    assert toe - (1.0 + 2 * 0.3) == pytest.approx(own["over"] * body.foot_length)
    assert ankle_before_edge(body, 0.0) > ankle_before_edge(body, 1.0)


def packed(monkeypatch, resistance):
    class PackedError(Exception):
        pass

    def keep(record, _plant, start, *_):
        raise PackedError(record.copy(), start)

    monkeypatch.setattr("sim.activities.flight.run_posture", keep)
    with pytest.raises(PackedError) as seen:
        flight(Flight(knee=Knee(flexion_resistance=resistance)))
    return seen.value.args


@pytest.mark.parametrize("resistance", [20.0, 36.0, 43.0, 54.0, 80.0])
def test_no_gain_plan_or_start_of_the_person_reads_the_resistance(monkeypatch, resistance):
    (usual, start), (other, other_start) = packed(monkeypatch, 40.0), packed(monkeypatch, resistance)
    assert np.array_equal(start, other_start)
    assert usual["flight"].tobytes() == other["flight"].tobytes()
    assert usual["base"]["knee"]["flexion_resistance"][0] == 40.0
    assert other["base"]["knee"]["flexion_resistance"][0] == resistance
    other["base"]["knee"]["flexion_resistance"] = 40.0
    assert usual.tobytes() == other.tobytes()  # the knee itself is all that differs


def test_a_whole_stride_is_made_and_the_person_stops(result):
    made = landings_of(result)
    assert result.outcome == "landed"
    assert [leg for leg, _, _ in made] == [SOUND, PROSTHETIC, SOUND]
    assert all(made[k][1] >= made[k - 1][2] for k in (1, 2))  # one foot at a time
    assert result.metrics["landings"] == 3.0
    assert result.energy["residual_fraction"] < 1e-4


def landings_of(result):
    class Run:
        memory = result.memory

    return landings(Run)


def test_each_foot_lands_on_its_own_tread_past_the_other(result):
    series, riser, high = result.series, result.settings.riser_m, result.body.sole_height
    for k, (leg, _, landed) in enumerate(landings_of(result)):
        later = at(result, landed + 0.1)
        ankle = series.ankle[later, leg]
        above = ankle[1] - high + (k + 1) * riser  # of the tread; the foot may tilt over the edge
        assert -0.04 < above < 0.06
        assert ankle[0] > series.ankle[later, 1 - leg, 0]


def test_the_sound_foot_lands_on_its_forefoot_and_then_the_heel_comes_down(result):
    first = landings_of(result)[0][2]
    k = at(result, first)
    assert math.degrees(result.series.foot[k, SOUND]) < -5.0
    heel, ball = result.series.sole[k, SOUND, [HEEL, BALL], 1]
    assert ball < heel - 0.01
    assert abs(math.degrees(result.series.foot[at(result, first + 0.3), SOUND])) < 8.0


def test_a_forefoot_landing_is_softer_than_that_of_the_single_stair():
    from sim.activities.stair import Stair, stair

    soft, hard = flight(Flight()), stair(Stair())
    assert (soft.outcome, hard.outcome) == ("landed", "landed")
    assert soft.metrics["sound_landing_peak_bw"] < 0.8 * hard.metrics["landing_peak_bw"]


def test_the_loaded_knee_is_the_damper_of_every_activity(result):
    series = result.series
    record = pack_posture(result.settings)[0]["base"]["knee"]
    k = at(result, landings_of(result)[2][2] - 0.1)
    assert series.load[k, 0] > result.settings.knee.load_on_n
    assert series.knee_rate[k, 0] > 1.0
    expected = knee_torque(series.knee_flexion[k, 0], series.knee_rate[k, 0], 1, record)
    assert series.knee_torque[k, 0] == pytest.approx(expected, rel=0.02)


def test_only_the_ground_and_the_edges_push(result):
    series, body = result.series, result.body
    mass, last = body.total_mass, len(series.time) - 1
    first = at(result, 1.0)
    push = series.ground_force[first:last].sum(axis=(0, 1)) * series.interval
    push[1] -= mass * 9.81 * series.interval * (last - first)
    change = mass * (series.mass_centre_velocity[last] - series.mass_centre_velocity[first])
    assert push == pytest.approx(change, abs=0.03 * mass)


@pytest.mark.parametrize("resistance", [10.0, 200.0])
def test_a_knee_that_is_far_off_ends_in_a_fall_with_its_reason(resistance):
    result = flight(Flight(knee=Knee(flexion_resistance=resistance)))
    assert result.outcome == "fell"
    assert result.reason.startswith("Fell ")
    assert result.metrics["landings"] < 3.0


def test_the_tread_is_used():
    near, far = (flight(Flight(steps=1, tread_m=tread)) for tread in (0.28, 0.34))
    assert near.metrics["sound_landing_peak_bw"] == far.metrics["sound_landing_peak_bw"]  # nothing differs yet
    near, far = (flight(Flight(tread_m=tread)) for tread in (0.28, 0.34))
    assert abs(far.series.ankle[-1, PROSTHETIC, 0] - near.series.ankle[-1, PROSTHETIC, 0]) > 0.03


def test_half_the_time_step_lands_too():
    result = flight(Flight(numerics=Numerics(time_step_s=1.25e-4)))
    assert result.metrics["landings"] >= 2.0
    assert result.energy["residual_fraction"] < 1e-4
