"""The laws that experiments/broken_laws breaks still stand as it expects them, and its page knows all of them."""

import shutil
from pathlib import Path

import pytest

from experiments.broken_laws.laws import BREAKS, Break, Change, break_in
from experiments.broken_laws.run import Outcome, line

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("law", BREAKS, ids=lambda law: law.name)
def test_every_law_can_be_broken_once(law, tmp_path):
    for change in law.changes:
        (tmp_path / change.file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / change.file, tmp_path / change.file)
    break_in(tmp_path, law)
    for change in law.changes:
        assert (tmp_path / change.file).read_text() != (ROOT / change.file).read_text()
    with pytest.raises(ValueError, match="stands 0 times"):
        break_in(tmp_path, law)


def test_a_text_that_stands_twice_is_not_replaced(tmp_path):
    (tmp_path / "law.py").write_text("a = 1\na = 1\n")
    with pytest.raises(ValueError, match=r"stands 2 times in law\.py"):
        break_in(tmp_path, Break("twice", "", (Change("law.py", "a = 1", "a = 2"),)))
    assert (tmp_path / "law.py").read_text() == "a = 1\na = 1\n"


def test_what_fails_without_a_break_catches_nothing():
    before = Outcome(("tests/unit/test_x.py::test_old",), more=False, seconds=1.0)
    same = line(BREAKS[0], before, before)
    assert "| 0 |" in same
    assert "**nothing**" in same
    noticed = Outcome((*before.failed, "tests/unit/test_y.py::test_new[a|b]"), more=True, seconds=1.0)
    assert "| 1 or more | `unit/test_y.py::test_new[a/b]` |" in line(BREAKS[0], noticed, before)


def test_the_page_shows_every_law_and_none_went_unnoticed():
    page = (ROOT / "docs" / "broken-laws.md").read_text(encoding="utf-8")
    shown = [row.split("|")[1].strip() for row in page.splitlines() if row.startswith("| ")]
    assert {law.name for law in BREAKS} <= set(shown)
    assert "**nothing**" not in page
