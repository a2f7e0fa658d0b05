"""The person's gains: how they depend on slope, step and haste, and that nothing else moves them."""

import itertools
import json
import math
from dataclasses import replace

import numpy as np
import pytest

from experiments.tune_gains.encode import (
    BEFORE_ANY_YIELD,
    LITTLE_YIELD,
    STEP,
    TIME,
    VALUE,
    YIELD,
    as_file,
    coordinates,
    encode,
    read,
    tables,
)
from experiments.tune_gains.haste import QUICK, with_haste
from experiments.tune_gains.polish import ON_A_WAY, WAY_SECONDS, OnWay, directions, groups_of, neighbours, one, way
from sim.gains import gain_table, read_gains
from sim.law.compiled import law
from sim.law.phase import refresh_gains
from sim.law.records import GAIN_NAMES, GAIN_TABLE, MEMORY
from sim.pack import pack_settings
from sim.scenario import Knee, Person, Scenario

PLAIN = Scenario(slope_deg=-8.0, step_length_m=0.5, speed_m_s=0.75)


@law
def fill(slope, settings, tables, memories):
    refresh_gains(slope, settings[0], tables[0], memories[0], 0)


def gains_at(slope_deg, scenario=PLAIN, table=None, felt=0.0, little=0.0):
    memory = np.zeros(1, MEMORY)
    memory["yielded"], memory["little_yield"] = felt, little
    table = gain_table(read_gains()) if table is None else table
    fill(math.tan(math.radians(slope_deg)), pack_settings(scenario), table, memory)
    return memory[0]["gains"]["all"].copy()


@pytest.fixture
def straight():
    """A table with no limits, so that only the interpolation is seen."""
    table = gain_table(read_gains())
    table["low"], table["high"] = -1e9, 1e9
    return table


def test_gains_are_linear_between_knots(straight):
    """At a knot the knot's own numbers, half-way the mean of both."""
    knots = np.degrees(straight[0]["slope"])
    for low, high in itertools.pairwise(knots):
        ends = gains_at(low, table=straight) + gains_at(high, table=straight)
        assert gains_at(0.5 * (low + high), table=straight) == pytest.approx(0.5 * ends, rel=1e-9, abs=1e-9)


def test_gains_end_at_the_last_knots(straight):
    assert gains_at(-30.0, table=straight) == pytest.approx(gains_at(-16.0, table=straight), rel=1e-12)
    assert gains_at(20.0, table=straight) == pytest.approx(gains_at(9.0, table=straight), rel=1e-12)


def test_gains_stay_in_their_ranges():
    table = gain_table(read_gains())[0]
    for slope in np.linspace(-16, 5, 22):
        for step in (0.3, 0.5, 0.7):
            scaled = gains_at(slope, replace(PLAIN, step_length_m=step, speed_m_s=1.5 * step))
            scale = pack_settings(PLAIN)[0]["gain_scale"]
            assert (scaled / scale >= table["low"] - 1e-9).all()
            assert (scaled / scale <= table["high"] + 1e-9).all()


def test_no_gain_sees_the_knee():
    for resistance in (10.0, 400.0):
        other = replace(PLAIN, knee=Knee(flexion_resistance=resistance))
        assert (gains_at(-8.0, other) == gains_at(-8.0)).all()


def test_what_is_felt_of_the_prosthetic_leg_moves_gains_evenly(straight):
    """One felt yield moves each gain by its term at the knot; a gain without the term stays."""
    knot = int(np.argmin(np.abs(np.degrees(straight[0]["slope"]) + 8.0)))
    term = straight[0]["coefficients"][YIELD, knot] * pack_settings(PLAIN)[0]["gain_scale"]
    assert (term != 0.0).sum() > 20
    for felt in (-1.0, 0.5):
        moved = gains_at(-8.0, table=straight, felt=felt) - gains_at(-8.0, table=straight)
        assert moved == pytest.approx(felt * term, rel=1e-9, abs=1e-9)
    little = straight[0]["coefficients"][LITTLE_YIELD, knot] * pack_settings(PLAIN)[0]["gain_scale"]
    assert (little != 0.0).sum() > 20
    both = gains_at(-8.0, table=straight, felt=-1.0, little=-0.7) - gains_at(-8.0, table=straight, felt=-1.0)
    assert both == pytest.approx(-0.7 * little, rel=1e-9, abs=1e-9)


def test_what_comes_before_any_yield_does_not_depend_on_it():
    table = read_gains()
    for term in ("per_yield", "per_little_yield"):
        assert all(np.all(np.array(table["gains"][name][term]) == 0.0) for name in BEFORE_ANY_YIELD)


def test_slow_steps_do_not_change_gains_and_hasty_ones_do():
    """The step time acts below the reference only (`refresh_gains`)."""
    slow, hasty = replace(PLAIN, speed_m_s=0.6), replace(PLAIN, speed_m_s=1.1)
    assert (gains_at(-8.0, slow) == gains_at(-8.0)).all()
    assert (gains_at(-8.0, hasty) != gains_at(-8.0)).any()


def test_a_point_of_the_search_is_a_table_and_back():
    row = read(read_gains())
    moved = coordinates([(1,), (2, 3)], (VALUE, STEP, TIME), habits=True)
    point = np.random.default_rng(5).uniform(0.1, 0.9, len(moved))
    table = tables(point[None], row, moved)[0]
    assert encode(table, moved) == pytest.approx(point, abs=1e-12)
    assert (table["coefficients"][VALUE, 2] != row["coefficients"][VALUE, 2]).any()
    assert {c.gain for c in moved} == set(range(len(GAIN_NAMES)))
    assert (table["coefficients"][VALUE, 5] == row["coefficients"][VALUE, 5]).all()


def test_a_table_survives_its_file():
    row = read(read_gains())
    again = gain_table(as_file(row, read_gains()))[0]
    for name in GAIN_TABLE.names:
        assert again[name] == pytest.approx(row[name], rel=1e-4, abs=1e-6)


def test_at_the_quick_step_the_script_for_haste_lays_the_earlier_gains_over_the_present_ones():
    """Where the quick gains have a knot, value + terms at 0.66 m and 0.53 s are the quick gains there."""
    quick = json.loads(QUICK.read_text(encoding="utf-8"))
    made = with_haste(read_gains(), quick)
    slope = quick["knots_deg"].index(-8)
    here = made["knots_deg"].index(-8)
    leg = made["reference_person"]["leg_length_m"]

    def at(table, gain, knot):
        values = {
            term: np.broadcast_to(gain[term], len(table["knots_deg"]))[knot]
            for term in ("value", "per_step", "per_step_time")
        }
        step = (0.66 / leg - table["reference"]["step_per_leg_length"]) / table["span"]["step_per_leg_length"]
        pace = 0.53 / math.sqrt(leg / 9.81) - table["reference"]["step_time_units"]
        pace /= table["span"]["step_time_units"]
        return values["value"] + values["per_step"] * step + values["per_step_time"] * pace

    for name in ("trunk_stiffness", "landing_offset", "ankle_damping", "swing_share_sound"):
        old = quick["gains"][name]
        wanted = min(max(at(quick, old, slope), old["low"]), old["high"])
        assert at(made, made["gains"][name], here) == pytest.approx(wanted, rel=1e-3), name


def test_tied_numbers_of_a_polish_are_one_gain_at_all_knots():
    moved = coordinates([(4,), (5,), (6,)], (VALUE, TIME), habits=True)
    tied = directions(moved, tied=True)
    assert sorted(np.concatenate(tied).tolist()) == list(range(len(moved)))
    for some in tied:
        assert len({(moved[k].term, moved[k].gain) for k in some}) == 1
        assert [moved[k].knots for k in some] == [(4,), (5,), (6,)]
    assert [some.tolist() for some in directions(moved, tied=False)] == [[k] for k in range(len(moved))]


def test_a_polish_walks_ways_on_their_own_ground_and_judges_them_by_less():
    profile = way(-4.0)
    even, on_way = groups_of([PLAIN, OnWay(PLAIN, profile)], 8.0)
    assert (even.seconds, even.judged) == (8.0, None)
    assert (on_way.seconds, on_way.judged) == (WAY_SECONDS, ON_A_WAY)
    assert even.walks.settings[0] == pack_settings(PLAIN)[0]
    ground = on_way.walks.settings[0]["ground"]
    assert ground["x"][: ground["knots"]].tolist() == list(profile.x)
    assert ground["slope"][: ground["knots"]].min() == pytest.approx(math.tan(math.radians(-4.0)))


def test_neighbours_of_a_polish_lie_evenly_along_one_thing():
    """Slope, step with its speed, or resistance by equal ratios; not unevenly, not in two things, not of two people."""
    three = {
        "slope": [one(slope, 0.5, 40.0) for slope in (-9.0, -8.0, -7.0)],
        "step": [one(-8.0, step, 50.0) for step in (0.45, 0.5, 0.55)],
        "resistance": [one(-6.0, 0.5, resistance) for resistance in (30.0, 45.0, 67.5)],
        "unevenly": [one(-5.0, 0.5, resistance) for resistance in (30.0, 45.0, 60.0)],
        "two things": [one(slope, step, 60.0) for slope, step in ((-9.0, 0.4), (-8.0, 0.45), (-7.0, 0.5))],
        "people": [one(slope, 0.4, 70.0, Person(mass_kg=70.0 + k)) for k, slope in enumerate((-9.0, -8.0, -7.0))],
    }
    found = neighbours([walk for walks in three.values() for walk in walks])
    assert found.tolist() == [[0, 1, 2], [3, 4, 5], [6, 7, 8]]
