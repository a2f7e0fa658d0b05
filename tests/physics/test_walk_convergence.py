"""A whole walk, controller and contact included, comes to one answer as the time step shrinks, with first order.

No outside number: the engine is of first order (test_independent_dynamics.py), and nothing in the laws may spoil that.
Feet land and plans change at a whole time step, early or late by chance. What that adds is of first order too, but
uneven, so that after a landing the order shows only on the mean of some walks.
"""

import numpy as np
import pytest

from sim.body import build_body
from sim.drivers.loops import run_walk
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.scenario import Scenario
from sim.series import series_of

STEPS = np.array([8e-4, 4e-4, 2e-4, 1e-4])  # s
FINEST = 2.5e-5  # s
FRAME = 2.4e-3  # s, a multiple of every time step
LENGTHS = np.linspace(0.44, 0.56, 25)  # m, steps of as many walks, all down the start slope; single ones 0.5 to 1.7


def walked(length, dt):
    """Mass centre every `FRAME`, shape (n, 2) [m], and times of the first two landings [s]."""
    scenario = Scenario(step_length_m=float(length))
    body = build_body(scenario.person, scenario.components, scenario.foot)
    records = pack_settings(scenario), pack_gains(), pack_plant(body)
    run = run_walk(*records, 3, 3.0, dt, scenario.numerics.iterations, frame_time=FRAME)
    assert len(run.steps) == 3
    return series_of(run.frames, body).mass_centre, run.steps["time"][:2]


@pytest.fixture(scope="module")
def off():
    """Largest distance from the finest walk until the first and the second landing [m], shape (walks, steps, 2)."""
    rows = []
    for length in LENGTHS:
        right, landing = walked(length, FINEST)
        ends = (landing / FRAME).astype(int)
        for dt in STEPS:
            rough = walked(length, dt)[0]
            far = np.linalg.norm(rough[: ends[1]] - right[: ends[1]], axis=1)
            rows.append([far[: ends[0]].max(), far.max()])
    return np.reshape(rows, (len(LENGTHS), len(STEPS), 2))


def order(errors):
    """Exponent of the error in the time step, where the finest walk is itself off as its time step says."""
    return np.polyfit(np.log(STEPS - FINEST), np.log(errors), 1)[0]


def test_until_the_first_landing_every_walk_converges_with_first_order(off):
    for errors in off[..., 0]:
        assert order(errors) == pytest.approx(1.0, abs=0.1)


def test_over_two_steps_the_mass_centre_converges_with_first_order(off):
    errors = np.sqrt((off[..., 1] ** 2).mean(axis=0))
    assert order(errors) == pytest.approx(1.0, abs=0.3)
    assert errors[-1] < 1e-3
    assert errors[-1] < 0.25 * errors[0]
