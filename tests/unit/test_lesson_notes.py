"""Notes for teachers: what each must have, links that lead somewhere, tables of the comparisons of the page."""

import re

import pytest

from experiments.lessons.run import BEGIN, COLUMNS, END, FILES, NOTES, line_of
from sim.grid import grid_size
from sim.lesson.plan import LESSONS, SAME_PEAK_BW, Walker, lesson_axes

PARTS = ("**Aim.**", "## Ten minutes", "## Questions with answers", "## What the model did",
         "## What the model leaves out")  # fmt: skip


def test_every_lesson_has_its_notes():
    assert set(FILES) == set(LESSONS)
    index = (NOTES / "README.md").read_text(encoding="utf-8")
    for name in FILES.values():
        assert f"({name})" in index
    assert f"computed beforehand, {grid_size(lesson_axes())} of them" in index
    assert f"less than {SAME_PEAK_BW:g} body weights" in index


@pytest.mark.parametrize("lesson", LESSONS)
def test_the_notes_have_all_parts_and_the_comparisons_of_the_page(lesson):
    text = (NOTES / FILES[lesson]).read_text(encoding="utf-8")
    places = [text.index(part) for part in PARTS]
    assert places == sorted(places)
    assert "no device setting follows from it" in text
    questions = text.split(PARTS[2])[1].split(PARTS[3])[0]
    assert len(re.findall(r"^\*\*.+\?\*\* \S", questions, re.MULTILINE)) >= 5
    table = text.split(BEGIN)[1].split(END)[0]
    for number, each in enumerate(LESSONS[lesson], 1):
        for name, walker in zip("AB", (each.a, each.b), strict=True):
            values = (each.slope_deg, *walker)
            start = " | ".join([str(number), name, *(f"{value:g}" for value in values)])
            assert f"\n| {start} | " in table
    assert re.search(r"gains [0-9a-f]{12}\.", table)


@pytest.mark.parametrize("path", sorted(NOTES.glob("*.md")), ids=lambda path: path.name)
def test_links_lead_somewhere(path):
    links = re.findall(r"\]\(([^)#]+)\)", path.read_text(encoding="utf-8"))
    assert links
    for link in links:
        assert (path.parent / link).is_file(), link


def test_a_walk_that_fell_has_no_numbers_in_its_line():
    numbers = dict.fromkeys((key for key, _ in COLUMNS.values()), 1.0)
    for outcome, cell in (("walked", "1"), ("fell", "-")):
        row = {"outcome": outcome, "numbers": numbers}
        cells = line_of(2, "B", -8.0, Walker(0.5, 40.0), row).strip("| ").split(" | ")
        assert cells[:6] == ["2", "B", "-8", "0.5", "40", outcome]
        assert [each[:1] for each in cells[6:]] == [cell] * len(COLUMNS)
