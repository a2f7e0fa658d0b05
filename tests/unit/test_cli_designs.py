"""What `rampwalk sweep` adds to a grid: designs, going on, kept series, rows that need a look."""

import json
import sys

import numpy as np
import pytest

import sim.cell
from sim.activities.walk import walk
from sim.cli import main
from sim.commands.design_options import design_from, workers_from
from sim.scenario import Scenario, replace_by_name
from sim.sweep import fill
from sim.table import TEXTS
from sim.table_reader import read_table
from tests.unit import stand_ins

SMALL = ["sweep", "--strides", "1", "--workers", "1"]


@pytest.fixture
def quick(monkeypatch):
    """Rows without walks, and which cells they were made of."""
    made = []

    def row(base, cell):
        made.append(cell)
        return stand_ins.quick_row(base, cell)

    monkeypatch.setattr("sim.sweep.fill", lambda *given: fill(*given, make=row))
    monkeypatch.setattr("sim.survey_figures.save_figures", lambda *_: {})
    return made


# -------------------------------------------------------------------------------- designs
def test_a_sampled_design_from_the_command_line(quick, tmp_path, capsys):
    options = ["--design", "sobol", "--samples", "16", "--seed", "4", "--slope-deg=-4:-12"]
    options += ["--over", "mass_kg=normal:75:8:60:90", "--over", "knee.law=linear,hydraulic", "--out", str(tmp_path)]
    assert main([*SMALL, *options]) == 0
    table = read_table(tmp_path / "table.csv")
    assert len(table) == len(quick) == 16
    assert table["slope_deg"].between(-12.0, -4.0).all()
    assert table["person.mass_kg"].between(60.0, 90.0).all()
    assert set(table["knee.law"]) == {"linear", "hydraulic"}
    about = json.loads((tmp_path / "about.json").read_text())
    assert (about["design"], about["seed"], about["count"]) == ("sobol", 4, 16)
    assert about["spreads"]["slope_deg"] == "-12:-4"
    assert "16 walks" in capsys.readouterr().out


def test_paired_lists_from_the_command_line(quick, tmp_path):
    options = ["--design", "paired", "--slope-deg=-4,-6,-8", "--over", "mass_kg=60:80:3", "--out", str(tmp_path)]
    assert main([*SMALL, *options]) == 0
    assert [tuple(cell.values()) for cell in quick] == [(-4.0, 60.0), (-6.0, 70.0), (-8.0, 80.0)]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--design", "sobel", "--slope-deg=-4:-8"], "did you mean 'sobol'"),
        (["--design", "sobol"], "has nothing to vary"),
        (["--design", "sobol", "--samples", "100", "--slope-deg=-4:-8"], "give 64 or 128"),
        (["--design", "sobol", "--slope-deg=-4:-8:5"], "is not low:high"),
        (["--design", "sobol", "--slope-deg=-4:-80"], "cut the spread"),
        (["--design", "paired", "--slope-deg=-4,-5", "--over", "mass_kg=60,70,80"], "equally many"),
        (["--design", "latin-hypercube", "--samples", "many", "--slope-deg=-4:-8"], "whole number"),
        (["--samples", "8", "--slope-deg=-4,-8"], "--samples belongs to"),
        (["--keep-series", "some", "--slope-deg=-4,-8"], "--keep-series = 'some' is not all, walked"),
    ],
)
def test_bad_input_is_one_sentence(tmp_path, capsys, arguments, said):
    assert main([*SMALL, *arguments, "--out", str(tmp_path)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1
    assert not list(tmp_path.iterdir())


# -------------------------------------------------------------------------------- going on
def test_the_same_command_goes_on_and_fresh_starts_over(quick, tmp_path, capsys):
    command = [*SMALL, "--slope-deg=-4:-8:3", "--step-length-m=0.4,0.5", "--out", str(tmp_path)]
    assert main(command) == 0
    first = (tmp_path / "table.csv").read_bytes()
    capsys.readouterr()
    assert main(command) == 0
    assert "6 of the walks were there from before" in capsys.readouterr().out
    assert main([*command, "--fresh"]) == 0
    assert len(quick) == 12
    assert (tmp_path / "table.csv").read_bytes() == first


def test_other_settings_are_refused_with_one_sentence(quick, tmp_path, capsys):
    command = [*SMALL, "--slope-deg=-4,-8", "--out", str(tmp_path)]
    assert main(command) == 0
    before = (tmp_path / "rows.csv").read_bytes()
    capsys.readouterr()
    assert main([*command, "--mass-kg", "80"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "person.mass_kg = 75.0, not 80.0" in said.err
    assert "--fresh" in said.err
    assert (tmp_path / "rows.csv").read_bytes() == before
    assert len(quick) == 2


def test_workers_of_the_environment_and_of_the_option(monkeypatch):
    monkeypatch.setenv("RAMPWALK_WORKERS", "5")
    assert workers_from(None, 100) == 5
    assert workers_from(None, 3) == 3
    assert workers_from("2", 100) == 2
    assert design_from(Options(slope_deg="-4,-5")).kind == "grid"


class Options:
    """Options as argparse leaves them."""

    def __init__(self, over=(), **given):
        self.over = list(over)
        self.__dict__ |= given

    def __getattr__(self, name):
        return None


# -------------------------------------------------------------------------------- rows that need a look
@pytest.mark.parametrize(
    ("changes", "stage", "said"),
    [
        ({"outcome": "invalid", "reason": "The numbers left the finite range."}, "walk", "left the finite range"),
        ({"metrics": {"speed_m_s": float("nan"), "scuffs": None}}, "metrics", "not a finite number: speed_m_s"),
        ({"outcome": "stalled", "frames": np.array([(99.0,)], [("time", float)])}, "limit", "time steps (99.0 s)"),
        ({"outcome": "stalled"}, "", ""),
        ({"outcome": "fell"}, "", ""),
    ],
)
def test_a_result_that_is_none_has_stage_and_message(monkeypatch, changes, stage, said):
    from dataclasses import replace

    real = walk(Scenario(strides=1))
    changed = replace(real, **({"metrics": real.metrics | changes.pop("metrics")} if "metrics" in changes else {}))
    changed = replace(changed, **changes)
    monkeypatch.setattr("sim.activities.walk.walk", lambda _: changed)
    row = sim.cell.run_cell(Scenario(strides=1), {})
    assert row["stage"] == stage
    assert said in row["message"]
    assert set(TEXTS) < set(row)


def test_rows_without_a_result_are_counted_and_change_the_exit_status(tmp_path, capsys):
    over = ["--over", "load_on_n=100,160", "--over", "load_off_n=110,90"]
    assert main([*SMALL, "--slope-deg=-5", *over, "--out", str(tmp_path)]) == 1
    out = capsys.readouterr().out
    assert "1 crashed" in out
    assert "1 rows need a look (1 scenario): columns stage and message say why." in out
    assert read_table(tmp_path / "table.csv")["stage"].tolist() == ["scenario", "", "", ""]


# -------------------------------------------------------------------------------- series
def test_series_of_chosen_walks_are_one_file_with_units(tmp_path, capsys):
    xr = pytest.importorskip("xarray")
    command = [*SMALL, "--slope-deg=-4,-6", "--step-length-m=0.45,0.5", "--keep-series", "3,0", "--out", str(tmp_path)]
    assert main(command) in {0, 1}
    assert "series.nc (2 walks)" in capsys.readouterr().out
    with xr.open_dataset(tmp_path / "series.nc", engine="scipy") as data:
        data.load()
    table = read_table(tmp_path / "table.csv")
    assert data["walk"].values.tolist() == [0, 3]
    assert data["key"].values.tolist() == table["key"].iloc[[0, 3]].tolist()
    result = walk(replace_by_name(Scenario(strides=1), {"slope_deg": -6.0, "step_length_m": 0.5}))
    expected = result.to_dataframe()
    for name in expected:
        found = data[name].sel(walk=3).values
        assert np.array_equal(found[: len(expected)], expected[name].to_numpy())
        assert np.isnan(found[len(expected) :]).all()
    units = {"time_s": "s", "hip_x_m": "m", "sound_knee_flexion_rate_deg_s": "deg/s", "trunk_lean_deg": "deg"}
    units |= {"sound_hip_torque_nm": "N m", "sound_force_vertical_bw": "body weights"}
    units |= {"sound_pressure_centre_ahead_of_ankle_m": "m"}
    assert {name: data[name].attrs["units"] for name in units} == units
    assert all(data[name].attrs["units"] != "1" for name in data.data_vars)


def test_without_xarray_it_is_one_sentence_before_any_walk(monkeypatch, tmp_path, capsys):
    monkeypatch.setitem(sys.modules, "xarray", None)
    monkeypatch.setattr("sim.series_file.find_spec", lambda _: None)
    assert main([*SMALL, "--slope-deg=-4,-6", "--keep-series", "all", "--out", str(tmp_path)]) == 2
    assert "pip install 'rampwalk[export]'" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_row_that_is_not_there_is_one_sentence(quick, tmp_path, capsys):
    pytest.importorskip("xarray")
    assert main([*SMALL, "--slope-deg=-4,-6", "--keep-series", "0,2", "--out", str(tmp_path)]) == 2
    assert "the last row is 1" in capsys.readouterr().err
    assert len(quick) == 2
