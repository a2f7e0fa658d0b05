"""What the lesson page holds is the walk: places, forces, moments, numbers."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.activities.walk import walk
from sim.body import BALL, HEEL, TOE
from sim.errors import RampwalkError
from sim.grid import cells_of
from sim.lesson import rows as rows_module
from sim.lesson.frames import CHANNELS, FORCE, LENGTH, PLACE_ERROR_M, SAMPLE_S, repeats, shown_frames
from sim.lesson.packing import packed, quantised, unpacked
from sim.lesson.plan import LESSONS, QUESTIONS, SMALL_STRIDES, lesson_axes, lesson_base
from sim.lesson.rows import NUMBERS, lesson_row, row_of
from sim.metrics.strides import filtered_forces
from sim.plots.data import RESISTANCE, SLOPE, STEP
from sim.scenario import replace_by_name

FALLS, WALKS = {SLOPE: -10.0, RESISTANCE: 10.0}, {SLOPE: -8.0, RESISTANCE: 40.0}


@pytest.fixture(scope="module", params=[WALKS, FALLS], ids=["walks", "falls"])
def result(request):
    found = walk(replace_by_name(lesson_base(small=True), request.param))
    assert (found.outcome == "walked") == (request.param is WALKS)
    return found


def values_of(row):
    """Channel -> values of a packed row."""
    whole = unpacked(row["packed"], len(CHANNELS), row["samples"])
    return {name: numbers * quantum for (name, quantum), numbers in zip(CHANNELS.items(), whole, strict=True)}


def hung(joint, length, angle):
    return joint + length * np.stack([np.sin(angle), -np.cos(angle)], axis=-1)


def test_every_joint_of_the_page_is_where_the_walk_had_it(result):
    row, frames, series, body = row_of(result), shown_frames(result), result.series, result.body
    values = values_of(row)
    hip = np.stack([values["hip_x"], values["hip_y"]], axis=-1)
    errors = [hip - series.hip[frames]]
    for leg in (0, 1):
        knee = hung(hip, body.thigh_length, values[f"thigh_{leg}"])
        ankle = hung(knee, body.shank_length, values[f"shank_{leg}"])
        angle = values[f"foot_{leg}"]
        errors += [knee - series.knee[frames, leg], ankle - series.ankle[frames, leg]]
        for point in (HEEL, BALL, TOE):
            x, y = body.sole_points[leg, point]
            place = ankle + np.stack([np.cos(angle) * x - np.sin(angle) * y, np.sin(angle) * x + np.cos(angle) * y], -1)
            errors.append(place - series.sole[frames, leg, point])
    assert max(np.hypot(*error.T).max() for error in errors) < PLACE_ERROR_M
    trunk = values["trunk"] - series.trunk[frames]
    assert np.abs(trunk).max() <= CHANNELS["trunk"] / 2 + 1e-12


def test_forces_and_mass_centre_are_those_of_the_walk(result):
    row, frames, series = row_of(result), shown_frames(result), result.series
    values, weight = values_of(row), result.scenario.person.weight
    load = filtered_forces(series)[frames, :, 0] / weight
    for leg in (0, 1):
        assert np.abs(values[f"load_{leg}"] - load[:, leg]).max() <= FORCE / 2 + 1e-12
        for axis, name in enumerate(("force_x", "force_y")):
            force = series.ground_force[frames, leg, axis] / weight
            assert np.abs(values[f"{name}_{leg}"] - force).max() <= FORCE / 2 + 1e-12
        assert np.abs(values[f"pressure_{leg}"] - series.pressure_centre[frames, leg]).max() <= LENGTH / 2 + 1e-12
    for axis, name in enumerate(("mass_centre_x", "mass_centre_y")):
        assert np.abs(values[name] - series.mass_centre[frames, axis]).max() <= LENGTH / 2 + 1e-12


def test_two_whole_strides_or_the_very_end_of_a_fall_are_shown(result):
    frames, series = shown_frames(result), result.series
    assert np.diff(series.time[frames]) == pytest.approx(SAMPLE_S)
    if repeats(result):
        landings = [row["time"] for row in result.step_records if int(row["leg"]) == 0][-3:]
        lasts = len(frames) * SAMPLE_S
        assert lasts == pytest.approx(landings[2] - landings[0], abs=0.05)
        assert series.time[frames[0]] == pytest.approx(landings[0], abs=0.05)
        start, end = (series.hip[frames[k]] - series.ankle[frames[k], 0] for k in (0, -1))
        assert np.hypot(*(start - end)) < 0.1  # about the same pose, so it can be repeated
    else:
        assert frames[-1] == len(series.time) - 1
        assert series.hip[frames[-1], 1] < series.hip[frames[0], 1] - 0.2


def test_numbers_are_the_metrics_and_everything_fits_json(result):
    row = row_of(result)
    for name, digits in NUMBERS.items():
        value = result.metrics[name]
        assert row["numbers"][name] == (None if value is None else round(value, digits))
    json.dumps({name: value for name, value in row.items() if name != "packed"}, allow_nan=False)
    assert row["outcome"] == result.outcome
    assert row["repeats"] == (result.outcome == "walked")
    assert row.get("toward") in ({"forward", "backward"} if result.outcome == "fell" else {None})


whole_numbers = st.lists(st.integers(-(2**24), 2**24), min_size=1, max_size=40)


@given(whole_numbers, st.integers(1, 4))
def test_packing_loses_nothing(numbers, channels):
    whole = np.array([numbers[k:] + numbers[:k] for k in range(channels)])
    assert (unpacked(packed(whole), channels, len(numbers)) == whole).all()


def test_small_differences_take_one_byte_and_negative_ones_come_back():
    whole = np.array([[0, 63, 0, -1, -64, -128]])
    assert len(packed(whole)) == 6
    assert packed(np.array([[64]])) == bytes([128, 1])
    assert unpacked(packed(whole), 1, 6).tolist() == whole.tolist()


def test_damaged_bytes_and_numbers_that_are_none_are_refused():
    with pytest.raises(RampwalkError):
        unpacked(b"\x01\x02", 1, 3)
    with pytest.raises(RampwalkError):
        unpacked(b"\x01\x80", 1, 1)
    for bad in (np.nan, np.inf, 1e9):
        with pytest.raises(RampwalkError):
            quantised(np.array([[0.0, bad]]), [1.0])


def test_a_cell_that_crashes_is_a_cell_without_a_walk(monkeypatch):
    def fail(_result):
        raise ZeroDivisionError("boom")

    monkeypatch.setattr(rows_module, "row_of", fail)
    row = lesson_row(lesson_base(small=True), {SLOPE: -8.0})
    assert row["outcome"] == "crashed"
    assert "boom" in row["message"]
    assert "packed" not in row
    assert lesson_row(lesson_base(small=True), {SLOPE: -99.0})["outcome"] == "crashed"


def test_the_grid_is_large_enough_and_every_comparison_is_on_it():
    axes = lesson_axes()
    assert [len(values) >= least for values, least in zip(axes.values(), (5, 5, 6), strict=True)] == [True] * 3
    cells = [tuple(cell.values()) for cell in cells_of(axes)]
    assert list(axes) == [SLOPE, STEP, RESISTANCE]
    for comparisons in LESSONS.values():
        for each in comparisons:
            assert {(each.slope_deg, *each.a), (each.slope_deg, *each.b)} <= set(cells)
            assert each.rule in QUESTIONS[each.question]
            assert sum(a != b for a, b in zip(each.a, each.b, strict=True)) == 1  # one thing differs
    assert lesson_base(small=True).strides == SMALL_STRIDES < lesson_base().strides
