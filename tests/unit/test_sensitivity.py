import json

import numpy as np
import pandas as pd
import pytest

from experiments.sensitivity import run as experiment
from sim.cli import main
from sim.errors import RampwalkError
from sim.grid import known_settings
from sim.influences import Influence, default_influences, share_of
from sim.plots.sensitivity import sensitivity_figure
from sim.scenario import Scenario, replace_by_name
from sim.sensitivity import NOT_COMPLETED, OUTCOMES, RESAMPLES, strongest, study
from sim.spreads import Normal, OneOf, Uniform
from sim.sweep import fill
from sim.table import setting_values
from tests.unit.stand_ins import quick_row

PEAK = OUTCOMES[0]
INFLUENCES = {
    "slope_deg": Influence("slope_deg", Uniform(-10.0, -6.0)),
    "person.mass_kg": Influence("person.mass_kg", Uniform(65.0, 85.0)),
    "step_length_m": Influence("step_length_m", Uniform(0.4, 0.6)),
}


def stand_in(value, fallen=lambda _: False):
    """Walk function with a known answer; every walk that it is asked for is noted."""

    def walk(cells):
        walk.made += list(cells)
        full = [{"slope_deg": -8.0, "person.mass_kg": 75.0, "step_length_m": 0.5} | cell for cell in cells]
        table = pd.DataFrame({name: [value(cell) for cell in full] for name in OUTCOMES})
        return table.assign(outcome=["fell" if fallen(cell) else "walked" for cell in full])

    walk.made = []
    return walk


def unit(cell):
    """The three settings as -1 to 1."""
    return (cell["slope_deg"] + 8.0) / 2.0, (cell["person.mass_kg"] - 75.0) / 10.0, (cell["step_length_m"] - 0.5) / 0.1


def index(found, outcome, setting, kind="total"):
    rows = found.indices[(found.indices["outcome"] == outcome) & (found.indices["setting"] == setting)]
    return float(rows[kind].iloc[0])


# -------------------------------------------------------------------------------- known answers
def test_indices_of_a_sum_are_the_shares_of_its_variance():
    found = study(Scenario(), INFLUENCES, 1024, 0, stand_in(lambda cell: 3.0 * unit(cell)[0] + 1.0 * unit(cell)[1]))
    for setting, share in (("slope_deg", 0.9), ("person.mass_kg", 0.1), ("step_length_m", 0.0)):
        for kind in ("first", "total"):
            assert index(found, PEAK, setting, kind) == pytest.approx(share, abs=0.02)
            low, high = (index(found, PEAK, setting, f"{kind}_{end}") for end in ("low", "high"))
            assert low - 0.005 <= share <= high + 0.005
            assert high - low < 0.2
    assert (found.part, found.completed) == (1.0, 1.0)
    assert strongest(found, PEAK)["setting"].tolist() == ["slope_deg", "person.mass_kg", "step_length_m"]
    assert np.isnan(index(found, NOT_COMPLETED, "slope_deg"))  # it does not vary


def test_a_product_is_seen_in_the_total_and_not_in_the_first_index():
    found = study(Scenario(), INFLUENCES, 1024, 0, stand_in(lambda cell: unit(cell)[0] * unit(cell)[1]))
    for setting in ("slope_deg", "person.mass_kg"):
        assert index(found, PEAK, setting, "first") == pytest.approx(0.0, abs=0.05)
        assert index(found, PEAK, setting, "total") == pytest.approx(1.0, abs=0.1)


def test_the_interval_is_narrower_with_more_walks():
    widths = []
    for count in (64, 1024):
        found = study(Scenario(), INFLUENCES, count, 0, stand_in(lambda cell: sum(unit(cell))))
        widths.append(index(found, PEAK, "slope_deg", "total_high") - index(found, PEAK, "slope_deg", "total_low"))
    assert widths[1] < 0.5 * widths[0]


def test_the_same_seed_gives_the_same_numbers():
    walk = stand_in(lambda cell: sum(unit(cell)))
    first, again, other = (study(Scenario(), INFLUENCES, 32, seed, walk) for seed in (1, 1, 2))
    pd.testing.assert_frame_equal(first.indices, again.indices, check_exact=True)
    assert not first.indices.equals(other.indices)
    assert RESAMPLES >= 500


# -------------------------------------------------------------------------------- where walks fall
def test_where_walks_fall_forces_are_taken_over_a_part_in_which_all_walk():
    walk = stand_in(lambda cell: sum(unit(cell)), fallen=lambda cell: unit(cell)[0] < -0.6)
    found = study(Scenario(), INFLUENCES, 128, 0, walk)
    assert found.part == 0.5
    assert found.completed == pytest.approx(0.8, abs=0.03)
    assert index(found, NOT_COMPLETED, "slope_deg") == pytest.approx(1.0, abs=0.1)
    assert index(found, NOT_COMPLETED, "person.mass_kg") == pytest.approx(0.0, abs=0.01)
    assert index(found, PEAK, "slope_deg", "range_low") == pytest.approx(-9.0)
    assert index(found, PEAK, "slope_deg", "range_high") == pytest.approx(-7.0)
    assert index(found, PEAK, "slope_deg", "part") == 0.5
    inside = walk.made[-int(index(found, PEAK, "slope_deg", "walks")) :]
    assert all(-9.0 <= cell["slope_deg"] <= -7.0 for cell in inside)
    assert len(inside) == 128 * 5
    row = found.tornado.set_index("setting").loc["slope_deg"]
    assert row["outcome_low"] == "fell"
    assert np.isnan(row[f"{PEAK}_low"])
    assert row[f"{PEAK}_high"] == pytest.approx(1.0)


def test_without_any_part_in_which_all_walk_only_falls_have_indices():
    found = study(Scenario(), INFLUENCES, 64, 0, stand_in(lambda _: 1.0, fallen=lambda c: c != walked(c)))
    assert found.part is None
    assert set(found.indices["outcome"]) == {NOT_COMPLETED}
    assert sensitivity_figure(found.indices, found.tornado, PEAK).axes


def walked(cell):
    return cell if unit(cell) == pytest.approx((0, 0, 0)) else None


def test_a_base_walk_that_falls_is_one_sentence():
    with pytest.raises(RampwalkError, match="fell: choose another slope"):
        study(Scenario(), INFLUENCES, 64, 0, stand_in(lambda _: 1.0, fallen=lambda _: True))
    with pytest.raises(RampwalkError, match="power of two"):
        study(Scenario(), INFLUENCES, 100, 0, stand_in(lambda _: 1.0))


# -------------------------------------------------------------------------------- ranges
def test_every_default_range_is_allowed_has_a_source_and_holds_the_base_walk():
    base, known = Scenario(), known_settings()
    values = setting_values(base) | {"cadence_steps_per_min": 60.0 / base.step_time}
    for name, influence in default_influences().items():
        low, high = influence.ends
        assert known[name].low <= low < high <= known[name].high
        assert low <= values[name] <= high, name
        assert len(influence.source) > 10
        for end in (low, high):
            replace_by_name(base, {name: end})


def test_share_of_a_value():
    assert share_of(Influence("x", Uniform(20.0, 80.0)), 35.0) == pytest.approx(0.25)
    assert share_of(Influence("x", Normal(5.0, 1.0)), 5.0) == pytest.approx(0.5)
    assert Influence("x", OneOf(("a", "b"))).ends == ("a", "b")
    assert Influence("x", Normal(5.0, 1.0)).ends == pytest.approx((3.355, 6.645), abs=1e-3)


# -------------------------------------------------------------------------------- the command
def test_the_command_writes_tables_figure_and_goes_on(tmp_path, capsys):
    command = ["sensitivity", "--strides", "1", "--slope-deg=-5", "--workers", "1", "--samples", "8"]
    command += ["--out", str(tmp_path), "--over", "step_length_m=0.48:0.52", "--over", "person.mass_kg=70:80"]
    assert main(command) == 0
    out = capsys.readouterr().out
    assert "total indices with 95 % intervals" in out
    indices = pd.read_csv(tmp_path / "indices.csv")
    assert set(indices["setting"]) == {"step_length_m", "person.mass_kg"}
    assert len(pd.read_csv(tmp_path / "tornado.csv")) == 2
    about = json.loads((tmp_path / "about.json").read_text())
    assert about["samples"] == 8
    assert about["ranges"]["step_length_m"]["spread"] == "0.48:0.52"
    before = (tmp_path / "rows.csv").read_bytes()
    assert main(command) == 0
    assert (tmp_path / "rows.csv").read_bytes() == before
    assert {"sensitivity.png", "sensitivity.svg"} <= {path.name for path in tmp_path.iterdir()}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--over", "mass_kg=60:80"], "two settings or more"),
        (["--over", "mass_kg=60:80:5", "--over", "stature_m=1.6:1.8"], "is not low:high"),
        (["--samples", "50", "--over", "mass_kg=60:80", "--over", "stature_m=1.6:1.8"], "power of two"),
        (["--samples", "x"], "not a whole number"),
    ],
)
def test_bad_input_is_one_sentence(tmp_path, capsys, arguments, said):
    assert main(["sensitivity", *arguments, "--workers", "1", "--out", str(tmp_path)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


# -------------------------------------------------------------------------------- the experiment
def test_the_experiment_writes_its_answer_between_the_marks(tmp_path, monkeypatch, capsys):
    few = {name: default_influences()[name] for name in ("knee.flexion_resistance", "person.mass_kg", "step_length_m")}
    monkeypatch.setattr(experiment, "default_influences", lambda: few)
    monkeypatch.setattr("sim.sweep.fill", lambda *given: fill(*given, make=quick_row))  # peak from the step length
    page = tmp_path / "README.md"
    page.write_text(f"before\n{experiment.BEGIN}\nold\n{experiment.END}\nafter\n")
    out = tmp_path / "out"
    experiment.main(["64", "--workers", "1", "--out", str(out), "--page", str(page)])
    text = (out / "answer.md").read_text()
    assert text.strip() in page.read_text()
    assert "old" not in page.read_text()
    assert page.read_text().startswith("before\n")
    assert page.read_text().endswith("after\n")
    first = next(line for line in text.splitlines() if line.startswith("1. "))
    assert "`step_length_m`" in first
    assert "95 % interval" in first
    assert "walks," in capsys.readouterr().out
    page.write_text(f"{experiment.BEGIN}\n{experiment.END}\n")
    experiment.main(["--insert", str(out / "answer.md"), "--page", str(page)])
    assert text.strip() in page.read_text()


def test_the_page_of_the_experiment_has_its_marks():
    page = experiment.PAGE.read_text()
    assert page.count(experiment.BEGIN) == page.count(experiment.END) == 1
