"""`docs/model.md` and `docs/glossary.md` say what the code does."""

from pathlib import Path

import pytest

from sim.model_tables import BEGIN, END, tables, with_tables
from sim.parameters import all_parameters
from sim.scenario import names

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "model.md").read_text(encoding="utf-8")


def test_the_page_is_current():
    assert with_tables(PAGE) == PAGE, "run: python -m sim.model_tables docs/model.md"


def test_every_setting_and_parameter_has_a_row():
    made = tables()
    for name in names():
        assert f"| `{name}` |" in made, name
    for file, rows in all_parameters().items():
        for name in rows:
            assert f"| {file}: `{name}` |" in made, name


def test_no_row_of_a_table_has_another_number_of_cells():
    for page in (PAGE, (DOCS / "glossary.md").read_text(encoding="utf-8")):
        blocks = [block.splitlines() for block in page.split("\n\n") if block.startswith("|")]
        assert blocks
        for block in blocks:
            rows = [line for line in block if line.startswith("|")]
            assert len({line.count("|") for line in rows}) == 1, rows[0]


def test_a_page_without_marks_is_refused():
    with pytest.raises(ValueError, match="marks"):
        with_tables(PAGE.replace(END, ""))
    assert PAGE.count(BEGIN) == 1
