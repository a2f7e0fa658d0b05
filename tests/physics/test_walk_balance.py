"""Balances of a real walk: statics of steady strides, momentum, energy. Energy functions are written here anew.

A book summed from the engine's own forces closes even with a wrong sign, so springs and contact are held against
energies computed from positions alone, and forces against the change of momentum.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sim.activities.walk import walk
from sim.body import build_body
from sim.drivers.loops import run_walk
from sim.ledger import energy_book, net
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.scenario import Scenario, replace_by_name
from sim.series import series_of, surface_of

SCENARIO = replace_by_name(Scenario(), {"slope_deg": -8.0, "step_length_m": 0.5, "knee.flexion_resistance": 40.0})
SLOPE = math.radians(-8.0)
G = 9.81


def run(dt, seconds, landings=14, frame_time=2.5e-3):
    body = build_body(SCENARIO.person, SCENARIO.components, SCENARIO.foot)
    records = pack_settings(SCENARIO), pack_gains(), pack_plant(body)
    return run_walk(*records, landings, seconds, dt, frame_time=frame_time)


@pytest.fixture(scope="module")
def steady():
    return walk(SCENARIO)


@pytest.fixture(scope="module")
def fine():
    """A short walk with every time step kept: positions at mid-step, and work of each step from mean velocities."""
    dt = SCENARIO.numerics.time_step_s
    done = run(dt, 12.0, frame_time=dt)
    body = build_body(SCENARIO.person, SCENARIO.components, SCENARIO.foot)
    settings = pack_settings(SCENARIO)[0]
    frames = done.frames
    state, forces = frames["body"], frames["forces"]
    middle = frames.copy()
    middle["body"][..., :3] -= 0.5 * dt * state[..., 3:]
    mean = frames[:-1].copy()
    mean["body"][..., 3:] = 0.5 * (state[:-1, :, 3:] + state[1:, :, 3:])
    surface = surface_of(settings["ground"])
    heel = done.steps["heel_x"]
    on_slope = done.steps["time"][heel > surface.start_x]
    window = slice(math.ceil(on_slope[1] / dt), math.floor(on_slope[-1] / dt) - 1)
    return SimpleNamespace(
        dt=dt, run=done, body=body, settings=settings, state=state, forces=forces, surface=surface, window=window,
        now=series_of(frames, body), middle=series_of(middle, body), mean=series_of(mean, body),
        velocity=mean["body"][..., 3:],
    )  # fmt: skip


def point_velocity(velocity, forces):
    """Velocity of every sole point from that of its foot, shape (n, 2, 3, 2)."""
    feet, arm = velocity[:, [3, 6]], forces["arm"]
    spin = feet[:, :, None, 2]
    return feet[:, :, None, :2] + np.stack([-spin * arm[..., 1], spin * arm[..., 0]], axis=-1)


def along_and_across(vectors, tangent):
    tx, ty = tangent[..., 0], tangent[..., 1]
    return vectors[..., 0] * tx + vectors[..., 1] * ty, vectors[..., 1] * tx - vectors[..., 0] * ty


def ground_force(forces):
    across = forces["normal_elastic"] + forces["normal_damping"]
    along = forces["friction_elastic"] + forces["friction_damping"]
    tx, ty = forces["tangent"][..., 0], forces["tangent"][..., 1]
    touching = across > 0.0
    return np.stack([along * tx - across * ty, along * ty + across * tx], axis=-1) * touching[..., None]


# ---------------------------------------------------------------- statics of whole strides
@pytest.fixture(scope="module")
def whole_strides(steady):
    """The last four whole strides, and the change of the mass centre's velocity over them, which in a steady walk is
    nothing and in any walk must be paid for by the ground."""
    series, landing = steady.series, steady.step_records["time"]
    first, last = (math.ceil(landing[k] / series.interval) for k in (-9, -1))
    last = min(last, len(series.time) - 1)
    gained = series.mass_centre_velocity[last] - series.mass_centre_velocity[first]
    acceleration = gained / (series.time[last] - series.time[first])
    return SimpleNamespace(part=slice(first, last), inertia=acceleration / G, weight=steady.scenario.person.weight)


def test_mean_ground_force_stands_against_the_slope(steady, whole_strides):
    """Row M01: mean force along / across the surface = tan(slope), within 1 %."""
    assert steady.outcome == "walked"
    tangent, normal = np.array([math.cos(SLOPE), math.sin(SLOPE)]), np.array([-math.sin(SLOPE), math.cos(SLOPE)])
    w = whole_strides
    along = steady.series.push[w.part].sum(axis=1).mean() / w.weight - w.inertia @ tangent
    across = steady.series.load[w.part].sum(axis=1).mean() / w.weight - w.inertia @ normal
    assert -along / across == pytest.approx(math.tan(-SLOPE), rel=0.01)


def test_mean_vertical_force_is_the_weight(steady, whole_strides):
    """Row M02: 0.995 to 1.005 body weights."""
    w = whole_strides
    vertical = steady.series.ground_force[w.part, :, 1].sum(axis=1).mean() / w.weight - w.inertia[1]
    assert 0.995 <= vertical <= 1.005


def test_energy_lost_per_step_is_that_of_the_slope(fine):
    """Row M03: m g s sin(slope), within 2 %, with s the run's own way per step; less what the speed gained holds.

    Every time step is kept, with mean velocities: landings are too short for a sum over frames 2.5 ms apart.
    """
    landing, steps = fine.run.steps["time"], 8
    part = slice(math.ceil(landing[-1 - steps] / fine.dt), math.floor(landing[-1] / fine.dt) - 1)
    series = fine.mean
    joints = ((series.hip_torque, series.hip_rate), (series.knee_torque + series.knee_stop_torque, series.knee_rate))
    joints += ((series.ankle_torque + series.ankle_stop_torque, series.ankle_rate),)
    work = sum((torque[part] * rate[part]).sum() * fine.dt for torque, rate in joints)
    forces = fine.forces[part]
    work += (ground_force(forces) * point_velocity(fine.velocity[part], forces)).sum() * fine.dt
    speeds = fine.state[[part.start, part.stop], :, 3:]
    kinetic = 0.5 * (fine.body.mass * (speeds[..., :2] ** 2).sum(axis=2)).sum(axis=1)
    kinetic += 0.5 * (fine.body.inertia * speeds[..., 2] ** 2).sum(axis=1)
    centre = fine.now.mass_centre[[part.start, part.stop]]
    way = np.diff(centre, axis=0)[0] @ np.array([math.cos(SLOPE), math.sin(SLOPE)]) / steps
    lost = (np.diff(kinetic)[0] - work) / steps
    # the mass centre may also end higher above the surface than it began
    rise = np.diff(centre, axis=0)[0] @ np.array([-math.sin(SLOPE), math.cos(SLOPE)]) / steps
    expected = SCENARIO.person.weight * (way * math.sin(-SLOPE) - rise * math.cos(SLOPE))
    assert lost == pytest.approx(expected, rel=0.005)


# ---------------------------------------------------------------- momentum: no hidden hand
def test_outside_force_is_gravity_and_contact_alone(fine):
    mass = fine.body.mass[None, :, None]
    gained = (mass * np.diff(fine.state[..., 3:5], axis=0)).sum(axis=1) / fine.dt
    outside = ground_force(fine.forces).sum(axis=(1, 2))[:-1] + np.array([0.0, -fine.body.total_mass * G])
    assert np.abs(gained - outside).max() < 1e-6 * fine.body.total_mass * G


def test_outside_moment_is_gravity_and_contact_alone(fine):
    """About the mass centre of the trunk, so that a torque on the trunk from nowhere would show."""
    mass, place = fine.body.mass, fine.state[:-1, :, :2]
    change = np.diff(fine.state[..., 3:], axis=0) / fine.dt
    pole = place[:, :1]
    arm = place - pole
    gained = (mass * (arm[..., 0] * (change[..., 1] + G) - arm[..., 1] * change[..., 0])).sum(axis=1)
    gained += (fine.body.inertia * change[..., 2]).sum(axis=1)
    force = ground_force(fine.forces)[:-1]
    reach = fine.now.sole[:-1] - pole[:, None]
    outside = (reach[..., 0] * force[..., 1] - reach[..., 1] * force[..., 0]).sum(axis=(1, 2))
    # joints drift apart by micrometres, over which their forces of some body weights turn
    assert np.abs(gained - outside).max() < 0.1
    assert np.abs(outside).max() > 50.0


# ---------------------------------------------------------------- energy
def test_the_book_holds_the_work_of_the_recorded_forces(fine):
    """Every source again from frames: torque x mean relative rate, force x mean velocity of the point.

    The last step's end is not among the frames: the tolerance is a third of a kilowatt in one time step.
    """
    energy, mean, forces = energy_book(fine.run.book), fine.mean, fine.forces[:-1]
    rates = {"hip": mean.hip_rate, "knee": mean.knee_rate, "ankle": mean.ankle_rate}
    torques = {"hip": "hip", "knee": "knee", "ankle": "ankle"}
    torques |= {"ankle_damping": "ankle", "knee_stop": "knee", "ankle_stop": "ankle"}
    for source, joint in torques.items():
        work = (forces[source] * rates[joint]).sum(axis=0) * fine.dt
        for leg, side in enumerate(("prosthetic", "sound")):
            assert net(energy, f"{source}_{side}") == pytest.approx(work[leg], abs=0.1)
    along, across = along_and_across(point_velocity(fine.velocity, forces), forces["tangent"])
    # a point that lifts off with both parts in balance carries nothing, and its spring still gives to its damper
    touching = forces["normal_elastic"] > 0.0
    for source, name, speed in (
        ("normal_elastic", "contact_elastic", across),
        ("normal_damping", "contact_damping", across),
        ("friction_elastic", "friction_elastic", along),
        ("friction_damping", "friction_damping", along),
    ):
        work = (forces[source] * speed * touching).sum() * fine.dt
        assert net(energy, name) == pytest.approx(work, abs=0.1)


def test_gravity_gives_what_the_fall_of_the_mass_centre_is_worth(steady):
    energy, height = steady.energy, steady.series.mass_centre[:, 1]
    fallen = steady.scenario.person.weight * (height[0] - height[-1])
    assert net(energy, "gravity") == pytest.approx(fallen, rel=2e-3)
    assert net(energy, "gravity") == pytest.approx(-energy["potential_change_j"], rel=1e-9)


def test_the_ledgers_residual_falls_with_the_square_of_the_time_step():
    """Work by mean velocities is exact for the engine's steps; what is left is the joints' drift."""
    steps = np.array([5e-4, 2.5e-4, 1.25e-4, 6.25e-5])
    left = [energy_book(run(dt, 1.5).book)["residual_fraction"] for dt in steps]
    order = np.polyfit(np.log(steps), np.log(left), 1)[0]
    assert 1.5 < order < 2.5
    assert left[1] < 1e-5


def contact_energy(series, fine):
    """2/5 k d^(5/2) at every point under the straight surface [J], shape (n,)."""
    depth = np.maximum(-fine.surface.above(series.sole), 0.0)
    stiffness = fine.settings["contact"]["stiffness"][None, :, None]
    return (0.4 * stiffness * depth**2.5).sum(axis=(1, 2))


def worst_gap(work, energy):
    """Largest difference between energy given up and work done, from any moment of the window on."""
    return np.abs(np.cumsum(work) + (energy[1:] - energy[0])).max()


def test_elastic_contact_gives_back_its_stored_energy(fine):
    w, forces = fine.window, fine.forces
    _, across = along_and_across(point_velocity(fine.velocity, forces[:-1]), forces["tangent"][:-1])
    work = (forces["normal_elastic"][:-1] * across).sum(axis=(1, 2)) * fine.dt
    energy = contact_energy(fine.middle, fine)[w]
    assert energy.max() > 3.0
    assert worst_gap(work[w][:-1], energy) < 0.01 * energy.max()


def test_the_prosthetic_ankle_is_a_spring(fine):
    w = fine.window
    stiffness = SCENARIO.foot.ankle_stiffness
    energy = 0.5 * stiffness * fine.middle.dorsiflexion[w, 0] ** 2
    work = fine.forces["ankle"][:-1, 0] * fine.mean.ankle_rate[:, 0] * fine.dt
    assert energy.max() > 1.0
    assert worst_gap(work[w][:-1], energy) < 0.01 * energy.max()


def test_knee_stops_never_give_more_than_their_spring_holds(fine):
    w, knee = fine.window, SCENARIO.knee
    over = np.maximum(-fine.middle.knee_flexion, 0.0)
    over += np.maximum(fine.middle.knee_flexion - math.radians(knee.maximum_flexion_deg), 0.0)
    energy = 0.5 * knee.stop_stiffness * over[w] ** 2
    work = (fine.forces["knee_stop"][:-1] * fine.mean.knee_rate)[w] * fine.dt
    balance = np.cumsum(work[:-1], axis=0) + (energy[1:] - energy[0])
    assert balance.max() < 0.01 * max(energy.max(), 0.1)


def test_dampers_and_sliding_only_take(fine):
    """At the velocity that the law saw, no damping force may point along the motion."""
    forces, now = fine.forces, fine.now
    along, across = along_and_across(point_velocity(fine.state[..., 3:], forces), forces["tangent"])
    assert (forces["normal_damping"] * across).max() < 1e-9
    assert (forces["friction_damping"] * along).max() < 1e-9
    assert (forces["ankle_damping"] * now.ankle_rate).max() < 1e-9
    assist = SCENARIO.knee.extension_assist_nm  # the one thing in the knee that is not a damper
    given = now.knee_torque[:, 0] * now.knee_rate[:, 0] - assist * np.maximum(-now.knee_rate[:, 0], 0.0)
    assert given.max() < 1e-9
    for source in ("normal_damping", "friction_damping", "ankle_damping", "knee"):
        assert np.abs(forces[source]).max() > 1.0


def test_friction_takes_more_than_its_springs_ever_hold(fine):
    """A sole point hangs on a spring; what it holds is force^2 / (2 k), and is lost when the point lifts or slides."""
    w, forces = fine.window, fine.forces
    along, _ = along_and_across(point_velocity(fine.velocity, forces[:-1]), forces["tangent"][:-1])
    held = forces["friction_elastic"] ** 2 / (2.0 * fine.settings["contact"]["anchor_stiffness"])
    energy = held.sum(axis=(1, 2))[w]
    work = ((forces["friction_elastic"] + forces["friction_damping"])[:-1] * along).sum(axis=(1, 2))[w] * fine.dt
    balance = np.cumsum(work[:-1]) + (energy[1:] - energy[0])
    assert balance.max() < 0.02 * energy.max()
    assert balance[-1] < -energy.max()


def test_step_lengths_again_from_frames(steady):
    """Heel to heel when each foot lands, dropped plumb onto the surface, from positions alone."""
    series, rows = steady.series, steady.step_records
    heels = []
    for time, leg in zip(rows["time"], rows["leg"].astype(int), strict=True):
        k = min(math.ceil(time / series.interval), len(series.time) - 1)
        heels.append(series.sole[k, leg, 0])
    again = np.diff(np.array(heels)[:, 0])[-8:] / math.cos(SLOPE)
    # a frame comes up to 2.5 ms after the landing, in which a landing heel still slides by some millimetres
    assert rows["length"][-8:] == pytest.approx(again, abs=0.005)
