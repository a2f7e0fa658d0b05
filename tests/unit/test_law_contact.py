"""Ground and contact laws, piece by piece."""

import math

import numpy as np
import pytest

from sim.law.contact import hold, normal_force
from sim.law.ground import direction, height_and_slope
from sim.pack import pack_settings
from sim.scenario import Ground, Scenario


def test_elastic_force_grows_with_depth_to_the_power_three_halves():
    # Hertz, as used by Hunt and Crossley 1975, doi 10.1115/1.3423596 (from memory)
    one, _ = normal_force(0.01, 0.0, 2e5, 1.0)
    two, _ = normal_force(0.02, 0.0, 2e5, 1.0)
    assert two / one == pytest.approx(2**1.5)
    assert one == pytest.approx(2e5 * 0.01**1.5)


def test_dissipation_adds_while_closing_and_never_makes_the_ground_pull():
    elastic, closing = normal_force(0.01, 0.3, 2e5, 1.5)
    _, opening = normal_force(0.01, -0.3, 2e5, 1.5)
    assert closing == pytest.approx(0.45 * elastic)
    assert opening == pytest.approx(-0.45 * elastic)
    _, fast = normal_force(0.01, -5.0, 2e5, 1.5)
    assert elastic + fast == 0.0


def test_a_resting_point_is_held_and_a_pushed_one_slides_at_the_limit():
    held, damped = hold(0.002, 0.0, 500.0, 25e3, 120.0)
    assert (held, damped) == (pytest.approx(-50.0), 0.0)
    held, damped = hold(0.1, 0.5, 500.0, 25e3, 120.0)
    assert held + damped == pytest.approx(-500.0)
    held, damped = hold(-0.1, 20.0, 500.0, 25e3, 120.0)  # the damper alone is over the limit
    assert abs(held + damped) <= 500.0 + 1e-9
    assert damped == -500.0


def ground(**kwargs):
    return pack_settings(Scenario(**kwargs))[0]["ground"]


def test_ground_is_level_then_blends_then_keeps_its_slope():
    record = ground(slope_deg=-8.0, ground=Ground(lead_in_m=0.5, blend_m=1.0))
    assert height_and_slope(record, -3.0) == (0.0, 0.0)
    assert height_and_slope(record, 0.49) == (0.0, 0.0)
    _, slope = height_and_slope(record, 5.0)
    assert math.degrees(math.atan(slope)) == pytest.approx(-8.0)


def test_height_is_the_integral_of_slope_everywhere():
    record = ground(slope_deg=-12.0)
    x = np.linspace(-0.5, 3.0, 701)
    height, slope = np.array([height_and_slope(record, float(value)) for value in x]).T
    by_trapezoid = np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * np.diff(x))])
    assert np.allclose(height - height[0], by_trapezoid, atol=1e-6)
    assert np.abs(np.diff(slope)).max() < 0.002  # no edge under the foot


def test_direction_is_a_unit_vector_along_the_slope():
    tx, ty = direction(math.tan(-0.3))
    assert (tx, ty) == (pytest.approx(math.cos(-0.3)), pytest.approx(math.sin(-0.3)))
