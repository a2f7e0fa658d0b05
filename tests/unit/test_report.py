"""The report: what it says follows from made-up walks, and it stays a harmless page whatever a scenario says."""

import argparse
import re
import shutil
import subprocess
import time
from dataclasses import replace

import pytest

from sim.band_file import band_path, write_band
from sim.caution import CAUTION
from sim.cli import main
from sim.commands.report import commands_of
from sim.pages.dial import place_of
from sim.pages.report import report_page, strip_picture
from sim.pages.report_words import change_cells, settings_text, short_words
from sim.report import WATCH, make_report, three_places, to_watch
from sim.scenario import Scenario, from_toml, replace_by_name, to_toml
from sim.window import HIGH, LOW, find_windows
from sim.window_band import find_band
from sim.window_criteria import CRITERIA, Criteria
from tests.unit.made_up_walks import FELL, GOOD, rate, stiff, walker
from tests.unit.test_hostile import NAMES, Tags

SHORT = Scenario(strides=1)


def report_of(scenario=SHORT, *changes, band=None, missing=""):
    return make_report(scenario, Criteria(), walker(*(changes or (rate, stiff(120.0)))), band, missing)


def page_of(report, said="rampwalk report --scenario x.toml"):
    return report_page(report, [said], said)


@pytest.fixture(autouse=True)
def plain_pictures(monkeypatch):
    """No drawing, which takes longest; one test draws."""
    monkeypatch.setattr("sim.pages.report.strip_picture", lambda _: b"<svg xmlns='http://www.w3.org/2000/svg'/>")


@pytest.fixture(scope="module")
def usual():
    return report_of()


@pytest.fixture(scope="module")
def banded():
    band = find_band(SHORT, 50.0, walker(rate, stiff(120.0)), 5)
    return report_of(band=band)


@pytest.fixture(scope="module")
def none():
    return report_of(SHORT, rate, lambda _: {"sound_step_time_s": 1.4 * SHORT.step_time})


# -------------------------------------------------------------------------------- what it says
def test_three_walks_lie_below_inside_and_above(usual, none):
    window = usual.window
    low, start, high = (result.scenario.knee.flexion_resistance for _, result in usual.walks)
    assert low < window.main.low < start < window.main.high < high
    assert start == window.first_trial
    places = [at for _, at in three_places(none.window, none.place)]
    assert places == sorted(places)
    assert none.place == none.window.nearest()[0]
    fallen = find_windows(SHORT, [{}], walker(lambda _: FELL))[0]
    assert three_places(fallen, None)[1][1] == SHORT.knee.flexion_resistance


def test_the_one_thing_to_watch_is_the_nearest_limit():
    assert set(WATCH) == set(CRITERIA)
    for name, column, value in (
        ("speed", "speed_m_s", 0.905 * SHORT.speed),
        ("mass_centre_behind", "prosthetic_com_ahead_at_other_landing_m", 0.01),
        ("knee_rate", "knee_loaded_peak_rate_deg_s", 189.0),
    ):
        window = find_windows(SHORT, [{}], walker(lambda _, c=column, v=value: {c: v}))[0]
        watch = to_watch(window, 60.0)
        assert watch.criterion == name
        assert 0.0 < watch.room < 0.06
    window = find_windows(SHORT, [{}], walker(lambda _: {"knee_loaded_peak_rate_deg_s": 380.0}))[0]
    assert to_watch(window, 60.0).room == pytest.approx(-1.0, abs=0.01)
    assert to_watch(find_windows(SHORT, [{}], walker(lambda _: FELL))[0], 60.0).criterion == "fall"


def test_the_page_says_what_was_found(usual):
    text = Tags(page_of(usual)).text
    start = usual.window.first_trial
    assert f"A first trial value is {start:.3g} N m s/rad" in text
    assert "Below 30 N m s/rad" in text
    assert "Above 120 N m s/rad" in text
    assert "the loaded knee bends too fast" in text
    assert "not a recommendation" in text
    assert text.count(CAUTION) == 2
    assert "No band has been made" in text
    for words in ("slope 2 deg less", "a hand on the rail", "75 kg with prosthesis", "--scenario x.toml"):
        assert words in text
    assert "narrow" not in text
    narrow = report_of(SHORT, rate, stiff(36.0))
    assert "The window is narrow" in Tags(page_of(narrow)).text


def test_without_a_window_nothing_is_suggested(none):
    text = Tags(page_of(none)).text
    assert "There is no first trial value to suggest" in text
    assert "A first trial value is" not in text
    assert "rhythm is uneven" in text


def test_falls_everywhere_are_told_not_raised():
    report = report_of(replace_by_name(SHORT, {"slope_deg": -20.0}), lambda _: FELL)
    text = Tags(page_of(report)).text
    assert "No walk was completed at any resistance" in text
    assert "nothing to compare" in text
    assert short_words(report)[1] == ""


def test_the_band_is_shown_when_it_is_there(banded, usual):
    page = page_of(banded)
    text = Tags(page).text
    assert "Of 5 virtual people on the same ramp, 5 can use the first trial value" in text
    assert "share of 5 virtual people" in text
    assert page.count("nobody</text>") == 1
    assert "nobody</text>" not in page_of(usual)
    told = Tags(page_of(report_of(missing="p.band.json was made with other settings; make it again."))).text
    assert "other settings" in told


def test_changes_are_told_in_words():
    row = {"change": "c", "outcome": "walked", "sound_peak_force_bw_difference": -0.1}
    row |= {"knee_loaded_peak_rate_deg_s_difference": 0.2, "positive_work_j_per_m_difference": 5.0}
    row |= {"least_margin_of_stability_m_difference": -0.01}
    cells = change_cells(row, GOOD)
    assert cells[-1] == "lighter landing, more effort, less margin"  # the knee rate hardly changes
    assert cells[1:5] == ["-0.10", "0", "+5.0", "-1.0"]
    assert "not completed (fell)" in change_cells({"change": "c", "outcome": "fell"}, GOOD)[-1]


def test_the_settings_shown_give_the_scenario_back(tmp_path):
    scenario = replace_by_name(SHORT, {"person.mass_kg": 90.0, "name": "A"})
    assert settings_text(scenario).splitlines() == ["strides = 1", "name = A", "person.mass_kg = 90.0"]
    assert settings_text(Scenario()) == ""
    file = tmp_path / "s.toml"
    file.write_text(to_toml(scenario), encoding="utf-8")
    assert from_toml(file) == scenario


# -------------------------------------------------------------------------------- the page itself
def test_headings_tables_and_pictures_can_be_read_aloud(banded):
    page = page_of(banded)
    levels = [int(level) for level in re.findall(r"<h(\d)", page)]
    assert levels[0] == 1
    assert set(levels[1:]) == {2}
    assert '<html lang="en">' in page
    ids = set(re.findall(r' id="([^"]+)"', page))
    for label in re.findall(r'aria-labelledby="([^"]+)"', page):
        assert label in ids
    for image in re.findall(r"<img[^>]*>", page):
        assert re.search(r'alt="[^"]{20,}"', image)
    for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        assert 'role="img"' in svg
        assert "<title" in svg
    for table in re.findall(r"<table>.*?</table>", page, re.DOTALL):
        assert "<caption>" in table
        assert 'scope="col"' in table
        assert 'scope="row"' in table
    assert page.count('tabindex="0" role="region" aria-label=') == page.count("<table>")


def luminance(color):
    digits = color.lstrip("#")
    digits = "".join(2 * digit for digit in digits) if len(digits) == 3 else digits
    parts = [int(digits[k : k + 2], 16) / 255.0 for k in (0, 2, 4)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_text_has_contrast(usual):
    """WCAG 2: at least 4.5 to 1 for text, on the darkest ground that the page has."""
    style = re.search(r"<style>(.*?)</style>", page_of(usual), re.DOTALL).group(1)
    texts = set(re.findall(r"[{; ]color: (#\w+)", style))
    grounds = set(re.findall(r"background: (#\w+)", style))
    assert len(texts) >= 2
    darkest = min(map(luminance, grounds))
    for color in texts:
        assert (darkest + 0.05) / (luminance(color) + 0.05) > 4.5


def test_nothing_is_loaded_run_or_too_large(banded, monkeypatch):
    monkeypatch.setattr("sim.pages.report.strip_picture", strip_picture)
    page = page_of(banded)
    assert "default-src 'none'" in page
    assert "script" not in page
    for address in re.findall(r"[a-z]+://[^\"' <]+", page):
        assert address.startswith("http://www.w3.org/")  # names of kinds, never fetched
    assert not re.search(r"url\((?!#)", page)
    assert 50_000 < len(page) < 1_500_000  # with its pictures


@pytest.mark.parametrize("said", NAMES)
def test_every_text_stays_a_text(usual, said):
    def made(name):
        return Tags(page_of(replace(usual, scenario=replace_by_name(SHORT, {"name": name}), band_missing=name), name))

    hostile, plain = made(said), made("plain")
    assert hostile.tags == plain.tags
    assert not {"script", "iframe", "object"} & set(hostile.tags)
    assert not [name for name in hostile.attributes if name.startswith("on")]
    assert hostile.text.count(said) >= 4  # title, heading, settings, command


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("chromium") is None, reason="needs a browser: apt-get install chromium")
def test_a_browser_prints_it_and_runs_nothing(tmp_path):
    scenario = replace_by_name(SHORT, {"name": NAMES[1]})
    target = tmp_path / "report.html"
    target.write_text(page_of(report_of(scenario), NAMES[0]), encoding="utf-8")
    run = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}"]
    done = subprocess.run(
        [*run, "--dump-dom", target.as_uri()], capture_output=True, text=True, check=True, timeout=120
    )
    assert "<title>Flexion" in done.stdout
    assert "<script" not in done.stdout
    subprocess.run([*run, f"--print-to-pdf={tmp_path / 'p.pdf'}", target.as_uri()], check=True, timeout=120)
    pages = len(re.findall(rb"/Type\s*/Page\b", (tmp_path / "p.pdf").read_bytes()))
    assert 1 <= pages <= 4


def test_the_dial_is_even_by_ratio():
    assert place_of(LOW) < place_of(20.0) < place_of(HIGH)
    assert place_of(40.0) - place_of(20.0) == pytest.approx(place_of(80.0) - place_of(40.0))
    assert place_of(1.0) == place_of(LOW)


# -------------------------------------------------------------------------------- command
@pytest.fixture
def person(tmp_path):
    file = tmp_path / "a person.toml"
    file.write_text(to_toml(SHORT), encoding="utf-8")
    return file


def test_the_command_writes_the_page_with_its_band(tmp_path, person, capsys, monkeypatch):
    monkeypatch.setattr("sim.window_study.walk_in_memory", lambda *_: walker(rate, stiff(120.0)))
    target = tmp_path / "report.html"
    given = ["report", "--scenario", str(person), "--out", str(target), "--workers", "1"]
    assert main(given) == 0
    said = capsys.readouterr().out
    assert "not a recommendation" in " ".join(said.split())
    assert CAUTION in said
    page = target.read_text(encoding="utf-8")
    assert "rampwalk report --scenario &#x27;a person.toml&#x27; --out report.html" in page
    assert str(tmp_path) not in page
    assert main(given) == 2
    assert "exists" in capsys.readouterr().err
    band = find_band(SHORT, 50.0, walker(rate, stiff(120.0)), 4)
    write_band(band_path(person), band, SHORT, Criteria())
    assert main([*given, "--force"]) == 0
    assert "Of 4 virtual people" in target.read_text(encoding="utf-8")
    assert main([*given, "--force", "--slope-deg=-7"]) == 0
    assert "other settings" in target.read_text(encoding="utf-8")


def test_the_commands_that_repeat_it_are_whole():
    names = dict.fromkeys(
        ("slope_deg", "step_length_m", "knee.flexion_resistance", "knee.law", "speed_m_s", "person.mass_kg",
         "person.stature_m", "person.limbs", "strides", "prosthetic_step_length_m", "sound_step_length_m",
         "prosthetic_step_time_s", "sound_step_time_s")
    )
    options = argparse.Namespace(scenario="/home/someone/p.toml", **names)
    vars(options)["slope_deg"] = "-7"
    band, again = commands_of(options, with_band=True)
    assert again == "rampwalk report --scenario p.toml --slope-deg=-7 --out report.html"
    assert band.endswith("--slope-deg=-7 --band 20")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--out", "report.txt"], "must end in .html"),
        (["--out", "nowhere/report.html"], "make the folder first"),
        (["--scenario", "absent.toml"], "no such file"),
        (["--limbs", "both-sound"], "no prosthetic knee"),
        (["--workers", "0"], "--workers"),
    ],
)
def test_bad_input_is_one_sentence(tmp_path, person, capsys, monkeypatch, more, said):
    monkeypatch.chdir(tmp_path)
    assert main(["report", "--scenario", str(person), *more]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_a_scenario_is_asked_for(capsys):
    assert main(["report"]) == 2
    assert "--scenario is missing" in capsys.readouterr().err


@pytest.mark.slow
def test_a_real_report_is_fast_enough(tmp_path, person):
    begun = time.perf_counter()
    assert main(["report", "--scenario", str(person), "--out", str(tmp_path / "r.html"), "--workers", "2"]) == 0
    assert time.perf_counter() - begun < 40.0
