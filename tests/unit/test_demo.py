import ast
import json
from html.parser import HTMLParser
from pathlib import Path

import pytest

from sim.caution import CAUTION
from sim.cli import main
from sim.scenario import Scenario, replace_by_name
from sim.survey import default_axes, run_survey, stored_survey
from sim.survey_figures import FIGURES
from sim.table import write_table

ROOT = Path(__file__).parents[2]


class Page(HTMLParser):
    """Tags, text and links of a page; complains about tags that are not closed."""

    def __init__(self, text):
        super().__init__()
        self.open, self.links, self.text = [], [], ""
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag, attributes):
        if tag not in {"meta", "img"}:
            self.open.append(tag)
        self.links += [value for name, value in attributes if name in {"src", "href"}]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


@pytest.mark.slow
def test_the_demonstration_makes_a_page_that_needs_nothing_else(tmp_path, capsys):
    assert main(["demo", "--small", "--out", str(tmp_path), "--workers", "1"]) == 0
    said = capsys.readouterr().out
    page = Page((tmp_path / "index.html").read_text(encoding="utf-8"))
    sentences = [line for line in said.splitlines() if line.startswith(("Resistance:", "Step length:", "Slope:"))]
    assert len(sentences) == 3
    assert all(sentence in page.text for sentence in sentences)
    assert CAUTION in page.text
    assert CAUTION in said
    assert "rampwalk demo" in page.text
    pictures = [link for link in page.links if link.startswith("data:image/svg+xml;base64,")]
    others = [link for link in page.links if link not in pictures]
    assert len(pictures) == len(FIGURES)
    assert all((tmp_path / link).is_file() for link in others)
    assert json.loads((tmp_path / "about.json").read_text())["walks"] == 8


def test_there_is_a_script_for_every_figure():
    scripts = {path.stem: ast.parse(path.read_text()) for path in (ROOT / "figures").glob("*.py")}
    assert set(FIGURES) <= set(scripts)
    for name, tree in ((name, scripts[name]) for name in FIGURES):
        words = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)]
        assert name in words


def test_a_stored_table_is_used_only_for_the_same_walks(tmp_path):
    base, axes = Scenario(strides=1), {"slope_deg": (-5.0, -6.0)}
    assert stored_survey(tmp_path / "table.csv", base, axes) is None
    survey = run_survey(base, axes)
    write_table(survey.table, tmp_path / "table.csv")
    again = stored_survey(tmp_path / "table.csv", base, axes)
    assert again is not None
    assert again.table.equals(survey.table)
    assert stored_survey(tmp_path / "table.csv", replace_by_name(base, {"mass_kg": 80.0}), axes) is None
    assert stored_survey(tmp_path / "table.csv", base, {"slope_deg": (-5.0, -7.0)}) is None


def test_the_default_sweep_is_as_large_as_asked_for():
    assert [len(values) for values in default_axes().values()] == [5, 7, 8]
