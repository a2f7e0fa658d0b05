import math
import pickle

import numpy as np
import pytest

from sim.errors import (
    MOST_FAULTS,
    RampwalkError,
    check_choice,
    check_range,
    nearest_name,
    number_text,
    raise_together,
    shown,
    unknown_name,
)

KNOWN = ["slope_deg", "person.mass_kg", "knee.flexion_resistance"]


def test_error_carries_name_and_value_and_is_a_value_error():
    error = RampwalkError("text", "slope_deg", 40)
    assert isinstance(error, ValueError)
    assert (str(error), error.name, error.value) == ("text", "slope_deg", 40)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("slop_deg", "slope_deg"),
        ("person.mas_kg", "person.mass_kg"),
        ("mass", "person.mass_kg"),
        ("flexion_resistence", "knee.flexion_resistance"),
        ("zzzz", None),
    ],
)
def test_nearest_name(typed, meant):
    assert nearest_name(typed, KNOWN) == meant


def test_unknown_name_offers_the_nearest_or_says_where_to_look():
    assert "did you mean 'slope_deg'?" in str(unknown_name("slope", KNOWN))
    assert "documented" in str(unknown_name("zzzz", KNOWN))


@pytest.mark.parametrize("value", [-20, 15, 0, 3.5, np.float64(2), np.int64(2)])
def test_check_range_takes_the_ends_and_gives_a_float(value):
    result = check_range("slope_deg", value, -20, 15, "deg", "choose a walkable slope")
    assert type(result) is float
    assert result == value


@pytest.mark.parametrize("value", [math.nextafter(15, 16), -20.1, math.nan, math.inf, -math.inf])
def test_check_range_refuses_and_names_value_range_and_remedy(value):
    with pytest.raises(RampwalkError) as caught:
        check_range("slope_deg", value, -20, 15, "deg", "choose a walkable slope")
    message = str(caught.value)
    for part in ("slope_deg = ", "-20 to 15 deg", "choose a walkable slope."):
        assert part in message
    assert "\n" not in message
    assert caught.value.name == "slope_deg"


@pytest.mark.parametrize("value", ["5", None, True, [5], b"5", np.array([1.0, 2.0]), 10**400])
def test_check_range_refuses_what_is_not_one_number(value):
    with pytest.raises(RampwalkError):
        check_range("slope_deg", value, -20, 15, "deg", "give a number")


def test_check_choice():
    assert check_choice("law", "linear", ("linear", "hydraulic")) == "linear"
    with pytest.raises(RampwalkError, match=r"knee.law = 'hydralic' .* did you mean 'hydraulic'\?"):
        check_choice("knee.law", "hydralic", ("linear", "hydraulic"))
    with pytest.raises(RampwalkError, match="not one of 'linear', 'hydraulic'"):
        check_choice("knee.law", 3, ("linear", "hydraulic"))


def test_a_decimal_comma_is_named():
    with pytest.raises(RampwalkError, match="write a point, not a comma"):
        check_range("slope_deg", "-4,5", -20, 15, "deg", "choose a walkable slope")


def test_a_value_just_outside_is_not_shown_as_the_end_of_the_range():
    value = math.nextafter(15, 16)
    with pytest.raises(RampwalkError) as caught:
        check_range("slope_deg", value, -20, 15, "deg", "choose a walkable slope")
    assert number_text(value) == "15"
    assert f"= {value!r} deg is outside" in str(caught.value)


class Rude:
    def __repr__(self):
        raise RuntimeError


@pytest.mark.parametrize(
    "value",
    [10**5000, "x" * 100_000, [[[[[[[[[1]]]]]]]]], Rude(), "\x1b[31m\n", b"\xff" * 9999],
    ids=["digits", "text", "nested", "rude", "escape", "bytes"],
)
def test_any_value_is_shown_in_short(value):
    text = shown(value)
    assert len(text) < 100
    assert text.isprintable()


def test_nonsense_names_are_not_compared():
    assert nearest_name("slope_deg" * 100_000, KNOWN) is None
    assert len(str(unknown_name("x" * 100_000, KNOWN))) < 200


def test_faults_are_told_together_up_to_a_limit():
    raise_together([])
    one = RampwalkError("first", "a", 1)
    with pytest.raises(RampwalkError) as caught:
        raise_together([one])
    assert caught.value is one
    assert one.faults == (one,)
    many = [RampwalkError(f"fault {i}", f"n{i}", i) for i in range(MOST_FAULTS + 5)]
    with pytest.raises(RampwalkError) as caught:
        raise_together(many)
    assert caught.value.faults == tuple(many)
    assert str(caught.value).splitlines()[-2:] == [f"fault {MOST_FAULTS - 1}", "and 5 more."]


def test_an_error_travels_between_processes():
    error = RampwalkError("text", "a", 1, ("a", "b"))
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), again.name, again.value, again.names) == ("text", "a", 1, ("a", "b"))
