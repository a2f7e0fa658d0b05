"""What holds for every sensible person, knee, slope and step, whatever the gait is."""

import dataclasses
import operator

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from sim.activities.walk import walk
from sim.body import build_body
from sim.drivers import loops
from sim.law.records import FOOT, THIGH
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.parameters import ours
from sim.scenario import (
    GRAVITY,
    Components,
    Contact,
    Ground,
    Knee,
    Numerics,
    Person,
    ProstheticFoot,
    Scenario,
    replace_by_name,
)
from tests.properties.random_scenarios import SENSIBLE, sensible_scenario

SEEDS = st.integers(0, 2**32 - 1)
#: Without looking for a smaller example: one seed is no simpler than another, and looking takes minutes.
few = settings(max_examples=15, phases=[Phase.explicit, Phase.generate])


def run_of(scenario, landings=3, seconds=3.0, time=1.0, frame_time=2.5e-3):
    """The bare run, without what the activity adds; `time` scales with the size of the person."""
    body = build_body(scenario.person, scenario.components, scenario.foot)
    records = pack_settings(scenario), pack_gains(), pack_plant(body)
    dt = scenario.numerics.time_step_s
    return loops.run_walk(*records, landings, seconds * time, dt, frame_time=frame_time * time)


# -------------------------------------------------------------------------------- mirror
LEGS = ("heel_x", "reach_adjust", "touching", "anchor", "filtered")
LEG_TALLIES = ("peak", "raw_peak", "stop_work")


def mirrored_start(*arguments):
    """The same start with the legs exchanged."""
    FIRST_STATE(*arguments)
    memories, state = arguments[3], arguments[7]
    memory, bodies = memories[0], state[: 6 * (1 + 2 * FOOT)].reshape(-1, 6)
    legs = slice(THIGH, FOOT + 1), slice(THIGH + 3, FOOT + 4)
    bodies[legs[0]], bodies[legs[1]] = bodies[legs[1]].copy(), bodies[legs[0]].copy()
    memory["stance"] = 1 - memory["stance"]
    for name in LEGS:
        memory[name] = memory[name][::-1].copy()
    for name in LEG_TALLIES:
        memory["tally"][name] = memory["tally"][name][::-1].copy()


FIRST_STATE = loops.first_state


@few
@given(SEEDS)
def test_a_symmetric_walker_that_starts_on_the_other_leg_walks_the_mirrored_walk(seed):
    symmetric = replace_by_name(sensible_scenario(np.random.default_rng(seed)), {"person.limbs": "both-sound"})
    here = run_of(symmetric)
    with pytest.MonkeyPatch.context() as patch:
        pivots = loops.walker_pivots
        patch.setattr(loops, "first_state", mirrored_start)
        patch.setattr(loops, "walker_pivots", lambda *a: [*pivots(*a)[3:], *pivots(*a)[:3]])
        there = run_of(symmetric)
    assert here.status == there.status
    assert len(here.steps) == len(there.steps)
    assert (there.steps["leg"] == 1 - here.steps["leg"]).all()
    assert there.steps["length"] == pytest.approx(here.steps["length"], abs=1e-6)
    assert there.steps["raw_peak"] == pytest.approx(here.steps["raw_peak"][:, ::-1], rel=1e-4, abs=1.0)
    count = min(len(here.frames), len(there.frames))
    order = [0, *range(THIGH + 3, FOOT + 4), *range(THIGH, FOOT + 1)]
    mirrored = there.frames["body"][:count][:, order]
    assert np.abs(mirrored - here.frames["body"][:count])[..., :3].max() < 1e-5


@few
@given(SEEDS)
def test_the_side_of_the_prosthesis_is_a_label(seed):
    scenario = sensible_scenario(np.random.default_rng(seed), strides=1)
    right, left = (walk(replace_by_name(scenario, {"prosthetic_side": side})) for side in ("right", "left"))
    assert right.metrics == left.metrics
    assert (right.frames["body"] == left.frames["body"]).all()


# -------------------------------------------------------------------------------- scaling
def scaled(base, mass, size):
    """The same walk of a person `mass` times as heavy and `size` times as tall, everything else to scale.

    Times go with the square root of size (equal Froude number), so torque / rate goes with mass x size^1.5.
    """
    time = size**0.5
    torque, damping = mass * size, mass * size * time
    knee_damping = damping * time if base.knee.law == "hydraulic" else damping  # torque goes with the rate squared
    person, parts, knee, foot, contact = base.person, base.components, base.knee, base.foot, base.contact
    strengths = {name: size * getattr(person, name) for name in vars(person) if "strength_nm" in name}
    return Scenario(
        slope_deg=base.slope_deg,
        step_length_m=size * base.step_length_m,
        speed_m_s=size / time * base.speed,
        trunk_lean_deg=base.trunk_lean_deg,
        strides=base.strides,
        person=Person(
            mass_kg=mass * person.mass_kg,
            stature_m=size * person.stature_m,
            limbs=person.limbs,
            residual_limb_fraction=person.residual_limb_fraction,
            residual_hip_strength_fraction=person.residual_hip_strength_fraction,
            **strengths,
        ),
        components=Components(**{name: mass * value for name, value in vars(parts).items()}),
        knee=Knee(
            law=knee.law,
            flexion_resistance=knee_damping * knee.flexion_resistance,
            extension_resistance=damping * knee.extension_resistance,
            swing_flexion_resistance=damping * knee.swing_flexion_resistance,
            swing_extension_resistance=damping * knee.swing_extension_resistance,
            extension_assist_nm=torque * knee.extension_assist_nm,
            load_on_n=mass * knee.load_on_n,
            load_off_n=mass * knee.load_off_n,
            stop_stiffness=torque * knee.stop_stiffness,
            stop_damping=damping * knee.stop_damping,
            maximum_flexion_deg=knee.maximum_flexion_deg,
        ),
        foot=ProstheticFoot(
            ankle_stiffness=torque * foot.ankle_stiffness,
            ankle_damping=damping * foot.ankle_damping,
            effective_length=foot.effective_length,
        ),
        contact=Contact(
            friction=contact.friction,
            dissipation_s_per_m=contact.dissipation_s_per_m * time / size,
            anchor_damping=contact.anchor_damping * mass * time / size,
        ),
        ground=Ground(lead_in_m=size * base.ground.lead_in_m, blend_m=size * base.ground.blend_m),
        numerics=Numerics(time_step_s=base.numerics.time_step_s * time),
    )


def scaled_run(base, mass, size):
    """Run of the scaled person; the one length that is no setting, that of the knee unit, goes along."""
    guesses = ours.person()
    unit = guesses["knee_unit_length"]
    longer = guesses | {"knee_unit_length": dataclasses.replace(unit, value=size * unit.value)}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ours, "person", lambda: longer)
        return run_of(scaled(base, mass, size), time=size**0.5)


@few
@given(SEEDS, st.floats(0.8, 1.25), st.floats(0.9, 1.1))
@pytest.mark.parametrize("kind", ["mass", "size", "both"])
def test_to_scale_everything_walks_alike(kind, seed, mass, size):
    rng = np.random.default_rng(seed)
    person = {"mass_kg": 75.0, "stature_m": 1.72}  # leaves room for the scaled one
    base = replace_by_name(sensible_scenario(rng), person)
    base = replace_by_name(base, {"load_on_n": 160.0, "flexion_resistance": min(200.0, base.knee.flexion_resistance)})
    mass, size = (1.0 if kind == "size" else mass), (1.0 if kind == "mass" else size)
    here, there = scaled_run(base, 1.0, 1.0), scaled_run(base, mass, size)
    assert here.status == there.status
    assert len(here.steps) == len(there.steps)
    count = min(len(here.frames), len(there.frames))
    assert abs(len(here.frames) - len(there.frames)) <= 1
    angles = np.abs(here.frames["body"][:count, :, 2] - there.frames["body"][:count, :, 2])
    assert angles.max() < 1e-3
    assert there.steps["length"] == pytest.approx(size * here.steps["length"], abs=1e-3)
    loads = here.frames["forces"]["load"][:count], there.frames["forces"]["load"][:count]
    weight = base.person.mass_kg * GRAVITY
    assert np.abs(loads[1] / mass - loads[0]).max() < 0.02 * weight


# -------------------------------------------------------------------------------- balance and refinement
def external_force_up(result):
    """Vertical force of everything outside the person on the person [N], shape (n,): both feet, and a rail."""
    up = result.series.ground_force[..., 1].sum(axis=1)
    rail = getattr(result.series, "rail_force", None)
    return up if rail is None else up + rail[..., 1]


@few
@given(SEEDS)
def test_the_mean_vertical_force_is_the_weight(seed):
    """Over any time: mean force = weight + change of momentum / time."""
    result = walk(sensible_scenario(np.random.default_rng(seed), strides=1))
    assert result.outcome != "invalid"
    # the first frames, before the feet have settled, are left out; what is left is 0.5 s or longer, or the whole
    up, time = external_force_up(result), result.series.time
    momentum = (result.frames["body"][:, :, 4] * result.body.mass).sum(axis=1)
    impulse = 0.5 * ((up[1:] + up[:-1]) * np.diff(time)).sum()
    wanted = result.scenario.person.weight * (time[-1] - time[0]) + momentum[-1] - momentum[0]
    assert impulse == pytest.approx(wanted, rel=0.01, abs=0.004 * result.scenario.person.weight)


@few
@given(SEEDS)
def test_finer_time_steps_converge(seed):
    """In the first 0.2 s; later a foot lands, and the moment of a landing is a whole number of time steps."""
    scenario = sensible_scenario(np.random.default_rng(seed))
    finest, poses = 2.5e-5, {}
    for dt in (4e-4, 2e-4, 1e-4, finest):
        run = run_of(replace_by_name(scenario, {"time_step_s": dt}), seconds=0.2, frame_time=2e-3)
        poses[dt] = run.frames["body"][:, :, :3]
    count = min(len(pose) for pose in poses.values())
    assert count > 20
    errors = [np.abs(poses[dt][:count] - poses[finest][:count]).max() for dt in (4e-4, 2e-4, 1e-4)]
    assert errors[2] < 5e-3  # 0.3 deg or 5 mm
    assert errors[0] > 1.5 * errors[1] > 2.2 * errors[2]  # at least of first order: 1 : 2 : 4 and more


# -------------------------------------------------------------------------------- nothing is remembered
def test_a_walk_does_not_depend_on_those_before_it():
    rng = np.random.default_rng(5)
    scenarios = [sensible_scenario(rng, strides=1) for _ in range(4)]
    first = [walk(scenario) for scenario in scenarios]
    blown_up = replace_by_name(scenarios[0], {"foot.ankle_damping": 20.0, "time_step_s": 1e-3})
    assert walk(blown_up).outcome in {"invalid", "fell", "stalled", "walked"}
    for index in (3, 1, 0, 2, 2):
        again = walk(scenarios[index])
        assert again.frames.tobytes() == first[index].frames.tobytes()
        assert again.metrics == first[index].metrics
        assert again.energy == first[index].energy


def test_the_sensible_ranges_are_allowed():
    for name, (low, high) in SENSIBLE.items():
        for value in (low, high):
            changed = replace_by_name(Scenario(step_length_m=0.5), {"knee.load_off_n": 10.0, name: value})
            assert operator.attrgetter(name)(changed) == value
