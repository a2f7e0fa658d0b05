"""Publications behind a walk, and the citation file."""

import tomllib
from pathlib import Path

from sim import Scenario, __version__, replace_by_name
from sim.parameters import HOW_KNOWN, all_parameters
from sim.scenario import PUBLISHED_WALK_RATIO
from sim.sources import CONTACT_LAW, FORCE_SIGNALS, sources_of

ROOT = Path(__file__).parents[2]


def names(scenario, guesses=False):
    return {name for row in sources_of(scenario, guesses) for name in row.used_for}


def texts(scenario):
    return " | ".join(row.source for row in sources_of(scenario))


def test_every_source_is_one_of_the_parameters_or_a_named_law():
    known = {row.source for rows in all_parameters().values() for row in rows.values()}
    shank = all_parameters()["prosthesis_mass_hale1990"]["shank_mass"].source
    known |= {CONTACT_LAW, FORCE_SIGNALS, f"{shank}, less the recalled knee unit"}
    rows = sources_of(Scenario(), guesses=True)
    assert {row.source for row in rows} <= known
    assert all(row.how_known in HOW_KNOWN and row.used_for for row in rows)
    assert len({(row.source, row.how_known) for row in rows}) == len(rows)


def test_guesses_are_left_out_unless_asked_for():
    assert all(row.how_known != "ours" for row in sources_of(Scenario()))
    assert "slope_deg" not in names(Scenario())
    assert "slope_deg" in names(Scenario(), guesses=True)


def test_what_the_user_gave_is_not_credited_to_a_publication():
    scenario = Scenario()
    assert "foot.ankle_stiffness" in names(scenario)
    assert "foot.ankle_stiffness" not in names(replace_by_name(scenario, {"foot.ankle_stiffness": 300.0}))


def test_a_person_with_two_sound_legs_owes_nothing_to_prostheses():
    both = replace_by_name(Scenario(), {"person.limbs": "both-sound"})
    assert "Hale" in texts(Scenario())
    assert not any(word in texts(both) for word in ("Hale", "Sup F", "Biomed Hum Kinet"))
    assert "Winter" in texts(both)


def test_laws_and_pace_bring_their_sources():
    hydraulic = replace_by_name(Scenario(), {"knee.law": "hydraulic"})
    assert "orifice" in texts(hydraulic)
    assert "orifice" not in texts(Scenario())
    assert "Sekiya" in texts(Scenario(walk_ratio_m_min=PUBLISHED_WALK_RATIO))
    assert "Sekiya" not in texts(Scenario())
    assert "Sekiya" not in texts(Scenario(walk_ratio_m_min=0.006))


def test_citation_file_agrees_with_the_package():
    lines = dict(
        line.split(": ", 1) for line in (ROOT / "CITATION.cff").read_text("utf-8").splitlines() if ": " in line
    )
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert lines["version"] == __version__
    assert lines["license"] == project["license"]
    assert lines["  - name"] == project["authors"][0]["name"]
    assert lines["cff-version"] == "1.2.0"
