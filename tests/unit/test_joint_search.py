"""The search for everything at once: what it draws, and that it judges what it says."""

import numpy as np
import pytest

from experiments.tune_gains import joint
from experiments.tune_gains.encode import BEFORE_ANY_YIELD, read
from experiments.tune_gains.polish import OnWay
from sim.gains import read_gains


def drawn(part, seed=5, size=2):
    return [draw(np.random.default_rng([seed, i]), size) for i, draw in enumerate(joint.PARTS[part].draws)]


@pytest.mark.parametrize("part", list(joint.PARTS))
def test_a_draw_is_the_same_for_the_same_seed_only(part):
    assert [d.walkers for d in drawn(part)] == [d.walkers for d in drawn(part)]
    assert [d.walkers for d in drawn(part, 5)] != [d.walkers for d in drawn(part, 6)]


def test_members_of_a_triple_are_neighbours_of_the_acceptance_map_and_differ_in_one_thing():
    even = drawn("slopes", size=4)[0]
    assert even.triples
    assert len(even.walkers) % 3 == 0
    for a, b, c in zip(*[iter(even.walkers)] * 3, strict=True):
        places = np.array([(w.slope_deg, w.step_length_m, np.log(w.knee.flexion_resistance)) for w in (a, b, c)])
        assert np.allclose(places[0] + places[2], 2.0 * places[1])
        apart = np.abs(places[1] - places[0])
        assert (apart > 1e-9).sum() == 1
        assert np.abs(places[:, 0] + 8.0).max() < 4.0 + 1e-9
        if apart[0] > 0:
            assert apart[0] == pytest.approx((12.0 - 4.0) / 6.0)
        if apart[2] > 0:
            assert apart[2] == pytest.approx(np.log(110.0 / 30.0) / 6.0, rel=0.01)


def test_ways_go_down_in_one_part_and_up_in_the_other_as_steep_as_asked():
    def steepest(part):
        found = [w.profile.slope for d in drawn(part, size=4) for w in d.walkers if isinstance(w, OnWay)]
        ends = np.degrees(np.arctan([(min(slopes), max(slopes)) for slopes in found]))
        return ends[:, 0], ends[:, 1]

    down, flat = steepest("slopes")
    assert ((down > -7.2 - 1e-9) & (down < -2.6 + 1e-9)).all()
    assert np.allclose(flat, 0.0)
    flat, up = steepest("up with ways")
    assert ((up > 2.4 - 1e-9) & (up < 5.2 + 1e-9)).all()
    assert np.allclose(flat, 0.0)


def test_a_part_moves_its_knots_alone_and_ties_only_what_is_felt():
    row = read(read_gains())
    knots = np.degrees(row["slope"]).round(1).tolist()
    part = joint.PARTS["slopes"]
    moved = joint.numbers_of(part, row)
    assert {knots[k] for n in moved for k in n.knots} == {slope for tied in part.knots for slope in tied}
    for number in moved:
        slopes = tuple(knots[k] for k in number.knots)
        assert slopes in part.knots if number.term == joint.YIELD else len(slopes) == 1
    names = {joint.GAIN_NAMES[n.gain] for n in moved}
    assert not any(name.startswith("start_") for name in names)
    assert "landing_offset" in names
    felt = {joint.GAIN_NAMES[n.gain] for n in moved if n.term == joint.YIELD}
    assert "slope_lean" in felt
    assert felt.isdisjoint(BEFORE_ANY_YIELD)  # what is wanted of the yield must not follow what is felt of it
    uphill = joint.numbers_of(joint.PARTS["up"], row)
    assert any(joint.GAIN_NAMES[n.gain].startswith("start_") for n in uphill)


def test_knots_that_are_tied_move_by_their_shares():
    row = read(read_gains())
    part = joint.PARTS["bend"]
    moved = joint.numbers_of(part, row)
    ways = joint.ways_of(part, moved, row)
    assert ways.shape == (len({(n.term, n.gain) for n in moved}), len(moved))
    assert (np.count_nonzero(ways, axis=0) == 1).all()
    for way in ways:
        together = [moved[k] for k in np.flatnonzero(way)]
        assert len({(n.term, n.gain) for n in together}) == 1
        slopes = np.degrees(row["slope"][[n.knots[0] for n in together]]).round(1).tolist()
        assert dict(zip(slopes, way[way != 0.0], strict=True)) == dict(zip(part.knots[0], part.shares, strict=True))
    alone = joint.numbers_of(joint.PARTS["slopes"], row)
    assert np.array_equal(joint.ways_of(joint.PARTS["slopes"], alone, row), np.eye(len(alone)))


def test_odd_steps_are_shorter_and_longer_than_the_main_job():
    odd = next(d for d in drawn("slopes", size=4) if d.name == "odd steps")
    lengths = np.array([w.step_length_m for w in odd.walkers])
    assert (lengths < 0.4).sum() == (lengths >= 0.6).sum() == len(lengths) / 2


def test_points_of_a_search_are_judged_each_by_itself_and_a_person_who_falls_pays():
    gains = np.array([read(read_gains())] * 3)
    gains["coefficients"][2] = 0.0  # every gain as low as it may be
    cost, parts = joint.Bench("steep", 3, 1).judge(gains)
    assert cost[0] == cost[1] < 0.8 * cost[2]
    assert parts["even fell"][2] > parts["even fell"][0]
    assert np.isfinite(cost).all()


def test_a_number_that_matters_little_gets_a_large_unit():
    class Judge:
        def judge(self, _key, gains):
            value = gains["coefficients"][:, 0, 0, :2]
            return 100.0 * (10.0 * value[:, 0] ** 2 + 0.001 * value[:, 1] ** 2), {}

    row = read(read_gains())
    row["coefficients"][:], row["low"][:], row["high"][:] = 0.0, -1.0, 1.0
    moved = [joint.coordinates([(0,)], (joint.VALUE,), habits=True)[k] for k in range(2)]
    point = joint.encode(row, moved)
    units = joint.units_of(Judge(), ("steep", 1, 1), row, moved, point, 0.1, np.eye(2))
    assert 0.002 <= units[0] < 0.5 * units[1] <= 0.08
