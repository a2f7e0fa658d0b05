"""A whole way: the same walk as on the scenario's own ground, parts, falls, energy."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sim.activities.ramp import FIRST_STEPS, _both_beyond, ramp
from sim.activities.walk import walk
from sim.caution import CAUTION
from sim.profile import Part, Profile, profile_of
from sim.ramps import PRESETS, ramp_parts
from sim.scenario import Knee, Scenario

SLOPE = math.tan(math.radians(-8.0))


@pytest.fixture(scope="module")
def way():
    """Lead-in, blend and slope of the default scenario, 7 m long."""
    parts = (("level", 0.0, 0.5), ("bend", 0.5, 1.5), ("slope", 1.5, 7.0))
    return Profile((0.5, 1.5), (0.0, 0.5 * SLOPE), (0.0, SLOPE), parts, "as the scenario")


@pytest.fixture(scope="module")
def arrived(way):
    return ramp(Scenario(slope_deg=-8.0), way)


def test_the_same_ground_gives_the_same_walk_to_the_last_bit(arrived):
    usual = walk(Scenario(slope_deg=-8.0, strides=3))
    count = min(len(usual.step_records), len(arrived.step_records))
    assert count > 5
    assert usual.step_records[:count].tobytes() == arrived.step_records[:count].tobytes()


def test_both_feet_arrive_and_the_energy_book_closes(arrived):
    assert arrived.outcome == "arrived"
    assert arrived.step_records["heel_x"][-2:].min() >= 7.0
    assert arrived.energy["residual_fraction"] < 1e-4


def test_every_step_counts_to_the_part_in_which_its_foot_stood(arrived):
    assert sum(row["steps"] for row in arrived.rows) == len(arrived.step_records)  # beyond the end: the last part
    heel = arrived.step_records["heel_x"]
    stood = np.array([0.0, *heel[:-1]])
    for name, begin, end in arrived.profile.parts[:-1]:
        within = ((stood >= begin) & (stood < end)).sum() if begin else (stood < end).sum()
        first, rest = (row for row in arrived.rows if row["part"] == name)
        assert (first["which"], rest["which"]) == ("first steps", "rest")
        assert first["steps"] == min(FIRST_STEPS, within)
        assert first["steps"] + rest["steps"] == within


def test_loads_of_a_part_are_those_of_its_steps(arrived):
    columns = arrived.step_rows()
    stood = np.array([0.0, *arrived.step_records["heel_x"][:-1]])
    own = np.flatnonzero(stood >= 1.5)[FIRST_STEPS:]
    rest = next(row for row in arrived.rows if row["part"] == "slope" and row["which"] == "rest")
    assert rest["sound_peak_force_bw"] == max(columns["sound_peak_force_bw"][k] for k in own)
    sound_lands = [k for k in own if columns["landing_foot"][k] == "sound"]
    assert rest["knee_peak_rate_deg_s"] == max(columns["standing_knee_peak_rate_deg_s"][k] for k in sound_lands)
    assert rest["step_length_m"] == pytest.approx(np.mean([columns["length_m"][k] for k in own]))


def test_a_fall_says_in_which_part_and_leaves_its_last_steps_out(way):
    fell = ramp(Scenario(slope_deg=-8.0, knee=Knee(flexion_resistance=0.0)), way)
    assert fell.outcome == "fell"
    assert "It was in the part" in fell.told
    assert sum(row["steps"] for row in fell.rows) == max(0, len(fell.step_records) - 2)


def test_the_ground_is_the_profile_everywhere():
    """The sole of the standing foot is at the ground of the profile, on each part of a way with ends."""
    parts = [Part("level", 2.0, 0.0), Part("down", 3.0, -7.0)]
    result = ramp(Scenario(), profile_of(parts, 0.5))
    series, rows = result.series, result.step_records
    seen = set()
    for k in range(len(rows) - 1):
        leg = int(rows["leg"][k])
        middle = 0.5 * (rows["time"][k] + rows["time"][k + 1])
        frame = int(np.searchsorted(series.time, middle))
        sole = series.sole[frame, leg]
        assert np.abs(sole[:2, 1] - result.profile.heights(sole[:2, 0])).min() < 0.03
        seen.add(result.profile.part_at(float(rows["heel_x"][k])))
    assert seen == {"level", "down"}


def test_plain_values_carry_way_steps_and_caution(arrived):
    plain = arrived.to_json_dict()
    assert plain["caution"] == CAUTION
    assert len(plain["steps"]) == len(arrived.step_records)
    assert plain["profile"]["x_m"] == (0.5, 1.5)
    assert {step["part"] for step in plain["steps"]} >= {"bend", "slope"}
    assert arrived.to_dataframe()["part"].tolist() == [step["part"] for step in plain["steps"]]


@pytest.mark.parametrize(("heels", "come"), [([], 0.0), ([7.2], 0.0), ([5.0, 7.5, 6.9], 6.9), ([6.9, 7.5], 6.9)])
def test_a_way_is_done_when_the_hinder_foot_is_beyond_its_end(heels, come):
    steps = np.zeros(len(heels), [("heel_x", "f8")])
    steps["heel_x"] = heels
    assert _both_beyond(SimpleNamespace(steps=steps)) == come


def test_the_person_walks_down_a_ramp_of_the_rules_and_off_it_again():
    """1:12 with a landing; without the lift of the hip where the ground turns up the prosthetic foot lands short."""
    rule = PRESETS["1:12"]
    parts = ramp_parts(-rule.slope.value, 3.0, rule.landing.value, 3.0, 2)
    result = ramp(Scenario(), profile_of(parts, 0.3))
    assert result.outcome == "arrived"
    levels = [k for k, part in enumerate(result.to_dataframe()["part"]) if part in ("landing", "level after")]
    assert result.step_records["length"][levels].min() > 0.8 * Scenario().step_length_m
