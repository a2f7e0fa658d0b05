"""The plant against equations that sympy derives from the places of the mass centres (minimal_sympy.py).

No outside numbers: the check is that two derivations and two integrators agree, and how fast they come together.
"""

import numpy as np
import pytest

from sim.body import build_body
from sim.drivers import minimal
from sim.drivers.engine import Engine
from sim.drivers.loops import walker_pivots
from sim.law.compiled import entry
from sim.law.geometry import look_minimal
from sim.pack import pack_plant, pack_settings
from sim.scenario import Scenario
from tests.physics.minimal_sympy import JOINTS, POSE, RATES, SIZE, TORQUES, Plant, joint_torques

TIME = 0.4
STEPS = [400, 800, 1600, 3200]  # time steps of 1 to 0.125 ms
ITERATIONS = 40


@pytest.fixture(scope="session")
def body():
    return build_body()


@pytest.fixture(scope="session")
def plant(body):
    return Plant(body)


@pytest.fixture(scope="session")
def exact(plant):
    """Coordinates, rates and joint forces at the end, from scipy at 1e-11."""
    force = joint_torques(TORQUES)
    q, v = plant.later(POSE, RATES, force, TIME)
    return q, v, plant.joint_forces(q, v, force)


@pytest.fixture(scope="session")
def engines(body, plant):
    """The pymunk engine at the end, for each number of steps."""
    return [fall_on_engine(body, plant, count) for count in STEPS]


def fall_on_engine(body, plant, count):
    """Engine after `TIME` in the air with constant joint torques."""
    person = pack_settings(Scenario())[0]["person"]
    pivots = walker_pivots(pack_plant(body)[0], person)
    engine = Engine(body.mass, body.inertia, plant.states(POSE, RATES), pivots, iterations=ITERATIONS)
    engine.force.reshape(-1, 3)[:, 2] = joint_torques(TORQUES)[2:]
    for _ in range(count):
        engine.push()
        engine.step(TIME / count)
    return engine


def order(errors):
    """Exponent of the error in the time step."""
    return -np.polyfit(np.log(STEPS), np.log(errors), 1)[0]


@entry
def compiled_accelerations(q, v, settings, plants, works):
    minimal.accelerations(look_minimal(q, v, settings[0].person), settings[0].person, plants[0], works[0])


def test_minimal_coordinates_are_lagranges(body, plant):
    """Same accelerations at random states and forces. 1e-9: rounding in mass matrices of condition 1e4."""
    settings, plants, works = pack_settings(Scenario()), pack_plant(body), np.zeros(1, minimal.WORK)
    random = np.random.default_rng(7)
    for _ in range(200):
        q, v = random.uniform(-3.0, 3.0, SIZE), random.normal(0.0, 4.0, SIZE)
        force = random.normal(0.0, 80.0, SIZE)
        works[0]["b"] = force
        compiled_accelerations(q, v, settings, plants, works)
        right = plant.accelerations(q, v, force)
        assert works[0]["b"] == pytest.approx(right, rel=1e-9, abs=1e-9 * np.abs(right).max())


def test_engine_falls_as_lagrange_says(plant, exact, engines):
    """First order in the time step for mass centres, angles, velocities and rates, and nothing left in the limit."""
    right = plant.states(*exact[:2])
    off = np.array([engine.read().copy() - right for engine in engines])
    for columns in (off[..., :2], off[..., 2], off[..., 3:5], off[..., 5]):
        assert order(np.abs(columns).reshape(len(STEPS), -1).max(axis=1)) == pytest.approx(1.0, abs=0.1)
    limit = (8.0 * off[3] - 6.0 * off[2] + off[1]) / 3.0  # without the first and second power of the step
    assert np.abs(limit).max() < 1e-3 * np.abs(off[3]).max()


@pytest.mark.parametrize("joint", range(len(JOINTS)), ids=[f"leg {b > 3:d} joint {p}" for b, p in JOINTS])
def test_joint_impulses_are_the_forces_of_the_independent_solution(exact, engines, joint):
    """Impulse of the last step / dt against mass x (acceleration - gravity) of all below hip, knee and ankle."""
    force = np.hypot(*exact[2][joint])
    carried = np.array([engine.impulse(joint) * count / TIME for engine, count in zip(engines, STEPS, strict=True)])
    off = np.abs(carried / force - 1.0)
    assert order(off) == pytest.approx(1.0, abs=0.15)
    assert off[-1] < 0.01
