"""Exported walks: physics that the columns must obey, and what comes back from the files."""

import numpy as np
import pandas as pd
import pytest

from sim import Scenario, walk
from sim.cli import main
from sim.export import LEAST_LOAD_N, WRITERS, centre_of_pressure, column_table, export_columns
from sim.law.ground import height_and_slope
from sim.pack import pack_settings
from sim.series import SIDES

SCENARIO = Scenario(strides=2)


@pytest.fixture(scope="module")
def result():
    return walk(SCENARIO)


@pytest.fixture(scope="module")
def columns(result):
    return export_columns(result)


def test_ground_forces_and_weight_change_the_momentum(columns):
    """Newton's law from exported columns alone: impulse over the walk = mass x change of mass-centre velocity."""
    time, mass = columns["time_s"], SCENARIO.person.mass_kg
    for axis, constant in (("x", 0.0), ("y", -SCENARIO.person.weight)):
        force = sum(columns[f"{side}_ground_force_{axis}_n"] for side in SIDES) + constant
        velocity = np.gradient(columns[f"mass_centre_{axis}_m"], time)
        impulse = np.concatenate([[0.0], np.cumsum(0.5 * (force[1:] + force[:-1]) * np.diff(time))])
        inside = slice(5, -5)
        change = mass * (velocity - velocity[5])[inside]
        miss = impulse[inside] - impulse[5] - change
        assert np.abs(miss).max() < 0.01 * mass * np.ptp(velocity)


def test_the_force_at_the_centre_of_pressure_turns_the_foot_as_all_points_do(result):
    """Its moment about the mass centre of the foot is the sum over the points, with the arms of the force law."""
    forces, series = result.frames["forces"], result.series
    across = forces["normal_elastic"] + forces["normal_damping"]
    along = np.where(across > 0.0, forces["friction_elastic"] + forces["friction_damping"], 0.0)
    tangent, arm = forces["tangent"], forces["arm"]
    fx = along * tangent[..., 0] - across * tangent[..., 1]
    fy = along * tangent[..., 1] + across * tangent[..., 0]
    wanted = (arm[..., 0] * fy - arm[..., 1] * fx).sum(axis=2)
    foot = result.frames["body"][:, [3, 6], :2]
    lever = centre_of_pressure(result) - foot
    got = lever[..., 0] * series.ground_force[..., 1] - lever[..., 1] * series.ground_force[..., 0]
    loaded = series.load > LEAST_LOAD_N
    assert loaded.sum() > 500
    assert np.allclose(got[loaded], wanted[loaded], atol=1e-6 * SCENARIO.person.weight)
    assert np.isnan(got[~loaded]).all()


def test_the_centre_of_pressure_lies_on_the_surface_under_the_foot(result):
    """Within a millimetre where the surface bends, exactly where it is straight, and not beyond the sole."""
    place, series = centre_of_pressure(result), result.series
    ground = pack_settings(SCENARIO)[0]["ground"]
    loaded = series.load > LEAST_LOAD_N
    for x, y in place[loaded]:
        assert y == pytest.approx(height_and_slope(ground, x)[0], abs=1e-3)
    reach = series.sole[..., 0]
    assert (place[..., 0][loaded] > reach.min(axis=2)[loaded] - 0.02).all()
    assert (place[..., 0][loaded] < reach.max(axis=2)[loaded] + 0.02).all()


def test_every_column_has_a_unit_and_a_meaning(columns):
    table = column_table(list(columns))
    assert table["column"].is_unique
    assert set(table["unit"]) <= {"s", "m", "deg", "deg/s", "body weights", "N m", "N"}
    assert table["meaning"].str.len().min() > 10
    units = dict(zip(table["column"], table["unit"], strict=True))
    assert units["sound_ground_force_y_n"] == "N"
    assert units["sound_knee_flexion_rate_deg_s"] == "deg/s"


def test_csv_and_its_table_of_columns(result, columns, tmp_path):
    WRITERS[".csv"](result, tmp_path / "one.csv")
    read = pd.read_csv(tmp_path / "one.csv")
    assert list(read) == list(pd.read_csv(tmp_path / "one-columns.csv")["column"]) == list(columns)
    for name in columns:
        assert np.allclose(read[name], columns[name], rtol=1e-8, atol=1e-9, equal_nan=True)


def test_netcdf_keeps_values_units_and_the_outcome(result, columns, tmp_path):
    xr = pytest.importorskip("xarray")
    WRITERS[".nc"](result, tmp_path / "one.nc")
    with xr.open_dataset(tmp_path / "one.nc", engine="scipy") as read:
        assert read.attrs["outcome"] == result.outcome
        assert read["sound_ground_force_x_n"].attrs["units"] == "N"
        assert set(read.data_vars) == set(columns) - {"time_s"}
        for name in read.data_vars:
            assert np.array_equal(read[name].to_numpy(), columns[name], equal_nan=True)


def test_c3d_comes_back_in_millimetres_and_newtons(result, columns, tmp_path):
    ezc3d = pytest.importorskip("ezc3d")
    WRITERS[".c3d"](result, tmp_path / "one.c3d")
    read = ezc3d.c3d(str(tmp_path / "one.c3d"))
    point, analog = read["parameters"]["POINT"], read["parameters"]["ANALOG"]
    assert point["UNITS"]["value"] == ["mm"]
    assert point["RATE"]["value"][0] == pytest.approx(400.0)
    labels = point["LABELS"]["value"]
    ankle = read["data"]["points"][:, labels.index("sound_ankle")]
    assert np.allclose(ankle[0], 1e3 * columns["sound_ankle_x_m"], atol=0.01)
    assert np.all(ankle[1] == 0.0)
    assert np.allclose(ankle[2], 1e3 * columns["sound_ankle_y_m"], atol=0.01)
    force = read["data"]["analogs"][0, analog["LABELS"]["value"].index("sound_force_Z")]
    assert np.allclose(force, columns["sound_ground_force_y_n"], atol=0.01)
    pressure = labels.index("prosthetic_centre_of_pressure")
    missing = np.isnan(columns["prosthetic_centre_of_pressure_x_m"])
    assert missing.any()
    assert np.array_equal(read["data"]["meta_points"]["residuals"][0, pressure] < 0.0, missing)


def test_the_command_writes_what_it_is_asked_for(capsys, tmp_path):
    out = tmp_path / "walk.csv"
    assert main(["export", "--strides", "1", "--out", str(out)]) == 0
    assert "frames" in capsys.readouterr().out
    assert sorted(path.name for path in tmp_path.iterdir()) == ["walk-columns.csv", "walk.csv"]


@pytest.mark.parametrize(
    ("names", "said"),
    [(["walk.txt"], ".csv, .nc, .c3d"), (["none/walk.csv"], "folder"), (["a.csv", "a.csv"], "twice"), ([], "--out")],
)
def test_a_wrong_file_is_one_sentence_before_any_walk(names, said, capsys, tmp_path, monkeypatch):
    monkeypatch.setattr("sim.activities.walk.walk", None)  # called, it would be a TypeError
    assert main(["export", "--out", *(str(tmp_path / name) for name in names)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_an_older_file_stays_unless_force(capsys, tmp_path):
    old = tmp_path / "walk-columns.csv"
    old.write_text("mine")
    arguments = ["export", "--strides", "1", "--out", str(tmp_path / "walk.csv")]
    assert main(arguments) == 2
    assert "--force" in capsys.readouterr().err
    assert old.read_text() == "mine"
    assert main([*arguments, "--force"]) == 0
    assert old.read_text() != "mine"
