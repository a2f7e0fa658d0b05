import numpy as np
import pandas as pd
import pytest

from sim.boundary import crossings_of, edge_segments, edge_table, refined, scale_of
from sim.cli import main
from sim.commands.surface import axis_names
from sim.errors import RampwalkError
from sim.grid import axes_of, cells_of, parse_range
from sim.plots.surface import _triangles, contours, surface_figure

X, Y = "step_length_m", "knee.flexion_resistance"
AXES = axes_of({X: parse_range(X, "0.4:0.6:5"), Y: parse_range(Y, "20:320:5:log")})
SCALES = {name: scale_of(name, AXES[name]) for name in AXES}


def completes(cell):
    """Inside a circle around a corner, in places of the axes."""
    return np.hypot(*(SCALES[name].place(float(cell[name])) for name in (X, Y))) < 0.72


def walk(cells):
    walk.rounds.append(len(cells))
    ended = ["walked" if completes(cell) else "fell" for cell in cells]
    places = {name: [cell[name] for cell in cells] for name in AXES}
    return pd.DataFrame({**places, "outcome": ended, "value": [cell[X] for cell in cells]})


@pytest.fixture
def edge():
    walk.rounds = []
    walked = {tuple(cell.values()): completes(cell) for cell in cells_of(AXES)}
    return crossings_of(AXES, (X, Y), walked)


# -------------------------------------------------------------------------------- the edge
@pytest.mark.parametrize("width", [0.25, 0.05, 0.001])
def test_the_edge_is_found_to_the_stated_width_with_few_walks(edge, width):
    found = refined(edge, SCALES, width, walk)
    assert len(found) == len(edge) > 4
    for crossing in found:
        ends = [{**crossing.fixed, crossing.name: value} for value in (crossing.walked, crossing.ended)]
        assert completes(ends[0])
        assert not completes(ends[1])
        places = [SCALES[crossing.name].place(value) for value in (crossing.walked, crossing.ended)]
        assert abs(places[0] - places[1]) == pytest.approx(crossing.width, rel=1e-6)
        assert crossing.width <= width * (1.0 + 1e-9)
    rounds = int(np.ceil(np.log2(0.25 / width)))
    assert walk.rounds == [len(edge)] * rounds


def test_points_of_the_edge_lie_on_the_circle(edge):
    for crossing in refined(edge, SCALES, 1e-4, walk):
        assert np.hypot(*(SCALES[name].place(float(crossing.middle[name])) for name in (X, Y))) == pytest.approx(
            0.72, abs=2e-4
        )
    table = edge_table(edge)
    assert set(table["along"]) == {X, Y}
    assert table["width_percent_of_axis"].tolist() == pytest.approx([25.0] * len(edge))


def test_the_edge_is_one_line_through_the_grid(edge):
    segments = edge_segments(refined(edge, SCALES, 0.01, walk), AXES, X, Y)
    assert len(segments) == len(edge) - 1
    ends = [tuple(np.round(point, 9)) for segment in segments for point in segment]
    counts = {point: ends.count(point) for point in ends}
    assert sorted(counts.values()) == [1, 1] + [2] * (len(edge) - 2)  # a chain from one side to the other


def test_where_all_walk_there_is_no_edge():
    assert crossings_of(AXES, (X, Y), {tuple(cell.values()): True for cell in cells_of(AXES)}) == []
    assert edge_segments([], AXES, X, Y) == []
    assert len(edge_table([])) == 0


def test_panels_have_their_own_edges():
    axes = {"slope_deg": (-4.0, -8.0)} | AXES
    walked = {tuple(cell.values()): cell["slope_deg"] == -4.0 or completes(cell) for cell in cells_of(axes)}
    found = crossings_of(axes, (X, Y), walked)
    assert {crossing.fixed["slope_deg"] for crossing in found} == {-8.0}


def test_axes_are_even_or_by_ratios():
    assert (SCALES[X].log, SCALES[Y].log) == (False, True)
    assert SCALES[Y].value(0.5) == pytest.approx(80.0)
    assert SCALES[X].value(0.25) == 0.45
    for name, values in (("knee.law", ("linear", "hydraulic")), (X, (0.5,)), ("strides", (2, 4))):
        with pytest.raises(RampwalkError, match=name):
            scale_of(name, values)


# -------------------------------------------------------------------------------- the figure
def test_no_colour_where_no_walk_was_completed(edge):
    refined(edge, SCALES, 0.02, walk)
    data = walk(cells_of(AXES))
    known = (data["outcome"] == "walked").to_numpy()
    triangles = _triangles(data, (X, SCALES[X]), (Y, SCALES[Y]), known)
    used = triangles.triangles[~triangles.mask]
    middles = np.stack([triangles.x[used].mean(axis=1), triangles.y[used].mean(axis=1)], axis=1)
    assert len(middles) > 5
    assert all(completes({X: x, Y: y}) for x, y in middles)
    few = data[data["outcome"] != "walked"]
    assert contours(few, (X, SCALES[X]), (Y, SCALES[Y]), "value", []).lines


def test_panels_share_one_colour_scale(edge):
    data = walk(cells_of(AXES))
    figure = surface_figure(
        [("a", data, edge_segments(edge, AXES, X, Y)), ("b", data, [])],
        (X, SCALES[X]),
        (Y, SCALES[Y]),
        "value",
        ("x", "y", "value"),
    )
    assert [ax.get_title() for ax in figure.axes[:2]] == ["a", "b"]
    assert figure.axes[0].get_yscale() == "log"


# -------------------------------------------------------------------------------- the command
def test_which_axis_is_which():
    axes = {"slope_deg": (-4.0, -8.0)} | AXES
    assert axis_names(axes, None, None) == (X, Y)
    assert axis_names(axes, "slope_deg", None) == ("slope_deg", Y)
    assert axis_names(axes, None, "slope_deg") == (Y, "slope_deg")
    assert axis_names(AXES, "flexion_resistance", None) == (Y, X)


def test_the_command_writes_figure_and_tables_and_goes_on(tmp_path, capsys):
    command = ["surface", "--strides", "1", "--slope-deg=-8", "--step-length-m=0.45:0.6:2", "--width", "25"]
    command += ["--flexion-resistance=0,60", "--workers", "1", "--out", str(tmp_path)]
    assert main(command) == 0
    out = capsys.readouterr().out
    assert out.startswith("4 walks on the grid, ")
    surface = pd.read_csv(tmp_path / "surface.csv")
    assert (surface["made_for"] == "grid").sum() == 4
    edge = pd.read_csv(tmp_path / "edge.csv") if (surface["made_for"] == "edge").any() else None
    assert edge is None or (edge["width_percent_of_axis"] <= 25.0).all()
    before = (tmp_path / "rows.csv").read_bytes()
    assert main(command) == 0
    assert (tmp_path / "rows.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--slope-deg=-4:-8:3"], "two ranges"),
        (["--slope-deg=-4:-8:3", "--step-length-m=0.4:0.6:3", "--value", "sound_peak"], "did you mean"),
        (["--slope-deg=-4:-8:3", "--step-length-m=0.4:0.6:3", "--value", "reason"], "holds words"),
        (["--slope-deg=-4:-8:3", "--step-length-m=0.4:0.6:3", "--width", "0"], "0.01 to 100 percent"),
        (["--slope-deg=-4:-8:3", "--step-length-m=0.4:0.6:3", "--up", "mass_kg"], "has no range"),
        (["--slope-deg=-4:-8:3", "--law=linear,hydraulic"], "two numbers or more"),
    ],
)
def test_bad_input_is_one_sentence(tmp_path, capsys, arguments, said):
    assert main(["surface", *arguments, "--workers", "1", "--out", str(tmp_path)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1
