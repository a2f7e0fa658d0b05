"""Grids walked outward from a neighbour that walks."""

import itertools
import pickle

import pandas as pd
import pytest

from sim import RampwalkError, Scenario
from sim.cell import run_cell
from sim.cli import main
from sim.design import grid_design, paired_design
from sim.grid import ContinuedCell, axes_of, cells_of, via_of
from sim.outward import neighbours, walked_outward
from sim.pool import worker_pool
from sim.scatter import rows_as_they_come
from sim.store import open_store
from sim.sweep import fill, filled_cells, keys_of, sweep
from sim.table import as_table, cell_key, setting_values
from sim.table_reader import read_table
from tests.unit import stand_ins

BASE = Scenario(slope_deg=-5.0, strides=1)
AXES = axes_of({"slope_deg": [-8.0, -4.0, -6.0], "knee.law": ["linear", "hydraulic"], "strides": [1, 2]})


def test_neighbours_are_next_in_value_and_words_have_none():
    cells = cells_of(AXES)
    beside = neighbours(AXES)
    for index, cell in enumerate(cells):
        for other in map(cells.__getitem__, beside(index)):
            assert other["knee.law"] == cell["knee.law"]
            steps = abs(other["slope_deg"] - cell["slope_deg"]) / 2.0 + abs(other["strides"] - cell["strides"])
            assert steps == 1.0
    assert sum(len(beside(index)) for index in range(len(cells))) == 2 * (2 * 2 * 2 + 3 * 2)  # both ways


def grid(standing, gait):
    """Walk a line of cells 0, 1, 2 ...: which walk from the standing pose, which from any walking neighbour."""
    axes = {"slope_deg": tuple(-float(k) for k in range(len(standing)))}
    tried = []

    def outcomes_of(cells):
        tried.append([dict(cell) for cell in cells])
        made = []
        for cell in cells:
            place = round(-cell["slope_deg"])
            before = [round(-other["slope_deg"]) for other in via_of(cell)]
            made.append("walked" if (gait if before else standing)[place] else "fell")
            assert not before or standing[before[0]]
            assert all(gait[other] for other in before[1:])
        return made

    return walked_outward(cells_of(axes), axes, outcomes_of), tried


def test_a_walk_that_does_not_get_through_is_tried_from_its_neighbour_and_so_on():
    last, tried = grid(standing=[0, 0, 1, 0, 0, 0], gait=[1, 1, 0, 1, 0, 1])
    assert [len(round_) for round_ in tried] == [6, 2, 2]  # 5 has no neighbour that walks
    slopes = [[-other["slope_deg"] for other in via_of(cell)] for cell in last]
    assert slopes == [[2.0, 1.0], [2.0], [], [2.0], [2.0, 3.0], []]
    assert [cell["slope_deg"] for cell in last] == [-0.0, -1.0, -2.0, -3.0, -4.0, -5.0]


def test_without_any_walk_nothing_is_tried_again():
    last, tried = grid(standing=[0, 0, 0], gait=[1, 1, 1])
    assert len(tried) == 1
    assert not any(via_of(cell) for cell in last)


def test_a_cell_is_tried_again_when_another_neighbour_comes_to_walk():
    axes = axes_of({"slope_deg": [-1.0, -2.0], "strides": [1, 2]})
    cells = cells_of(axes)
    outcomes = [["walked", "fell", "fell", "fell"], ["walked", "fell"], ["walked"], ["fell"]]
    made = iter(outcomes)
    asked = []

    def outcomes_of(given):
        asked.append([cells.index(dict(cell)) for cell in given])
        return next(made)

    last = walked_outward(cells, axes, outcomes_of)
    assert asked == [[0, 1, 2, 3], [1, 2], [3], [2]]
    assert via_of(last[3]) == (cells[0], cells[1])
    assert via_of(last[2]) == (cells[0], cells[1], cells[3])


# -------------------------------------------------------------------------------- rows
def test_the_key_of_a_row_includes_its_start():
    values = setting_values(BASE)
    cell, other, third = ({"slope_deg": slope} for slope in (-5.0, -6.0, -7.0))
    chains = [(), (other,), (third,), (other, third)]
    keys = {cell_key(values, ContinuedCell(cell, via) if via else cell) for via in chains}
    assert len(keys) == len(chains)
    assert cell_key(values, ContinuedCell(cell, ())) == cell_key(values, cell)
    kept = pickle.loads(pickle.dumps(ContinuedCell(cell, (other, third))))
    assert (dict(kept), via_of(kept)) == (cell, (other, third))


def test_rows_begun_from_a_neighbour_are_the_same_bits_in_any_process():
    first, second, third = ({"slope_deg": slope} for slope in (-5.0, -5.5, -6.0))
    cells = [first, ContinuedCell(second, (first,)), ContinuedCell(third, (first, second)), third]
    here = [run_cell(BASE, cell) for cell in cells]
    assert [row["start"] for row in here] == ["standing", "neighbour", "neighbour", "standing"]
    assert [row["outcome"] for row in here[:3]] == ["walked"] * 3
    keys = keys_of(BASE, cells)
    assert [row["key"] for row in here] == keys
    assert [row["start_key"] for row in here] == ["", keys[0], keys[1], ""]
    with worker_pool(2) as pool:
        there = dict(itertools.chain.from_iterable(rows_as_they_come(BASE, cells, pool)))
    pd.testing.assert_frame_equal(as_table(here), as_table(there[k] for k in range(4)), check_exact=True)


def test_a_start_that_does_not_walk_is_a_row_with_stage_and_message():
    falls = {"knee.flexion_resistance": 0.0}
    row = run_cell(BASE, ContinuedCell({"slope_deg": -5.0}, (falls,)))
    assert (row["outcome"], row["stage"], row["start"]) == ("crashed", "walk", "neighbour")
    assert "no other can go on from" in row["message"]
    assert row["start_key"] == cell_key(setting_values(BASE), falls)


def pretend(base, cell):
    """Gets through from the standing pose up to -6, from a neighbour up to -10 degrees."""
    limit = -10.0 if via_of(cell) else -6.0
    row = stand_ins.quick_row(base, dict(cell))
    row |= {"outcome": "walked" if cell["slope_deg"] >= limit else "fell", "key": keys_of(base, [cell])[0]}
    made.append(cell)
    return row | {"start": "neighbour" if via_of(cell) else "standing"}


made = []
OVER = {"slope_deg": [-2.0, -4.0, -6.0, -8.0, -10.0, -12.0, -14.0]}


@pytest.fixture
def pretended(monkeypatch):
    made.clear()
    monkeypatch.setattr("sim.sweep.fill", lambda *given: fill(*given, make=pretend))
    return made


def test_both_starts_share_a_folder_and_go_on(pretended, tmp_path):
    outward = sweep(BASE, OVER, folder=tmp_path, start="neighbour")
    assert outward["outcome"].tolist() == ["walked"] * 5 + ["fell"] * 2
    assert outward["start"].tolist() == ["standing"] * 3 + ["neighbour"] * 3 + ["standing"]
    assert len(pretended) == 7 + 3
    again = sweep(BASE, OVER, folder=tmp_path, start="neighbour")
    standing = sweep(BASE, OVER, folder=tmp_path)
    assert len(pretended) == 10  # every row was there
    pd.testing.assert_frame_equal(again, outward)
    assert standing["outcome"].tolist() == ["walked"] * 3 + ["fell"] * 4
    pd.testing.assert_frame_equal(sweep(BASE, OVER, start="neighbour"), outward)  # without a folder
    with open_store(tmp_path, BASE) as store:
        cells = filled_cells(store, BASE, grid_design(OVER), start="neighbour")
    assert keys_of(BASE, cells) == outward["key"].tolist()


@pytest.mark.usefixtures("pretended")
def test_from_the_command_line(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr("sim.survey_figures.save_figures", lambda *_: {})
    arguments = ["sweep", "--strides=1", "--workers=1", "--slope-deg=-2:-14:7", "--out", str(tmp_path)]
    assert main([*arguments, "--start", "neighbour"]) == 0
    table = read_table(tmp_path / "table.csv")
    assert (table["start"] == "neighbour").sum() == 3
    said = capsys.readouterr().out
    assert "3 walks that did not get through from the standing pose" in said
    assert "2 of them walked" in said
    assert main([*arguments, "--start", "walking"]) == 2
    assert "is not one of" in capsys.readouterr().err


def test_only_a_grid_has_neighbours():
    with pytest.raises(RampwalkError, match="needs a grid"):
        sweep(BASE, paired_design({"slope_deg": [-4.0, -5.0]}), start="neighbour")
