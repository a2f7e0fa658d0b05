"""The commands of the activities in place: output, files, bad input."""

import json
from pathlib import Path

import pytest

from sim.activities import bend, flight, sit, stair, stand, step_to, stop
from sim.caution import CAUTION
from sim.cli import main
from sim.commands.posture_options import SECTION_OPTIONS, option_names
from sim.settings import described
from sim.settings_file import as_toml
from tests.unit.one_sentence import fault

KINDS = {"stand": stand.Stand, "bend": bend.Bend, "sit": sit.Sit, "stair": stair.Stair, "step-to": step_to.StepTo,
         "stop": stop.Stop, "flight": flight.Flight}  # fmt: skip
METRICS = {"stand": stand.METRICS, "bend": bend.METRICS, "sit": sit.METRICS, "stair": stair.METRICS,
           "step-to": step_to.METRICS, "stop": stop.METRICS, "flight": flight.METRICS}  # fmt: skip
QUICK = {"stand": ["--seconds", "4"], "bend": ["--repeats", "1"], "sit": [], "stair": [], "step-to": [],
         "stop": ["--strides-after", "1"], "flight": []}  # fmt: skip


@pytest.mark.parametrize("name", KINDS)
def test_a_command_prints_a_table_with_the_caution(capsys, name):
    assert main([name, *QUICK[name]]) == 0
    said = capsys.readouterr().out
    assert said.startswith(f"{name}: ")
    assert "no device setting follows from it" in said


@pytest.mark.parametrize("name", KINDS)
def test_json_holds_all_metrics_and_the_settings(capsys, name):
    assert main([name, *QUICK[name], "--flexion-resistance", "45", "--json", "-"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert tuple(result["metrics"]) == METRICS[name]
    assert result["settings"]["knee"]["flexion_resistance"] == 45.0
    assert result["activity"] == name
    assert result["caution"] == CAUTION


@pytest.mark.parametrize("name", KINDS)
def test_a_figure_comes_with_its_table_and_is_not_overwritten(capsys, tmp_path, name):
    target = tmp_path / "poses.png"
    arguments = [name, *QUICK[name], "--figure", str(target)]
    assert main(arguments) == 0
    assert target.stat().st_size > 20_000
    assert (tmp_path / "poses.csv").read_text(encoding="utf-8").startswith("time_s,")
    capsys.readouterr()
    assert "exists" in fault(capsys, *arguments)


@pytest.mark.parametrize("name", KINDS)
def test_settings_come_from_a_file_and_options_override_it(capsys, tmp_path, name):
    path = tmp_path / "mine.toml"
    path.write_text(as_toml(KINDS[name]()), encoding="utf-8")
    assert main([name, "--settings", str(path), *QUICK[name], "--mass-kg", "70", "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["settings"]["person"]["mass_kg"] == 70.0


@pytest.mark.parametrize("name", KINDS)
def test_every_setting_of_its_own_is_an_option(name):
    own = {setting.name for setting in described(KINDS[name]) if "." not in setting.name}
    assert own | set(SECTION_OPTIONS.values()) == set(option_names(KINDS[name]).values())


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["stand", "--slope-deg=-40"], "slope_deg = -40 deg is outside -20 to 15"),
        (["stand", "--slope-deg", "8"], "sound leg does not reach the ground"),
        (["stand", "--trial", "pushh"], "did you mean 'push'"),
        (["stand", "--limits", "--figure", "x.png"], "--limits"),
        (["bend", "--depth-deg", "deep"], "not a number"),
        (["sit", "--seat-height-m", "0.7", "--stature-m", "1.3"], "is no seat for a leg"),
        (["stair", "--riser-m", "1"], "riser_m = 1 m is outside 0.02 to 0.3"),
        (["stair", "--rise-m", "0.1"], "--riser-m"),
        (["flight", "--steps", "9"], "steps = 9"),
        (["flight", "--tread-m", "0.1"], "tread_m = 0.1 m is outside 0.24 to 0.4"),
        (["flight", "--limbs", "both-sound"], "use 'one-prosthetic'"),
        (["step-to", "--limbs", "both-sound"], "use 'one-prosthetic'"),
        (["stop", "--limbs", "both-sound"], "use 'one-prosthetic'"),
        (["stop", "--lock", "permanent-lock"], "this run walks; leave it out"),
        (["stop", "--slope-deg", "3"], "slope_deg = 3 deg is outside -12 to 0"),
        (["stop", "--stand-s", "0"], "stand_s = 0 s is outside 0.5 to 60"),
        (["stop", "--lean-back-deg", "40"], "lean_back_deg = 40 deg is outside -6 to 10"),
        (["bend", "--figure", "poses.doc"], "must end in"),
    ],
)
def test_bad_input_gets_one_sentence(capsys, arguments, told):
    assert told in fault(capsys, *arguments)


def test_a_bend_is_told_beside_what_the_ramp_asks(capsys):
    assert main(["bend", "--repeats", "1", "--ramp-deg=-6"]) == 0
    said = capsys.readouterr().out
    bent, asked, ratio = (float(word) for word in said.split("knee rate, peak [deg/s]")[1].split()[:3])
    assert ratio == pytest.approx(bent / asked, abs=0.01)
    assert ratio < 0.8  # a slow bend is not a ramp
    assert "only prints" in fault(capsys, "bend", "--ramp-deg=-6", "--json", "-")
    assert "--ramp-deg = 5 deg is outside" in fault(capsys, "bend", "--ramp-deg", "5")


def test_limits_are_told_for_the_chosen_lock(capsys):
    assert main(["stand", "--limits", "--lock", "flexion-lock", "--ramp-seconds", "6", "--json", "-"]) == 0
    table = json.loads(capsys.readouterr().out)
    assert table["lock"] == "flexion-lock"
    assert table["nudge_backward_n"] < 0.0 < table["nudge_forward_n"]
    assert table["unload_prosthetic_load_ended_by"] == "lock"


def test_a_fall_is_a_result(capsys):
    assert main(["stand", "--trial", "nudge", "--push-n", "600", "--seconds", "6"]) == 0
    assert capsys.readouterr().out.startswith("stand: fell\nFell: ")


@pytest.mark.parametrize("name", KINDS)
def test_the_docs_page_explains_every_metric(name):
    page = (Path(__file__).parents[2] / "docs" / "activities.md").read_text(encoding="utf-8")
    assert [metric for metric in METRICS[name] if f"`{metric}`" not in page] == []
