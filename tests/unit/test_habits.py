"""Habits that a scenario may ask for: each does what it says, to the leg that it is for, and nothing when not asked."""

import numpy as np
import pytest

from sim.activities.walk import walk
from sim.errors import RampwalkError
from sim.law.compiled import law
from sim.law.habits import change_gains, flex_sharper, hold_back_late
from sim.law.records import FORCES, MEMORY, SETTINGS
from sim.pack import pack_settings
from sim.scenario import Knee, Person, Scenario, replace_by_name

NONE = {"early_unloading_share": 0.0, "late_hold_back_nm": 0.0, "swing_start_hip_flexion_nm": 0.0}


@law
def changed(swing, settings, memories):
    change_gains(swing, settings[0], memories[0])


@law
def flexed(hip, leg, progress, settings):
    return flex_sharper(hip, leg, progress, settings[0])


@law
def held(carried, settings, memories, outs):
    hold_back_late(carried, settings[0], memories[0], outs[0])


def records(**task):
    settings, memory = np.zeros(1, SETTINGS), np.zeros(1, MEMORY)
    settings[0]["person"]["passive"] = 1, 0
    settings[0]["person"]["hip_strength"] = 100.0, 180.0
    settings[0]["task"]["step_length"] = 0.4, 0.5
    for name, value in task.items():
        settings[0]["task"][name] = value
    memory[0]["gains"]["landing_offset"], memory[0]["gains"]["handover_share"] = 0.3, 0.4
    return settings, memory


@pytest.mark.parametrize(("swing", "offset"), [(0, 0.3 + 0.02 / 0.4), (1, 0.3 + 0.02 / 0.5)])
def test_the_hip_is_planned_that_much_further_ahead(swing, offset):
    """The gain is a share of the step, so a shift in metres is divided by the step that is under way."""
    settings, memory = records(hip_shift=0.02)
    changed(swing, settings, memory)
    assert memory[0]["gains"]["landing_offset"] == pytest.approx(offset)
    assert memory[0]["gains"]["handover_share"] == 0.4


def test_only_a_prosthesis_that_is_behind_is_unloaded_earlier():
    for swing, share in ((0, 0.4 * 0.7), (1, 0.4)):
        settings, memory = records(early_unloading=0.3)
        changed(swing, settings, memory)
        assert memory[0]["gains"]["handover_share"] == pytest.approx(share)


def test_a_sharper_flexion_fades_over_the_start_of_the_swing():
    settings, _ = records(swing_start_hip=30.0)
    assert [flexed(10.0, 0, progress, settings) for progress in (0.0, 0.15, 0.3, 0.9)] == pytest.approx(
        [40.0, 25.0, 10.0, 10.0]
    )
    assert flexed(10.0, 1, 0.0, settings) == 10.0  # the sound leg
    assert flexed(90.0, 0, 0.0, settings) == 100.0  # no stronger than the hip is


def test_holding_back_is_taken_by_the_other_hip_and_ends_with_the_handover():
    settings, memory = records(late_hold=25.0)
    memory[0]["stance"] = 1
    for carried, hips in ((0.5, (-15.0, 45.0)), (1.0, (10.0, 20.0))):
        out = np.zeros(1, FORCES)
        out[0]["hip"] = 10.0, 20.0
        held(carried, settings, memory, out)
        assert tuple(out[0]["hip"]) == hips
    out = np.zeros(1, FORCES)
    out[0]["hip"] = -90.0, 20.0
    held(0.5, settings, memory, out)
    assert tuple(out[0]["hip"]) == (-100.0, 30.0)  # no stronger than the hip is
    memory[0]["stance"] = 0
    out[0]["hip"] = 10.0, 20.0
    held(0.5, settings, memory, out)
    assert tuple(out[0]["hip"]) == (10.0, 20.0)  # the sound leg is behind


@pytest.mark.parametrize("name", [*NONE, "mass_centre_shift_m"])
def test_a_habit_changes_a_walk_and_its_energy_still_closes(name):
    value = 0.05 if name.endswith("_m") else 0.4 if name.endswith("share") else 20.0
    free = walk(Scenario(strides=1))
    other = walk(replace_by_name(Scenario(strides=1), {name: value}))
    count = min(len(free.frames), len(other.frames))
    assert not np.array_equal(free.frames["body"][:count], other.frames["body"][:count])
    assert other.energy["residual_fraction"] < 1e-4


def test_who_feels_nothing_of_the_knee_leans_alike_on_every_knee():
    def lean(resistance, share):
        asked = Scenario(knee=Knee(flexion_resistance=resistance), yield_felt_share=share)
        return walk(asked).metrics["trunk_lean_deg"]

    assert lean(28.0, 1.0) - lean(45.0, 1.0) > 1.0
    assert abs(lean(28.0, 0.0) - lean(45.0, 0.0)) < 0.3


def test_the_scenario_reaches_the_law_and_none_is_the_default():
    task = pack_settings(Scenario())[0]["task"]
    assert [float(task[name]) for name in ("early_unloading", "late_hold", "swing_start_hip", "hip_shift")] == [0.0] * 4
    assert task["yield_felt"] == 1.0
    asked = {"early_unloading_share": 0.2, "late_hold_back_nm": 11.0, "swing_start_hip_flexion_nm": 12.0}
    asked["yield_felt_share"] = 0.25
    task = pack_settings(replace_by_name(Scenario(), asked))[0]["task"]
    assert task["yield_felt"] == 0.25
    assert (task["early_unloading"], task["late_hold"], task["swing_start_hip"]) == (0.2, 11.0, 12.0)


@pytest.mark.parametrize("name", NONE)
def test_two_sound_legs_have_no_habit_of_a_prosthetic_one(name):
    with pytest.raises(RampwalkError, match="both-sound"):
        replace_by_name(Scenario(person=Person(limbs="both-sound")), {name: 0.5})
