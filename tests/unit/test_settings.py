from dataclasses import dataclass, field

import pytest

from sim.errors import RampwalkError
from sim.parameters import Sourced
from sim.scenario import Scenario, from_toml, to_toml
from sim.settings import Settings, check, described, full_name, names_of, number, replaced, section
from sim.settings_file import as_toml

MASS = Sourced(1.0, "kg", "a test", "seen")


@dataclass(frozen=True)
class Wheel(Settings):
    mass: float = number(MASS, 0, 10, "a wheel")

    def __post_init__(self):
        check(self, "wheel.")


@dataclass(frozen=True)
class Cart(Settings):
    left: Wheel = section(Wheel)
    right: Wheel = section(Wheel)
    load: float = number(MASS, 0, 100, "a load")

    def __post_init__(self):
        check(self)


def test_names_go_one_level_down_in_order():
    assert names_of(Cart) == ("left.mass", "right.mass", "load")
    assert [setting.source for setting in described(Cart)] == ["a test"] * 3


def test_a_bare_name_that_fits_twice_is_refused_with_both():
    with pytest.raises(RampwalkError, match=r"'mass' could be left.mass or right.mass; give the full name"):
        full_name(Cart, "mass")
    assert full_name(Cart, "load") == "load"
    assert replaced(Cart(), {"right.mass": 2}) == Cart(right=Wheel(2.0))


@pytest.mark.parametrize("name", ['say "steep"', "back\\slash", "O'Brien = 3 # no comment", "schräg ↘", ""])
def test_text_survives_a_file(tmp_path, name):
    path = tmp_path / "walk.toml"
    path.write_text(to_toml(Scenario(name=name)), encoding="utf-8")
    assert from_toml(path).name == name


def test_toml_puts_sections_after_their_own_values():
    assert as_toml(Cart()) == "load = 1.0\n\n[left]\nmass = 1.0\n\n[right]\nmass = 1.0\n"


def test_a_field_that_was_not_declared_is_a_fault_of_the_program():
    @dataclass(frozen=True)
    class Loose:
        size: float = field(default=1.0)

    with pytest.raises(KeyError):
        check(Loose())
