import itertools

import pandas as pd
import pytest

from sim.findings import findings, trend
from sim.plots.data import PACES, PEAK, RATE, RESISTANCE, SLOPE, STEP, YIELD


def table(peak, rate=lambda _slope, _step, resistance: 4000.0 / resistance, outcome=lambda *_: "walked"):
    rows = []
    for at in itertools.product((-4.0, -8.0, -12.0), (0.4, 0.5, 0.6), (30.0, 60.0, 120.0)):
        row = dict(zip((SLOPE, STEP, RESISTANCE), at, strict=True))
        row |= {PEAK: peak(*at), RATE: rate(*at), YIELD: 20.0 - 3.0 * at[0], "outcome": outcome(*at)}
        rows.append(row)
    return pd.DataFrame(rows)


def usual(slope, step, resistance):
    return 1.0 + step - 0.02 * slope + 5.0 / resistance


def paced(data):
    middle = data[data[RESISTANCE] == 60.0]
    return pd.concat([middle.assign(pace=pace) for pace in PACES])


def test_a_trend_compares_the_ends_of_every_line():
    found = trend(table(usual), STEP, PEAK)
    assert found[:3] == (9, 9, 0)
    assert found.per_unit == pytest.approx(1.0)
    assert found.high - found.low == pytest.approx(0.2)


def test_a_fall_does_not_count_but_its_line_does():
    data = table(usual, outcome=lambda _slope, _step, resistance: "fell" if resistance == 30.0 else "walked")
    found = trend(data, RESISTANCE, RATE)
    assert found.lines == 9
    assert found.low == pytest.approx(4000.0 / 60.0)


def test_numbers_that_follow_the_rules_are_said_to():
    said = findings(table(usual), paced(table(usual)), 60.0)
    assert len(said) == 3
    assert all(sentence.endswith(".") and "as the rule of thumb has it" in sentence for sentence in said)
    assert "from the start value of 60 N m s/rad down to" in said[0]
    assert "faster in 9 of 9 comparisons (median 67 to 133 deg/s)" in said[0]
    assert "slower in 9 of 9 (median 67 to 33 deg/s)" in said[0]
    assert "+0.10 BW per 0.1 m" in said[1]
    assert "9 of 9 on -4 deg and 9 of 9 on -12 deg" in said[2]


def test_numbers_against_the_rules_are_said_to_be():
    other = table(lambda _slope, step, resistance: 2.0 - step + resistance / 1000.0)
    said = findings(other, paced(other), 60.0)
    assert "against the rule of thumb (too little resistance" in said[0]
    assert "as the rule of thumb has it (too much resistance" in said[0]
    assert "higher in 0 and lower in 9 (median" in said[0]
    assert "against the rule of thumb (shorter steps" in said[1]


def test_a_rule_that_holds_on_one_slope_only_does_not_hold_throughout():
    mixed = table(lambda slope, step, _: 1.0 + step if slope == -4.0 else 2.0 - step)
    said = findings(mixed, paced(mixed), 60.0)
    assert "does not hold throughout" in said[1]
    assert "higher in 1 and lower in 2 of 3" in said[1]


def test_without_walks_above_the_start_only_less_is_said():
    data = table(usual, outcome=lambda _slope, _step, resistance: "fell" if resistance > 60.0 else "walked")
    said = findings(data, paced(data), 60.0)[0]
    assert "down to the lowest" in said
    assert "up to the highest" not in said


def test_a_hair_of_a_difference_is_none():
    flat = table(lambda _slope, step, _: 1.2 + 0.001 * step)
    said = findings(flat, paced(flat), 60.0)
    assert "higher in 0 and lower in 0 of 3" in said[1]
    assert "does not hold throughout" in said[1]


def test_without_completed_walks_there_is_nothing_to_say():
    fallen = table(usual, outcome=lambda *_: "fell")
    said = findings(fallen, paced(fallen), 60.0)
    assert [sentence.split(":")[1].strip().startswith("too few walks") for sentence in said] == [True] * 3
    assert "0 of 9 on -12 deg" in said[2]
