import numpy as np
import pytest
from scipy import stats

from sim.design import DESIGNS, design_of, grid_design, latin_hypercube_design, paired_design, sobol_design
from sim.errors import RampwalkError
from sim.scenario import Scenario, replace_by_name
from sim.spreads import Normal, OneOf, Triangular, Uniform, parse_spread

OVER = {"slope_deg": (-12.0, -4.0), "person.mass_kg": Normal(75.0, 12.0, 50.0, 110.0), "law": ["linear", "hydraulic"]}


def column(design, name):
    return np.array([cell[name] for cell in design.cells])


def test_a_mapping_is_the_full_grid():
    design = design_of({"slope_deg": [-4.0, -8.0], "flexion_resistance": [30.0, 60.0, 90.0]})
    assert design.kind == "grid"
    assert len(design.cells) == 6
    assert design.cells[1] == {"slope_deg": -4.0, "knee.flexion_resistance": 60.0}
    assert design_of(design) is design


def test_paired_lists_go_in_step():
    design = paired_design({"slope_deg": [-4, -4, -8], "mass_kg": [60.0, 70.0, 80.0]})
    assert design.cells == [
        {"slope_deg": -4.0, "person.mass_kg": 60.0},
        {"slope_deg": -4.0, "person.mass_kg": 70.0},
        {"slope_deg": -8.0, "person.mass_kg": 80.0},
    ]


def test_a_latin_hypercube_has_one_value_in_every_share():
    design = latin_hypercube_design({"slope_deg": (-12.0, -4.0), "person.mass_kg": (60.0, 90.0)}, 40, seed=3)
    for name, low, high in (("slope_deg", -12.0, -4.0), ("person.mass_kg", 60.0, 90.0)):
        shares = (column(design, name) - low) / (high - low)
        assert sorted(np.floor(40 * shares).astype(int)) == list(range(40))


def test_sobol_points_are_balanced_in_every_quarter():
    design = sobol_design({"slope_deg": (-12.0, -4.0), "person.mass_kg": (60.0, 90.0)}, 64, seed=3)
    quarters = np.stack([column(design, "slope_deg") < -8.0, column(design, "person.mass_kg") < 75.0], axis=1)
    _, counts = np.unique(quarters, axis=0, return_counts=True)
    assert counts.tolist() == [16, 16, 16, 16]


@pytest.mark.parametrize("make", [latin_hypercube_design, sobol_design])
def test_the_same_seed_gives_the_same_walks_and_another_does_not(make):
    first, again, other = make(OVER, 16, 1), make(OVER, 16, 1), make(OVER, 16, 2)
    assert first.cells == again.cells != other.cells
    assert first.kind in DESIGNS
    assert first.details["seed"] == 1


def test_values_follow_their_distributions_and_are_allowed():
    design = sobol_design(OVER, 1024, 5)
    mass = column(design, "person.mass_kg")
    expected = stats.truncnorm((50 - 75) / 12, (110 - 75) / 12, 75, 12)
    assert stats.kstest(mass, expected.cdf).statistic < 0.01
    assert np.mean(column(design, "knee.law") == "linear") == pytest.approx(0.5, abs=0.01)
    for cell in design.cells[:32]:
        replace_by_name(Scenario(), cell)


@pytest.mark.parametrize(
    ("ours", "reference"),
    [
        (Uniform(2.0, 5.0), stats.uniform(2.0, 3.0)),
        (Uniform(20.0, 300.0, log=True), stats.loguniform(20.0, 300.0)),
        (Triangular(1.0, 2.0, 5.0), stats.triang(0.25, 1.0, 4.0)),
        (Normal(3.0, 0.5), stats.norm(3.0, 0.5)),
    ],
)
def test_spreads_agree_with_the_distributions_of_that_name(ours, reference):
    for share in (0.05, 0.2, 0.25, 0.5, 0.9):
        assert ours.ppf(share) == pytest.approx(float(reference.ppf(share)), rel=1e-12)


def test_distributions_of_scipy_and_whole_settings_can_be_spread():
    design = latin_hypercube_design({"strides": stats.uniform(4, 8), "slope_deg": stats.norm(-8.0, 1.0)}, 20, 0)
    assert all(isinstance(value, int) and 4 <= value <= 12 for value in column(design, "strides").tolist())


def test_equal_shares_of_words():
    words = OneOf(("a", "b", "c"))
    assert [words.ppf(share) for share in (0.0, 0.32, 0.34, 0.99, 1.0)] == ["a", "a", "b", "c", "c"]


@pytest.mark.parametrize(
    ("text", "spread"),
    [
        ("-4:-12", Uniform(-12.0, -4.0)),
        ("20:300:log", Uniform(20.0, 300.0, log=True)),
        ("normal:75:12", Normal(75.0, 12.0)),
        ("normal:75:12:50:110", Normal(75.0, 12.0, 50.0, 110.0)),
        ("triangular:1:2:5", Triangular(1.0, 2.0, 5.0)),
        ("linear,hydraulic", OneOf(("linear", "hydraulic"))),
    ],
)
def test_spreads_written_as_text(text, spread):
    assert parse_spread("x", text) == spread


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1:2:3", "is not low:high"),
        ("normal:1", "'normal' where a number belongs"),
        ("normal:1:0", "standard deviation above 0"),
        ("1:1", "low end below"),
        ("0:2:log", "above 0"),
        ("triangular:3:2:5", "in this order"),
        ("a:2", "'a' where a number belongs"),
    ],
)
def test_what_is_not_a_spread_is_said_in_a_sentence(text, said):
    with pytest.raises(RampwalkError, match=said) as caught:
        parse_spread("--over mass_kg", text)
    assert "--over mass_kg" in str(caught.value)
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: paired_design({"slope_deg": [-4.0], "mass_kg": [60.0, 70.0]}), "equally many"),
        (lambda: paired_design({"slope_dg": [-4.0]}), "did you mean 'slope_deg'"),
        (lambda: paired_design({"slope_deg": [-40.0]}), "is outside"),
        (lambda: sobol_design({"slope_deg": (-8.0, -4.0)}, 100), "give 64 or 128"),
        (lambda: latin_hypercube_design({"slope_deg": (-8.0, -4.0)}, 0), "whole number of 1 to"),
        (lambda: latin_hypercube_design({"slope_deg": (-8.0, -4.0)}, 8, -1), "whole number of 0 or more"),
        (lambda: latin_hypercube_design({"slope_deg": (-80.0, -4.0)}, 8), "cut the spread of slope_deg"),
        (lambda: latin_hypercube_design({"slope_deg": -8.0}, 8), "is not a range"),
        (lambda: latin_hypercube_design({"mass_kg": (60.0, 80.0), "person.mass_kg": (60.0, 80.0)}, 8), "twice"),
        (lambda: grid_design({"person.mas_kg": [70.0]}), "did you mean 'person.mass_kg'"),
    ],
)
def test_a_design_that_cannot_be_is_refused_before_any_walk(make, said):
    with pytest.raises(RampwalkError, match=said):
        make()
