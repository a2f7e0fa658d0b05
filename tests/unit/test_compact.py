"""Long lists held small are the lists that they stand for."""

import itertools
import sys

import numpy as np
import pytest

from sim.compact import CellColumns, CellGrid, Chosen, KeyList, Replaced, RowIndex

AXES = {"slope_deg": (-4.0, -8.0), "knee.law": ("linear", "hydraulic"), "strides": (1, 2, 3)}
CELLS = [dict(zip(AXES, values, strict=True)) for values in itertools.product(*AXES.values())]


def assert_same_list(made, wanted):
    assert len(made) == len(wanted)
    assert list(made) == wanted
    assert [made[k] for k in range(-len(wanted), len(wanted))] == wanted + wanted
    assert made[1:4] == wanted[1:4]
    assert made == wanted
    assert made != wanted[1:]
    with pytest.raises(IndexError):
        made[len(wanted)]


def test_a_grid_is_the_product_of_its_axes():
    assert_same_list(CellGrid(AXES), CELLS)
    assert list(CellGrid({})) == [{}]


def test_columns_give_back_every_value_in_its_type():
    cells = [{"a": 1.5, "b": 2, "c": "word"}, {"a": 2.5, "b": 3, "c": None}, {"a": 3, "b": 4.5, "c": 1.0}] * 2
    made = CellColumns(("a", "b", "c"), cells)
    assert_same_list(made, cells)
    assert [[type(value) for value in cell.values()] for cell in made] == [
        [type(value) for value in cell.values()] for cell in cells
    ]


def test_numbers_take_eight_bytes():
    count = 10_000
    made = CellColumns(("a", "b"), ({"a": float(k), "b": -float(k)} for k in range(count)))
    assert sum(sys.getsizeof(column) for column in made.columns.values()) < 20 * count


def test_chosen_and_replaced_items():
    assert_same_list(Chosen(CELLS, [3, 0, 5, 5]), [CELLS[3], CELLS[0], CELLS[5], CELLS[5]])
    others = {2: {"slope_deg": 0.0}}
    assert_same_list(Replaced(CELLS, others), [*CELLS[:2], others[2], *CELLS[3:]])


def test_keys_are_those_that_were_given():
    keys = ["00000000000000ff", "ffffffffffffffff", "0123456789abcdef", "00000000000000ff", "0000000000000000"]
    assert_same_list(KeyList(keys), keys)
    assert KeyList(keys).first_places() == [0, 1, 2, 4]
    assert KeyList([]).first_places() == []


def test_the_index_finds_rows_and_the_last_of_a_key_counts():
    random = np.random.default_rng(1)
    index, wanted = RowIndex(), {}
    for start in range(500):
        key = f"{int(random.integers(0, 300)):016x}"
        outcome = ("walked", "fell", "crashed")[start % 3]
        index.add(key, start, outcome)
        wanted[key] = (start, outcome)
        if start % 50 == 0:  # asked between
            assert index.start(key) == start
    assert {key: (index.start(key), index.outcome(key)) for key in wanted} == wanted
    missing = next(f"{k:016x}" for k in range(300, 400))
    assert index.start(missing) is None
    assert index.outcome(missing) is None
    assert RowIndex().start(missing) is None
    with pytest.raises(ValueError, match="invalid literal"):
        index.add("no key", 0, "walked")
