"""The engine alone: free fall, a free chain, pendulums, one collision. Right answers are textbook mechanics."""

import math

import numpy as np
import pytest
from scipy.special import ellipk

from sim.body import build_body
from sim.drivers.engine import Engine, Pivot
from sim.drivers.loops import walker_pivots
from sim.pack import pack_plant, pack_settings
from sim.scenario import Scenario
from tests.physics.minimal_sympy import POSE, RATES, Plant

G = 9.81


def order(errors, steps):
    """Exponent of the error in the time step, from numbers of steps in the same time."""
    return -np.polyfit(np.log(steps), np.log(np.abs(errors)), 1)[0]


# ---- the walker's seven bodies in the air


@pytest.fixture(scope="module")
def body():
    return build_body()


@pytest.fixture(scope="module")
def start(body):
    return Plant(body).states(POSE, RATES)


def chain(body, start, velocity=(0.0, 0.0)):
    """Seven bodies and their joints, no torques; `velocity` is added to that of the whole."""
    state = start.copy()
    state[:, 3:5] += velocity
    pivots = walker_pivots(pack_plant(body)[0], pack_settings(Scenario())[0]["person"])
    return Engine(body.mass, body.inertia, state, pivots, iterations=40)


def mean(body, rows):
    """Mass-weighted mean of rows of bodies."""
    return body.mass @ rows / body.mass.sum()


def spin(body, state):
    """Angular momentum about the mass centre [kg m2/s]."""
    place, speed = state[:, :2] - mean(body, state[:, :2]), state[:, 3:5] - mean(body, state[:, 3:5])
    return body.mass @ (place[:, 0] * speed[:, 1] - place[:, 1] * speed[:, 0]) + body.inertia @ state[:, 5]


def energy(body, state):
    """Kinetic and potential [J]."""
    return 0.5 * (body.mass @ (state[:, 3:5] ** 2).sum(axis=1) + body.inertia @ state[:, 5] ** 2) + G * (
        body.mass @ state[:, 1]
    )


def time_to_fall(body, start, height, dt):
    """Until the mass centre, first at rest, is `height` lower; and change of spin on the way."""
    engine = chain(body, start, velocity=-mean(body, start[:, 3:5]))
    state = engine.read().copy()
    top, turning = mean(body, state[:, 1]), spin(body, state)
    steps, fallen = 0, 0.0
    while fallen < height:
        engine.step(dt)
        steps, before, fallen = steps + 1, fallen, top - mean(body, engine.read()[:, 1])
    return dt * (steps - (fallen - height) / (fallen - before)), spin(body, engine.read()) / turning - 1.0


def test_m06_free_fall(body, start):
    """Row M06: 0.50 m from rest in 0.3193 s, 0.3177 to 0.3209; the limbs swing as they like."""
    exact = math.sqrt(2.0 * 0.5 / G)
    steps = [1e-3, 5e-4, 2.5e-4, 1.25e-4]
    found = [time_to_fall(body, start, 0.5, dt) for dt in steps]
    assert exact == pytest.approx(0.3193, abs=5e-5)
    assert all(0.3177 <= time <= 0.3209 for time, _ in found)
    assert order([time - exact for time, _ in found], 1.0 / np.array(steps)) == pytest.approx(1.0, abs=0.1)
    assert all(abs(change) < 1e-4 for _, change in found)


def test_free_chain_keeps_momentum_spin_and_energy(body, start):
    """Linear momentum to rounding at any step, spin and energy as the step goes to zero.

    Energy is off to first order, but only because the fall of the mass centre is half a step late: m g (g t) dt / 2.
    What the joints and the swinging limbs add to that is of second order.
    """
    time, steps = 0.4, [200, 400, 800, 1600]
    first, drifts = energy(body, start), []
    for count in steps:
        engine = chain(body, start)
        for _ in range(count):
            engine.step(time / count)
        state = engine.read()
        gained = mean(body, state[:, 3:5]) - mean(body, start[:, 3:5])
        assert gained == pytest.approx([0.0, -G * time], abs=1e-10)
        late = body.mass.sum() * G * 0.5 * (time / count) * G * time
        gain = energy(body, state) - first
        drifts.append([gain, gain - late, spin(body, state) - spin(body, start)])
    whole, inside, turns = np.transpose(drifts)
    assert order(whole, steps) == pytest.approx(1.0, abs=0.05)
    assert order(inside, steps) == pytest.approx(2.0, abs=0.2)
    assert order(turns, steps) == pytest.approx(2.0, abs=0.3)


# ---- one body on a pivot

ROD = {"mass": 3.0, "inertia": 0.2, "centre": 0.4}
STEPS = [400, 800, 1600, 3200]


def pendulum(angle, rate=0.0, iterations=10):
    """Rod that hangs from the origin, from straight down."""
    x, y = ROD["centre"] * math.sin(angle), -ROD["centre"] * math.cos(angle)
    state = [[x, y, angle, -rate * y, rate * x, rate]]
    hinge = Pivot(-1, 0, (0.0, 0.0), (0.0, ROD["centre"]))
    return Engine([ROD["mass"]], [ROD["inertia"]], state, [hinge], iterations=iterations)


ABOUT_PIVOT = ROD["inertia"] + ROD["mass"] * ROD["centre"] ** 2
SQUARE = ROD["mass"] * G * ROD["centre"] / ABOUT_PIVOT  # of the frequency of small swings


@pytest.mark.parametrize("amplitude", [0.1, 1.0, 2.0, 3.0])
def test_pendulum_swings_with_the_elliptic_period(amplitude):
    """A quarter period is K(sin^2(amplitude / 2)) / frequency of small swings."""
    quarter = ellipk(math.sin(amplitude / 2.0) ** 2) / math.sqrt(SQUARE)
    found = []
    for count in STEPS:
        engine, dt, steps, now = pendulum(amplitude), quarter / count, 0, amplitude
        while now > 0.0:
            engine.step(dt)
            steps, before, now = steps + 1, now, engine.angles()[0]
        found.append(dt * (steps - now / (now - before)))
    off = np.array(found) - quarter
    assert order(off, STEPS) == pytest.approx(1.0, abs=0.1)
    assert 2.0 * found[-1] - found[-2] == pytest.approx(quarter, rel=1e-5)


def test_pivot_carries_the_weight_of_a_hanging_rod():
    engine = pendulum(0.0)
    for _ in range(20):
        engine.step(1e-3)
    assert engine.impulse(0) / 1e-3 == pytest.approx(ROD["mass"] * G, rel=1e-12)


def test_pivot_carries_what_holds_a_swinging_rod():
    """Along the rod m (g cos a + r w^2), across it m g sin a (1 - m r^2 / inertia about the pivot)."""
    angle, time, carried, wanted = 1.2, 0.9, [], []
    for count in STEPS:
        engine, dt = pendulum(angle), time / count
        engine.steps(count, dt)
        now, rate, m, r = engine.angles()[0], engine.rates()[0], ROD["mass"], ROD["centre"]
        along, across = m * (G * math.cos(now) + r * rate**2), m * G * math.sin(now) * (1.0 - m * r**2 / ABOUT_PIVOT)
        carried.append(engine.impulse(0) / dt)
        wanted.append(math.hypot(along, across))
    assert order(np.subtract(carried, wanted), STEPS) == pytest.approx(1.0, abs=0.15)
    assert carried[-1] == pytest.approx(wanted[-1], rel=1e-3)


# ---- collisions and joints


def falling_leg(velocity=(0.6, -1.1), rate=-0.7, angle=0.3):
    """One free leg in the air, its foot over the origin."""
    below = 0.5  # mass centre to foot
    place = [-below * math.sin(angle), below * math.cos(angle)]
    state = [[*place, angle, *velocity, rate]]
    return Engine([ROD["mass"]], [ROD["inertia"]], state, []), Pivot(-1, 0, (0.0, 0.0), (0.0, -below)), place


def test_plastic_impact_of_one_leg():
    """Angular momentum about the foot that sticks is kept: w' = (I w + m (x vy - y vx)) / (I + m r^2)."""
    engine, foot, (x, y) = falling_leg()
    m, i = ROD["mass"], ROD["inertia"]
    _, _, _, vx, vy, w = engine.read()[0]
    after = (i * w + m * (x * vy - y * vx)) / (i + m * (x * x + y * y))
    push = m * math.hypot(-after * y - vx, after * x - vy)
    engine.add_pivot(foot)
    engine.strike()
    assert engine.read()[0] == pytest.approx([x, y, 0.3, -after * y, after * x, after], abs=1e-9)
    assert engine.impulse(0) == pytest.approx(push, rel=1e-9)


def test_an_impact_in_an_ordinary_step_comes_to_the_same():
    """To first order in the step: gravity acts meanwhile."""
    engine, foot, _ = falling_leg()
    engine.add_pivot(foot)
    engine.strike()
    right, off = engine.rates()[0], []
    for dt in (1e-3, 5e-4, 2.5e-4, 1.25e-4):
        engine, foot, _ = falling_leg()
        engine.add_pivot(foot)
        engine.read()
        engine.write(engine.read() - dt * np.array([[0.6, -1.1, -0.7, 0.0, 0.0, 0.0]]))
        engine.step(dt)
        off.append(engine.rates()[0] - right)
    assert order(off, [1, 2, 4, 8]) == pytest.approx(1.0, abs=0.1)


def test_strike_of_a_jointed_leg_keeps_momentum_about_the_foot_and_about_the_knee():
    """Thigh and shank, foot sticks: moments of momentum of both about the foot, of the thigh about the knee, stay."""
    mass, inertia = np.array([7.0, 3.0]), np.array([0.12, 0.05])
    state = np.array([[-0.2, 0.75, 0.4, 1.2, -0.5, -1.0], [0.0, 0.0, 0.1, 0.0, 0.0, -2.0]])
    knee = state[0, :2] + 0.25 * np.array([math.sin(0.4), -math.cos(0.4)])
    state[1, :2] = knee + 0.2 * np.array([math.sin(0.1), -math.cos(0.1)])
    arm = knee - state[0, :2]
    at_knee = state[0, 3:5] + state[0, 5] * np.array([-arm[1], arm[0]])
    arm = state[1, :2] - knee
    state[1, 3:5] = at_knee + state[1, 5] * np.array([-arm[1], arm[0]])
    foot = state[1, :2] + 0.25 * np.array([math.sin(0.1), -math.cos(0.1)])
    pivots = [Pivot(0, 1, (0.0, -0.25), (0.0, 0.2)), Pivot(-1, 1, tuple(foot), (0.0, -0.25))]
    engine = Engine(mass, inertia, state, pivots, iterations=2000)
    engine.strike()
    after = engine.read()

    def turning(rows, about, which):
        place = rows[which, :2] - about
        across = place[:, 0] * rows[which, 4] - place[:, 1] * rows[which, 3]
        return mass[which] @ across + inertia[which] @ rows[which, 5]

    both, thigh = [0, 1], [0]
    assert turning(after, foot, both) == pytest.approx(turning(state, foot, both), abs=1e-9)
    assert turning(after, knee, thigh) == pytest.approx(turning(state, knee, thigh), abs=1e-9)
    arm = foot - after[1, :2]
    assert after[1, 3:5] + after[1, 5] * np.array([-arm[1], arm[0]]) == pytest.approx([0.0, 0.0], abs=1e-9)


def test_a_gap_in_a_joint_is_closed_by_the_next_step():
    """So gaps never add up; the drift correction is complete (error_bias 0)."""
    state = [[0.0, 0.0, 0.0, 0.0, 0.0, 0.0], [1.001, 0.0, 0.0, 0.0, 0.0, 0.0]]
    engine = Engine([1.0, 1.0], [0.1, 0.1], state, [Pivot(0, 1, (0.5, 0.0), (-0.5, 0.0))], gravity=(0.0, 0.0))
    for _ in range(2):
        engine.step(1e-3)
    first, second = engine.read()
    assert second[0] - first[0] == pytest.approx(1.0, abs=1e-12)


def test_many_steps_at_once_are_the_same_steps():
    one, many = pendulum(1.0), pendulum(1.0)
    for _ in range(100):
        one.step(2e-3)
    many.steps(100, 2e-3)
    assert (one.read() == many.read()).all()
