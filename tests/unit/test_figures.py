"""Figures for print: widths, fonts, units, the same bytes on every run; and the figures that tell the paper."""

import ast
import math
import os
import re
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from sim.activities.walk import walk
from sim.body import build_body
from sim.plots import (
    ledger_bars,
    ledger_data,
    mass_centre_figure,
    outcome_map_figure,
    resistance_figure,
    save_for_print,
    step_length_figure,
    stride_curves,
    stride_data,
    stride_figure,
    walk_figure,
)
from sim.plots.bands import FARTHEST, band_marks, bands_figure
from sim.plots.convergence import convergence_figure, error_lines, fitted_order
from sim.plots.data import PACES, travel_data, walk_data
from sim.plots.sensitivity import sensitivity_figure
from sim.plots.sketch import contact_sketch, knee_sketch, model_figure, sketch_pose, walker_sketch
from sim.plots.sketch_symbols import SYMBOLS, symbol_list, symbol_table
from sim.plots.stride import PANELS, power_by_source
from sim.plots.style import DOUBLE_MM, SINGLE_MM
from sim.plots.window import window_figure
from sim.scenario import Scenario
from sim.sensitivity import NOT_COMPLETED, OUTCOMES
from sim.window import find_windows
from tests.unit.made_up_walks import BASE, BASE_CELL, rate, stiff, walker
from tests.unit.test_plots import FELL, grid

ROOT = Path(__file__).parents[2]
PLOTS, SCRIPTS = ROOT / "sim" / "plots", sorted((ROOT / "figures").glob("*.py"))
SCENARIO = Scenario(slope_deg=-5.0, strides=2)
BODY = build_body(SCENARIO.person, SCENARIO.components, SCENARIO.foot)
CONVERGING = pd.DataFrame(
    {"what": ["made up"] * 3, "time_step_s": [1e-4, 2e-4, 4e-4], "error_m": [0.9e-5, 1.9e-5, 3.9e-5]}
)
BANDS = pd.DataFrame(
    {
        "what": ["inside", "just outside", "far above", "far below", "fell"],
        "unit": ["deg", "1", "BW", "m", "N"],
        "ours": [5.0, 11.0, 40.0, -40.0, math.nan],
        "low": [0.0] * 5,
        "high": [10.0] * 5,
        "verdict": ["pass", "near", "miss", "warn", "miss"],
    }
)


def sensitivity():
    """Indices and differences of two settings, made up; one interval is far too long to draw."""
    settings = ["person.mass_kg", "step_length_m"]
    rows = [
        {"outcome": outcome, "setting": name, "first": 0.2, "first_low": 0.1, "first_high": 0.3, "total": 0.5,
         "total_low": 0.0, "total_high": 4.0, "part": 0.5, "walks": 64}
        for outcome in (NOT_COMPLETED, OUTCOMES[0])
        for name in settings
    ]  # fmt: skip
    ends = {f"{OUTCOMES[0]}_{end}": [value] * 2 for end, value in (("base", 1.1), ("low", 1.0), ("high", 1.3))}
    return sensitivity_figure(pd.DataFrame(rows), pd.DataFrame({"setting": settings} | ends), OUTCOMES[0])


def window():
    found = find_windows(BASE, [BASE_CELL], walker(rate, stiff(60.0)))
    return window_figure([("as given", found[0])])


@pytest.fixture(scope="module")
def result():
    result = walk(SCENARIO)
    assert result.outcome == "walked"
    return result


@pytest.fixture(scope="module")
def drawn(result):
    """Every kind of figure that `make figures` writes, and the numbers behind it."""
    paced = pd.concat([grid(resistances=(60.0,)).assign(pace=pace) for pace in PACES])
    travel, at_one_step = travel_data([result]), grid(steps=(0.5,))
    stride, ledger = stride_data(result), ledger_data(result)
    return {
        "walk": (walk_figure(result), walk_data(result)),
        "mass_centre": (mass_centre_figure(travel), travel),
        "step_length": (step_length_figure(paced), paced),
        "resistance": (resistance_figure(at_one_step), at_one_step),
        "outcome_map": (outcome_map_figure(grid()), grid()),
        "stride": (stride_figure(stride, ledger, "a title"), stride),
        "model": (model_figure(BODY, SCENARIO.person), symbol_table()),
        "bands": (bands_figure(BANDS), BANDS),
        "convergence": (convergence_figure(CONVERGING, 1e-5), CONVERGING),
        "sensitivity": (sensitivity(), pd.DataFrame({"a": [1.0]})),
        "window": (window(), pd.DataFrame({"a": [1.0]})),
    }


@pytest.fixture(scope="module")
def saved(drawn, tmp_path_factory):
    folder = tmp_path_factory.mktemp("figures")
    return {name: save_for_print(figure, folder / "new" / name, data) for name, (figure, data) in drawn.items()}


# -------------------------------------------------------------------------------- for print
def widths_mm(png, svg, pdf):
    """Widths that the three files say themselves."""
    head = png.read_bytes()
    pixels = struct.unpack(">I", head[16:20])[0]
    at = head.index(b"pHYs") + 4
    per_metre = struct.unpack(">I", head[at : at + 4])[0]
    points = float(re.search(r'<svg[^>]* width="([\d.]+)pt"', svg.read_text()).group(1))
    box = re.search(rb"/MediaBox \[\s*0 0 ([\d.]+) ", pdf.read_bytes()).group(1)
    return 1e3 * pixels / per_metre, points * 25.4 / 72.0, float(box) * 25.4 / 72.0


def test_every_figure_has_the_width_of_one_column_or_two(saved):
    assert 85.0 <= SINGLE_MM <= 90.0
    assert 170.0 <= DOUBLE_MM <= 180.0
    for name, (png, svg, pdf, table) in saved.items():
        wanted = SINGLE_MM if name == "convergence" else DOUBLE_MM
        assert widths_mm(png, svg, pdf) == pytest.approx([wanted] * 3, abs=0.2), name
        assert table.suffix == ".csv"
        assert len(pd.read_csv(table)) > 0


def pdf_text(path):
    """The file with its compressed parts unpacked."""
    raw = path.read_bytes()
    parts = [raw]
    for match in re.finditer(rb"stream\r?\n(.*?)endstream", raw, re.DOTALL):
        try:
            parts.append(zlib.decompress(match.group(1)))
        except zlib.error:
            continue
    return b"".join(parts)


def test_fonts_are_inside_and_none_is_type_3(saved):
    for name, (_, svg, pdf, _) in saved.items():
        text = pdf_text(pdf)
        assert b"/Type3" not in text, name
        fonts = len(re.findall(rb"/Type /FontDescriptor", text))
        assert fonts >= 1
        assert len(re.findall(rb"/FontFile2 ", text)) == fonts, name
        assert "<text" not in svg.read_text(), name  # letters are drawn, no font is asked for


def test_every_axis_with_numbers_says_its_unit(drawn):
    for name, (figure, _) in drawn.items():
        figure.canvas.draw()
        assert figure.axes
        for ax in figure.axes:
            if not ax.axison:
                continue
            for label, ticks, on in (
                (ax.get_xlabel(), ax.get_xticklabels(), ax.xaxis.get_tick_params().get("labelbottom", True)),
                (ax.get_ylabel(), ax.get_yticklabels(), ax.yaxis.get_tick_params().get("labelleft", True)),
            ):
                shown = [tick.get_text() for tick in ticks if tick.get_text()]
                assert not label or "[" in label or not numeric(shown), (name, label)
                assert label or not on or not numeric(shown) or labelled_elsewhere(figure, ax), (name, shown)


def numeric(texts):
    return bool(texts) and all(re.fullmatch(r"[−\d.,e$\\mathdf{}^x ]+", text) for text in texts)


def labelled_elsewhere(figure, ax):
    """A panel whose column or row has the label at its end."""
    spec = ax.get_subplotspec()
    same = [other for other in figure.axes if other is not ax and other.axison and other.get_subplotspec() is not None]
    assert spec is not None
    return any("[" in other.get_xlabel() + other.get_ylabel() for other in same)


def test_another_process_writes_the_same_bytes(saved, tmp_path):
    """Of the sketch, which needs no walk; hashes of words differ between processes."""
    code = (
        "import sys; from sim.body import build_body; from sim.scenario import Scenario;"
        "from sim.plots import save_for_print; from sim.plots.sketch import model_figure;"
        "from sim.plots.sketch_symbols import symbol_table;"
        "s = Scenario(); b = build_body(s.person, s.components, s.foot);"
        "save_for_print(model_figure(b, s.person), sys.argv[1], symbol_table())"
    )
    environment = os.environ | {"PYTHONHASHSEED": "1"}
    subprocess.run([sys.executable, "-c", code, tmp_path / "model"], check=True, env=environment, cwd=ROOT)
    for path in saved["model"]:
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name


def test_a_figure_is_four_files_and_the_csv_has_units(saved, drawn):
    assert [path.name for path in saved["stride"]] == ["stride.png", "stride.svg", "stride.pdf", "stride.csv"]
    names = drawn["stride"][1].columns
    assert all(name.endswith(("_percent", "_deg", "_bw", "_nm", "_w", "sound_landed")) for name in names)


# -------------------------------------------------------------------------------- scripts
@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.stem)
def test_a_script_says_what_it_draws_and_does_nothing_when_imported(script):
    tree = ast.parse(script.read_text(encoding="utf-8"))
    told = ast.get_docstring(tree)
    assert told
    assert "figures/out" in told.replace("\n", " ").replace("  ", " ")
    for node in tree.body:
        runs = isinstance(node, ast.Expr) and not isinstance(node.value, ast.Constant)
        assert not runs, ast.unparse(node)
    assert f"`{script.stem}.py`" in (ROOT / "figures" / "README.md").read_text(encoding="utf-8")


def test_no_function_shows_a_window():
    for path in PLOTS.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert "pyplot" not in text, path.name
        assert ".show(" not in text, path.name


# -------------------------------------------------------------------------------- data + axes -> axes
def test_drawing_on_given_axes_returns_them(result):
    stride, ledger = stride_data(result), ledger_data(result)
    for draw in (
        lambda ax: stride_curves(stride, next(iter(PANELS)), ax),
        lambda ax: ledger_bars(ledger, ax),
        lambda ax: band_marks(BANDS, ax),
        lambda ax: error_lines(CONVERGING, 1e-5, ax),
        lambda ax: walker_sketch(BODY, SCENARIO.person, ax),
        knee_sketch,
        contact_sketch,
        symbol_list,
    ):
        ax = Figure().add_subplot()
        assert draw(ax) is ax


# -------------------------------------------------------------------------------- one stride
def test_the_ledger_of_a_stride_closes(result):
    ledger = ledger_data(result).set_index("source")
    through = ledger["given_j"].sum()
    rest = ledger.loc["rest", ["given_j", "taken_j"]].sum()
    assert rest < 0.03 * through  # sampled every tenth time step
    assert (ledger.to_numpy() >= 0.0).all()
    assert ledger["given_j"].sum() == pytest.approx(ledger["taken_j"].sum())


def test_work_by_source_is_that_of_the_energy_book(result):
    interval, energy = result.series.interval, result.energy
    work = {name: interval * power.sum() for name, power in power_by_source(result).items()}
    booked = {name: (energy[f"{name}_in_j"] or 0.0) - (energy[f"{name}_out_j"] or 0.0) for name in BOOKED}
    for joint in ("hip", "knee"):
        for side in ("prosthetic", "sound"):
            assert work[f"{joint} {side}"] == pytest.approx(booked[f"{joint}_{side}"], abs=0.03 * booked["gravity"])
    assert work["gravity"] == pytest.approx(booked["gravity"], rel=0.02)
    ground = sum(booked[name] for name in BOOKED if name.startswith(("contact", "friction")))
    assert ground < 0.0
    assert work["ground prosthetic"] + work["ground sound"] == pytest.approx(ground, abs=0.03 * booked["gravity"])


BOOKED = (
    *(f"{joint}_{side}" for joint in ("hip", "knee") for side in ("prosthetic", "sound")),
    *("contact_elastic", "contact_damping", "friction_elastic", "friction_damping", "gravity"),
)


def test_a_stride_begins_with_the_landing_of_the_prosthetic_foot(result):
    data = stride_data(result)
    assert data["stride_percent"].iloc[[0, -1]].tolist() == [0.0, 100.0]
    assert data["sound_landed"].iloc[0] == 0
    share = data["sound_landed"].mean()
    assert 0.2 < share < 0.8
    assert data["sound_force_across_low_passed_bw"][data["sound_landed"] == 1].max() > 0.5
    damped = data["prosthetic_knee_power_w"]
    assert damped.sum() < 0.0  # the prosthetic knee takes


def test_of_a_fall_there_is_no_stride_and_it_is_drawn():
    fallen = walk(FELL)
    assert len(stride_data(fallen)) == 0 or fallen.outcome == "walked"


# -------------------------------------------------------------------------------- the sketch
def test_the_drawn_legs_have_the_lengths_of_the_body():
    pose = sketch_pose(BODY)
    for leg in range(2):
        assert np.hypot(*(pose["knee"][leg] - pose["hip"])) == pytest.approx(BODY.thigh_length)
        assert np.hypot(*(pose["ankle"][leg] - pose["knee"][leg])) == pytest.approx(BODY.shank_length)


def test_every_symbol_is_explained_where_the_model_is():
    page = (ROOT / "docs" / "model.md").read_text(encoding="utf-8")
    for symbol in SYMBOLS:
        for written in symbol.written.split(", "):
            assert re.search(rf"(?<![A-Za-z_]){re.escape(written)}(?![A-Za-z])", page), written


def letters(formulas):
    """Symbols in some formulas, one by one."""
    spaced = " ".join(formulas).replace(r"\mu", r"\mu ")
    return {part for part in re.split(r"\\leq|[,\s|=]+", spaced) if part}


def test_every_symbol_of_the_list_is_in_the_sketch():
    figure = model_figure(BODY, SCENARIO.person)
    words = " ".join(text.get_text() for ax in figure.axes[:3] for text in ax.texts)
    drawn = letters(re.findall(r"\$([^$]+)\$", words))
    for symbol in SYMBOLS:
        assert letters([symbol.drawn.strip("$")]) <= drawn, symbol.drawn


# -------------------------------------------------------------------------------- bands and convergence
def test_a_number_falls_where_its_band_says():
    ax = band_marks(BANDS)
    single = [line for line in ax.lines if len(line.get_xdata()) == 1]
    marks = [(float(line.get_xdata()[0]), float(line.get_ydata()[0])) for line in single]
    assert marks == [(0.0, 0.0), (pytest.approx(1.2), 1.0)]
    arrows = [note.xy[0] for note in ax.texts if getattr(note, "arrow_patch", None) is not None]
    assert [math.copysign(1.0, place) for place in arrows] == [1.0, -1.0]
    assert all(abs(place) > FARTHEST for place in arrows)
    assert "no walk" in [text.get_text() for text in ax.texts]


def test_the_order_is_that_of_the_error():
    step = np.array([1e-4, 2e-4, 4e-4, 8e-4])
    for order in (1.0, 2.0):
        assert fitted_order(step, 3.0 * (step - 1e-5) ** order, 1e-5) == pytest.approx(order)
    label = error_lines(CONVERGING, 1e-5).lines[0].get_label()
    assert label == "made up: order 1.00"


def test_long_intervals_are_cut_off_and_it_is_said():
    ax = sensitivity().axes[0]
    assert ax.get_xlim()[1] <= 1.5
    assert "cut off" in ax.get_xlabel()
