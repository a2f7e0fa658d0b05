"""How a walk is bounded, judged and kept."""

import dataclasses
import json
import pickle
from types import SimpleNamespace

import numpy as np
import pytest

from sim import WalkResult, walk
from sim.activities.verdict import outcome_of, reason_for
from sim.activities.walk import first_landings
from sim.law.records import FRAME, STEP
from sim.law.walker import HIP_LOW, NOT_FINITE, STALLED, TRUNK_OVER
from sim.metrics import METRICS
from sim.result import OUTCOMES
from sim.scenario import Person, Scenario, replace_by_name

SCENARIO = replace_by_name(
    Scenario(), {"slope_deg": -8.0, "step_length_m": 0.5, "knee.flexion_resistance": 40.0, "strides": 4}
)


@pytest.fixture(scope="module")
def result():
    return walk(SCENARIO)


def run(status=0, steps=5, **last_frame):
    frames = np.zeros(1, FRAME)
    frames[0]["stance"] = last_frame.get("stance", 0)
    frames[0]["body"][0] = [0.0, 1.0, last_frame.get("trunk", 0.0), 0, 0, 0]
    frames[0]["body"][2, 2] = -last_frame.get("knee", 0.0)
    frames[0]["body"][[3, 6], 0] = last_frame.get("foot", 0.0)
    return SimpleNamespace(status=status, steps=np.zeros(steps, STEP), frames=frames, time=4.0)


@pytest.mark.parametrize(
    ("made", "on_slope", "outcome"),
    [
        (run(), True, "walked"),
        (run(), False, "stalled"),
        (run(steps=4), True, "stalled"),
        (run(STALLED), True, "stalled"),
        (run(HIP_LOW), True, "fell"),
        (run(TRUNK_OVER), True, "fell"),
        (run(NOT_FINITE), True, "invalid"),
    ],
)
def test_outcomes(made, on_slope, outcome):
    assert outcome_of(made, 5, on_slope) == outcome
    assert outcome in OUTCOMES


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (run(HIP_LOW, knee=1.5), ["prosthetic knee gave way", "86 deg", "higher flexion resistance"]),
        (run(HIP_LOW, knee=0.2, foot=0.5), ["sank backward, behind the prosthetic foot"]),
        (run(HIP_LOW, stance=1, foot=-0.5), ["sank forward, beyond the sound foot"]),
        (run(TRUNK_OVER, trunk=0.9), ["trunk went over backward"]),
        (run(TRUNK_OVER, trunk=-0.9, stance=1), ["trunk went over forward above the sound leg"]),
        (run(STALLED), ["no further landing while the prosthetic leg carried", "lower flexion resistance"]),
        (run(), ["slower or shorter than wanted"]),
    ],
)
def test_reasons_say_what_happened_and_what_to_try(made, words):
    outcome = outcome_of(made, 99, True)
    reason = reason_for(outcome, made, SCENARIO, dict.fromkeys(METRICS))
    assert all(word in reason for word in [*words, "; try ", "after 5 steps and 4.0 s"])
    assert reason.endswith(".")


def test_an_able_bodied_walker_has_no_prosthesis_to_blame():
    both = dataclasses.replace(SCENARIO, person=Person(limbs="both-sound"))
    for made in (run(HIP_LOW, knee=1.5), run(STALLED), run(TRUNK_OVER)):
        said = reason_for(outcome_of(made, 5, True), made, both, dict.fromkeys(METRICS))
        assert "prosthetic" not in said
        assert "resistance" not in said


def test_numbers_out_of_range_call_for_a_finer_step():
    made = run(NOT_FINITE)
    assert "numerics.time_step_s = 0.000125" in reason_for("invalid", made, SCENARIO, dict.fromkeys(METRICS))


def test_a_walk_names_what_came_out_otherwise_than_wanted():
    metrics = dict.fromkeys(METRICS) | {"measured_strides": 6.0, "stride_variation": 0.004, "steady": 1.0}
    metrics |= {"prosthetic_step_length_m": 0.40, "sound_step_length_m": 0.52, "speed_m_s": 0.84}
    said = reason_for("walked", run(), SCENARIO, metrics)
    assert "6 measured strides vary by 0.4 %, steady." in said
    assert "Prosthetic step 20 % below the wanted one, speed 12 % above the wanted one." in said


def test_a_walk_is_given_the_landings_to_pass_the_lead_in():
    assert first_landings(SCENARIO) == 3 + 2 + 8  # 1.5 m of lead-in and blend in steps of 0.5 m
    longer = replace_by_name(SCENARIO, {"ground.lead_in_m": 4.0, "strides": 1})
    assert first_landings(longer) == 10 + 2 + 2


def test_the_asked_strides_lie_wholly_on_the_slope(result):
    assert result.outcome == "walked"
    assert result.steps["on_slope"].sum() >= 2 * SCENARIO.strides
    heel = result.steps["heel_x_m"].to_numpy()
    flags = result.steps["on_slope"].to_numpy()
    assert np.array_equal(flags[1:], (heel[1:] >= 1.5) & (heel[:-1] >= 1.5))


def test_a_walk_with_short_steps_is_given_more_landings(monkeypatch):
    """As if the steps came out much shorter than wanted: without the spare landings some are missing."""
    monkeypatch.setattr("sim.activities.walk.first_landings", lambda scenario: 2 * scenario.strides)
    extended = walk(SCENARIO)
    assert extended.outcome == "walked"
    assert extended.steps["on_slope"].sum() == 2 * SCENARIO.strides


def test_fields_keep_their_types_after_a_fall(result):
    fallen = walk(replace_by_name(SCENARIO, {"knee.flexion_resistance": 0.0}))
    assert fallen.outcome != "walked"
    assert fallen.landing is None  # nobody can go on from a fall
    assert result.landing is not None
    for field in dataclasses.fields(WalkResult):
        if field.name != "landing":
            assert type(getattr(fallen, field.name)) is type(getattr(result, field.name)), field.name
    assert list(fallen.metrics) == list(result.metrics) == list(METRICS)
    assert list(fallen.energy) == list(result.energy)
    assert list(fallen.steps.columns) == list(result.steps.columns)
    assert list(fallen.to_dataframe().columns) == list(result.to_dataframe().columns)


def test_the_result_is_frozen(result):
    with pytest.raises(dataclasses.FrozenInstanceError):
        result.outcome = "fell"


def test_tables_have_a_row_per_step_and_per_frame(result):
    assert len(result.steps) == len(result.step_records)
    series = result.to_dataframe()
    assert len(series) == len(result.frames)
    assert series["time_s"].is_monotonic_increasing
    weight = SCENARIO.person.weight
    assert series["sound_force_across_surface_bw"].max() * weight == pytest.approx(result.series.load[:, 1].max())
    assert result.steps["landing_foot"].tolist()[:2] == ["prosthetic", "sound"]
    lean = result.steps[["trunk_lean_least_deg", "trunk_lean_mean_deg", "trunk_lean_greatest_deg"]].to_numpy()
    assert (np.diff(lean, axis=1) >= 0.0).all()


def test_the_table_of_steps_and_the_metrics_agree(result):
    sound = result.steps[result.steps["landing_foot"] == "sound"]
    count = int(result.metrics["measured_strides"])
    assert result.metrics["sound_step_length_m"] == pytest.approx(sound["length_m"].tail(count).mean())
    assert result.metrics["sound_step_time_s"] == pytest.approx(sound["duration_s"].tail(count).mean())


def test_joints_are_where_the_segments_meet(result):
    series, body = result.series, result.body
    thigh = np.linalg.norm(series.knee - series.hip[:, None], axis=2)
    shank = np.linalg.norm(series.ankle - series.knee, axis=2)
    assert thigh == pytest.approx(np.full(thigh.shape, body.thigh_length), abs=1e-4)
    assert shank == pytest.approx(np.full(shank.shape, body.shank_length), abs=1e-4)
    flexed = series.knee - series.hip[:, None]
    assert np.arctan2(flexed[..., 0], -flexed[..., 1]) == pytest.approx(series.thigh, abs=1e-3)


def test_ground_forces_along_x_and_y_are_those_across_and_along_the_slope(result):
    series, angle = result.series, np.radians(-8.0)
    on_slope = series.time > result.step_records["time"][-4]
    force = series.ground_force[on_slope]
    across = force @ np.array([-np.sin(angle), np.cos(angle)])
    along = force @ np.array([np.cos(angle), np.sin(angle)])
    assert across == pytest.approx(series.load[on_slope], abs=1e-6)
    assert along == pytest.approx(series.push[on_slope], abs=1e-6)
    assert np.abs(along).max() > 10.0


def test_the_json_form_is_plain_and_complete(result):
    text = json.dumps(result.to_json_dict(), allow_nan=False)
    back = json.loads(text)
    assert back["metrics"] == result.metrics
    assert len(back["steps"]) == len(result.steps)
    assert back["scenario"]["strides"] == SCENARIO.strides


def test_a_result_survives_pickling(result):
    again = pickle.loads(pickle.dumps(result))
    assert again.metrics == result.metrics
    assert again.scenario == SCENARIO
