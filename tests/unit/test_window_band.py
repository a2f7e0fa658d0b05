"""The band of a window by made-up walks, and its file."""

import argparse
import json

import pytest

from sim import band_file
from sim.band_file import band_path, read_band, write_band
from sim.caution import CAUTION
from sim.cli import main
from sim.commands import window as command
from sim.errors import RampwalkError
from sim.scenario import Scenario, replace_by_name, to_toml
from sim.window import RESISTANCE, find_windows
from sim.window_band import (
    Member,
    find_band,
    members_of,
    model_spreads,
    people_spreads,
    scaled_steps,
)
from sim.window_band_words import band_lines, shares_over, spread_of_ends, users_of
from sim.window_criteria import Criteria
from tests.unit.made_up_walks import FELL, GOOD, rate, stiff, walker

BASE = Scenario()


def by_mass(cells):
    """Windows from 0.4 to 1.6 N m s/rad per kg, whatever else; a soft sound foot falls."""
    rows = []
    for cell in cells:
        mass = cell.get("person.mass_kg", 75.0)
        if cell.get("contact.sound_stiffness_bw_per_leg_length", 43.0) < 40.0:
            rows.append(FELL)
            continue
        scaled = cell[RESISTANCE] * 75.0 / mass
        rows.append(GOOD | rate(scaled) | stiff(120.0)(scaled))
    return rows


def test_members_differ_in_what_they_should_and_every_range_has_a_source():
    for group, spreads in (("people", people_spreads(BASE)), ("model", model_spreads())):
        found, refused = members_of(BASE, group, 12)
        assert len(found) + refused == 12
        assert len({json.dumps(cell) for cell in found}) == len(found)
        for name, each in spreads.items():
            assert len(each.source) > 10
            low, high = each.ends
            values = [cell[name] for cell in found]
            assert low <= min(values) < max(values) <= high
            assert max(values) - min(values) > 0.6 * (high - low)
    assert members_of(BASE, "people", 12) == members_of(BASE, "people", 12)
    assert members_of(BASE, "people", 12) != members_of(BASE, "people", 12, seed=2)


@pytest.mark.parametrize(
    "given",
    [{}, {"speed_m_s": 0.8}, {"sound_step_length_m": 0.45}, {"sound_step_time_s": 0.6, "prosthetic_step_time_s": 0.7}],
)
def test_steps_stay_the_same_share_of_the_leg(given):
    base = Scenario(**given)
    cell = {"person.stature_m": 1.55}
    after = replace_by_name(base, {**cell, **scaled_steps(base, cell)})
    ratio = after.person.leg_length / base.person.leg_length
    assert [a / b for a, b in zip(after.step_lengths, base.step_lengths, strict=True)] == pytest.approx([ratio, ratio])
    assert after.speed / base.speed == pytest.approx(ratio**0.5)  # Froude number kept
    assert scaled_steps(base, {"person.mass_kg": 60.0}) == {}


def test_the_band_counts_who_can_use_the_start():
    band = find_band(BASE, 60.0, by_mass, 10)
    people = band.groups["people"]
    for member in people:
        (piece,) = member.pieces
        assert piece == pytest.approx((0.4 * member.mass, 1.6 * member.mass), rel=0.01)
    assert users_of(people, 60.0) == sum(0.4 * m.mass <= 60.0 <= 1.6 * m.mass for m in people)
    assert users_of(people, 60.0, 75.0) == 10  # the same per kg is inside everyone's
    assert users_of(people, 25.0) < users_of(people, 60.0)
    low, median, high = spread_of_ends(people)["lower"]
    assert low < median < high
    model = band.groups["model"]
    soft = sum(m.settings["contact.sound_stiffness_bw_per_leg_length"] < 40.0 for m in model)
    assert 0 < soft < 10
    assert sum(not m.pieces for m in model) == soft
    assert users_of(model, 60.0) == 10 - soft
    said = "\n".join(band_lines(band))
    assert f"Of 10 draws of what the model guesses, for this person, {10 - soft} have a window" in said
    assert "10 of 10 the same per kg" in said
    assert "A first trial value is only that" in said
    shares = dict(shares_over(model))
    assert max(shares.values()) == pytest.approx((10 - soft) / 10)
    assert min(shares.values()) == 0.0


def test_a_member_with_two_parts_can_use_what_is_in_either():
    member = Member({}, 70.0, ((20.0, 30.0), (50.0, 100.0)))
    assert [member.can_use(at) for at in (19.0, 20.0, 40.0, 60.0, None)] == [False, True, False, True, False]
    assert member.main == (50.0, 100.0)


def test_a_coarse_search_finds_the_same_ends():
    coarse = find_windows(BASE, [{}], walker(rate, stiff(120.0)), thorough=False)[0]
    assert (coarse.main.low, coarse.main.high) == pytest.approx((30.0, 120.0), rel=0.006)


def test_without_a_start_nobody_can_use_it():
    band = find_band(BASE, None, by_mass, 3)
    assert users_of(band.groups["people"], band.start) == 0
    assert "no first trial value" in "\n".join(band_lines(band))


@pytest.mark.parametrize("count", [2, 501, 1])
def test_the_size_is_checked(count):
    with pytest.raises(RampwalkError, match="outside 3 to 500"):
        members_of(BASE, "people", count)


# -------------------------------------------------------------------------------- file
@pytest.fixture
def band():
    return find_band(BASE, 60.0, by_mass, 4)


def test_a_band_comes_back_as_it_was_and_only_for_its_scenario(tmp_path, band, monkeypatch):
    path = band_path(tmp_path / "person.toml")
    assert path.name == "person.band.json"
    assert read_band(path, BASE, Criteria()) == (None, "")
    write_band(path, band, BASE, Criteria())
    assert read_band(path, BASE, Criteria()) == (band, "")
    assert json.loads(path.read_text())["caution"] == CAUTION
    assert len(json.loads(path.read_text())["varied"]["people"]["person.mass_kg"]["source"]) > 10
    other = replace_by_name(BASE, {RESISTANCE: 60.0, "name": "Somebody"})
    assert read_band(path, other, Criteria())[0] == band  # neither changes the windows
    steeper = replace_by_name(BASE, {"slope_deg": -9.0})
    for scenario, criteria, why in (
        (steeper, Criteria(), "other settings"),
        (BASE, Criteria(sound_peak_share=0.2), "other criteria"),
    ):
        found, said = read_band(path, scenario, criteria)
        assert found is None
        assert why in said
    monkeypatch.setattr(band_file, "code_version", lambda: "other")
    assert "other code" in read_band(path, BASE, Criteria())[1]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda _: "",
        lambda _: "[]",
        lambda _: "[" * 100_000,
        lambda data: json.dumps(data | {"groups": {"people": []}}),
        lambda data: json.dumps(data | {"groups": 3}),
        lambda data: json.dumps(data | {"start": "<script>"}),
        lambda data: json.dumps(data | {"mass": -1}),
        lambda data: json.dumps(data | {"seconds": True}),
        lambda data: json.dumps(data | {"refused": {}}),
    ],
)
def test_a_spoilt_file_is_left_out_and_told(tmp_path, band, spoil):
    path = tmp_path / "person.band.json"
    write_band(path, band, BASE, Criteria())
    path.write_text(spoil(json.loads(path.read_text())), encoding="utf-8")
    found, said = read_band(path, BASE, Criteria())
    assert found is None
    assert "cannot be read as a band" in said


# -------------------------------------------------------------------------------- command
@pytest.mark.parametrize(
    ("given", "said"),
    [("x", "not a number"), ("2", "outside 3 to 500"), ("4.5", "not a whole number"), ("1e9", "outside 3 to 500")],
)
def test_bad_sizes_are_one_sentence(tmp_path, capsys, given, said):
    assert main(["window", "--band", given, "--out", str(tmp_path)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_a_band_is_kept_beside_its_own_scenario_only(tmp_path):
    from sim.commands.band_option import band_from
    from sim.commands.scenario_options import scenario_from

    file = tmp_path / "person.toml"
    file.write_text(to_toml(BASE), encoding="utf-8")
    for more, name in (
        ([], "person.band.json"),
        (["--flexion-resistance", "55"], "person.band.json"),
        (["--slope-deg=-7"], "out/window.band.json"),
    ):
        parser = argparse.ArgumentParser()
        command.add_parser(parser.add_subparsers())
        given = ["window", "--scenario", str(file), "--band", "3", "--out", str(tmp_path / "out"), *more]
        options = parser.parse_args(given)
        wish = band_from(options, scenario_from(options))
        assert wish.members == 3
        assert wish.path == tmp_path / name
