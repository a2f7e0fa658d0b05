import math

import pytest

from sim.parameters import SOURCES, Sourced, all_parameters, lengths_drillis1966, ours, segments_winter2009


def test_a_number_without_a_source_cannot_be_built():
    for source in ("", "  "):
        with pytest.raises(ValueError, match="needs a source"):
            Sourced(1.0, "kg", source, "seen")


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"unit": ""}, "needs a unit"),
        ({"how_known": "somebody said"}, "not one of"),
        ({"value": math.nan}, "finite"),
        ({"low": 2.0, "high": 3.0}, "outside its own band"),
        ({"low": -1.0, "high": 0.5}, "outside its own band"),
        ({"how_known": "ours"}, "needs the range"),
        ({"how_known": "ours", "low": 0.0}, "needs the range"),
    ],
)
def test_sourced_refuses(changes, why):
    with pytest.raises(ValueError, match=why):
        Sourced(**{"value": 1.0, "unit": "kg", "source": "a table", "how_known": "seen"} | changes)


@pytest.mark.parametrize("module", SOURCES, ids=lambda module: module.__name__)
def test_each_file_gives_a_fresh_set_and_says_what_it_does_not_claim(module):
    first, second = module.parameters(), module.parameters()
    assert first == second
    assert first is not second
    assert first
    assert all(isinstance(row, Sourced) for row in first.values())
    assert "Does not claim:" in module.__doc__
    if any(row.how_known == "from memory" for row in first.values()):
        assert any(word in module.__doc__.lower() for word in ("recalled", "conventional"))


def test_names_of_files_are_unique_and_all_are_listed():
    assert len(all_parameters()) == len(SOURCES)


def test_guesses_are_only_in_the_file_of_guesses():
    for name, rows in all_parameters().items():
        kinds = {row.how_known for row in rows.values()}
        assert ("ours" in kinds) == name.startswith("ours")
    assert all(row.source.startswith("ours") for row in ours.parameters().values())


def test_the_groups_of_guesses_do_not_overlap():
    groups = (ours.person(), ours.knee(), ours.contact(), ours.walk())
    assert len(ours.parameters()) == sum(len(group) for group in groups)


def test_segment_masses_close():
    """Closure of Dempster's table in Winter 2009, Table 4.1: head-arms-trunk and two legs are the whole body."""
    rows = segments_winter2009.parameters()
    leg = sum(rows[f"{part}_mass"].value for part in ("thigh", "shank", "foot"))
    assert leg == pytest.approx(0.161, abs=1e-12)  # total-leg row of the same table
    assert rows["head_arms_trunk_mass"].value + 2 * leg == pytest.approx(1.0, abs=1e-12)


def test_lengths_add_up_to_the_joint_heights():
    """Joint heights of Drillis and Contini 1966 in Winter 2009, Fig. 4.1: knee 0.285, hip 0.530, shoulder 0.818."""
    rows = {name: row.value for name, row in lengths_drillis1966.parameters().items()}
    knee = rows["ankle_height"] + rows["shank_length"]
    hip = knee + rows["thigh_length"]
    assert knee == pytest.approx(0.285)
    assert hip == pytest.approx(0.530)
    assert hip + rows["hip_to_shoulder"] == pytest.approx(0.818)
