"""Steps and rhythm of each foot as inputs, and what unevenness costs, by made-up walks."""

import math

import pandas as pd
import pytest

from sim import unevenness
from sim.cli import main
from sim.errors import RampwalkError
from sim.pack import pack_settings
from sim.scenario import Scenario, from_toml, replace_by_name, to_toml
from sim.table import columns, input_row
from sim.unevenness import COSTS, UNEVEN_COLUMNS, compare, even_settings, shares, uneven_lines
from sim.window_help import cadenced, paced, single_changes

BASE = Scenario()


# -------------------------------------------------------------------------------- inputs
def test_step_times_follow_lengths_unless_given():
    assert Scenario(step_length_m=0.5, speed_m_s=1.0).step_times == (0.5, 0.5)
    own = Scenario(prosthetic_step_length_m=0.6, sound_step_length_m=0.4, speed_m_s=1.0)
    assert own.step_times == pytest.approx((0.6, 0.4))
    one = Scenario(speed_m_s=1.0, sound_step_time_s=0.55)
    assert one.step_times == pytest.approx((0.45, 0.55))
    assert one.speed == 1.0
    two = Scenario(step_length_m=0.5, prosthetic_step_time_s=0.7, sound_step_time_s=0.5)
    assert (two.step_times, two.step_time) == ((0.7, 0.5), pytest.approx(0.6))
    assert two.speed == pytest.approx(0.5 / 0.6)


def test_step_times_reach_the_law_and_the_table(tmp_path):
    own = Scenario(prosthetic_step_time_s=0.7, sound_step_time_s=0.5)
    assert pack_settings(own)[0]["task"]["step_time"].tolist() == [0.7, 0.5]
    row = input_row(own)
    assert (row["wanted_prosthetic_step_time_s"], row["wanted_sound_step_time_s"]) == (0.7, 0.5)
    assert "wanted_sound_step_time_s" in columns()
    (tmp_path / "own.toml").write_text(to_toml(own), encoding="utf-8")
    assert from_toml(tmp_path / "own.toml") == own


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"sound_step_time_s": 0.1}, "outside 0.25 to 2 s"),
        ({"sound_step_time_s": 0.6, "prosthetic_step_time_s": 0.6, "speed_m_s": 1.0}, "two step times set the pace"),
        ({"sound_step_time_s": 0.6, "prosthetic_step_time_s": 0.6, "cadence_steps_per_min": 90}, "set the pace"),
        ({"sound_step_time_s": 1.2}, "step time of the other foot"),
        ({"prosthetic_step_time_s": 0.6, "speed_m_s": 0.2}, "mean step time"),
    ],
)
def test_contradictions_are_one_sentence(given, why):
    with pytest.raises(RampwalkError, match=why) as caught:
        Scenario(**given)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "given",
    [{}, {"sound_step_time_s": 0.6}, {"sound_step_time_s": 0.6, "prosthetic_step_time_s": 0.7}, {"speed_m_s": 0.9}],
)
def test_pace_is_held_whatever_gave_it(given):
    base = Scenario(**given)
    assert replace_by_name(base, paced(base)).speed == pytest.approx(base.speed)
    slower = replace_by_name(base, paced(base, 0.9))
    assert slower.speed == pytest.approx(0.9 * base.speed)
    ratio = base.step_times[0] / base.step_times[1]
    assert slower.step_times[0] / slower.step_times[1] == pytest.approx(ratio)
    shorter = replace_by_name(base, {"step_length_m": 0.4, **cadenced(base)})
    assert shorter.step_time == pytest.approx(base.step_time)


def test_an_even_rhythm_and_a_rail_are_among_the_changes():
    base = Scenario(sound_step_time_s=0.6)
    after = {change.what: replace_by_name(base, change.settings) for change in single_changes(base)}
    assert after["even rhythm"].step_times == pytest.approx((base.step_time, base.step_time))
    assert after["even rhythm"].speed == pytest.approx(base.speed)
    assert after["a hand on the rail"].rail.on
    names = [change.what for change in single_changes(after["a hand on the rail"])]
    assert "a hand on the rail" not in names
    assert "even rhythm" not in [change.what for change in single_changes(BASE)]


# -------------------------------------------------------------------------------- costs
def made(follow_time=1.0):
    """Walk function: the first peak grows with both differences, effort with the time difference alone."""

    def walk(cells):
        rows = []
        for cell in cells:
            wanted = replace_by_name(BASE, cell)
            lengths, times = wanted.step_lengths, wanted.step_times
            length, time = lengths[0] - lengths[1], follow_time * (times[0] - times[1])
            rows.append(
                dict.fromkeys(UNEVEN_COLUMNS, 1.0)
                | {
                    "outcome": "fell" if time > 0.13 else "walked",
                    "prosthetic_step_length_m": lengths[0],
                    "sound_step_length_m": lengths[1],
                    "prosthetic_step_time_s": wanted.step_time + 0.5 * time,
                    "sound_step_time_s": wanted.step_time - 0.5 * time,
                    "sound_first_peak_bw": 1.0 + length + time,
                    "prosthetic_first_peak_bw": 1.0 - length - time,
                    "positive_work_j_per_m": 100.0 * (1.0 + abs(time)),
                }
            )
        return rows

    return walk


def test_uneven_shares_keep_mean_step_and_pace():
    for base in (BASE, Scenario(speed_m_s=0.9, sound_step_length_m=0.45)):
        ways = shares(base)
        assert ways[0].what == "even"
        assert ("as given" in [each.what for each in ways]) == (base is not BASE)
        for each in ways:
            after = replace_by_name(base, each.settings)
            assert after.mean_step_length == pytest.approx(base.mean_step_length)
            assert after.speed == pytest.approx(base.speed)
    even = replace_by_name(BASE, even_settings(BASE))
    assert even.step_lengths == (0.5, 0.5)
    assert even.step_times == pytest.approx((BASE.step_time, BASE.step_time))


def test_costs_are_differences_from_even_steps():
    table = compare(BASE, made())
    assert set(COSTS) <= set(table)
    by = table.set_index("what")
    longer = by.loc["prosthetic step 10 cm longer"]
    assert longer["larger_first_peak_bw_difference"] == pytest.approx(0.10)
    assert longer["positive_work_j_per_m_difference"] == pytest.approx(0.0)
    shorter = by.loc["prosthetic step takes 10 % shorter"]
    assert shorter["positive_work_j_per_m_difference"] == pytest.approx(10.0 * BASE.step_time)
    fell = by.loc["prosthetic step takes 20 % longer"]
    assert fell["outcome"] == "fell"
    assert math.isnan(fell["larger_first_peak_bw_difference"])
    said = "\n".join(uneven_lines(table))
    assert "Uneven step lengths: 4 of 4 walks completed; the larger first peak is higher in 4 and the effort" in said
    assert "Uneven rhythm: 3 of 4 walks completed; the larger first peak is higher in 3 and the effort is" in said
    assert "the walk is not completed (fell)" in said
    assert "of the wanted difference" not in said


def test_a_walker_that_keeps_its_own_rhythm_is_told():
    said = "\n".join(uneven_lines(compare(BASE, made(follow_time=0.1))))
    assert "(10 % of the wanted difference is walked)" in said


def test_what_was_not_measured_is_a_dash():
    table = compare(Scenario(), made()).assign(knee_loaded_peak_rate_deg_s=math.nan)
    table["knee_loaded_peak_rate_deg_s_difference"] = math.nan
    lines = uneven_lines(table)
    assert not [line for line in lines if "nan" in line]
    assert sum(" -  " in line for line in lines) == (table["outcome"] == "walked").sum() > 1


def test_no_comparison_without_even_steps():
    def fallen(cells):
        return [dict.fromkeys(UNEVEN_COLUMNS, math.nan) | {"outcome": "fell"} for _ in cells]

    assert "nothing to compare" in uneven_lines(compare(BASE, fallen))[-1]


# -------------------------------------------------------------------------------- command
def test_the_command_prints_and_writes(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("sim.window_study.walk_in_memory", lambda *_: made())
    target = tmp_path / "uneven.csv"
    assert main(["uneven", "--csv", str(target)]) == 0
    said = capsys.readouterr().out
    assert "no device setting follows from it" in said
    assert len(pd.read_csv(target)) == len(shares(BASE))
    assert main(["uneven", "--csv", str(target)]) == 2
    assert "exists" in capsys.readouterr().err
    assert main(["uneven", "--sound-step-time-s", "9"]) == 2
    assert "sound_step_time_s = 9 s is outside 0.25 to 2 s" in capsys.readouterr().err


def test_real_walks_have_the_columns():
    assert set(UNEVEN_COLUMNS) <= set(columns())
    assert unevenness.LENGTH_DIFFERENCES_M[0] < unevenness.LENGTH_DIFFERENCES_M[1]
