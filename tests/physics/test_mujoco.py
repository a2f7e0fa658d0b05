"""A second opinion: the same seven bodies and torques in MuJoCo, a general-purpose rigid-body engine.

Its coordinates are those of a tree of hinges, its integrator Runge-Kutta of fourth order at 0.1 ms.
"""

import numpy as np
import pytest

from sim.body import build_body
from tests.physics.minimal_sympy import JOINTS, POSE, RATES, TORQUES, Plant, joint_torques
from tests.physics.test_independent_dynamics import STEPS, TIME, fall_on_engine, order

mujoco = pytest.importorskip("mujoco", reason="no second opinion without MuJoCo: pip install 'rampwalk[test]'")

STEP = 1e-4


def segment(name, body, index, hinge_at, inside):
    """One segment that hangs from a hinge; x forward, z up, angles counter-clockwise seen from -y."""
    x, z = body.centre[index]
    size = f"{body.inertia[index]:.17g}"
    return (
        f'<body name="{name}" pos="0 0 {hinge_at:.17g}"><joint type="hinge" axis="0 -1 0"/>'
        f'<inertial pos="{x:.17g} 0 {z:.17g}" mass="{body.mass[index]:.17g}" diaginertia="{size} {size} {size}"/>'
        f"{inside}</body>"
    )


def model_text(body):
    legs = ""
    for first in (1, 4):
        foot = segment(f"foot{first}", body, first + 2, -body.shank_length, "")
        shank = segment(f"shank{first}", body, first + 1, -body.thigh_length, foot)
        legs += segment(f"thigh{first}", body, first, 0.0, shank)
    trunk = segment("trunk", body, 0, 0.0, legs)
    slides = '<joint type="slide" axis="1 0 0"/><joint type="slide" axis="0 0 1"/>'
    trunk = trunk.replace('<joint type="hinge"', slides + '<joint type="hinge"', 1)
    return (
        f'<mujoco><compiler angle="radian"/><option timestep="{STEP}" integrator="RK4" gravity="0 0 -9.81"/>'
        f"<worldbody>{trunk}</worldbody></mujoco>"
    )


def relative(angles):
    """Absolute to hinge coordinates: each segment's angle against the one it hangs from."""
    out = np.array(angles, float)
    for body, part in JOINTS:
        out[2 + body] = angles[2 + body] - angles[2 + (0 if part == 1 else body - 1)]
    return out


@pytest.fixture(scope="module")
def fallen():
    """Places and angles of all mass centres after the fall, shape (7, 3)."""
    model = mujoco.MjModel.from_xml_string(model_text(build_body()))
    data = mujoco.MjData(model)
    data.qpos[:], data.qvel[:] = relative(POSE), relative(RATES)
    data.qfrc_applied[3:] = TORQUES
    for _ in range(round(TIME / STEP)):
        mujoco.mj_step(model, data)
    mujoco.mj_kinematics(model, data)
    mujoco.mj_comPos(model, data)
    angles = data.qpos.copy()
    for body, part in JOINTS:
        angles[2 + body] += angles[2 + (0 if part == 1 else body - 1)]
    return np.column_stack([data.xipos[1:, [0, 2]], angles[2:]])


def test_mujoco_agrees_with_lagrange(fallen):
    """1e-8 m: fourth order at 0.1 ms leaves less; both then are rounding and tolerance."""
    plant = Plant(build_body())
    right = plant.states(*plant.later(POSE, RATES, joint_torques(TORQUES), TIME))[:, :3]
    assert fallen == pytest.approx(right, abs=1e-8)


def test_engine_comes_to_mujocos_answer_with_first_order(fallen):
    body = build_body()
    plant = Plant(body)
    off = [np.abs(fall_on_engine(body, plant, count).read()[:, :3] - fallen).max() for count in STEPS]
    assert order(off) == pytest.approx(1.0, abs=0.1)
