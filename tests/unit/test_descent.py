"""Sums over a long way down: against the metrics of the walk they come from, and against arithmetic."""

import math

import pandas as pd
import pytest

from sim.activities.walk import walk
from sim.cli import main
from sim.descent import SUMS, descent_lines, descent_of, descent_table
from sim.metrics import record_of
from sim.metrics.gait import peaks
from sim.pack import pack_settings
from sim.scenario import Scenario, replace_by_name


@pytest.fixture(scope="module")
def result():
    done = walk(Scenario(strides=4))
    assert done.outcome == "walked"
    return done


def test_sums_are_those_of_the_walk(result):
    metrics, scenario = result.metrics, result.scenario
    found = descent_of(result, way=250.0)
    assert found["knee_share_of_slope"] == pytest.approx(metrics["knee_energy_share_of_slope"], rel=1e-2)
    drop = 250.0 * math.sin(math.radians(8.0))
    assert found["slope_energy_kj"] == pytest.approx(scenario.person.weight * drop / 1000.0)
    assert found["sound_leg_taken_kj"] == pytest.approx(0.25 * metrics["sound_leg_work_out_j_per_m"])
    assert found["steps"] == pytest.approx(250.0 / scenario.mean_step_length, rel=0.1)
    assert found["time_s"] * metrics["speed_m_s"] == pytest.approx(250.0)
    assert found["knee_mean_power_w"] * found["time_s"] == pytest.approx(1000.0 * found["knee_taken_kj"])
    assert 0.0 < found["knee_taken_kj"] < found["slope_energy_kj"]


def test_sums_grow_with_the_way_and_power_does_not(result):
    short, long = descent_of(result, way=100.0), descent_of(result, way=300.0)
    for name in SUMS:
        factor = 1.0 if name in {"knee_mean_power_w", "knee_share_of_slope"} else 3.0
        assert long[name] == pytest.approx(factor * short[name])


def test_peaks_above_a_level_are_counted(result):
    record = record_of(
        pack_settings(result.scenario)[0], result.body, result.series, result.step_records, ended_early=False
    )
    heights = sorted(peaks(record, 1) / record.weight)
    sound_steps = descent_of(result)["steps"] / 2.0
    assert descent_of(result, level=heights[0] - 0.01)["sound_peaks_above"] == pytest.approx(sound_steps)
    assert descent_of(result, level=heights[-1] + 0.01)["sound_peaks_above"] == 0.0
    between = 0.5 * (heights[0] + heights[1])
    share = 1.0 - 1.0 / len(heights)
    assert descent_of(result, level=between)["sound_peaks_above"] == pytest.approx(share * sound_steps)


def test_a_fall_has_no_sums():
    fallen = walk(replace_by_name(Scenario(), {"strides": 2, "slope_deg": -10.0, "flexion_resistance": 0.0}))
    assert fallen.outcome == "fell"
    found = descent_of(fallen)
    assert all(math.isnan(found[name]) for name in SUMS)
    said = "\n".join(descent_lines(descent_table([("soft", found)]), 100.0, 1.2))
    assert "fell" in said
    assert "none" in said


def test_the_lines_say_what_they_stand_on(result):
    found = descent_of(result) | {"stride_variation": 0.031}
    said = "\n".join(descent_lines(descent_table([("loose", found)]), 100.0, 1.2))
    assert "measured strides of one computed walk" in said
    assert "Not steady, so only rough: loose" in said
    assert "Not steady" not in "\n".join(
        descent_lines(descent_table([("tight", found | {"stride_variation": 0.01})]), 100.0, 1.2)
    )


def test_the_command_compares_settings(tmp_path, capsys):
    target = tmp_path / "descent.csv"
    given = ["descent", "--strides", "3", "--csv", str(target)]
    assert main([*given, "--over", "flexion_resistance=35,45"]) == 0
    said = capsys.readouterr().out
    assert "no device setting follows from it" in said
    table = pd.read_csv(target)
    assert table["what"].tolist() == ["as given", "knee.flexion_resistance 35", "knee.flexion_resistance 45"]
    assert table["knee_taken_kj"].iloc[1] != table["knee_taken_kj"].iloc[2]
    assert main(given) == 2
    assert "exists" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--way-m", "x"], "not a number"),
        (["--way-m", "0"], "outside 1 to 100000 m"),
        (["--level-bw", "9"], "outside 0.1 to 5 body weights"),
        (["--slope-deg", "0"], "not downhill"),
        (["--over", "slope_deg=4"], "not downhill"),
        (["--over", "slope_deg"], "not NAME=RANGE"),
        (["--limbs", "both-sound"], "no prosthetic knee"),
        (["--over", "person.limbs=both-sound"], "no prosthetic knee"),
    ],
)
def test_bad_input_is_one_sentence(capsys, arguments, said):
    assert main(["descent", *arguments]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1
