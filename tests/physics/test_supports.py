"""Rail and helper: all outside forces add up, the energy book closes, both dynamics feel the same, off is off."""

import numpy as np
import pytest

from sim.activities.walk import walk
from sim.body import build_body
from sim.drivers import minimal
from sim.drivers.loops import run_walk
from sim.law.books import spread
from sim.law.compiled import law
from sim.law.geometry import look_minimal
from sim.law.records import BODIES, FORCES, GRAVITY, SOURCES
from sim.law.start import body_states
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.scenario import Scenario, replace_by_name

DT = 2.5e-4
HELD = {
    "rail.side": "prosthetic", "rail.carried_share": 0.1, "rail.braking_share": 0.04, "rail.height_m": 0.95,
    "helper.support": "constant", "helper.lifted_share": 0.08, "strides": 2,
}  # fmt: skip


def scenario(**changes):
    return replace_by_name(Scenario(), HELD | changes)


def records(one):
    return pack_settings(one), pack_gains(), pack_plant(build_body(one.person, one.components, one.foot))


@pytest.fixture(scope="module")
def every_step():
    """A supported run with a frame at every time step, and its plant."""
    settings, gains, plant = records(scenario())
    return run_walk(settings, gains, plant, 5, 2.0, DT, frame_time=DT), plant[0]


@pytest.fixture(scope="module")
def held():
    return walk(scenario(strides=6))


def contact_of(forces):
    """Force on each foot and its moment about the foot's mass centre, shapes (n, 2, 2), (n, 2)."""
    normal = forces["normal_elastic"] + forces["normal_damping"]
    along = np.where(normal > 0.0, forces["friction_elastic"] + forces["friction_damping"], 0.0)
    t, arm = forces["tangent"], forces["arm"]
    f = along[..., None] * t + normal[..., None] * np.stack([-t[..., 1], t[..., 0]], axis=-1)
    return f.sum(axis=2), (arm[..., 0] * f[..., 1] - arm[..., 1] * f[..., 0]).sum(axis=2)


def test_momentum_changes_by_gravity_contact_rail_and_helper(every_step):
    """Newton for the whole body, at every time step: nothing else acts from outside. Rounding only: 1e-8 of weight."""
    run, plant = every_step
    forces, velocity = run.frames["forces"][:-1], run.frames["body"][:, :, 3:5]
    feet, _ = contact_of(forces)
    outside = feet.sum(axis=1) + forces["rail"] + forces["helper"]
    outside[:, 1] -= plant["mass"].sum() * GRAVITY
    momentum = np.einsum("b,nbk->nk", plant["mass"], velocity)
    assert np.abs(forces["rail"]).max() > 50.0
    assert np.abs(forces["helper"]).max() > 50.0
    assert np.abs(np.diff(momentum, axis=0) / DT - outside).max() < 1e-8 * plant["mass"].sum() * GRAVITY


def test_angular_momentum_changes_by_the_moments_of_the_same_forces(every_step):
    """About the origin. Positions in frames are one time step ahead, and joints hold to micrometres: 2 % of the rail's
    moment is far above both.
    """
    run, plant = every_step
    forces, body = run.frames["forces"][:-1], run.frames["body"]
    feet, foot_moment = contact_of(forces)
    x, y, vx, vy, rate = (body[..., k] for k in (0, 1, 3, 4, 5))
    spin = (plant["mass"] * (x * vy - y * vx) + plant["inertia"] * rate).sum(axis=1)
    x, y = x[:-1], y[:-1]
    moment = foot_moment.sum(axis=1) - (plant["mass"] * GRAVITY * x).sum(axis=1)
    for leg in range(2):
        moment += x[:, 3 + 3 * leg] * feet[:, leg, 1] - y[:, 3 + 3 * leg] * feet[:, leg, 0]
    without = moment.copy()
    for name in ("rail", "helper"):
        f, arm = forces[name], forces[f"{name}_arm"]
        moment += (x[:, 0] + arm[:, 0]) * f[:, 1] - (y[:, 0] + arm[:, 1]) * f[:, 0]
    change = np.diff(spin) / DT
    off, far = np.abs(change - moment).mean(), np.abs(change - without).mean()
    assert off < 0.02 * far


def test_the_book_closes_with_rows_of_rail_and_helper(held):
    energy = held.energy
    assert SOURCES[-2:] == ("rail", "helper")
    assert energy["residual_fraction"] < 1e-4
    for source in ("rail", "helper"):
        assert energy[f"{source}_out_j"] > 1.0  # going down they take energy
    power = work_of(held)
    for source in ("rail", "helper"):
        booked = energy[f"{source}_in_j"] - energy[f"{source}_out_j"]
        assert booked == pytest.approx(power[source], rel=0.02)


def work_of(result):
    """Force x velocity of where it acts, summed over frames [J]: without the book."""
    trunk, forces = result.frames["body"][:, 0], result.frames["forces"]
    step = result.frames["time"][1] - result.frames["time"][0]
    found = {}
    for name in ("rail", "helper"):
        f, arm = forces[name], forces[f"{name}_arm"]
        vx, vy = trunk[:, 3] - trunk[:, 5] * arm[:, 1], trunk[:, 4] + trunk[:, 5] * arm[:, 0]
        found[name] = float((f[:, 0] * vx + f[:, 1] * vy).sum() * step)
    return found


def test_the_feet_carry_the_weight_less_what_rail_and_helper_carry(held):
    assert held.outcome == "walked"
    carried = held.metrics["mean_vertical_force_bw"]
    assert carried == pytest.approx(1.0 - 0.1 - 0.08, abs=0.01)
    mean = held.frames["forces"]["rail"].mean(axis=0) / held.scenario.person.weight
    assert mean[1] == pytest.approx(0.1, abs=0.01)


def test_the_hand_is_on_the_rail_and_the_helper_at_the_pelvis(held):
    frames, series = held.frames, held.series
    hand = frames["body"][:, 0, :2] + frames["forces"]["rail_arm"]
    ahead = hand[:, 0] - series.hip[:, 0]
    assert ahead == pytest.approx(0.25, abs=1e-9)
    late = hand[hand[:, 0] > held.slope_start_x]
    ground = pack_settings(held.scenario)[0]["ground"]
    height = ground["height"][1] + ground["slope"][1] * (late[:, 0] - ground["x"][1])
    assert late[:, 1] - height == pytest.approx(0.95, abs=1e-9)
    pelvis = frames["body"][:, 0, :2] + frames["forces"]["helper_arm"]
    assert np.abs(pelvis - series.hip).max() < 1e-9


def test_a_hand_is_never_stronger_than_it_is():
    weak = walk(scenario(**{"rail.strongest_grip_share": 0.05, "helper.support": "none"}))
    force = np.hypot(*weak.frames["forces"]["rail"].T) / weak.scenario.person.weight
    assert force.max() == pytest.approx(0.05, rel=1e-3)


def test_a_fading_helper_is_gone_after_the_wanted_steps():
    result = walk(scenario(**{"rail.side": "none", "helper.support": "fading", "helper.fade_steps": 4}))
    gone = result.frames["time"] > result.step_records["time"][3]
    force = np.abs(result.frames["forces"]["helper"]).sum(axis=1)
    assert gone.any()
    assert force[gone].max() == 0.0
    before = (result.frames["time"] < result.step_records["time"][3]) & (result.frames["time"] > 0.0)
    assert force[before].min() > 0.0


def test_both_loops_give_the_same_bits_with_rail_and_helper():
    settings, gains, plant = records(scenario())
    runs = [run_walk(settings, gains, plant, 4, 3.0, DT, loop=loop) for loop in ("compiled", "batch")]
    assert [run.loop for run in runs] == ["compiled", "batch"]
    for kept in ("steps", "frames", "book"):
        assert getattr(runs[0], kept).tobytes() == getattr(runs[1], kept).tobytes(), kept


def test_a_hand_that_neither_carries_nor_grips_changes_no_bit():
    idle = {"rail.carried_share": 0.0, "rail.braking_share": 0.0, "grip_stiffness_n_per_m": 0.0}
    idle |= {"grip_damping_n_s_per_m": 0.0, "helper.support": "none"}
    with_hand, free = walk(scenario(**idle)), walk(scenario(**idle | {"rail.side": "none"}))
    assert with_hand.frames["body"].tobytes() == free.frames["body"].tobytes()
    assert with_hand.metrics == free.metrics
    assert free.frames["forces"]["supported"].max() == 0
    assert {free.energy[f"{source}_{way}_j"] for source in ("rail", "helper") for way in ("in", "out")} == {0.0}


@law
def powers(settings, plants, outs, q, v, state, total, b):
    """Power of one set of forces, by bodies and in minimal coordinates."""
    person, out = settings[0].person, outs[0]
    body_states(q, v, person, plants[0], state)
    spread(out, total)
    by_bodies = 0.0
    for i in range(BODIES):
        for k in range(3):
            by_bodies += total[3 * i + k] * state[6 * i + 3 + k]
    minimal.generalized_forces(look_minimal(q, v, person), out, person, b)
    by_coordinates = 0.0
    for i in range(minimal.SIZE):
        by_coordinates += b[i] * v[i]
    return by_bodies, by_coordinates


def test_the_minimal_walker_feels_the_same_rail_and_helper():
    """Virtual work: the same power for any rates. 1e-9: rounding."""
    settings, _, plant = records(scenario())
    random = np.random.default_rng(3)
    for _ in range(50):
        out = np.zeros(1, FORCES)
        out["supported"] = 1
        for name in ("rail", "rail_arm", "helper", "helper_arm"):
            out[name] = random.normal(0.0, 1.0, (1, 2))
        q, v = random.uniform(-1.0, 1.0, minimal.SIZE), random.normal(0.0, 2.0, minimal.SIZE)
        state, total, b = np.zeros(6 * BODIES), np.zeros(3 * BODIES), np.zeros(minimal.SIZE)
        bodies, coordinates = powers(settings, plant, out, q, v, state, total, b)
        assert coordinates == pytest.approx(bodies, rel=1e-9, abs=1e-9)
        assert abs(bodies) > 0.0


def test_tables_of_a_supported_walk_have_its_outside_forces_and_others_have_not(held):
    table = held.to_dataframe()
    weight = held.scenario.person.weight
    for name in ("rail", "helper"):
        for k, direction in enumerate(("forward", "up")):
            assert np.array_equal(table[f"{name}_force_{direction}_bw"], held.frames["forces"][name][:, k] / weight)
    free = walk(Scenario(strides=1)).to_dataframe()
    assert not [column for column in free if column.startswith(("rail", "helper"))]
