"""The person: geometry, plans and the promise that no muscle sees the knee's setting."""

import math
import re
from pathlib import Path

import numpy as np
import pytest

import sim.law
from sim.body import build_body
from sim.drivers.minimal import WORK
from sim.gains import DIMENSIONS, gain_scale, read_gains
from sim.law.compiled import law
from sim.law.geometry import ALMOST_STRAIGHT, knee_and_thigh, look, look_minimal
from sim.law.phase import (
    FIRM_SHARE,
    LEARN_YIELD,
    LITTLE_YIELD,
    NEAR_SHARE,
    YIELD_SPAN,
    feel_yield,
    foothold_frame,
    landed,
    step_phase,
)
from sim.law.records import BODIES, FORCES, GAIN_NAMES, GAINS, MEMORY, PROSTHETIC, STEP
from sim.law.stance import GIVE_FROM, hip_path, stand_sound
from sim.law.start import body_states, start_pose
from sim.law.walker import act
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.scenario import Knee, Person, Scenario


def records(scenario):
    body = build_body(scenario.person, scenario.components, scenario.foot)
    return pack_settings(scenario), pack_gains(), pack_plant(body)


@law
def first_moment(settings, tables, memories, steps, works):
    s, table, memory, work = settings[0], tables[0], memories[0], works[0]
    start_pose(s, table, memory, work.q, work.v)
    act(0.0, 2.5e-4, look_minimal(work.q, work.v, s.person), s, table, memory, steps, work.out)


@law
def starting_pose(settings, tables, plants, memories, works, state):
    s, work = settings[0], works[0]
    start_pose(s, tables[0], memories[0], work.q, work.v)
    body_states(work.q, work.v, s.person, plants[0], state)


@law
def path(along, gains):
    return hip_path(along, 0.8, 0.3, 0.2, gains[0], 0.86)


def test_inverse_kinematics_puts_the_ankle_where_it_was_asked():
    person = pack_settings(Scenario())[0]["person"]
    for dx, dy in ((0.2, -0.75), (-0.3, -0.7), (0.0, -0.6), (0.4, -0.6)):
        flexion, thigh = knee_and_thigh(dx, dy, ALMOST_STRAIGHT, person)
        shank = thigh - flexion
        x = person["thigh_length"] * math.sin(thigh) + person["shank_length"] * math.sin(shank)
        y = -person["thigh_length"] * math.cos(thigh) - person["shank_length"] * math.cos(shank)
        assert (x, y) == (pytest.approx(dx), pytest.approx(dy))
        assert flexion > 0


def test_a_leg_that_may_not_reach_so_far_keeps_its_knee_bent_and_its_direction():
    person = pack_settings(Scenario())[0]["person"]
    a, b = person["thigh_length"], person["shank_length"]
    far = 1.2 * (a + b)
    for farthest in (0.95, ALMOST_STRAIGHT):
        flexion, thigh = knee_and_thigh(far * math.sin(0.3), -far * math.cos(0.3), farthest, person)
        reach = math.sqrt(a * a + b * b + 2.0 * a * b * math.cos(flexion))
        assert reach == pytest.approx(farthest * (a + b))
        x = a * math.sin(thigh) + b * math.sin(thigh - flexion)
        assert x == pytest.approx(reach * math.sin(0.3))


@law
def has_landed(t, ankle, load, speed, settings, tables, memories, works):
    """Whether the swinging foot that is `ankle` ahead of the standing one, in steps, and so loaded has landed."""
    s, memory, work = settings[0], memories[0], works[0]
    start_pose(s, tables[0], memory, work.q, work.v)
    pose = look_minimal(work.q, work.v, s.person)
    frame = foothold_frame(pose, s, memory)
    swing = 1 - memory.stance
    s.task.speed *= speed
    place = frame.x + ankle * s.task.step_length[swing] * frame.tx
    work.q[0] += place - pose.legs[swing].ankle_x
    work.q[1] += frame.y + ankle * s.task.step_length[swing] * frame.ty - pose.legs[swing].ankle_y
    work.out.load[swing] = load * s.person.weight
    return landed(memory.landed_time + t * s.task.step_time[swing], look_minimal(work.q, work.v, s.person), frame,
                  work.out.load, s, memory)  # fmt: skip


@pytest.mark.parametrize(
    ("time", "ahead", "load", "speed", "lands"),
    [
        (0.9, NEAR_SHARE + 0.05, 0.06, 1.0, True),  # near its place a touch will do
        (0.9, NEAR_SHARE - 0.05, 0.06, 1.0, False),  # farther back it is a scuff
        (0.9, NEAR_SHARE - 0.05, 0.06, 0.0, True),  # but to close up it will do
        (0.9, NEAR_SHARE - 0.05, FIRM_SHARE + 0.02, 1.0, True),  # unless the foot bears
        (0.9, 0.2, FIRM_SHARE + 0.02, 1.0, False),
        (1.4, 0.2, FIRM_SHARE + 0.02, 1.0, True),  # late, where it is
        (0.2, 1.0, 1.0, 1.0, False),  # too soon after the last one
        (0.9, 1.0, 0.04, 1.0, False),
    ],
)
def test_what_is_a_landing_and_what_a_scuff(time, ahead, load, speed, lands):
    settings, tables, _ = records(Scenario())
    assert has_landed(time, ahead, load, speed, settings, tables, np.zeros(1, MEMORY), np.zeros(1, WORK)) == lands


@law
def felt(flexions, share, settings, tables, memories, works):
    s, memory, work = settings[0], memories[0], works[0]
    start_pose(s, tables[0], memory, work.q, work.v)
    memory.gains.wanted_yield, s.task.yield_felt = 0.5, share
    out = np.zeros((len(flexions), 2))
    for i in range(len(flexions)):
        work.q[4] = work.q[3] - flexions[i]
        feel_yield(look_minimal(work.q, work.v, s.person).legs[PROSTHETIC], s, memory)
        out[i] = memory.yielded, memory.little_yield
    return out


def test_a_leg_that_gives_way_by_more_or_less_than_wanted_is_felt_from_step_to_step():
    settings, tables, _ = records(Scenario())

    def after(flexion, steps=1, share=1.0, which=0):
        flexions = np.full(steps, flexion)
        return felt(flexions, share, settings, tables, np.zeros(1, MEMORY), np.zeros(1, WORK))[:, which]

    assert after(0.6)[0] == pytest.approx(LEARN_YIELD * 0.1 / YIELD_SPAN)
    assert after(0.4)[0] == pytest.approx(-after(0.6)[0])
    assert after(0.6, 30)[-1] == pytest.approx(0.1 / YIELD_SPAN, rel=1e-4)
    assert after(1.5, 30)[-1] == pytest.approx(1.0, rel=1e-4)
    assert after(0.0, 30)[-1] == pytest.approx(-1.0, rel=1e-4)
    assert after(0.6, 30, 0.5)[-1] == pytest.approx(0.5 * 0.1 / YIELD_SPAN, rel=1e-4)
    assert after(0.6, 30, 0.0)[-1] == 0.0
    # a leg that hardly gave way is felt beyond that, one that gave way is not
    least = 0.5 - YIELD_SPAN
    assert after(least + 0.01, 30, which=1)[-1] == 0.0
    assert after(least - 0.1, which=1)[0] == pytest.approx(-LEARN_YIELD * 0.1 / YIELD_SPAN)
    assert after(least - 0.1, 30, which=1)[-1] == pytest.approx(-0.1 / YIELD_SPAN, rel=1e-4)
    assert after(least - 0.1, 30, 0.5, which=1)[-1] == pytest.approx(-0.05 / YIELD_SPAN, rel=1e-4)
    assert after(-1.0, 30, which=1)[-1] == pytest.approx(-LITTLE_YIELD, rel=1e-4)


@law
def standing_knee(load, give, settings, tables, memories, works):
    s, memory, work = settings[0], memories[0], works[0]
    start_pose(s, tables[0], memory, work.q, work.v)
    memory.gains.knee_give = give
    pose = look_minimal(work.q, work.v, s.person)
    frame = foothold_frame(pose, s, memory)
    phase = step_phase(memory.landed_time, frame, s, memory)
    return stand_sound(pose, memory.stance, 0.0, load * s.person.weight, 0.0, frame, phase, s, memory)[0]


def test_a_leading_leg_gives_way_to_what_it_bears_beyond_the_weight_and_to_no_less():
    settings, tables, _ = records(Scenario())
    weight = settings[0]["person"]["weight"]

    def knee(load, give):
        return standing_knee(load, give, settings, tables, np.zeros(1, MEMORY), np.zeros(1, WORK))

    assert knee(GIVE_FROM - 0.01, 0.1) == knee(GIVE_FROM - 0.01, 0.0)
    assert knee(1.5, 0.1) - knee(1.5, 0.0) == pytest.approx(0.1 * (1.5 - GIVE_FROM) * weight)  # flexing is positive


def test_both_descriptions_of_the_starting_pose_agree():
    settings, tables, plants = records(Scenario())
    work, state = np.zeros(1, WORK), np.zeros(6 * BODIES)
    starting_pose(settings, tables, plants, np.zeros(1, MEMORY), work, state)
    person = settings[0]["person"]
    by_bodies, by_angles = look(state, 0.0, person), look_minimal(work[0]["q"], work[0]["v"], person)
    assert np.allclose(by_bodies[:6], by_angles[:6], atol=1e-12)
    for leg in range(2):
        assert np.allclose(by_bodies.legs[leg], by_angles.legs[leg], atol=1e-12)


def test_planned_hip_path_is_flat_at_both_landings_and_its_rate_is_its_slope():
    gains = np.zeros(1, GAINS)
    gains["mid_leg_fraction"], gains["landing_leg_fraction"] = 0.97, 0.985

    def height(along):
        return path(along, gains)

    assert height(0.0)[0] == pytest.approx(0.97 * 0.86)
    for end in (0.2, -0.3):
        assert height(end)[1] == pytest.approx(0.0, abs=1e-12)
    for along in (-0.2, -0.05, 0.08, 0.15):
        slope = (height(along + 1e-6)[0] - height(along - 1e-6)[0]) / 2e-6
        assert height(along)[1] == pytest.approx(0.8 * slope, rel=1e-5)


def test_muscles_do_not_see_the_setting_of_the_knee():
    out = []
    for resistance in (5.0, 40.0, 400.0):
        settings, tables, _ = records(Scenario(knee=Knee(flexion_resistance=resistance)))
        memory, work = np.zeros(1, MEMORY), np.zeros(1, WORK)
        first_moment(settings, tables, memory, np.zeros(4, STEP), work)
        force = work[0]["out"]
        out.append([*force["hip"], force["knee"][1], force["ankle"][1], *memory[0]["gains"]["all"]])
    assert out[0] == out[1] == out[2]


def test_no_line_of_the_controller_mentions_the_knee_setting():
    folder = Path(sim.law.__file__).parent
    for name in ("phase.py", "stance.py", "swing.py", "start.py"):
        assert not re.search(r"\bs\.knee\b|flexion_resistance|is_loaded|\.loaded\b", (folder / name).read_text()), name


def test_gains_scale_by_their_dimension():
    reference = {"mass_kg": 75.0, "leg_length_m": 0.86}
    assert gain_scale("1", 100.0, 1.0, reference) == 1.0
    assert gain_scale("torque", 150.0, 0.86, reference) == pytest.approx(2.0)
    assert gain_scale("time", 75.0, 4 * 0.86, reference) == pytest.approx(2.0)  # Froude: time with sqrt(length)
    assert gain_scale("stiffness", 150.0, 2 * 0.86, reference) == pytest.approx(1.0)
    assert {row["dimension"] for row in read_gains()["gains"].values()} <= set(DIMENSIONS)


def test_gains_file_says_how_it_was_found():
    table = read_gains()
    assert tuple(table["gains"]) == GAIN_NAMES
    assert {"by", "date", "scenarios", "start", "stages"} <= set(table["found"])
    for stage in table["found"]["stages"]:
        assert {"stage", "seed", "score"} <= set(stage)
    for name, row in table["gains"].items():
        assert row["low"] <= np.min(row["value"]), name
        assert np.max(row["value"]) <= row["high"], name


def test_able_bodied_walker_has_no_passive_leg():
    s = records(Scenario(person=Person(limbs="both-sound")))[0][0]
    assert list(s["person"]["passive"]) == [0, 0]
    assert s["contact"]["stiffness"][0] == s["contact"]["stiffness"][1]
    assert FORCES.names is not None
