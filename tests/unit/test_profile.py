"""Ways with ends: knots as the walker reads them, smoothing as it is told, standard ramps as the rules have them."""

import math

import numpy as np
import pytest

from sim.errors import RampwalkError
from sim.law.compiled import law
from sim.law.ground import height_and_slope
from sim.law.records import GROUND
from sim.parameters import ramps_ada
from sim.profile import Part, profile_of, read_profile, smoothed
from sim.ramps import PRESETS, preset, ramp_parts

PARTS = [Part("before", 2.0, 0.0), Part("down", 3.0, -5.0), Part("landing", 1.5, 0.0), Part("up", 2.0, 4.0)]


@law
def look_at(grounds, x):
    return height_and_slope(grounds[0], x)


def ground_of(profile):
    record = np.zeros(1, GROUND)
    profile.fill(record[0])
    return record


def test_the_walker_stands_where_the_profile_says():
    profile = profile_of(PARTS, 0.4)
    record = ground_of(profile)
    for x in np.linspace(-1.0, 10.0, 400):
        assert look_at(record, x)[0] == pytest.approx(profile.heights([x])[0], abs=1e-12)


def test_away_from_bends_slope_and_height_are_those_of_straight_parts():
    """A bend takes as much from one part as from the other, so heights behind it are those of an edge."""
    profile = profile_of(PARTS, 0.4)
    record = ground_of(profile)
    down, up = math.tan(math.radians(-5.0)), math.tan(math.radians(4.0))
    for x, height, slope in (
        (1.0, 0.0, 0.0),
        (3.5, 1.5 * down, down),
        (5.8, 3.0 * down, 0.0),
        (7.5, 3.0 * down + up, up),
        (10.0, 3.0 * down + 3.5 * up, up),  # beyond the end it goes on straight
        (-3.0, 0.0, 0.0),
    ):
        assert look_at(record, x) == (pytest.approx(height, abs=1e-12), pytest.approx(slope, abs=1e-12))


def test_slope_is_continuous_and_height_is_its_integral():
    profile = profile_of(PARTS, 0.4)
    record = ground_of(profile)
    x = np.linspace(-0.5, 9.0, 9501)
    seen = np.array([look_at(record, place) for place in x])
    steepest_bend = math.tan(math.radians(5.0)) / 0.4
    assert np.abs(np.diff(seen[:, 1])).max() < 1.01 * steepest_bend * 1e-3
    rise = 0.5 * (seen[1:, 1] + seen[:-1, 1]) * np.diff(x)
    assert np.abs(np.diff(seen[:, 0]) - rise).max() < 1e-9


def test_parts_are_found_again():
    profile = profile_of(PARTS, 0.4)
    assert [profile.part_at(x) for x in (-1.0, 1.9, 2.1, 5.1, 8.4, 20.0)] == [
        "before", "before", "down", "landing", "up", "up",
    ]  # fmt: skip
    assert profile.end == 8.5


def test_smoothing_leaves_an_even_slope_alone():
    x = np.linspace(0.0, 10.0, 37)
    profile = smoothed(x, 0.3 - 0.1 * x, 0.5)
    assert profile.slope == pytest.approx([-0.1] * len(profile.x))
    assert profile.heights(x) == pytest.approx(0.3 - 0.1 * x, abs=1e-12)
    assert "0 mm" in profile.note


def test_smoothing_is_the_mean_slope_over_one_spacing_and_says_how_far_it_is_off():
    x, y = [0.0, 2.0, 4.0, 8.0], [0.0, 0.0, -0.4, -0.4]
    profile = smoothed(x, y, 0.5)
    assert len(profile.x) == 17
    slope = dict(zip(np.round(profile.x, 6).tolist(), profile.slope, strict=True))
    assert (slope[1.0], slope[2.0], slope[3.0], slope[4.0]) == pytest.approx((0.0, -0.1, -0.2, -0.1))
    off = 1000.0 * np.abs(profile.heights(x) - y).max()
    assert off > 1.0
    assert f"{off:.0f} mm" in profile.note


def test_a_long_way_gets_wider_knots_and_never_more_than_64():
    x = np.linspace(0.0, 100.0, 500)
    profile = smoothed(x, -0.05 * x, 0.3)
    assert len(profile.x) == 64
    assert f"{100 / 63:.2f} m" in profile.note


def test_a_table_of_heights_is_read(tmp_path):
    path = tmp_path / "way.csv"
    path.write_text("distance_m,height_m\n5,1.0\n7,0.9\n\n9,0.8\n", encoding="utf-8")
    profile = read_profile(path, 0.5)
    assert profile.end == 4.0
    assert profile.height[0] == 1.0
    assert profile.slope == pytest.approx([-0.05] * len(profile.x))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "must begin with the line distance_m,height_m"),
        ("x,y\n0,0\n1,0\n", "must begin with the line"),
        ("distance_m,height_m\n0,0\n", "has 1 points"),
        ("distance_m,height_m\n0,0\n1,up\n", "row 3 of"),
        ("distance_m,height_m\n0,0\n1\n", "row 3 of"),
        ("distance_m,height_m\n0,0\n1,nan\n", "row 3 of"),
        ("distance_m,height_m\n0,0\n2,0\n2,0.1\n", "does not grow"),
        ("distance_m,height_m\n0,0\n1,2\n", "slope at 0.00 m"),
        ("distance_m,height_m\n0,0\n0.1,0\n", "length of the way"),
        ("distance_m,height_m\n0,0\n900,0\n", "length of the way"),
    ],
)
def test_a_table_that_is_no_way_gets_one_sentence(tmp_path, text, told):
    path = tmp_path / "way.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RampwalkError, match=told) as caught:
        read_profile(path, 0.3)
    assert "\n" not in str(caught.value)


def test_bytes_that_are_no_text_and_files_that_are_not_there_are_refused(tmp_path):
    path = tmp_path / "way.csv"
    path.write_bytes(b"\xff\xfe\x00")
    for wrong, told in ((path, "not UTF-8"), (tmp_path / "none.csv", "no such file")):
        with pytest.raises(RampwalkError, match=told):
            read_profile(wrong, 0.3)


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ([], "at least one part"),
        ([Part("cliff", 2.0, -30.0)], "slope of cliff"),
        ([Part("flat", 2.0, 0.0), Part("kerb", 0.2, -5.0)], "length of kerb"),
        ([Part("a", 1.0, float(k % 2)) for k in range(40)], "at most 64"),
    ],
)
def test_parts_that_make_no_way_are_refused(parts, told):
    with pytest.raises(RampwalkError, match=told):
        profile_of(parts, 0.4)


# -------------------------------------------------------------------------------- standard ramps
def test_presets_have_the_slope_of_their_name():
    for name, row in PRESETS.items():
        share = 0.06 if name == "6%" else 1.0 / float(name.removeprefix("1:"))
        assert math.tan(math.radians(row.slope.value)) == pytest.approx(share)
        assert row.slope.source
        assert row.run_source


def test_the_longest_run_rises_as_much_as_the_rule_allows():
    rise = {"1:12": ramps_ada.parameters()["longest_rise"].value, "1:10": 0.15, "1:8": 0.075}
    for name, most in rise.items():
        row = PRESETS[name]
        assert row.longest_run * math.tan(math.radians(row.slope.value)) == pytest.approx(most)
    assert PRESETS["1:12"].longest_run == pytest.approx(9.12)


def test_a_name_that_is_no_ramp_is_answered_with_the_nearest():
    with pytest.raises(RampwalkError, match="did you mean '1:12'"):
        preset("1:13")


def test_a_ramp_is_level_down_landing_down_level():
    parts = ramp_parts(-4.8, 9.0, 1.5, 2.0, 2)
    assert [part.name for part in parts] == ["level before", "down 1", "landing", "down 2", "level after"]
    assert [part.slope_deg for part in parts] == [0.0, -4.8, 0.0, -4.8, 0.0]
    assert [part.length for part in parts] == [2.0, 9.0, 1.5, 9.0, 2.0]
    assert [part.name for part in ramp_parts(-4.8, 9.0, 1.5, 2.0, 1, on_slope=True)] == ["down", "level after"]
    assert [part.name for part in ramp_parts(3.0, 5.0, 1.5, 1.0, 1)] == ["level before", "up", "level after"]
