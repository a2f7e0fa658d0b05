"""One setting everywhere: search and criteria with made-up runs, then one small real round, command and figure."""

import json
import math
from pathlib import Path

import pytest

from sim.caution import CAUTION
from sim.cli import main
from sim.errors import RampwalkError
from sim.overlap import Asked, Kept, SameSetting, ask, common, most_together
from sim.overlap_criteria import ACTIVITIES, Overlap
from sim.plots.overlap import overlap_data, overlap_figure
from sim.scenario import Person


def made_up(_settings=None, fall_below=30.0, slow_above=90.0, stair_to=50.0):
    """Runs of a world in which sitting falls below one resistance and is slow above another."""

    def run(name, at):
        if name == "sit":
            row = {"outcome": "sat" if at > fall_below else "fell", "prosthetic_load_share": 0.5, "wanted_s": 2.5}
            return row | {"seat_contact_speed_m_s": 0.2, "move_time_s": 2.0 if at < slow_above else 9.0}
        row = {"outcome": "landed" if at < stair_to else "gave way", "landing_peak_bw": 2.0, "wanted_s": 0.5}
        return row | {"knee_peak_rate_deg_s": 4000.0 / at, "landing_time_s": 0.5}

    return lambda pairs: [run(*pair) for pair in pairs]


def test_the_ends_of_a_window_are_found_by_halving_and_named():
    sit, stair = ask(Overlap(), ("sit", "stair"), made_up())
    (kept,) = sit.windows
    assert kept.low == pytest.approx(30.0, rel=0.03)
    assert kept.high == pytest.approx(90.0, rel=0.03)
    assert (kept.closed_low, kept.closed_high) == (("falls",), ("too_slow",))
    (kept,) = stair.windows
    assert kept.low == pytest.approx(4000.0 / 190.0, rel=0.03)  # where the knee turns at the limit
    assert kept.closed_low == ("knee_rate",)


def test_where_windows_meet_is_their_overlap():
    found = ask(Overlap(), ("sit", "stair"), made_up())
    ((low, high),) = common(found)
    assert (low, high) == (found[0].windows[0].low, found[1].windows[0].high)
    nowhere = ask(Overlap(), ("sit", "stair"), made_up(fall_below=60.0))
    assert common(nowhere) == []
    (low, high), left_out = most_together(nowhere)
    assert len(left_out) == 1
    assert low < high


def test_windows_in_parts_meet_in_parts():
    parts = Asked("sit", (Kept(10.0, 20.0), Kept(40.0, 80.0)), {}, {})
    assert common([parts, Asked("bend", (Kept(15.0, 60.0),), {}, {})]) == [(15.0, 20.0), (40.0, 60.0)]
    assert most_together([Asked("sit", (), {}, {})])[1] == ("sit",)


@pytest.mark.parametrize(
    ("name", "changes", "broken"),
    [
        ("sit", {"prosthetic_load_share": 0.35}, "sound_leg_does_most"),
        ("sit", {"prosthetic_load_share": 0.65}, "prosthesis_props"),
        ("sit", {"seat_contact_speed_m_s": 0.5}, "drops"),
        ("sit", {"move_time_s": 5.1}, "too_slow"),
        ("sit", {"outcome": "fell"}, "falls"),
        ("stair", {"landing_peak_bw": 2.6}, "lands_hard"),
        ("stair", {"outcome": "gave way"}, "gives_way"),
        ("bend", {"prosthetic_load_share_down": 0.39}, "sound_leg_does_most"),
        ("bend", {"down_time_s": 5.1}, "too_slow"),
        ("stand", {"knee_creep_deg_per_min": -1.1}, "creeps"),
    ],
)
def test_each_criterion_is_broken_by_its_own_number_alone(name, changes, broken):
    good = {
        "sit": {"outcome": "sat", "prosthetic_load_share": 0.5, "seat_contact_speed_m_s": 0.2, "move_time_s": 3.0},
        "stair": {"outcome": "landed", "landing_peak_bw": 2.0, "knee_peak_rate_deg_s": 150.0, "landing_time_s": 0.6},
        "bend": {"outcome": "bent", "prosthetic_load_share_down": 0.45, "down_time_s": 3.0},
        "stand": {"outcome": "stood", "knee_creep_deg_per_min": 0.0},
    }[name] | {"wanted_s": {"stair": 0.5}.get(name, 2.5)}
    judge, best = ACTIVITIES[name].judge, {"landing_peak_bw": 2.0}
    excess = judge(Overlap(), good, best)
    assert set(excess) == set(ACTIVITIES[name].criteria)
    assert max(excess.values()) <= 0.0
    worse = judge(Overlap(), good | changes, best)
    assert [each for each, value in worse.items() if value > 0.0] == [broken]


def test_what_a_fall_leaves_unknown_is_not_broken():
    row = {"outcome": "fell", "wanted_s": 2.5}
    excess = ACTIVITIES["sit"].judge(Overlap(), row, {})
    assert math.isnan(excess["too_slow"])
    assert excess["falls"] == 1.0


def test_nobody_without_a_prosthesis_is_asked():
    with pytest.raises(RampwalkError, match="no prosthetic knee"):
        ask(Overlap(person=Person(limbs="both-sound")))


def test_the_figure_and_its_table_hold_every_run():
    found = SameSetting(Overlap(), tuple(ask(Overlap(), ("sit", "stair"), made_up())))
    data = overlap_data(found)
    runs = {(row.activity, row.flexion_resistance_n_m_s_per_rad) for row in data.itertuples()}
    assert len(runs) == sum(len(each.rows) for each in found.asked)
    assert overlap_figure(found).axes[0].get_yticklabels()[0].get_text() == "sitting down"


def test_a_real_round_of_the_activities_in_place():
    found = ask(Overlap(), ("bend", "stair", "stand"), low=20.0, high=60.0, count=3)
    bent = found[0]
    assert all(row["outcome"] == "bent" for row in bent.rows.values())
    assert found[2].windows == (Kept(20.0, 60.0),)  # standing is held by the hip, whatever the knee


def test_the_command_tells_windows_and_where_they_meet(capsys, monkeypatch, tmp_path):
    import sim.overlap as module

    monkeypatch.setattr(module, "run_in_line", made_up)
    monkeypatch.setattr(module, "ACTIVITIES", {name: ACTIVITIES[name] for name in ("sit", "stair")})
    monkeypatch.setattr(module.ask, "__defaults__", (("sit", "stair"), None, 10.0, 320.0, 11))
    assert main(["overlap", "--figure", str(tmp_path / "meet.png")]) == 0
    said = capsys.readouterr().out
    assert "All of them meet at" in said
    assert "no device setting follows from it" in said
    assert (tmp_path / "meet.csv").read_text(encoding="utf-8").startswith("activity,")
    assert main(["overlap", "--criterion", "no_such=1"]) == 2
    capsys.readouterr()
    assert main(["overlap", "--json", "-"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["caution"] == CAUTION
    assert result["software"]["gains_sha256"]


@pytest.mark.slow
def test_the_whole_command(capsys):
    assert main(["overlap", "--strides", "6", "--json", "-"]) == 0
    said = capsys.readouterr().out
    assert '"stair"' in said


def test_the_docs_page_explains_every_criterion():
    page = (Path(__file__).parents[2] / "docs" / "activities.md").read_text(encoding="utf-8")
    for name, activity in ACTIVITIES.items():
        if name != "walk":
            assert [each for each in activity.criteria if f"`{each}`" not in page] == []
