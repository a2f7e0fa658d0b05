"""A stop on a slope: one run of the same bodies, rest on both feet, a new walk; only the ground carries the person."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sim.activities.stop import METRICS, Stop, stop
from sim.activities.stop_run import AT_REST_SPEED, Steering
from sim.drivers.loops import run_walk
from sim.law.knee import knee_torque
from sim.pack import pack_gains, pack_plant
from sim.posture_pack import body_of
from sim.scenario import Knee, Numerics

#: Slope and step of runs of which most must succeed: single ones may fall when the gains of the walk change.
TRIED = ((-4.0, 0.45), (-5.0, 0.45), (-8.0, 0.45), (-4.0, 0.50), (-8.0, 0.40), (-7.0, 0.45))


@pytest.fixture(scope="module")
def runs():
    return [stop(Stop(slope_deg=slope, step_m=step)) for slope, step in TRIED]


@pytest.fixture(scope="module")
def run(runs):
    done = [result for result in runs if result.outcome == "stopped and walked on"]
    assert done, [result.reason for result in runs]
    return done[0]


def steering_of(settings, lean_back_deg):
    return Steering(settings.scenario(), settings, body_of(settings), math.radians(lean_back_deg))


def test_most_of_the_tried_stop_and_walk_on(runs):
    outcomes = [result.outcome for result in runs]
    assert outcomes.count("stopped and walked on") >= 4, [result.reason for result in runs]


def test_it_rests_on_both_feet_and_walks_on(run):
    metrics = run.metrics
    assert tuple(metrics) == METRICS
    assert metrics["fastest_mass_centre_at_rest_m_s"] <= 1.05 * AT_REST_SPEED  # judged between frames
    assert metrics["mass_centre_creep_at_rest_mm"] < 3.0
    assert metrics["goes_over_at_s"] - metrics["rest_at_s"] >= 0.99 * run.settings.stand_s
    assert 0.2 < metrics["prosthetic_load_share_at_rest"] < 0.5
    assert abs(metrics["prosthetic_knee_flexion_at_rest_deg"]) < 3.0
    assert metrics["steps_after"] == 2 * run.settings.strides_after >= 6
    assert metrics["speed_after_m_s"] == pytest.approx(metrics["speed_before_m_s"], rel=0.15)


def test_the_forces_at_rest_are_those_of_statics(run):
    """Weight, and nothing along: the ground alone holds the person."""
    series, metrics = run.series, run.metrics
    rest = (series.time > metrics["goes_over_at_s"] - 1.0) & (series.time < metrics["goes_over_at_s"])
    force = series.ground_force[rest].sum(axis=1).mean(axis=0) / run.settings.person.weight
    np.testing.assert_allclose(force, [0.0, 1.0], atol=0.005)


def test_nothing_jumps_where_one_law_takes_over_from_the_other(run):
    settings = run.settings
    steering = steering_of(settings, run.metrics["lean_back_deg"])
    assert steering.walk_and_brake(2 * settings.strides_before)
    relay = steering.course.relay

    def physical():
        memory = relay.memory
        parts = [relay.state(), memory["anchor"], memory["touching"], memory["loaded"], relay.books[0]["work"]]
        return [np.array(part) for part in (*parts, *relay.books[0]["base"])]

    for take_over in (relay.begin_standing, lambda: relay.begin_walking(1)):
        before, time = physical(), relay.time
        take_over()
        for old, new in zip(before, physical(), strict=True):
            np.testing.assert_array_equal(old, new)
        assert relay.time == time


def test_bodies_move_with_their_velocities_all_the_way(run):
    """A pose that was put somewhere would show: over a frame a body goes as far as its velocities say."""
    body = run.frames["base"]["body"]
    apart = np.diff(body[:, :, :3], axis=0)
    between = 0.5 * (body[1:, :, 3:] + body[:-1, :, 3:]) * np.diff(run.series.time)[:, None, None]
    assert np.diff(run.series.time) == pytest.approx(run.series.interval)
    assert np.abs(apart - between)[..., :2].max() < 0.003
    whole = run.body.mass / run.body.mass.sum()
    assert np.abs((apart - between)[..., :2].transpose(0, 2, 1) @ whole).max() < 1e-4


def test_the_energy_book_closes_over_the_whole_run_and_knows_no_hand(run):
    energy, series = run.energy, run.series
    assert energy["residual_fraction"] < 1e-4
    drop = series.mass_centre[0, 1] - series.mass_centre[-1, 1]
    weight = run.body.total_mass * 9.81
    assert energy["gravity_in_j"] - energy["gravity_out_j"] == pytest.approx(weight * drop, abs=5.0)
    for source in ("rail", "helper", "push", "seat_elastic", "knee_lock", "edge_elastic"):
        assert energy[f"{source}_in_j"] == energy[f"{source}_out_j"] == 0.0


def test_the_prosthetic_knee_is_the_knee_law_throughout(run):
    record = steering_of(run.settings, 0.0).row["base"]["knee"]
    series, forces = run.series, run.frames["base"]["forces"]
    for k in range(0, len(series.time), 37):
        flexion, rate = float(series.knee_flexion[k, 0]), float(series.knee_rate[k, 0])
        allowed = [knee_torque(flexion, rate, loaded, record) for loaded in (0, 1)]
        assert min(abs(float(forces["knee"][k, 0]) - value) for value in allowed) < 0.2


def test_a_walk_by_turns_is_the_walk():
    settings = Stop()
    steering = steering_of(settings, 0.0)
    relay, scenario = steering.course.relay, settings.scenario()
    assert relay.walk(5.0) == 0
    rows = relay.walks()[0]
    other = run_walk(
        steering.record["base"].copy(), pack_gains(), pack_plant(steering.body), len(rows), 5.0,
        scenario.numerics.time_step_s,
    )  # fmt: skip
    assert len(rows) > 6
    for name in ("time", "length", "leg", "speed"):
        np.testing.assert_allclose(rows[name], other.steps[name], atol=1e-6, err_msg=name)


def test_both_loops_give_the_same_bits(run):
    short = replace(
        run.settings, strides_before=2, stand_s=0.5, strides_after=1, lean_back_deg=run.metrics["lean_back_deg"]
    )
    compiled, readable = (stop(replace(short, numerics=Numerics(loop=loop))) for loop in ("compiled", "batch"))
    assert (compiled.software["loop"], readable.software["loop"]) == ("compiled", "batch")
    assert len(compiled.frames) == len(readable.frames) > 1000
    assert compiled.frames.tobytes() == readable.frames.tobytes()
    assert compiled.energy == readable.energy


def test_who_does_not_brake_falls_and_is_told_where():
    result = stop(Stop(lean_back_deg=-5.0))  # leans forward instead
    assert result.outcome in {"fell", "not stopped"}
    assert "coming to rest" in result.reason or "braking" in result.reason
    assert result.metrics["rest_at_s"] is None
    assert result.metrics["set_off_at_s"] is None


def test_a_walk_that_falls_before_it_is_to_stop_is_a_result():
    result = stop(Stop(slope_deg=-5.0, knee=Knee(flexion_resistance=2.0)))
    assert result.outcome in {"fell", "stalled"}
    assert "before the stop" in result.reason
    assert result.metrics["decided_at_s"] is None
