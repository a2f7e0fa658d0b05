"""The caution is wherever a result is, and the page on safety is found from there."""

import inspect
import re
from importlib import import_module
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
def test_every_help_text_carries_the_caution_and_names_the_safety_page(capsys, command):
    assert main([command, "--help"]) == 0
    said = plain(capsys.readouterr().out)
    assert CAUTION in said
    assert SAFETY_PAGE in said


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


#: Commands that are done in a second or so, with what keeps them short.
QUICK = {
    "uneven": ["--strides", "1"],
    "descent": ["--strides", "1"],
    "stand": ["--seconds", "4"],
    "bend": ["--repeats", "1"],
    "sit": [],
    "step-to": [],
    "stop": ["--strides-after", "1"],
    "stair": [],
    "flight": [],
    "ramp": ["--slope-deg=-4", "--runs", "1", "--run-m", "2", "--level-m", "1"],
    "rail": ["--strides", "1"],
    "helper": ["--strides", "1"],
    "posture": ["--strides", "1"],
    "uphill": ["--swing", "--strides", "1"],
}
#: Many walks each: of these only that they print it; `walk` is tested above.
MANY = ("export", "sweep", "sensitivity", "surface", "window", "report", "overlap", "ladder", "lesson", "demo")


@pytest.mark.parametrize("command", QUICK)
def test_every_command_ends_with_the_caution(capsys, command):
    assert main([command, *QUICK[command]]) == 0
    assert capsys.readouterr().out.rstrip().endswith(CAUTION)


def test_no_command_is_forgotten():
    assert {"walk", *QUICK, *MANY} == set(COMMANDS)
    for command in MANY:
        run = inspect.getsource(import_module(f"sim.commands.{command}").run)
        said = [line for line in run.splitlines() if "print(" in line or "deliver(" in line]
        assert any("CAUTION" in line for line in said), command


def test_pages_carry_the_caution_at_their_top_and_the_safety_page():
    templates = list((ROOT / "sim").rglob("*.html"))
    assert {path.name for path in templates} == {"demo.html", "page.html", "report.html"}
    for path in templates:
        text = path.read_text(encoding="utf-8")
        heading = text.index("<h1>")
        assert heading < text.index("$caution", heading) < heading + 300, path
        assert "$safety_page" in text, path


@pytest.mark.parametrize(
    "page",
    [
        "docs/activities.md",
        "docs/window.md",
        "docs/lessons/README.md",
        "experiments/people/README.md",
        "figures/README.md",
    ],
)
def test_pages_of_results_carry_the_caution(page):
    said = plain((ROOT / page).read_text(encoding="utf-8")).lower()
    assert "no device setting follows from it" in said
    assert "settings are made with the person by licensed practice" in said


def test_the_page_lists_every_command_where_the_caution_is_shown():
    text = (ROOT / SAFETY_PAGE).read_text(encoding="utf-8")
    shown = text.split("## Where the caution is shown")[1].split("\n## ")[0]
    assert [command for command in COMMANDS if f"`{command}`" not in shown] == []


def test_what_could_be_taken_for_advice_says_that_it_is_none():
    from sim.commands.ladder import SUGGESTION
    from sim.window_band import Band
    from sim.window_band_words import band_lines

    assert "A suggestion to discuss" in SUGGESTION
    assert "not a recommendation" in band_lines(Band(None, 75.0, {}, {}, 0.0))[-1]


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
