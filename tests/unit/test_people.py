"""The invented people: readable, different, and a note made from made-up walks says what these say."""

from pathlib import Path

import pytest

from experiments.people import run
from sim.plain_words import person_words, ramp_words, steps_words
from sim.scenario import Scenario, from_toml, replace_by_name
from sim.window import RESISTANCE
from sim.window_study import STUDY_COLUMNS
from tests.unit.made_up_walks import FELL, GOOD, rate, walker

FILES = sorted(Path(run.__file__).parent.glob("*.toml"))


def test_at_least_five_people_who_differ():
    people = {path.stem: from_toml(path) for path in FILES}
    assert len(people) >= 5
    assert len({scenario.name for scenario in people.values()}) == len(people)
    mass = {name: scenario.person.mass_kg for name, scenario in people.items()}
    residual = {name: scenario.person.residual_limb_fraction for name, scenario in people.items()}
    assert mass["light_elderly"] < 0.8 * Scenario().person.mass_kg
    assert mass["heavy"] > 1.3 * Scenario().person.mass_kg
    assert people["light_elderly"].mean_step_length < 0.42
    assert residual["short_residual_limb"] < 0.6
    assert residual["long_residual_limb"] > 0.9
    assert people["fast_young"].speed > 0.9


def test_the_page_in_the_repository_has_everyone():
    page = run.PAGE.read_text(encoding="utf-8")
    for path in FILES:
        assert f"`{path.name}`" in page
        assert page.count(from_toml(path).name) >= 1


def test_a_note_says_what_the_walks_say():
    heavier = replace_by_name(Scenario(), {"person.mass_kg": 100.0})
    usual, own = (run.found_for(base, walker(rate)) for base in (Scenario(), heavier))
    said = "\n".join(run.note("somebody", "somebody.toml", own, usual[0]))
    assert "Window 30 to 500 N m s/rad" in said
    assert "the loaded knee bends too fast" in said
    start = own[0].first_trial
    assert f"{100.0 * (1.0 - 75.0 / 100.0):.0f} % less" in said  # the same resistance on more kg
    assert f"First trial value {start:.3g}" in said
    assert "1. " in said


def test_a_note_without_a_window_says_so():
    found = run.found_for(Scenario(), walker(lambda _: FELL))
    said = "\n".join(run.note("nobody", "nobody.toml", found, found[0]))
    assert "No window" in said
    assert "First trial" not in said
    assert "none" in run.table_line("nobody", found[0])


def test_the_made_up_walks_have_the_columns_of_a_study():
    assert set(STUDY_COLUMNS) == set(GOOD)
    assert walker(rate)([{RESISTANCE: 60.0}])[0]["knee_loaded_peak_rate_deg_s"] == pytest.approx(95.0)


@pytest.mark.parametrize("slope", [-8.0, 0.0, 4.0])
def test_a_scenario_in_plain_words(slope):
    scenario = replace_by_name(Scenario(), {"slope_deg": slope, "sound_step_length_m": 0.45})
    assert ramp_words(scenario) == {
        -8.0: "A ramp 8 degrees down, 1 in 7.1.", 0.0: "Level ground.", 4.0: "A ramp 4 degrees up, 1 in 14.3."
    }[slope]
    assert "50 cm (prosthetic foot) and 45 cm (sound foot)" in steps_words(scenario)
    assert "90 steps a minute, 0.71 m/s" in steps_words(scenario)
    assert person_words(scenario).startswith("75 kg with prosthesis, 1.75 m tall")
    both = replace_by_name(scenario, {"person.limbs": "both-sound"})
    assert person_words(both).endswith("two sound legs.")
