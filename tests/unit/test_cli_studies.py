"""The commands ramp, uphill, posture, rail, helper: output, files, bad input."""

import json
import math
from pathlib import Path

import pytest

from sim.activities import helper, posture, rail, uphill
from sim.cli import main
from sim.commands import helper as helper_command
from sim.commands import posture as posture_command
from sim.commands import rail as rail_command
from sim.commands import ramp as ramp_command
from sim.commands import uphill as uphill_command
from sim.commands.study_options import cell, table_lines
from tests.unit.one_sentence import fault

#: Arguments that keep a run short.
QUICK = {
    "rail": ["--strides", "2"],
    "helper": ["--strides", "2", "--slope-deg=-8"],
    "posture": ["--strides", "2"],
    "uphill": ["--strides", "1"],
    "ramp": ["--slope-deg=-8", "--runs", "1", "--run-m", "3", "--level-m", "1"],
}
COMMANDS = {
    "rail": rail_command, "helper": helper_command, "posture": posture_command, "uphill": uphill_command,
    "ramp": ramp_command,
}  # fmt: skip


@pytest.fixture(autouse=True)
def few_walks(monkeypatch):
    """Fewer values of what is varied; which ones there are is tested with the studies."""
    monkeypatch.setattr(posture.posture_study, "__defaults__", ((0.0,), (0.0, 0.02)))
    monkeypatch.setattr(uphill.uphill_study, "__defaults__", ((0.0, 9.0),))
    monkeypatch.setattr(uphill, "PRECISION", 5.0)
    monkeypatch.setattr(uphill.step_difference_study, "__defaults__", ((0.0, 0.05),))
    monkeypatch.setattr(helper, "SHARES", (0.0, 0.1))
    monkeypatch.setattr(rail.rail_study, "__defaults__", (None, (0.0,)))


@pytest.mark.parametrize("name", QUICK)
def test_a_command_prints_what_it_found_a_table_and_the_caution(capsys, name):
    assert main([name, *QUICK[name]]) == 0
    said = capsys.readouterr().out
    assert said.startswith(f"{name}: ")
    for label, _, _ in COMMANDS[name].COLUMNS:
        assert all(part in said for part in label.split("|"))
    assert "no device setting follows from it" in said
    assert "ramps and rails follow local codes" in said


@pytest.mark.parametrize("name", QUICK)
def test_json_holds_rows_scenario_and_what_is_needed_to_repeat(capsys, name):
    assert main([name, *QUICK[name], "--mass-kg", "70", "--json", "-"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["activity"] == name
    assert result["scenario"]["person"]["mass_kg"] == 70.0
    assert result["rows"]
    assert result["software"]["gains_sha256"]
    assert "no device setting" in result["caution"]
    for _, _, column in COMMANDS[name].COLUMNS:
        assert column in result["rows"][0]


@pytest.mark.parametrize("name", QUICK)
def test_a_figure_comes_with_its_table_and_is_not_overwritten(capsys, tmp_path, name):
    target = tmp_path / "found.png"
    arguments = [name, *QUICK[name], "--figure", str(target)]
    assert main(arguments) == 0
    assert target.stat().st_size > 20_000
    assert (tmp_path / "found.csv").read_text(encoding="utf-8").count("\n") > 1
    capsys.readouterr()
    assert "exists" in fault(capsys, *arguments)


def test_uneven_steps_uphill_are_asked_for(capsys):
    assert main(["uphill", "--step-difference", "--slope-deg", "0", "--strides", "1", "--json", "-"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert [row["step_difference_m"] for row in result["rows"]] == [0.0, 0.05]


def test_swing_habits_are_asked_for(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr(uphill, "SWING_HABITS", (("held back longer", "late_hold_back_nm", (0.0, 20.0)),))
    figure = tmp_path / "swing.png"
    assert main(["uphill", "--swing", "--slope-deg=-4", "--strides", "1", "--figure", str(figure)]) == 0
    said = capsys.readouterr().out
    assert "Held back longer: " in said
    assert "knee flexion" in said
    assert figure.stat().st_size > 20_000


def test_the_way_of_a_preset_goes_up_when_asked(capsys):
    for extra, sign in (([], -1.0), (["--up"], 1.0)):
        assert main(["ramp", "--preset", "1:12", "--runs", "1", "--json", "-", *extra]) == 0
        profile = json.loads(capsys.readouterr().out)["profile"]
        assert max(profile["slope"], key=abs) == pytest.approx(sign / 12.0)
        assert [part[0] for part in profile["parts"]] == ["level before", "down" if sign < 0 else "up", "level after"]


@pytest.mark.parametrize("name", ["ramp", "uphill", "posture"])
def test_a_rail_and_a_helper_come_along(capsys, name):
    support = ["--rail-side", "sound", "--rail-share", "0.12", "--helper-support", "fading", "--helper-share", "0.2"]
    assert main([name, *QUICK[name], *support, "--json", "-"]) == 0
    scenario = json.loads(capsys.readouterr().out)["scenario"]
    assert (scenario["rail"]["side"], scenario["rail"]["carried_share"]) == ("sound", 0.12)
    assert (scenario["helper"]["support"], scenario["helper"]["lifted_share"]) == ("fading", 0.2)


def test_a_way_may_begin_on_the_slope(capsys):
    assert main(["ramp", "--slope-deg=-6", "--start-on-slope", "--runs", "1", "--run-m", "2", "--json", "-"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert [part[0] for part in result["profile"]["parts"]] == ["down", "level after"]
    assert result["profile"]["slope"][0] == pytest.approx(math.tan(math.radians(-6.0)))
    assert result["rows"][0]["part"] == "down"


def test_a_run_longer_than_the_rule_is_told(capsys):
    assert main(["ramp", "--preset", "1:8", "--run-m", "2", "--runs", "1"]) == 0
    assert "longer than that rule allows" in capsys.readouterr().out
    assert main(["ramp", "--preset", "1:12", "--run-m", "2", "--runs", "1"]) == 0
    assert "longer than that rule allows" not in capsys.readouterr().out


def test_a_way_comes_from_a_table_of_heights(capsys, tmp_path):
    path = tmp_path / "way.csv"
    path.write_text("distance_m,height_m\n0,0\n1.5,0\n4,-0.3\n", encoding="utf-8")
    assert main(["ramp", "--profile", str(path), "--spacing-m", "0.5", "--json", "-"]) == 0
    profile = json.loads(capsys.readouterr().out)["profile"]
    assert "mean slope over 0.50 m" in profile["note"]
    assert profile["parts"] == [["way", 0.0, 4.0]]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["rail", "--carried-share", "0.4"], "rail.carried_share = 0.4 is outside 0 to 0.15"),
        (["rail", "--hand-distance-m", "9"], "hand_distance_m"),
        (["rail", "--carried-shares", "0.1"], "--carried-share"),
        (["helper", "--support", "strong"], "helper.support"),
        (["posture", "--trunk-lean-deg", "80"], "trunk_lean_deg"),
        (["posture", "--mass-centre-shift-m", "ahead"], "mass_centre_shift_m"),
        (["uphill", "--slope-deg", "3"], "--slope-deg has no effect"),
        (["uphill", "--swing", "--step-difference"], "one at a time"),
        (["uphill", "--prosthetic-step-m", "0.4"], "there is no option named '--prosthetic-step-m'"),
        (["uphill", "--helper-share", "0.1"], "--helper-share has no effect without --helper-support"),
        (["posture", "--rail-share", "0.1"], "--rail-share has no effect without --rail-side"),
        (["ramp", "--rail-side", "none", "--rail-share", "0.1"], "--rail-share has no effect"),
        (["ramp", "--preset", ""], "there is no ramp named ''"),
        (["uphill", "--step-difference", "--step-length-m", "0.16"], "too short for uneven steps"),
        (["ramp", "--profile", "none.csv", "--start-on-slope"], "--start-on-slope has no effect"),
        (["ramp", "--strides", "4"], "--strides has no effect"),
        (["ramp", "--preset", "1:13"], "did you mean '1:12'"),
        (["ramp", "--preset", "1:12", "--slope-deg=-3"], "leave one of them out"),
        (["ramp", "--slope-deg=-3", "--up"], "--up goes with --preset"),
        (["ramp", "--runs", "0"], "--runs = '0' is not a whole number of 1 to 10"),
        (["ramp", "--run-m", "long"], "--run-m"),
        (["ramp", "--bend-m", "9"], "--bend-m = 9 m is outside"),
        (["ramp", "--preset", "1:8", "--bend-m", "2"], "a part must be longer than a bend"),
        (["ramp", "--spacing-m", "1"], "goes only with --profile"),
        (["ramp", "--profile", "none.csv"], "no such file"),
        (["ramp", "--profile", "none.csv", "--runs", "2"], "no effect with --profile"),
        (["ramp", "--figure", "way.doc"], "must end in"),
    ],
)
def test_bad_input_gets_one_sentence(capsys, arguments, told):
    assert told in fault(capsys, *arguments)


def test_cells_are_rounded_without_a_minus_before_zero_and_lines_are_flush():
    assert [cell(value, 1) for value in (None, -0.04, 1.26, "fell", 3.0)] == ["-", "0.0", "1.3", "fell", "3.0"]
    assert table_lines(["name", "two|lines"], [["a", "10.5"], ["long word", "-"]]) == [
        "               two",
        "       name  lines",
        "          a   10.5",
        "  long word      -",
    ]


@pytest.mark.parametrize("name", QUICK)
def test_the_docs_page_explains_every_column(name):
    page = (Path(__file__).parents[2] / "docs" / "activities.md").read_text(encoding="utf-8")
    own = [column for _, _, column in COMMANDS[name].COLUMNS]
    own += [column for _, _, column in getattr(COMMANDS[name], "SWING_COLUMNS", ())]
    assert f"rampwalk {name}" in page
    assert [column for column in own if f"`{column}`" not in page] == []
