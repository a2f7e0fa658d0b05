import math
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from sim.activities.walk import walk
from sim.plots import (
    force_curves,
    knee_curves,
    lines_over,
    mass_centre_ahead,
    mass_centre_figure,
    mass_centre_path,
    outcome_map,
    outcome_map_figure,
    outcome_strip,
    resistance_figure,
    save_figure,
    step_length_figure,
    stick_figures,
    walk_figure,
)
from sim.plots.data import PACES, PEAK, RATE, RESISTANCE, SLOPE, STEP, YIELD, travel_data, walk_data
from sim.plots.style import LEG_STYLE, LINES, MARKERS, line_style
from sim.scenario import Person, Scenario, replace_by_name

FELL = replace_by_name(Scenario(slope_deg=-12.0, strides=2), {"flexion_resistance": 0.0})


def grid(slopes=(-4.0, -8.0), steps=(0.4, 0.5, 0.6), resistances=(20.0, 60.0, 180.0)):
    """A table of made-up walks: weak knees fell on the steeper slope, the stiffest are not steady."""
    rows = []
    for slope in slopes:
        for step in steps:
            for resistance in resistances:
                fell = resistance < -5.0 * slope
                rows.append(
                    {
                        SLOPE: slope, STEP: step, RESISTANCE: resistance, "wanted_speed_m_s": 1.5 * step,
                        "outcome": "fell" if fell else "walked", "steady": float(resistance < 100.0),
                        PEAK: 1.0 + step - 0.01 * slope, "prosthetic_peak_force_bw": 1.1,
                        RATE: 4000.0 / resistance, YIELD: 30.0,
                    }
                )  # fmt: skip
    return pd.DataFrame(rows)


@pytest.fixture(scope="module")
def result():
    return walk(Scenario(slope_deg=-5.0, strides=2))


@pytest.fixture(scope="module")
def fallen():
    result = walk(FELL)
    assert result.outcome != "walked"
    return result


@pytest.fixture(scope="module")
def travel(result):
    return travel_data([result, walk(Scenario(slope_deg=-5.0, step_length_m=0.55, strides=2))])


def new_axes():
    return Figure().add_subplot()


# -------------------------------------------------------------------------------- data + axes -> axes
def test_drawing_on_given_axes_returns_them(result, travel):
    data, ax = grid(), new_axes()
    drawn = [
        lines_over(data[data[STEP] == 0.5], RESISTANCE, PEAK, ax),
        outcome_strip(data[data[STEP] == 0.5], RESISTANCE, ax),
        outcome_map(data[data[SLOPE] == -4.0], ax),
        mass_centre_path(travel, ax),
        mass_centre_ahead(travel, ax),
        stick_figures(result, ax),
        force_curves(walk_data(result), ax),
        knee_curves(walk_data(result), ax),
    ]
    assert all(one is ax for one in drawn)


def test_without_axes_a_figure_is_made():
    assert lines_over(grid(), STEP, PEAK).get_figure() is not None


def test_axes_say_their_units(result, travel):
    labels = []
    for figure in (resistance_figure(grid(steps=(0.5,))), mass_centre_figure(travel), walk_figure(result)):
        labels += [text for ax in figure.axes for text in (ax.get_xlabel(), ax.get_ylabel()) if text]
    assert len(labels) > 6
    assert all("[" in label for label in labels), labels


def test_a_line_breaks_where_a_walk_fell():
    data = grid(slopes=(-4.0,), steps=(0.5,), resistances=(10.0, 60.0, 90.0))
    line = lines_over(data, RESISTANCE, PEAK).lines[0]
    assert np.isnan(line.get_ydata()).tolist() == [True, False, False]


def test_a_walk_that_is_not_steady_has_a_hollow_marker():
    ax = lines_over(grid(slopes=(-4.0,), steps=(0.5,)), RESISTANCE, PEAK)
    hollow = [line for line in ax.lines if line.get_markerfacecolor() == "white"]
    assert [float(x) for line in hollow for x in line.get_xdata()] == [180.0]


def test_lines_differ_in_more_than_colour():
    for count in (2, 5, 8):
        styles = [line_style(index, count) for index in range(count)]
        assert len({style["marker"] for style in styles}) == count
        assert len({str(style["linestyle"]) for style in styles}) == count
    assert LEG_STYLE[0]["linestyle"] != LEG_STYLE[1]["linestyle"]
    assert len(LINES) == len(MARKERS)


def test_falls_in_a_map_are_hatched():
    data = grid()
    ax = outcome_map(data[data[SLOPE] == -8.0])
    hatched = [patch for patch in ax.patches if patch.get_hatch()]
    assert len(hatched) == 3  # the weakest knee at three step lengths
    assert len(ax.patches) == 9


def test_cells_of_one_value_have_one_colour_on_every_slope():
    data = grid(slopes=(-4.0, -6.0, -8.0))
    data[PEAK] = np.where(data[STEP] == 0.5, 1.2, data[PEAK])
    figure = outcome_map_figure(data)
    colours = set()
    for ax in figure.axes[:3]:
        middle = next(patch for patch in ax.patches if patch.get_xy() == (1, 1))
        colours.add(to_hex(middle.get_facecolor()))
    assert len(colours) == 1


def test_a_map_says_which_numbers_are_not_steady():
    texts = [text.get_text() for text in outcome_map(grid(slopes=(-4.0,))).texts]
    assert sum(text.endswith("~") for text in texts) == 3


def test_a_table_without_a_completed_walk_can_be_drawn():
    data = grid().assign(outcome="fell", **{PEAK: math.nan, RATE: math.nan})
    for figure in (outcome_map_figure(data), resistance_figure(data[data[STEP] == 0.5])):
        figure.canvas.draw()
        assert not [t for axes in figure.axes for t in axes.texts if t.get_text().startswith(("0.", "1.", "2."))]


def test_step_length_figure_has_both_paces():
    data = pd.concat([grid(resistances=(60.0,)).assign(pace=pace) for pace in PACES])
    titles = [ax.get_title() for ax in step_length_figure(data).axes]
    assert [title.partition(":")[0] for title in titles if title] == list(PACES)


# -------------------------------------------------------------------------------- walks
@pytest.mark.parametrize("limbs", ["one-prosthetic", "both-sound"])
def test_a_walk_is_drawn_for_both_kinds_of_limbs(limbs):
    figure = walk_figure(walk(Scenario(slope_deg=-5.0, strides=2, person=Person(limbs=limbs))))
    names = [text.get_text() for text in figure.legends[0].texts]
    assert names == (["sound", "prosthetic"] if limbs == "one-prosthetic" else ["second", "first"])


def test_a_fall_is_drawn(fallen):
    figure = walk_figure(fallen)
    figure.canvas.draw()
    assert fallen.outcome.capitalize() in figure.axes[0].get_title()
    assert len(walk_data(fallen)) > 0


def test_the_numbers_behind_a_walk_name_its_poses(result):
    data = walk_data(result)
    assert data["pose"].dropna().tolist() == list(range(1, 10))
    assert data["time_s"].is_monotonic_increasing


def test_travel_begins_and_ends_as_the_metrics_say():
    # one measured stride, so that the metric is not a mean over several
    result = walk(Scenario(slope_deg=-5.0, strides=1))
    assert result.metrics["measured_strides"] == 1
    data = travel_data([result])
    first = data[data["standing_foot"] == "prosthetic"]
    assert first["ahead_m"].iloc[0] == pytest.approx(result.metrics["prosthetic_com_from_m"], abs=1e-12)
    assert np.ptp(data["height_m"]) == pytest.approx(result.metrics["com_across_slope_excursion_m"], rel=0.5)
    assert data["stride_percent"].iloc[[0, -1]].tolist() == [0.0, 100.0]
    assert set(data["standing_foot"]) == {"prosthetic", "sound"}


def test_travel_of_a_walk_without_a_measured_stride_is_left_out(fallen):
    assert len(travel_data([fallen])) == 0
    mass_centre_figure(travel_data([fallen])).canvas.draw()


# -------------------------------------------------------------------------------- files
@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_the_same_input_gives_the_same_bytes(tmp_path, result, kind):
    files = []
    for name in ("first", "second"):
        save_figure(walk_figure(result), tmp_path / f"{name}.{kind}", walk_data(result))
        files.append((tmp_path / f"{name}.{kind}").read_bytes())
    assert files[0] == files[1]
    assert b"/CreationDate" not in files[0]  # in whole seconds, so two files may agree by luck
    other = tmp_path / f"other.{kind}"
    save_figure(outcome_map_figure(grid()), other, grid())
    assert other.read_bytes() != files[0]


def test_the_table_stands_beside_the_figure_with_units(tmp_path):
    data = grid()
    written = save_figure(outcome_map_figure(data), tmp_path / "map.v2", data, ("png", "svg"))
    assert [path.name for path in written] == ["map.v2.png", "map.v2.svg", "map.v2.csv"]
    head = (tmp_path / "map.v2.csv").read_text().splitlines()[0].split(",")
    assert head[:3] == ["slope_deg", "step_length_m", "knee.flexion_resistance [N m s/rad]"]
    assert len(pd.read_csv(tmp_path / "map.v2.csv")) == len(data)


def test_importing_loads_no_plotting_and_drawing_opens_no_window():
    code = (
        "import sys, sim.sweep, sim.plots, sim.survey; assert 'matplotlib' not in sys.modules;"
        "from sim.activities.walk import walk; from sim.scenario import Scenario;"
        "walk(Scenario(strides=1)); assert 'matplotlib' not in sys.modules; assert 'pandas' not in sys.modules;"
        "sim.plots.walk_figure(walk(Scenario(strides=1))); assert 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
