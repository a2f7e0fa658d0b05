"""The ladder of practice: order, bounds and ties with made-up burdens, then one small real round and the command."""

import itertools
import json

import pytest

from sim.caution import CAUTION
from sim.cli import main
from sim.errors import RampwalkError
from sim.frontal import Frontal
from sim.ladder import climb, is_tie, neighbours
from sim.ladder_burden import PARTS, Burden, burden_of_walk
from sim.ladder_situations import SUPPORTS, Ladder, Situation, scenario_of, situations
from sim.plots.ladder import ladder_data, ladder_figure
from sim.scenario import Person

EVEN = dict.fromkeys(PARTS, 1.0)


def burden(**parts):
    return Burden(True, "walked", {}, {**dict.fromkeys(PARTS, 0.0), **parts})


def made_up(settings, situation):
    """A world in which slope, step and lost support cost alike; one place is a fall."""
    if situation.bend is not None:
        return burden(hip_effort=situation.bend)
    if situation.leads:
        return burden(sound_peak={"prosthetic": 0.7, "sound": 3.0}[situation.leads])
    support, slope, step = situation.notch
    if situation.notch == (1, 1, 0):
        return Burden(False, "fell", {}, {})
    return burden(sound_peak=0.8 + 0.2 * support, knee_rate=0.1 * slope, margin=0.1 * step + 0.0 * settings.slopes)


def test_every_rung_changes_one_thing_and_steps_up_within_the_bound():
    found = climb(Ladder(), made_up)
    rungs = found.rungs
    assert rungs[0].situation.notch == (0,)
    assert rungs[-1].situation.notch == (len(SUPPORTS) - 1, 3, 2)
    for below, rung in itertools.pairwise(rungs):
        assert neighbours(below.situation, rung.situation)
        assert rung.step_up == pytest.approx(rung.total - below.total)
        assert rung.step_up > 0.0 or rung.tie
    assert (1, 1, 0) not in [rung.situation.notch for rung in rungs]  # a fall is on no rung
    assert found.largest_step_up == pytest.approx(0.2)
    assert [each.outcome for _, each in found.tried].count("fell") == 1


def test_step_to_descent_is_a_rung_where_it_makes_the_way_up_more_even():
    leading = [rung.situation.leads for rung in climb(Ladder(), made_up).rungs]
    assert leading.count("prosthetic") == 1
    assert "sound" not in leading  # it costs more than what comes after it


def test_a_step_beyond_the_bound_is_told():
    found = climb(Ladder(largest_step_up=0.18), made_up)
    assert [rung.situation.support for rung in found.beyond_bound] == [1, 2, 3, 4]  # losing support costs 0.2


def test_an_order_that_flips_with_a_weight_is_a_tie():
    less, more = burden(sound_peak=1.0, knee_rate=0.5), burden(sound_peak=0.8, knee_rate=0.8)
    assert is_tie(less, more, EVEN)  # twice the peak's weight turns it round
    assert not is_tie(less, burden(sound_peak=1.1, knee_rate=0.6), EVEN)


def test_where_free_walking_is_not_reached_there_is_no_ladder():
    def no_way(settings, situation):
        walks_free = situation.bend is None and not situation.leads and situation.support == len(SUPPORTS) - 1
        return Burden(False, "fell", {}, {}) if walks_free else made_up(settings, situation)

    assert climb(Ladder(), no_way).rungs == ()


def test_more_support_and_lighter_hands_are_what_a_situation_says():
    settings = Ladder()
    by_notch = {each.notch: scenario_of(settings, each) for each in situations(settings) if len(each.notch) == 3}
    most, light, free = by_notch[0, 0, 0], by_notch[3, 0, 0], by_notch[4, 0, 0]
    assert (most.rail.side, most.helper.support, free.rail.side, free.helper.support) == (
        "sound", "constant", "none", "none",
    )  # fmt: skip
    assert light.rail.side == "prosthetic"
    assert light.rail.carried_share == pytest.approx(0.5 * most.rail.carried_share)
    assert by_notch[4, 3, 2].slope_deg == pytest.approx(-settings.steepest_deg)


def test_a_rail_on_the_prosthetic_side_costs_more_beside_its_hip():
    """Row C04: same rail load, same walk; the moment beside the hip of the prosthetic side is larger."""
    settings = Ladder(strides=2)
    cost = {}
    for support in (2, 3, 4):
        situation = Situation(None, "", support, 3.0, 0.45, (support, 0, 0))
        cost[support] = burden_of_walk(scenario_of(settings, situation), Frontal())
    assert cost[2].parts["frontal"] < cost[4].parts["frontal"] == 1.0 < cost[3].parts["frontal"]
    assert cost[2].parts["sound_peak"] == cost[3].parts["sound_peak"]  # in the plane both sides are one


def test_bad_ranges_and_nobody_with_a_prosthesis_are_refused():
    with pytest.raises(RampwalkError, match="must be below"):
        Ladder(shortest_step_m=0.6, longest_step_m=0.5)
    with pytest.raises(RampwalkError, match="needs no ladder"):
        climb(Ladder(person=Person(limbs="both-sound")), made_up)


def test_the_command_tells_rungs_reasons_and_that_it_is_a_suggestion(capsys, monkeypatch, tmp_path):
    import sim.ladder as module

    monkeypatch.setattr(module, "burden_of", made_up)
    monkeypatch.setattr(module.climb, "__defaults__", (made_up,))
    assert main(["ladder", "--figure", str(tmp_path / "ladder.png")]) == 0
    said = capsys.readouterr().out
    for words in ("A suggestion to discuss", "why", "Not completed in the model", "no device setting follows from it"):
        assert words in said
    assert (tmp_path / "ladder.csv").read_text(encoding="utf-8").startswith("situation,rung,outcome,burden,")
    assert main(["ladder", "--weight-margin", "-1"]) == 2
    capsys.readouterr()
    assert main(["ladder", "--json", "-"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["caution"] == CAUTION
    assert result["software"]["gains_sha256"]
    assert "to discuss" in result["suggestion"]


def test_the_figure_has_a_bar_per_part_and_rung():
    found = climb(Ladder(), made_up)
    ax = ladder_figure(found).axes[0]
    assert len(ax.patches) == len(PARTS) * len(found.rungs)
    assert len(ladder_data(found)) == len(found.tried)


@pytest.mark.slow
def test_the_whole_command(capsys):
    assert main(["ladder", "--strides", "6", "--json", "-"]) == 0
    assert '"rungs"' in capsys.readouterr().out
