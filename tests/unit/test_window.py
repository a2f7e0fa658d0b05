"""Windows of walks that are made up, so that the answer is known and the gait may change."""

import json
import math

import numpy as np
import pandas as pd
import pytest

from sim.cli import main
from sim.commands import window as command
from sim.errors import RampwalkError
from sim.law.knee import knee_torque
from sim.pack import pack_settings
from sim.plots.window import window_figure
from sim.scenario import replace_by_name
from sim.settings import described
from sim.sweep import fill
from sim.table import input_row, row_key
from sim.window import RESISTANCE, find_windows, grid_of
from sim.window_criteria import BESTS, COLUMNS, CRITERIA, Criteria, excess_of, wanted_yield_deg
from sim.window_help import HELP_COLUMNS, Change, help_lines, ranked, single_changes
from sim.window_words import bend_rate, in_words, seconds_to_bend, table_row, window_lines
from tests.unit.made_up_walks import BASE, BASE_CELL, FELL, GOOD, STALLED, rate, stiff, walker


def only(walk, **options):
    return find_windows(BASE, [{}], walk, **options)[0]


# -------------------------------------------------------------------------------- ends and who closes them
def test_both_ends_are_found_and_named():
    found = only(walker(rate, stiff(120.0)))
    (piece,) = found.pieces
    assert piece.low == pytest.approx(30.0, rel=0.003)
    assert piece.high == pytest.approx(120.0, rel=0.003)
    assert (piece.closed_low, piece.closed_high) == (("knee_rate",), ("knee_hardly_bends",))
    own = {limit.criterion: limit for limit in found.limits}
    assert set(own) == {"fall", "knee_rate", "knee_hardly_bends"}
    assert own["fall"].value == pytest.approx(20.0, rel=0.003)
    assert own["fall"].kept > own["fall"].broken
    assert own["knee_hardly_bends"].kept < own["knee_hardly_bends"].broken


def test_limits_do_not_depend_on_the_grid():
    for count in (9, 14, 23):
        found = only(walker(rate, stiff(120.0)), count=count, low=6.0 + count / 10, high=480.0 + count)
        (piece,) = found.pieces
        assert (piece.low, piece.high) == pytest.approx((30.0, 120.0), rel=0.005)


def test_a_limit_against_the_best_value_uses_the_least_over_the_walks():
    def peak(resistance):  # 1.0 at 60, the share of 10 % reached where |ln| is sqrt(0.1)
        return {"sound_peak_force_bw": 1.0 + math.log(resistance / 60.0) ** 2}

    found = only(walker(peak))
    assert found.best[BESTS[0]] == pytest.approx(1.0, abs=0.002)
    (piece,) = found.pieces
    reach = math.exp(math.sqrt(0.1))
    assert (piece.low, piece.high) == pytest.approx((60.0 / reach, 60.0 * reach), rel=0.02)
    assert piece.closed_low == piece.closed_high == ("sound_peak",)


def test_a_window_that_splits_is_reported_in_parts():
    def hump(resistance):
        return {"speed_m_s": 0.8 * BASE.speed} if 60.0 < resistance < 90.0 else {}

    found = only(walker(rate, stiff(300.0), hump))
    assert [(p.low, p.high) for p in found.pieces] == [
        pytest.approx((30.0, 60.0), rel=0.005),
        pytest.approx((90.0, 300.0), rel=0.005),
    ]
    assert found.main == found.pieces[1]
    assert found.pieces[0].closed_high == found.pieces[1].closed_low == ("speed",)
    assert 90.0 < found.first_trial < 300.0
    assert any("splits into 2 parts" in line for line in window_lines(found))


def test_a_second_crossing_close_to_an_end_is_found():
    """Broken again from 31 to 31.7, narrower than any grid, beside an end at 30."""

    def notch(resistance):
        return {"speed_m_s": 0.8 * BASE.speed} if 31.0 < resistance < 31.7 else {}

    for count in (14, 17, 23):
        found = only(walker(rate, notch, stiff(120.0)), count=count)
        assert found.main.low == pytest.approx(31.7, rel=0.006)
        assert found.main.closed_low == ("speed",)


def test_without_a_window_the_criterion_that_is_always_broken_is_named():
    found = only(walker(rate, lambda _: {"sound_step_time_s": 1.4 * BASE.step_time}))
    assert found.pieces == ()
    assert found.first_trial is None
    assert set(found.always_broken()) == {"step_time", "rhythm"}
    text = "\n".join(window_lines(found))
    assert "There is no window" in text
    assert "rhythm is uneven" in text
    assert found.nearest()[1] == ("step_time", "rhythm")
    crossed = only(walker(rate, stiff(25.0)))
    at, names = crossed.nearest()  # above 30 only the bend is too small, below 25 only the rate too high
    assert names == (("knee_hardly_bends",) if at > 30.0 else ("knee_rate",))
    assert 24.0 < at < 31.0
    assert crossed.pieces == ()
    assert any("too low for one is too high for another" in line for line in window_lines(crossed))


def test_a_window_open_at_an_end_says_so():
    found = only(walker(rate))
    (piece,) = found.pieces
    assert (piece.high, piece.closed_high) == (500.0, ())
    assert any("no criterion closes this end" in line for line in window_lines(found))


def test_all_walks_that_fall_or_stall_are_no_window():
    for row, name in ((FELL, "fall"), (STALLED, "stall")):
        found = only(walker(lambda _, row=row: row))
        assert found.pieces == ()
        assert found.always_broken() == [name]


def test_several_windows_are_made_together_and_as_alone():
    rounds = []

    def walk(cells):
        rounds.append(len(cells))
        return [GOOD | rate(cell[RESISTANCE] * 75.0 / cell.get("person.mass_kg", 75.0)) for cell in cells]

    both = find_windows(BASE, [{}, {"person.mass_kg": 90.0}], walk)
    assert both[0].pieces[0].low == pytest.approx(30.0, rel=0.003)
    assert both[1].pieces[0].low == pytest.approx(36.0, rel=0.006)
    assert rounds[0] == 17 + 11
    assert sum(rounds) < 100


# -------------------------------------------------------------------------------- criteria
@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("fall", {"outcome": "fell"}),
        ("stall", {"outcome": "stalled"}),
        ("no_result", {"outcome": "crashed"}),
        ("knee_rate", {"knee_loaded_peak_rate_deg_s": 191.0}),
        ("sound_peak", {"sound_peak_force_bw": 1.11}),
        ("loading_rate", {"sound_loading_rate_bw_s": 46.0}),
        ("knee_hardly_bends", {"knee_loaded_peak_flexion_deg": 5.0}),
        ("mass_centre_behind", {"prosthetic_com_ahead_at_other_landing_m": -0.01}),
        ("speed", {"speed_m_s": 0.89 * BASE.speed}),
        ("step_time", {"sound_step_time_s": 1.11 * BASE.step_time, "prosthetic_step_time_s": 1.11 * BASE.step_time}),
        ("rhythm", {"sound_step_time_s": 1.13 * BASE.step_time, "prosthetic_step_time_s": 0.87 * BASE.step_time}),
        ("hip_effort", {"prosthetic_hip_work_in_j_per_m": 51.0}),
    ],
)
def test_every_criterion_is_broken_by_its_own_value_alone(name, change):
    best = {"sound_peak_force_bw": 1.0, "sound_loading_rate_bw_s": 30.0, "prosthetic_hip_work_in_j_per_m": 40.0}
    row = GOOD | {"sound_peak_force_bw": 1.0, "sound_loading_rate_bw_s": 30.0}
    kept = excess_of(row, BASE, Criteria(), best)
    assert set(kept) == set(CRITERIA)
    assert all(value < 0.0 for value in kept.values())
    after = excess_of(row | change, BASE, Criteria(), best)
    assert [each for each, value in after.items() if value > 0.0] == [name]


def test_a_slow_loading_is_no_overload_and_the_level_asks_for_no_yield():
    best = dict.fromkeys(BESTS, 1.0)
    assert excess_of(GOOD | {"sound_loading_rate_bw_s": 15.0}, BASE, Criteria(), best)["loading_rate"] < 0.0
    level = replace_by_name(BASE, {"slope_deg": 0.0})
    assert wanted_yield_deg(level) == 0.0
    straight = GOOD | {"knee_loaded_peak_flexion_deg": 0.0}
    assert excess_of(straight, level, Criteria(), best)["knee_hardly_bends"] < 0.0
    # bent by that angle, two equal segments are shorter by the fall of a step
    length, bend = BASE.person.leg_length, math.radians(wanted_yield_deg(BASE))
    fall = BASE.step_length_m * math.sin(math.radians(8.0))
    assert length * (1.0 - math.cos(bend / 2.0)) == pytest.approx(fall)


def test_every_limit_has_a_reason_and_a_checked_range():
    for setting in described(Criteria):
        assert setting.kind == "choice" or len(setting.source) > 10
    with pytest.raises(RampwalkError, match="sound_peak_share"):
        Criteria(sound_peak_share=-0.1)
    assert Criteria(loaded_knee_rate_deg_s=250).loaded_knee_rate_deg_s == 250.0


# -------------------------------------------------------------------------------- first trial value
def shares(resistance):
    """Even at 70; all that is within 0.005 of even is from 68.3 to 71.8."""
    return {"sound_impulse_share": 0.5 + 0.1 * math.log(resistance / 70.0), "sound_peak_force_bw": 1.1}


def test_the_first_trial_value_is_the_most_even_one():
    found = only(walker(rate, stiff(120.0), shares))
    assert abs(math.log(found.first_trial / 70.0)) < 0.07
    assert abs(found.rows[found.first_trial]["sound_impulse_share"] - 0.5) < 0.007


def test_ties_go_to_the_lower_sound_peak_and_other_rules_are_settings():
    def falling(resistance):
        return {"sound_peak_force_bw": 1.1 - 0.0002 * resistance}

    wide = only(walker(rate, stiff(120.0), shares, falling), criteria=Criteria(even_enough_share=0.03))
    assert 85.0 < wide.first_trial < 70.0 * math.exp(0.3) * 1.06  # as even within the share, and lower peaks there
    low, high = 30.0, 120.0
    inner_low, inner_high = low * 4.0**0.1, high / 4.0**0.1
    tied = only(walker(rate, stiff(120.0), falling))  # all equally even
    assert tied.first_trial == pytest.approx(inner_high, rel=0.01)
    found = only(walker(rate, stiff(120.0), shares, falling), criteria=Criteria(first_trial_rule="least-sound-peak"))
    assert found.first_trial == pytest.approx(inner_high, rel=0.01)
    found = only(walker(rate, stiff(120.0), shares), criteria=Criteria(first_trial_rule="middle"))
    assert found.first_trial == pytest.approx(60.0, rel=0.01)
    edge = only(walker(rate, stiff(120.0), lambda r: {"sound_impulse_share": 0.5 + r / 1e4}))
    assert edge.first_trial >= inner_low * 0.99  # keeps away from the end that is the most even


# -------------------------------------------------------------------------------- in words
@pytest.mark.parametrize("law", ["linear", "hydraulic"])
def test_the_rate_in_place_is_the_one_at_which_the_knee_law_holds_the_load(law):
    scenario = replace_by_name(BASE, {"knee.law": law, RESISTANCE: 45.0})
    knee = pack_settings(scenario)[0]["knee"]
    for torque in (5.0, 60.0, 150.0):
        rate_ = bend_rate(torque, 45.0, law)
        assert knee_torque(0.5, rate_, 1, knee) == pytest.approx(-torque, rel=1e-9)


def test_seconds_to_bend_have_the_known_answer_and_grow_with_resistance():
    arm = 0.5 * BASE.person.leg_length
    force = 0.5 * BASE.person.weight
    exact = 40.0 / (force * arm) * 2.0 * math.log(math.tan(math.radians(10)) / math.tan(math.radians(1.25)))
    assert seconds_to_bend(BASE, 40.0) == pytest.approx(exact, rel=1e-3)
    assert seconds_to_bend(BASE, 80.0) == pytest.approx(2.0 * exact, rel=1e-3)
    assert [in_words(value) for value in (0.1, 1.0, 9.0)] == ["gives way at once", "bends steadily", "hardly bends"]


def test_the_table_row_has_per_kg_and_seconds():
    row = table_row(only(walker(rate, stiff(120.0))), "as given")
    assert row["upper_nm_s_per_rad_per_kg"] == pytest.approx(120.0 / 75.0, rel=0.005)
    assert row["lower_bend_s"] == pytest.approx(seconds_to_bend(BASE, 30.0), rel=0.005)
    assert (row["closed_low"], row["closed_high"]) == ("knee_rate", "knee_hardly_bends")


# -------------------------------------------------------------------------------- what helps more
def test_changes_are_ranked_and_a_fall_comes_last():
    changes = [Change(name, {}) for name in ("falls", "worse", "better", "same")]
    rows = [FELL, GOOD | {"sound_peak_force_bw": 1.3}, GOOD | {"sound_margin_of_stability_m": 0.12}, GOOD]
    table = ranked(GOOD, list(zip(changes, rows, strict=True)))
    assert table["change"].tolist() == ["better", "same", "worse", "falls"]
    assert table["least_margin_of_stability_m_difference"].iloc[0] == pytest.approx(0.02)
    assert table["sound_peak_force_bw_difference"].iloc[2] == pytest.approx(0.2)
    assert "better" in help_lines(table, GOOD)[1]
    assert "nothing to compare" in help_lines(table, FELL)[0]


def test_single_changes_are_allowed_and_change_what_they_say():
    uneven = replace_by_name(BASE, {"sound_step_length_m": 0.45, "prosthetic_step_length_m": 0.55})
    for base in (BASE, uneven, replace_by_name(BASE, {"speed_m_s": 0.8})):
        after = {change.what: replace_by_name(base, change.settings) for change in single_changes(base)}
        shorter = after["steps 5 cm shorter, same cadence"]
        assert np.subtract(base.step_lengths, shorter.step_lengths) == pytest.approx((0.05, 0.05))
        assert shorter.step_time == pytest.approx(base.step_time)
        assert after["10 % slower, same steps"].speed == pytest.approx(0.9 * base.speed)
        assert after["slope 2 deg less"].slope_deg == -6.0
        assert ("both steps equal" in after) == (base is uneven)
    even = next(each for each in single_changes(uneven) if each.what == "both steps equal")
    assert replace_by_name(uneven, even.settings).step_lengths == (0.5, 0.5)


# -------------------------------------------------------------------------------- command and figure
def test_the_figure_shows_every_criterion_and_every_window():
    windows = find_windows(BASE, [{}, {"slope_deg": -10.0}], walker(rate, stiff(120.0)))
    figure = window_figure(list(zip(("as given", "steeper"), windows, strict=True)))
    labels = [[label.get_text() for label in axes.get_yticklabels()] for axes in figure.axes]
    assert labels == [[name.replace("_", " ") for name in CRITERIA], ["as given", "steeper"]]


def test_the_command_writes_what_it_says(tmp_path, capsys, monkeypatch):
    made = walker(rate, stiff(120.0))
    assert set(COLUMNS) | set(HELP_COLUMNS) == set(GOOD)

    class MadeUp:
        """Store whose keys are the cells as text; as the real one it gives each row once."""

        def some_columns(self, keys, columns):
            cells = [json.loads(key) for key in dict.fromkeys(keys)]
            return pd.DataFrame([{name: row[name] for name in columns} for row in made(cells)])

    class Opened:
        def __init__(self, *_):
            pass

        def __enter__(self):
            return MadeUp()

        def __exit__(self, *_):
            return None

    monkeypatch.setattr("sim.store.open_store", Opened)
    monkeypatch.setattr("sim.sweep.fill", lambda *given: [json.dumps(BASE_CELL | cell) for cell in given[2]])
    assert main(["window", "--workers", "1", "--out", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "the loaded knee bends too fast" in out
    assert "first trial value only" in out
    assert "no device setting follows from it" in out
    assert "10 kg heavier" in out
    table = pd.read_csv(tmp_path / "window.csv")
    assert table["what"].tolist() == [what for what, _ in command.changes_from(BASE, [], False)]
    assert len(table) == 5
    assert json.loads((tmp_path / "about.json").read_text())["criteria"]["sound_peak_share"] == 0.1
    assert {"window.png", "window.svg", "walks.csv", "helps.csv"} <= {path.name for path in tmp_path.iterdir()}
    again = ["window", "--over", "slope_deg=-8,-10", "--workers", "1", "--out", str(tmp_path)]
    assert main(again) == 0  # a window that is the same as the scenario's own
    capsys.readouterr()
    assert pd.read_csv(tmp_path / "window.csv")["what"].tolist() == ["as given", "slope_deg -8", "slope_deg -10"]
    assert main(["window", "--criterion", "loaded_knee_rate_deg_s=95", "--alone", "--out", str(tmp_path)]) == 0
    lower, upper = pd.read_csv(tmp_path / "window.csv")[["lower_nm_s_per_rad", "upper_nm_s_per_rad"]].iloc[0]
    assert (lower, upper) == pytest.approx((60.0, 120.0), rel=0.003)  # half the width to which limits are found


def test_the_command_finds_its_rows_in_the_real_store(tmp_path, capsys, monkeypatch):
    """Rows without a walk; a whole number as a slope must lead to the same row."""

    def row_of(base, cell):
        scenario = replace_by_name(base, cell)
        made = walker(rate, stiff(120.0))([{RESISTANCE: scenario.knee.flexion_resistance}])[0]
        return {"key": row_key(scenario), "stage": ""} | input_row(scenario) | made

    monkeypatch.setattr("sim.sweep.fill", lambda *given: fill(*given[:3], make=row_of))
    arguments = ["window", "--over", "slope_deg=-8,-9", "--workers", "1", "--out", str(tmp_path)]
    assert main(arguments) == 0
    assert "slope_deg -9: 30" in capsys.readouterr().out
    before = (tmp_path / "rows.csv").read_bytes()
    assert main(arguments) == 0
    assert (tmp_path / "rows.csv").read_bytes() == before  # all walks were there


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--criterion", "sound_peak_share"], "not NAME=VALUE"),
        (["--criterion", "sound_peak_shar=0.2"], "sound_peak_share"),
        (["--criterion", "sound_peak_share=-1"], "outside 0.01 to 2"),
        (["--criterion", "first_trial_rule=best"], "not one of"),
        (["--over", "slope_deg"], "not NAME=RANGE"),
        (["--over", "slope_deg=-90,-4"], "outside"),
        (["--over", "flexion_resistance=20,40"], "vary another"),
        (["--over", "slope_deg=-4", "--alone"], "contradict"),
        (["--limbs", "both-sound"], "no prosthetic knee"),
    ],
)
def test_bad_input_is_one_sentence(tmp_path, capsys, arguments, said):
    assert main(["window", *arguments, "--workers", "1", "--out", str(tmp_path)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_the_grid_is_even_by_ratio():
    grid = grid_of(8.0, 500.0, 5)
    assert np.diff(np.log(grid)) == pytest.approx(np.log(500.0 / 8.0) / 4)
