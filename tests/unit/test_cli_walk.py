import json
import subprocess
import sys
from pathlib import Path

import pytest

from sim.caution import CAUTION
from sim.cli import COMMANDS, main
from sim.commands.scenario_options import SETTING_OF
from sim.metrics import METRICS
from sim.scenario import Scenario, names, replace_by_name, to_toml
from tests.unit.one_sentence import fault

SHORT = ["walk", "--slope-deg", "-8", "--step-length-m", "0.5", "--flexion-resistance", "40", "--strides", "2"]
ROOT = Path(__file__).parents[2]


def command(*arguments):
    run = [sys.executable, "-m", "sim.cli", *arguments]
    return subprocess.run(run, capture_output=True, text=True, check=False, cwd=ROOT, timeout=300)


def result_of(capsys, *arguments):
    assert main([*arguments, "--json", "-"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    return json.loads(said.out)


def test_json_on_standard_output_is_one_object_and_nothing_else():
    done = command(*SHORT, "--json", "-")
    assert (done.returncode, done.stderr) == (0, "")
    result = json.loads(done.stdout)
    assert list(result) == [
        "scenario", "outcome", "reason", "start", "started_from", "metrics", "energy", "steps", "software", "caution",
    ]  # fmt: skip
    assert (result["start"], result["started_from"]) == ("standing", [])
    assert result["caution"] == CAUTION
    assert result["outcome"] in {"walked", "fell", "stalled"}
    assert list(result["metrics"]) == list(METRICS)
    assert result["energy"]["residual_fraction"] < 1e-4
    assert result["steps"][0]["step"] == 1
    assert {"pymunk", "numba", "numpy", "python", "time_step_s", "iterations", "loop"} < set(result["software"])


def test_a_wrong_value_from_the_shell_is_one_line_and_status_2():
    done = command("walk", "--slope-deg", "-40")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("rampwalk: slope_deg = -40 deg is outside -20 to 15 deg: ")
    assert done.stderr.count("\n") == 1


def test_every_option_has_a_default(capsys):
    assert main(["walk"]) == 0
    assert capsys.readouterr().out.startswith(("walked: -8 deg", "fell: -8 deg", "stalled: -8 deg"))


def test_the_table_ends_with_the_caution(capsys):
    assert main(SHORT) == 0
    said = capsys.readouterr().out
    assert said.rstrip().endswith(CAUTION)
    assert "peak force [body weights]" in said


def test_a_fall_is_a_result(capsys):
    result = result_of(capsys, *SHORT, "--flexion-resistance", "0")
    assert result["outcome"] in {"fell", "stalled"}
    assert "try" in result["reason"]
    assert result["metrics"]["sound_peak_force_bw"] is None


def test_options_reach_the_scenario(capsys):
    given = ["--law", "hydraulic", "--limbs", "one-prosthetic", "--mass-kg", "80", "--stature-m", "1.8"]
    result = result_of(capsys, *SHORT, *given, "--speed-m-s", "0.7", "--slope-deg=-6")
    expected = {"slope_deg": -6, "step_length_m": 0.5, "knee.flexion_resistance": 40, "knee.law": "hydraulic"}
    expected |= {"speed_m_s": 0.7, "person.mass_kg": 80, "person.stature_m": 1.8, "strides": 2}
    wanted = to_toml(replace_by_name(Scenario(), expected))
    from sim.scenario import from_dict

    assert to_toml(from_dict(result["scenario"])) == wanted


def test_every_option_names_a_setting():
    assert set(SETTING_OF.values()) <= set(names())


def test_options_override_the_file(capsys, tmp_path):
    path = tmp_path / "steep.toml"
    path.write_text(to_toml(replace_by_name(Scenario(), {"slope_deg": -10.0, "person.mass_kg": 66.0, "strides": 1})))
    result = result_of(capsys, "walk", "--scenario", str(path), "--slope-deg", "-5")
    assert result["scenario"]["slope_deg"] == -5.0
    assert result["scenario"]["person"]["mass_kg"] == 66.0
    assert result["scenario"]["strides"] == 1


def test_json_goes_to_a_file(capsys, tmp_path):
    path = tmp_path / "walk.json"
    assert main([*SHORT, "--json", str(path)]) == 0
    assert capsys.readouterr().out == ""
    assert json.loads(path.read_text())["scenario"]["strides"] == 2


def test_a_figure_is_drawn_and_saved_with_its_numbers(capsys, tmp_path):
    path = tmp_path / "walk.png"
    assert main([*SHORT, "--figure", str(path), "--json", "-"]) == 0
    json.loads(capsys.readouterr().out)
    assert path.read_bytes().startswith(b"\x89PNG")
    assert len(path.with_suffix(".csv").read_text().splitlines()) > 10


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["wlak"], "no command named 'wlak'; did you mean 'walk'?"),
        ([], "give a command: walk"),
        (["walk", "--slop-deg", "3"], "no option named '--slop-deg'; did you mean '--slope-deg'?"),
        (["walk", "--step", "0.5"], "no option named '--step'"),
        (["walk", "--law", "hydraulick"], "did you mean 'hydraulic'?"),
        (["walk", "--limbs", "both"], "did you mean 'both-sound'?"),
        (["walk", "--mass-kg", "heavy"], "'heavy' is not a number; give 30 to 200 kg"),
        (["walk", "--mass-kg", ""], "'' is not a number"),
        (["walk", "--mass-kg", "nan"], "is not finite"),
        (["walk", "--mass-kg"], "expected one argument"),
        (["walk", "--strides", "2.5"], "is not a whole number"),
        (["walk", "uphill"], "'uphill' is not an option"),
        (["walk", "--scenario", "nowhere.toml"], "cannot read nowhere.toml"),
        (["walk", "--json", "nowhere/walk.json"], "is not a file in a folder that exists"),
        (["walk", "--figure", "walk.gif"], "must end in one of .png, .svg, .pdf"),
        (["walk", "--speed-m-s", "2.4", "--step-length-m", "0.2"], "mean step time = "),
        (["walk", "--mass-kg", "5", "--slope-deg", "50"], "outside"),
    ],
)
def test_bad_input_is_answered_with_one_sentence(capsys, arguments, sentence):
    assert sentence in fault(capsys, *arguments)


def test_a_file_with_two_faults_is_still_one_line(capsys, tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text("slope_deg = -90\nsteplength = 3\n")
    said = fault(capsys, "walk", "--scenario", str(path))
    assert "slope_deg = -90" in said
    assert "did you mean" in said


def test_help_and_version_leave_with_status_0(capsys):
    assert main(["--help"]) == 0
    said = capsys.readouterr().out
    assert all(name in said for name in COMMANDS)
    assert main(["walk", "--help"]) == 0
    said = capsys.readouterr().out
    assert all(option in said for option in (*SETTING_OF, "--scenario", "--json", "--figure"))
    assert main(["--version"]) == 0


def test_a_reader_that_leaves_early_costs_neither_a_traceback_nor_the_figure(tmp_path):
    path = tmp_path / "walk.png"
    run = [sys.executable, "-m", "sim.cli", *SHORT, "--figure", str(path)]
    with subprocess.Popen(run, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT) as process:
        process.stdout.close()
        assert process.stderr.read() == ""
        assert process.wait(timeout=300) == 1
    assert path.stat().st_size > 1000


def test_results_are_replaced_only_when_asked(capsys, tmp_path):
    figure, table, data = tmp_path / "walk.png", tmp_path / "walk.csv", tmp_path / "walk.json"
    table.write_text("mine")
    assert "walk.csv exists; give another name, or --force" in fault(capsys, *SHORT, "--figure", str(figure))
    assert "both write" in fault(capsys, *SHORT, "--force", "--figure", str(figure), "--json", str(table))
    assert table.read_text() == "mine"
    assert main([*SHORT, "--force", "--figure", str(figure), "--json", str(data)]) == 0
    assert table.read_text() != "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["walk.csv", "walk.json", "walk.png"]
    before = data.read_bytes()
    assert "walk.json exists" in fault(capsys, *SHORT, "--json", str(data))
    assert data.read_bytes() == before


def test_a_full_disk_behind_standard_output_is_one_sentence():
    with Path("/dev/full").open("w") as full:
        run = [sys.executable, "-m", "sim.cli", *SHORT]
        done = subprocess.run(run, stdout=full, stderr=subprocess.PIPE, text=True, check=False, cwd=ROOT, timeout=300)
    assert (done.returncode, done.stderr) == (1, "rampwalk: cannot write standard output: the disk is full\n")


def test_an_interrupt_is_one_sentence(capsys, monkeypatch):
    def interrupt(_scenario):
        raise KeyboardInterrupt

    monkeypatch.setattr("sim.activities.walk.walk", interrupt)
    assert main(SHORT) == 130
    assert capsys.readouterr().err == "rampwalk: stopped; nothing was written\n"


def loaded_by(*arguments):
    """Modules that a command has loaded when it is done, in a fresh process."""
    code = f"import sys; from sim.cli import main; main({list(arguments)!r}); print(*sys.modules, file=sys.stderr)"
    run = [sys.executable, "-c", code]
    done = subprocess.run(run, capture_output=True, text=True, check=True, cwd=ROOT, timeout=300)
    return set(done.stderr.split())


def test_help_loads_no_engine_no_tables_and_no_plotting():
    assert not loaded_by("walk", "--help") & {"numba", "pymunk", "pandas", "matplotlib", "scipy"}


def test_a_walk_as_json_loads_no_tables_and_no_plotting():
    loaded = loaded_by("walk", "--strides", "1", "--json", "-")
    assert "pymunk" in loaded
    assert not loaded & {"pandas", "matplotlib", "scipy.signal"}
