"""The prosthetic knee: one passive law for every activity."""

import numpy as np
import pytest

from sim.law.knee import is_loaded, knee_stop, knee_torque
from sim.pack import pack_settings
from sim.scenario import HYDRAULIC_REFERENCE_RATE, Knee, Scenario


def knee(**kwargs):
    return pack_settings(Scenario(knee=Knee(**kwargs)))[0]["knee"]


def test_linear_torque_is_resistance_times_rate():
    assert knee_torque(0.3, 2.0, 1, knee(flexion_resistance=40.0)) == pytest.approx(-80.0)


def test_hydraulic_torque_is_quadratic_and_equals_its_linear_equivalent_at_the_named_rate():
    # exponent 2: sharp-edged orifice, row Q03 of the reference table (from memory)
    hydraulic = knee(law="hydraulic", flexion_resistance=40.0)
    rate = HYDRAULIC_REFERENCE_RATE
    assert knee_torque(0.3, rate, 1, hydraulic) == pytest.approx(-40.0 * rate)
    assert knee_torque(0.3, 2 * rate, 1, hydraulic) == pytest.approx(4 * knee_torque(0.3, rate, 1, hydraulic))


@pytest.mark.parametrize("law", ["linear", "hydraulic"])
def test_under_load_the_knee_only_takes_energy(law):
    record = knee(law=law, flexion_resistance=60.0)
    for rate in np.linspace(-6, 6, 25):
        assert knee_torque(0.5, float(rate), 1, record) * rate <= 0.0


def test_unloaded_it_is_light_and_the_assist_extends():
    record = knee(flexion_resistance=60.0)
    assert abs(knee_torque(0.5, 3.0, 0, record)) < 0.1 * abs(knee_torque(0.5, 3.0, 1, record))
    assert knee_torque(0.5, 0.0, 0, record) == pytest.approx(-6.0)
    assert knee_torque(-0.02, 0.0, 0, record) == 0.0  # the assist does not press into the stop


def test_load_switch_has_hysteresis():
    record = knee(load_on_n=160.0, load_off_n=110.0)
    states, now = [], 0
    for load in (0, 130, 161, 130, 111, 109, 130):
        now = is_loaded(float(load), now, record)
        states.append(now)
    assert states == [0, 0, 1, 1, 1, 0, 0]


def test_stops_push_back_only_beyond_the_range():
    record = knee()
    assert knee_stop(0.5, -3.0, record) == 0.0
    assert knee_stop(-0.01, 0.0, record) == pytest.approx(0.01 * record["stop_stiffness"])
    assert knee_stop(-0.01, -1.0, record) > knee_stop(-0.01, 0.0, record)
    assert knee_stop(-0.01, 1.0, record) == knee_stop(-0.01, 0.0, record)  # no glue while leaving
    assert knee_stop(float(record["maximum_flexion"]) + 0.02, 0.0, record) < 0.0
