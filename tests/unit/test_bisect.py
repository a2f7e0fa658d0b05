import pytest

from sim.bisect import edge_between, first_that_holds, last_in_a_row


@pytest.mark.parametrize(
    ("good", "first", "last"),
    [
        ("0000", (None, None), (None, 0)),
        ("1111", (0, None), (3, None)),
        ("0011", (2, 1), (None, 0)),
        ("1100", (0, None), (1, 2)),
        ("0100", (None, None), (None, 0)),  # a lone success does not count
        ("0101", (3, 2), (None, 0)),  # the last one counts alone
        ("0110", (1, 0), (None, 0)),
        ("1011", (2, 1), (0, 1)),
    ],
)
def test_first_and_last(good, first, last):
    tried = [(k, mark == "1") for k, mark in enumerate(good)]
    assert first_that_holds(tried) == first
    assert last_in_a_row(tried) == last


@pytest.mark.parametrize("ends", [(0.0, 1.0), (1.0, 0.0)])
def test_halving_closes_in_from_both_directions(ends):
    fails, holds = ends
    asked = []

    def succeeds(value):
        asked.append(value)
        return value >= 0.37 if holds > fails else value <= 0.37

    below, above = edge_between(succeeds, fails, holds, 0.01)
    assert min(below, above) <= 0.37 <= max(below, above)
    assert abs(below - above) <= 0.01
    assert len(asked) == 7
