"""Statics, energy and the one knee law in standing, bending, sitting and on the stair."""

import math

import numpy as np
import pytest

from sim.activities.bend import Bend, bend, ground_moment_at_knee
from sim.activities.sit import Sit, sit
from sim.activities.stair import Stair, stair
from sim.activities.stand import SETTLE, Stand, stand
from sim.law.knee import knee_torque
from sim.posture_pack import pack_posture
from sim.posture_scenario import KneeLock
from sim.scenario import Knee, Person

G = 9.81
STEEP = Stand(slope_deg=-15.0)


@pytest.fixture(scope="module")
def steep():
    return stand(STEEP)


@pytest.fixture(scope="module")
def runs():
    return {"stand": stand(Stand()), "bend": bend(Bend(repeats=1)), "sit": sit(Sit()), "up": sit(Sit(move="up")),
            "stair": stair(Stair())}  # fmt: skip


def moment_about_mass_centre(result):
    """Moment of all ground forces about the mass centre [N m], from the force of each point where it acts."""
    forces, series = result.frames["base"]["forces"], result.series
    body = result.frames["base"]["body"]
    across = forces["normal_elastic"] + forces["normal_damping"]
    along = np.where(across > 0.0, forces["friction_elastic"] + forces["friction_damping"], 0.0)
    tangent, arm = forces["tangent"], forces["arm"]
    fx = along * tangent[..., 0] - across * tangent[..., 1]
    fy = along * tangent[..., 1] + across * tangent[..., 0]
    foot = body[:, [3, 6], 0:2]
    x = foot[:, :, None, 0] + arm[..., 0] - series.mass_centre[:, None, None, 0]
    y = foot[:, :, None, 1] + arm[..., 1] - series.mass_centre[:, None, None, 1]
    return (x * fy - y * fx).sum(axis=(1, 2))


def standing_still(settings, seconds):
    result = stand(settings)
    assert result.outcome == "stood"
    assert result.metrics["time_s"] == pytest.approx(seconds, abs=0.01)
    metrics = result.metrics
    assert metrics["normal_over_weight_cos_slope"] == pytest.approx(1.0, abs=2e-4)
    assert metrics["along_over_weight_sin_slope"] == pytest.approx(1.0, abs=1e-3)
    series = result.series
    still = series.time > seconds - 5.0
    moved = np.ptp(series.mass_centre[still, 0])
    assert moved < 1e-3
    assert np.ptp(np.degrees(series.knee_flexion[still, 0])) < 0.01
    return result


def test_standing_on_a_steep_slope_is_statics_and_does_not_creep():
    result = standing_still(STEEP, 12.0)
    assert abs(result.metrics["knee_creep_deg_per_min"]) < 0.02


def test_standing_for_a_minute_on_a_steep_slope_does_not_creep():
    result = standing_still(Stand(slope_deg=-15.0, seconds=60.0), 60.0)
    assert abs(result.metrics["mass_centre_creep_mm_per_min"]) < 0.5
    assert abs(result.metrics["knee_creep_deg_per_min"]) < 0.002


@pytest.mark.parametrize("slope", [-15.0, -8.0, 0.0, 5.0])
def test_the_moment_of_the_ground_about_the_mass_centre_vanishes(slope):
    result = stand(Stand(slope_deg=slope, prosthetic_foot_ahead_m=-0.1 if slope > 0 else 0.15))
    still = result.series.time > SETTLE + 5.0
    assert abs(moment_about_mass_centre(result)[still].mean()) < 0.3  # of 110 N m that the share decides about
    share, lever = result.metrics["prosthetic_load_share"], result.metrics["prosthetic_load_share_by_statics"]
    assert share == pytest.approx(lever, abs=0.01)


def test_the_load_share_follows_where_the_weight_is():
    shares = [
        stand(Stand(weight_on_prosthetic=wanted)).metrics["prosthetic_load_share"] for wanted in (0.3, 0.45, 0.6)
    ]
    assert shares == pytest.approx([0.3, 0.45, 0.6], abs=0.02)


def test_without_pressing_the_knee_yields_on_a_slope_and_a_lock_holds_it():
    free = stand(Stand(hip_presses_knee="at-first"))
    locked = stand(Stand(hip_presses_knee="at-first", lock=KneeLock(kind="flexion-lock")))
    assert free.metrics["knee_yielded_at_s"] is not None
    assert locked.metrics["knee_yielded_at_s"] is None
    assert (locked.outcome, locked.metrics["lock_closed"]) == ("stood", 1.0)


def test_unloading_opens_the_lock_at_its_load_and_never_a_permanent_one():
    common = {"trial": "unload", "seconds": 18.0, "ramp_seconds": 12.0}
    opened = stand(Stand(lock=KneeLock(kind="flexion-lock", open_load_n=80.0), **common))
    assert "unloading" in opened.reason
    load = opened.metrics["trial_prosthetic_load_bw"] * opened.settings.person.weight
    assert 40.0 < load <= 80.0
    assert stand(Stand(lock=KneeLock(kind="permanent-lock"), **common)).metrics["lock_opened_at_s"] is None


def test_a_harder_push_topples_and_a_soft_one_does_not():
    soft, hard = (stand(Stand(trial="nudge", push_n=push, seconds=6.0)) for push in (20.0, 400.0))
    assert (soft.outcome, hard.outcome) == ("stood", "fell")


@pytest.mark.parametrize("activity", ["stand", "bend", "sit", "up", "stair"])
def test_the_energy_book_closes(runs, activity):
    energy = runs[activity].energy
    assert energy["passed_through_j"] > 5.0
    assert energy["residual_fraction"] < 1e-4
    assert energy["knee_prosthetic_in_j"] < 0.02 * energy["passed_through_j"]  # swing assist is all it can give
    for source in ("contact_damping", "friction_damping", "seat_damping", "edge_damping", "ankle_damping_prosthetic"):
        assert energy[f"{source}_in_j"] < 1e-3 * energy["passed_through_j"] + 0.05


def mechanical_energy(result):
    """Kinetic and potential energy of all bodies at the first and the last frame [J], from states alone."""
    state, body = result.frames["base"]["body"], result.body
    speed = (state[:, :, 3:5] ** 2).sum(axis=2)
    kinetic = 0.5 * (body.mass * speed + body.inertia * state[:, :, 5] ** 2).sum(axis=1)
    potential = G * (body.mass * state[:, :, 1]).sum(axis=1)
    return kinetic, potential


@pytest.mark.parametrize("activity", ["bend", "sit", "up", "stair"])
def test_the_book_agrees_with_energies_from_states(runs, activity):
    kinetic, potential = mechanical_energy(runs[activity])
    energy = runs[activity].energy
    change = potential[-1] - potential[0]
    assert energy["gravity_in_j"] - energy["gravity_out_j"] == pytest.approx(-change, abs=0.02 * abs(change) + 2.0)
    assert energy["kinetic_change_j"] == pytest.approx(kinetic[-1] - kinetic[0], abs=3.0)


def stored(result, k):
    """Energy in the springs of feet, seat and edge in a frame [J], from places alone: k d^2.5 / 2.5."""
    series, settings = result.series, result.settings
    record = pack_posture(settings)[0]["base"]["contact"]
    riser = getattr(settings, "riser_m", 0.0)
    heel = float(series.sole[0, 0, 0, 0])
    edge = heel + result.body.foot_length * (1.0 - settings.foot_over_edge) if riser else math.inf
    feet, on_edge = 0.0, 0.0
    for leg in range(2):
        for point in range(3):
            x, y = series.sole[k, leg, point]
            depth = max(0.0, (0.0 if x < edge else -riser) - y)
            feet += record["stiffness"][leg] * depth**2.5 / 2.5
        if riser:
            angle, (ax, ay) = series.foot[k, leg], series.ankle[k, leg]
            depth = (0.0 - ay) * math.cos(angle) - (edge - ax) * math.sin(angle) + result.body.sole_height
            along = (edge - ax) * math.cos(angle) + (0.0 - ay) * math.sin(angle)
            inside = result.body.sole_points[leg, 0, 0] < along < result.body.sole_points[leg, 1, 0]
            on_edge += record["stiffness"][leg] * max(0.0, depth if inside and depth < 0.04 else 0.0) ** 2.5 / 2.5
    return {"contact_elastic": feet, "edge_elastic": on_edge}


@pytest.mark.parametrize("activity", ["stand", "bend", "stair"])
def test_springs_give_what_they_held_before_and_do_not_hold_now(runs, activity):
    result = runs[activity] if activity != "stand" else stand(Stand(slope_deg=0.0))
    first, last = stored(result, 0), stored(result, -1)
    for source in ("contact_elastic", "edge_elastic"):
        given = result.energy[f"{source}_in_j"] - result.energy[f"{source}_out_j"]
        assert given == pytest.approx(first[source] - last[source], abs=0.25), source
    assert first["contact_elastic"] > 1.0  # the feet stood from the start


def test_the_seat_holds_what_it_took(runs):
    result = runs["sit"]
    point = result.series.hip[-1, 1] - 0.09
    depth = result.settings.seat_height_m - point
    force = result.frames["seat"][-1, 1]
    held = result.energy["seat_elastic_out_j"] - result.energy["seat_elastic_in_j"]
    assert 0.0 < depth < 0.04
    assert held == pytest.approx(force * depth / 2.5, rel=0.35)  # the damper gives a part of the force


@pytest.mark.parametrize("activity", ["bend", "sit", "stair"])
@pytest.mark.parametrize("law", ["linear", "hydraulic"])
def test_one_knee_law_in_every_activity(activity, law):
    """Row C07: torque at the same angle, rate and load state is that of the walk's law, to the last digit."""
    kind, act = {"bend": (Bend, bend), "sit": (Sit, sit), "stair": (Stair, stair)}[activity]
    settings = kind(knee=Knee(law=law, flexion_resistance=60.0))
    result = act(settings)
    series, knee = result.series, pack_posture(settings)[0]["base"]["knee"]
    load = series.load[:, 0]
    loaded = load > settings.knee.load_on_n
    bending = loaded & (series.knee_rate[:, 0] > 0.02)
    assert bending.sum() > 20
    wanted = [
        knee_torque(f, r, 1, knee)
        for f, r in zip(series.knee_flexion[bending, 0], series.knee_rate[bending, 0], strict=True)
    ]
    # frames hold positions one step ahead, where forces were evaluated, and the rate of that moment
    assert series.knee_torque[bending, 0] == pytest.approx(np.array(wanted), rel=1e-9)


def test_in_a_bend_rate_times_resistance_is_the_moment_of_the_ground(runs):
    """Outside force and place of pressure, no torque of the model: the knee yields as fast as its moment asks."""
    for resistance in (40.0, 80.0):
        result = bend(Bend(repeats=1, knee=Knee(flexion_resistance=resistance)))
        assert result.metrics["knee_rate_times_resistance_over_moment"] == pytest.approx(1.0, abs=0.08)
    series, moment = runs["bend"].series, ground_moment_at_knee(runs["bend"], runs["bend"].series)
    slow = (series.time > 3.0) & (series.time < 4.5)
    assert moment[slow].mean() > 5.0


def test_more_resistance_bends_slower_at_the_same_share():
    slow, quick = (bend(Bend(repeats=1, knee=Knee(flexion_resistance=r))).metrics for r in (80.0, 40.0))
    assert slow["knee_mean_rate_deg_s"] < 0.8 * quick["knee_mean_rate_deg_s"]
    assert slow["down_time_s"] > quick["down_time_s"]
    assert slow["prosthetic_load_share_down"] == pytest.approx(quick["prosthetic_load_share_down"], abs=0.06)


def test_more_weight_on_the_leg_bends_faster():
    light, heavy = (bend(Bend(repeats=1, weight_on_prosthetic=share)).metrics for share in (0.3, 0.5))
    assert heavy["knee_mean_rate_deg_s"] > light["knee_mean_rate_deg_s"]
    assert heavy["prosthetic_load_share_down"] > light["prosthetic_load_share_down"] + 0.1


def test_sitting_down_more_resistance_puts_more_of_the_load_on_the_prosthetic_leg():
    shares = [sit(Sit(knee=Knee(flexion_resistance=r))).metrics["prosthetic_load_share"] for r in (30.0, 45.0, 60.0)]
    assert shares == sorted(shares)
    assert shares[0] < 0.45 < shares[2]


def test_the_seat_takes_the_weight_and_meets_it_slowly(runs):
    result = runs["sit"]
    assert result.outcome == "sat"
    assert result.frames["seat"][-1, 1] > 0.3 * result.settings.person.weight
    assert 0.0 < result.metrics["seat_contact_speed_m_s"] < 0.6
    before = result.frames["seat"][:, 1] == 0.0
    height = result.series.hip[before, 1].min()
    assert height > result.settings.seat_height_m


def test_standing_up_the_sound_leg_gives_more_and_the_knee_gives_nothing(runs):
    result = runs["up"]
    assert result.outcome == "stood up"
    assert result.metrics["prosthetic_load_share"] < 0.45
    assert result.energy["knee_sound_in_j"] > 10.0 * result.energy["knee_prosthetic_in_j"]


def test_two_sound_legs_share_evenly():
    result = sit(Sit(person=Person(limbs="both-sound")))
    assert result.outcome == "sat"
    assert result.metrics["prosthetic_load_share"] == pytest.approx(0.5, abs=0.03)


def test_a_higher_riser_lands_harder():
    low, high = (stair(Stair(riser_m=riser)).metrics for riser in (0.1, 0.17))
    assert high["landing_peak_bw"] > low["landing_peak_bw"] + 0.3
    assert high["landing_speed_m_s"] > low["landing_speed_m_s"]


def test_more_resistance_takes_longer_down_a_stair_and_bends_slower():
    soft, firm = (stair(Stair(knee=Knee(flexion_resistance=r))).metrics for r in (35.0, 50.0))
    assert firm["landing_time_s"] > soft["landing_time_s"]
    assert firm["knee_peak_rate_deg_s"] < soft["knee_peak_rate_deg_s"]


def test_on_a_stair_the_edge_carries_the_prosthetic_foot_and_the_fall_is_the_riser(runs):
    result = runs["stair"]
    assert result.outcome == "landed"
    assert result.metrics["edge_peak_force_bw"] > 0.3
    sole = result.series.sole[-1, 1, :2, 1]
    assert sole == pytest.approx(-result.settings.riser_m, abs=0.05)


@pytest.mark.parametrize("share", [0.8, 1.2])
def test_forces_are_the_weight_and_what_accelerates_the_mass_centre(runs, share):
    """Momentum: mean force on the body less weight = mass x change of velocity / time, over most of a stair."""
    result = runs["stair"]
    series, body = result.series, result.body
    window = slice(800, int(800 + share * 300))
    total = result.frames["ground"].sum(axis=1)[window]
    change = series.mass_centre_velocity[window][-1] - series.mass_centre_velocity[window][0]
    seconds = series.interval * (len(total) - 1)
    mean = 0.5 * (total[1:] + total[:-1]).mean(axis=0) - np.array([0.0, body.total_mass * G])
    assert mean == pytest.approx(body.total_mass * change / seconds, abs=4.0)
    assert math.isfinite(seconds)
