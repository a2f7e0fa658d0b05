"""Rail, helper, posture, uphill: what is searched and reckoned, on made-up walks; gait itself is tested elsewhere."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sim.activities import helper, posture, rail, uphill
from sim.activities.walk import walk
from sim.caution import CAUTION
from sim.errors import RampwalkError
from sim.frontal import Frontal, hip_moment
from sim.scenario import GRAVITY, Scenario, replace_by_name
from sim.study import hip_peaks, judged_frames, outside_means, walk_row


@pytest.fixture(scope="module")
def held():
    return walk(replace_by_name(Scenario(strides=4), {"rail.side": "sound", "rail.carried_share": 0.1}))


def made_up(walks):
    """A stand-in for `walk` that succeeds where `walks` says so; nothing was measured."""
    metrics = walk(Scenario(strides=1, slope_deg=-8.0)).metrics
    energy = dict.fromkeys(("residual_fraction", "helper_in_j", "helper_out_j"), 0.0)

    def stand_in(scenario):
        good = walks(scenario)
        return SimpleNamespace(
            scenario=scenario,
            outcome="walked" if good else "fell",
            reason="Fell.",
            metrics=dict.fromkeys(metrics),
            energy=energy,
            software={"made": "up"},
            step_records=np.zeros(3 if good else 1),
            series=SimpleNamespace(hip=np.array([[0.0, 1.0], [2.0, 1.0]])),
        )

    return stand_in


# -------------------------------------------------------------------------------- rows
def test_a_row_repeats_metrics_and_adds_what_rail_and_hip_gave(held):
    row = walk_row(held)
    assert row["outcome"] == "walked"
    assert row["sound_peak_force_bw"] == held.metrics["sound_peak_force_bw"]
    assert row["rail_up_bw"] == pytest.approx(0.1, abs=0.005)
    assert row["helper_up_bw"] == 0.0
    part = judged_frames(held)
    carrying = held.series.load[part, 0] > 0.05 * held.scenario.person.weight
    torque = held.series.hip_torque[part, 0]
    mass = held.scenario.person.mass_kg
    assert row["prosthetic_hip_extension_peak_nm_per_kg"] == pytest.approx(-torque[carrying].min() / mass)
    mean = np.maximum(-torque[carrying], 0.0).mean() / mass
    assert row["prosthetic_hip_extension_mean_nm_per_kg"] == pytest.approx(mean)
    assert row["prosthetic_hip_flexion_peak_nm_per_kg"] == pytest.approx(torque.max() / mass)


def test_a_slope_does_not_turn_a_plumb_lift_into_a_push():
    """Straight up by 0.1 body weights on -10 deg: nothing forward. And 0.05 along the slope is told as that."""
    scenario = Scenario(slope_deg=-10.0)
    weight, slope = scenario.person.weight, math.radians(-10.0)
    along = 0.05 * np.array([math.cos(slope), math.sin(slope)])
    lift = np.array([0.0, 0.2])
    forces = np.zeros(4, [("rail", "f8", (2,)), ("helper", "f8", (2,))])
    forces["rail"], forces["helper"] = (0.0, 0.1 * weight), (along + lift) * weight
    frames = np.zeros(4, [("time", "f8"), ("forces", forces.dtype)])
    frames["forces"], frames["time"] = forces, np.arange(4.0)
    steps = np.zeros(2, [("time", "f8"), ("heel_x", "f8")])
    steps["time"] = 0.0, 3.0
    result = SimpleNamespace(
        scenario=scenario, frames=frames, step_records=steps, outcome="walked", slope_start_x=-1.0,
        metrics={"measured_strides": 1},
    )  # fmt: skip
    means = outside_means(result)
    assert means["rail_up_bw"] == pytest.approx(0.1)
    assert means["rail_forward_bw"] == pytest.approx(0.0)
    assert means["helper_up_bw"] == pytest.approx(0.2)
    assert means["helper_forward_bw"] == pytest.approx(0.05)


def test_without_a_measured_stride_nothing_is_told():
    fell = SimpleNamespace(
        scenario=Scenario(), outcome="fell", metrics={"measured_strides": None}, step_records=np.zeros(2)
    )
    assert set(outside_means(fell).values()) == set(hip_peaks(fell).values()) == {None}


# -------------------------------------------------------------------------------- rail
def test_rail_rows_come_in_pairs_that_differ_only_across():
    study = rail.rail_study(replace_by_name(Scenario(strides=2), {"rail.carried_share": 0.08}), shares=(0.0,))
    assert [(row["carried_share"], row["rail_side"]) for row in study.rows] == [
        (0.0, "prosthetic"), (0.0, "sound"), (0.08, "prosthetic"), (0.08, "sound"),
    ]  # fmt: skip
    here, there = study.rows[2:]
    differ = {name for name in here if here[name] != there[name]}
    assert differ == {"rail_side", "prosthetic_hip_frontal_nm", "sound_hip_frontal_nm", "prosthetic_share_both_feet"}
    assert study.found["prosthetic_hip_frontal_nm_rail_there_less_other_side"] > 0.0
    assert study.to_json_dict()["caution"] == CAUTION


def test_frontal_moments_take_the_force_under_the_foot_from_the_walk(held):
    carried = 0.1 * held.scenario.person.weight
    effort = rail.press(held, 0, carried)
    assert 0.8 < effort < 1.3
    row = rail.across(held, 0.1, "sound", Frontal())
    assert row["prosthetic_hip_frontal_nm"] == pytest.approx(
        hip_moment(0, carried, "sound", held.body, Frontal(), effort)
    )


# -------------------------------------------------------------------------------- helper
def test_where_nothing_needs_lifting_the_least_hold_is_found(monkeypatch):
    monkeypatch.setattr(helper, "walk", made_up(lambda s: s.helper.on and s.helper.hold_stiffness_n_per_m >= 250.0))
    study = helper.helper_study(replace_by_name(Scenario(), {"helper.hold_stiffness_n_per_m": 500.0}))
    assert study.found["least_lifted_share"] == 0.0
    assert 0.5 <= study.found["least_hold_share"] < 0.5 + helper.HOLD_PRECISION
    assert "hold the pace with 25" in study.told


def test_the_least_help_is_found(monkeypatch):
    asked = made_up(lambda s: s.helper.on and s.helper.lifted_share >= 0.234)
    monkeypatch.setattr(helper, "walk", asked)
    study = helper.helper_study(Scenario())
    assert 0.234 <= study.found["least_lifted_share"] < 0.234 + helper.PRECISION
    assert study.found["walks_without_help"] == 0.0
    assert study.found["fails_again_from"] is None
    assert study.rows[0]["helper"] == "none"
    shares = [row["lifted_share"] for row in study.rows[1:]]
    assert shares == sorted(shares)
    assert {row["helper"] for row in study.rows[1:]} == {"constant"}


@pytest.mark.parametrize(
    ("walks", "least", "again", "told"),
    [
        (lambda _: True, 0.0, None, "without help"),
        (lambda _: False, None, None, "No lifted share"),
        (lambda s: s.helper.on, 0.0, None, "lift nothing"),
        (lambda s: s.helper.on and s.helper.lifted_share < 0.35, 0.0, 0.4, "fails again"),
    ],
)
def test_what_help_is_told(monkeypatch, walks, least, again, told):
    monkeypatch.setattr(helper, "walk", made_up(walks))
    study = helper.helper_study(replace_by_name(Scenario(), {"helper.support": "fading"}))
    assert study.found["least_lifted_share"] == least
    assert study.found["fails_again_from"] == again
    assert told in study.told
    assert {row["helper"] for row in study.rows[1:]} == {"fading"}


# -------------------------------------------------------------------------------- posture
def test_posture_varies_one_thing_at_a_time(monkeypatch):
    seen = []

    def walks(scenario):
        seen.append((scenario.trunk_lean_deg, scenario.mass_centre_shift_m))
        return abs(scenario.trunk_lean_deg) < 6.0

    monkeypatch.setattr(posture, "walk", made_up(walks))
    study = posture.posture_study(Scenario(trunk_lean_deg=2.0, mass_centre_shift_m=0.01), (-10.0, 5.0), (0.0, 0.05))
    assert seen == [(-10.0, 0.01), (5.0, 0.01), (2.0, 0.0), (2.0, 0.05)]
    assert [row["outcome"] for row in study.rows] == ["fell", "walked", "walked", "walked"]
    assert study.found["sound_peak_force_bw_per_deg_lean"] is None  # one completed walk is no line
    assert "1 of 2 walks completed, between 5 and 5 deg" in study.told


def test_a_trend_is_the_line_through_completed_walks():
    rows = [
        {"varied": "trunk lean", "outcome": "walked", "x": x, "y": 3.0 - 0.5 * x + wiggle}
        for x, wiggle in ((-2.0, 0.1), (0.0, -0.2), (2.0, 0.1))
    ]
    rows.append({"varied": "trunk lean", "outcome": "fell", "x": 9.0, "y": 99.0})
    rows.append({"varied": "mass centre", "outcome": "walked", "x": 7.0, "y": 99.0})
    assert posture.trend(rows, "trunk lean", "x", "y") == pytest.approx(-0.5)
    assert posture.trend(rows[:2], "trunk lean", "x", "y") is None


# -------------------------------------------------------------------------------- uphill
def slopes_up_to(most, island=None):
    return made_up(lambda s: s.slope_deg <= most or s.slope_deg == island)


def test_the_steepest_slope_is_found(monkeypatch):
    monkeypatch.setattr(uphill, "walk", slopes_up_to(3.21))
    study = uphill.uphill_study(Scenario())
    assert 3.21 - uphill.PRECISION < study.found["steepest_walked_deg"] <= 3.21
    assert 3.21 < study.found["falls_at_deg"] <= 3.21 + uphill.PRECISION
    assert study.found["walked_again_at_deg"] is None
    slopes = [row["slope_deg"] for row in study.rows]
    assert slopes == sorted(slopes)
    assert {0.0, 10.0} <= set(slopes)


@pytest.mark.parametrize(
    ("most", "island", "steepest", "again", "told"),
    [
        (-1.0, None, None, None, "Not even 0 deg"),
        (10.0, None, 10.0, None, "All slopes up to 10 deg"),
        (2.0, 6.0, 2.0, 6.0, "walked again"),
    ],
)
def test_what_uphill_is_told(monkeypatch, most, island, steepest, again, told):
    monkeypatch.setattr(uphill, "walk", slopes_up_to(most, island))
    study = uphill.uphill_study(Scenario())
    assert study.found["steepest_walked_deg"] == steepest
    assert study.found["walked_again_at_deg"] == again
    assert told in study.told


def test_uneven_steps_keep_their_mean(monkeypatch):
    monkeypatch.setattr(uphill, "walk", made_up(lambda _: True))
    study = uphill.step_difference_study(Scenario(slope_deg=2.0, step_length_m=0.5), (-0.1, 0.0, 0.1))
    assert [row["step_difference_m"] for row in study.rows] == [-0.1, 0.0, 0.1]
    assert study.found["least_effort_difference_m"] is None  # nothing was measured
    with pytest.raises(RampwalkError, match="too short for uneven steps"):
        uphill.step_difference_study(Scenario(slope_deg=2.0, step_length_m=0.2))


def test_each_swing_habit_is_tried_alone(monkeypatch):
    seen = []

    def walks(scenario):
        seen.append((scenario.early_unloading_share, scenario.late_hold_back_nm, scenario.swing_start_hip_flexion_nm))
        return scenario.late_hold_back_nm < 25.0

    monkeypatch.setattr(uphill, "walk", made_up(walks))
    study = uphill.swing_study(Scenario(slope_deg=1.0))
    assert all(sum(value > 0.0 for value in values) <= 1 for values in seen)
    assert len(study.rows) == sum(len(values) for _, _, values in uphill.SWING_HABITS)
    assert len(seen) == len(set(seen)) == len(study.rows) - 2  # three begin with the same walk
    assert "Held back longer: 3 of 5 walked" in study.told
    assert study.found["sharper_hip_flexion_changes_swing_flexion_deg"] is None  # nothing was measured


def test_a_change_is_told_from_the_first_value_to_the_last_that_was_walked():
    def row(outcome, flexion):
        return {"outcome": outcome, "prosthetic_knee_swing_peak_deg": flexion, "prosthetic_toe_clearance_mm": None}

    rows = [row("walked", 60.0), row("walked", 63.0), row("fell", 99.0)]
    change = uphill._change("tried", rows)
    assert change == {"tried_changes_swing_flexion_deg": 3.0, "tried_changes_toe_clearance_mm": None}
    assert uphill._change("tried", rows[::-1])["tried_changes_swing_flexion_deg"] is None


def pendulum(reach, speed=1.0):
    """A mass centre on a stiff leg of 1 m from `reach` behind the prosthetic ankle to as far ahead, at even pace."""
    count = 101
    x = np.linspace(-reach, reach, count)
    frames = np.zeros(count, [("time", "f8")])
    frames["time"] = np.linspace(0.0, 1.0, count)
    steps = np.zeros(2, [("time", "f8"), ("leg", "f8"), ("heel_x", "f8")])
    steps["time"], steps["leg"] = (0.0, 1.0), (0, 1)
    velocity = np.zeros((count, 2))
    velocity[:, 0] = speed
    ankle = np.zeros((count, 2, 2))
    centre = np.stack([x, np.sqrt(1.0 - x**2)], axis=1)
    return SimpleNamespace(
        frames=frames, step_records=steps, outcome="walked", slope_start_x=-1.0, metrics={"measured_strides": 1},
        series=SimpleNamespace(ankle=ankle, mass_centre=centre, mass_centre_velocity=velocity),
    )  # fmt: skip


def test_the_barrier_of_a_stiff_leg_is_that_of_a_pendulum():
    found = uphill.barrier(pendulum(0.3))
    rise = GRAVITY * (1.0 - math.sqrt(1.0 - 0.09))
    assert found["barrier_j_per_kg"] == pytest.approx(rise, rel=1e-3)
    assert found["motion_j_per_kg"] == pytest.approx(0.5)
    assert found["barrier_over_motion"] == pytest.approx(2.0 * rise, rel=1e-3)
    assert found["came_over_share"] == 1.0


def test_a_body_that_does_not_come_over_the_foot_is_told():
    stays = pendulum(0.3)
    stays.series.mass_centre[:, 0] -= 1.0
    assert uphill.barrier(stays)["came_over_share"] == 0.0


def test_clearance_that_lacks_is_the_lift_that_is_needed(monkeypatch, held):
    monkeypatch.setitem(held.metrics, "prosthetic_toe_clearance_m", 0.004)
    row = uphill.uphill_row(held)
    assert row["hip_lift_for_clearance_mm"] == pytest.approx(16.0)
    monkeypatch.setitem(held.metrics, "prosthetic_toe_clearance_m", 0.05)
    assert uphill.uphill_row(held)["hip_lift_for_clearance_mm"] == 0.0
    assert row["lifting_j_per_m_kg"] == pytest.approx(GRAVITY * math.sin(math.radians(held.scenario.slope_deg)))
