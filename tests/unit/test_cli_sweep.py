import json

import pandas as pd
import pytest

from sim.caution import CAUTION
from sim.cli import main
from sim.commands.sweep import axes_from, workers_from
from sim.scenario import Scenario, to_dict
from sim.survey import default_axes
from sim.survey_figures import figures_for
from sim.table_reader import read_table
from tests.unit import one_sentence

SMALL = ["sweep", "--strides", "2", "--workers", "1", "--slope-deg=-4:-6:2", "--step-length-m=0.45,0.5"]


def fault(capsys, *arguments):
    return one_sentence.fault(capsys, "sweep", *arguments)


def test_a_small_sweep_writes_table_about_and_figures(tmp_path, capsys):
    folder = tmp_path / "new" / "folder"
    assert main([*SMALL, "--flexion-resistance=30:60:2:log", "--mass-kg", "80", "--out", str(folder)]) == 0
    lines = capsys.readouterr().out.splitlines()
    table = read_table(folder / "table.csv")
    counts = table["outcome"].value_counts()
    told = ", ".join(f"{counts.get(name, 0)} {name}" for name in ("walked", "fell", "stalled", "crashed"))
    assert lines[0].startswith(f"8 walks: {told} ")
    assert "walks per second" in lines[1]
    assert table["person.mass_kg"].tolist() == [80.0] * 8
    assert table["slope_deg"].tolist() == [-4.0] * 4 + [-6.0] * 4
    about = json.loads((folder / "about.json").read_text())
    assert about["base"]["person"]["mass_kg"] == 80.0
    assert about["axes"]["knee.flexion_resistance"] == [30.0, 60.0]
    assert about["walks"] == sum(about["outcomes"].values()) == 8
    assert about["caution"] == CAUTION
    assert {"software", "date", "seconds", "code_version"} < set(about)
    for name in ("walk", "mass_centre", "step_length", "resistance", "outcome_map"):
        assert {path.suffix for path in folder.glob(f"{name}.*")} == {".csv", ".png", ".svg"}
    assert len(pd.read_csv(folder / "step_length.csv")) == 2 * 2 * 2


def test_figures_need_their_axes():
    assert figures_for({"slope_deg": (-4.0, -8.0)}) == ["walk"]
    assert figures_for({"knee.flexion_resistance": (30.0, 60.0)}) == ["walk", "resistance"]
    assert len(figures_for(default_axes())) == 5


def test_any_setting_can_be_an_axis(tmp_path, capsys):
    over = ["--over", "load_on_n=120:200:2", "--over", "knee.law=linear,hydraulic"]
    arguments = ["sweep", "--strides", "1", "--workers", "1", "--slope-deg", "-5", *over, "--out", str(tmp_path)]
    assert main(arguments) == 0
    table = read_table(tmp_path / "table.csv")
    assert table["knee.load_on_n"].tolist() == [120.0, 120.0, 200.0, 200.0]
    assert table["knee.law"].tolist() == ["linear", "hydraulic"] * 2
    assert "1 figures" in capsys.readouterr().out


class Options:
    """Options as argparse leaves them."""

    def __init__(self, over=(), **given):
        self.over = list(over)
        self.__dict__ |= given

    def __getattr__(self, name):
        return None


def test_without_ranges_the_default_ones_are_used():
    assert axes_from(Options()) == default_axes()
    assert [len(values) for values in default_axes().values()] == [5, 7, 8]
    fixed = axes_from(Options(slope_deg="-5"))
    assert list(fixed) == ["step_length_m", "knee.flexion_resistance"]
    assert list(axes_from(Options(slope_deg="-5,-6"))) == ["slope_deg"]


def test_base_of_the_default_sweep_is_the_default_walk(tmp_path):
    assert main([*SMALL, "--out", str(tmp_path)]) == 0
    about = json.loads((tmp_path / "about.json").read_text())
    assert about["base"] == to_dict(Scenario(strides=2))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--slope-deg=-4:-12"], "--slope-deg = '-4:-12' is not start:stop:count"),
        (["--slope-deg=-4:-12:0"], "has 0 values"),
        (["--slope-deg=-4:-40:2"], "slope_deg = -40 deg is outside"),
        (["--slope-deg=-4,,5"], "empty place"),
        (["--flexion-resistance=0:300:8:log"], "above 0"),
        (["--flexion-resistance=20:300:8:lin"], "is not start:stop:count"),
        (["--law=linear,hydralic"], "did you mean 'hydraulic'"),
        (["--mass-kg=700"], "person.mass_kg = 700 kg is outside"),
        (["--over", "knee.lod_on_n=1:2:3"], "did you mean 'knee.load_on_n'"),
        (["--over", "load_on_n"], "is not NAME=RANGE"),
        (["--over", "slope_deg=-4,-5", "--slope-deg=-6"], "given both"),
        (["--workers", "0"], "is not a whole number of 1 to 1000"),
        (["--workers", "two"], "is not a whole number of 1 to 1000"),
        (["--slop-deg=-4:-12:3"], "did you mean '--slope-deg'"),
        (["--step-length-m=1.1,1.2"], "leg lengths"),
    ],
)
def test_bad_input_is_one_sentence(capsys, tmp_path, arguments, said):
    assert said in fault(capsys, "--out", str(tmp_path), *arguments)


def test_a_folder_that_cannot_be_is_one_sentence(capsys, tmp_path):
    (tmp_path / "file").write_text("")
    assert "give a folder that can be written" in fault(capsys, "--slope-deg=-4,-5", "--out", str(tmp_path / "file"))


def test_never_more_workers_than_walks():
    assert workers_from("8", 3) == 3
    assert workers_from(None, 3) == 1
