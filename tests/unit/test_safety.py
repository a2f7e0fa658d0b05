"""The caution is wherever a result is, and the page on safety is found from there."""

import re
from pathlib import Path

import pytest

from sim.activities.walk import walk
from sim.caution import CAUTION, SAFETY_PAGE
from sim.cli import COMMANDS, main
from sim.commands.walk import summary
from sim.scenario import Scenario, replace_by_name

ROOT = Path(__file__).parents[2]


def plain(text):
    """Text without line breaks and marks."""
    return " ".join(re.sub(r"[`*\[\]>]", "", text).split())


@pytest.mark.parametrize("command", COMMANDS)
def test_every_help_text_carries_the_caution(capsys, command):
    assert main([command, "--help"]) == 0
    assert CAUTION in plain(capsys.readouterr().out)


def test_the_help_of_the_program_names_the_safety_page(capsys):
    assert main(["--help"]) == 0
    said = plain(capsys.readouterr().out)
    assert CAUTION in said
    assert SAFETY_PAGE in said


def test_every_report_of_a_walk_carries_the_caution():
    ended = set()
    for flexion_resistance in (0.0, 40.0):
        result = walk(replace_by_name(Scenario(strides=1), {"flexion_resistance": flexion_resistance}))
        ended.add(result.outcome)
        assert CAUTION in summary(result)
    assert len(ended) == 2  # one that walked, one that did not


def test_pages_carry_the_caution_and_the_safety_page():
    templates = list((ROOT / "sim").rglob("*.html"))
    assert templates
    for path in templates:
        text = path.read_text(encoding="utf-8")
        assert "$caution" in text, path
        assert "safety" in text, path


def test_the_readme_carries_the_caution_and_links_the_page():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    said = plain(text)
    for sentence in CAUTION.split(": ")[1].split(". "):
        assert sentence.rstrip(".").lower() in said.lower()
    assert f"({SAFETY_PAGE})" in text


def test_the_page_says_what_it_must_and_its_links_lead_somewhere():
    path = ROOT / SAFETY_PAGE
    text = path.read_text(encoding="utf-8")
    said = plain(text)
    for words in ("not a medical device", "Intended use", "Foreseeable misuse", "licensed practice", "local codes"):
        assert words in said
    links = re.findall(r"\]\(([^)#]+)\)", text)
    assert len(links) > 3
    for link in links:
        assert (path.parent / link).is_file(), link
