"""The same walk, the same compiled force law, two engines: MuJoCo from a Python loop against ours, in one run.

MuJoCo is the general-purpose engine that many would take first. Its bodies here are those of the walker as a tree of
hinges, its integrator the semi-implicit Euler method at our time step; contact and control are our law in both. What is
compared is time per step: our compiled loop, our readable Python loop, and a Python loop over MuJoCo.
"""

from __future__ import annotations

import time
from typing import Any, NamedTuple

import numpy as np

from sim.activities.walk import first_landings
from sim.body import Body, build_body
from sim.drivers.loops import first_state, run_walk, think_once
from sim.law.records import BODIES, FORCES, FRAME, LEDGER, MEMORY, STEP
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.scenario import Scenario

EVERY = 10
#: Segment -> the one it hangs from; the trunk hangs from nothing.
PARENT = (-1, 0, 1, 2, 0, 4, 5)


class Timing(NamedTuple):
    """Microseconds per time step, and landings made (that it walked at all)."""

    step_us: float
    landings: int


def model_text(body: Body, dt: float) -> str:
    """MuJoCo's description of the seven segments; x forward, z up, angles counter-clockwise seen from -y."""

    def segment(index: int, below: float, inside: str, more: str = "") -> str:
        x, z = body.centre[index]
        size = f"{body.inertia[index]:.17g}"
        joints = f'{more}<joint type="hinge" axis="0 -1 0"/>'
        centre, mass = f"{x:.17g} 0 {z:.17g}", f"{body.mass[index]:.17g}"
        inertia = f'<inertial pos="{centre}" mass="{mass}" diaginertia="{size} {size} {size}"/>'
        return f'<body pos="0 0 {below:.17g}">{joints}{inertia}{inside}</body>'

    legs = ""
    for first in (1, 4):
        foot = segment(first + 2, -body.shank_length, "")
        legs += segment(first, 0.0, segment(first + 1, -body.thigh_length, foot))
    slides = '<joint type="slide" axis="1 0 0"/><joint type="slide" axis="0 0 1"/>'
    option = f'<option timestep="{dt}" integrator="Euler" gravity="0 0 -9.81"/>'
    return f"<mujoco>{option}<worldbody>{segment(0, 0.0, legs, slides)}</worldbody></mujoco>"


def mujoco_walk(scenario: Scenario) -> Timing:
    """Walk in MuJoCo, driven from Python."""
    import mujoco

    dt = scenario.numerics.time_step_s
    settings, gains = pack_settings(scenario), pack_gains()
    body = build_body(scenario.person, scenario.components, scenario.foot)
    plant = pack_plant(body)
    memories, book, outs = np.zeros(1, MEMORY), np.zeros(1, LEDGER), np.zeros(1, FORCES)
    book[0]["mass"], book[0]["inertia"] = plant[0]["mass"], plant[0]["inertia"]
    place, speed, state = np.zeros(9), np.zeros(9), np.zeros(6 * BODIES)
    first_state(settings, gains, plant, memories, dt, place, speed, state)
    model = mujoco.MjModel.from_xml_string(model_text(body, dt))
    data = mujoco.MjData(model)
    for target, absolute in ((data.qpos, place + dt * speed), (data.qvel, speed)):
        target[:2] = absolute[:2]
        for index, parent in enumerate(PARENT):
            target[2 + index] = absolute[2 + index] - (absolute[2 + parent] if parent >= 0 else 0.0)
    landings = first_landings(scenario)
    steps, force = np.zeros(landings, STEP), np.zeros(3 * BODIES)
    count = round(2.0 * landings * scenario.step_time / dt)
    frames = np.zeros(count // EVERY + 1, FRAME)
    rows, pushes = state.reshape(-1, 6), force.reshape(-1, 3)
    taken, begin = 0, time.perf_counter()
    for i in range(count):
        mujoco.mj_step1(model, data)
        _read(data, rows, dt)
        status = think_once(
            i, dt, state, settings, gains, memories, steps, frames, EVERY, outs, force, book
        )
        if status or memories[0]["steps"] >= landings:
            break
        data.xfrc_applied[1:, 0], data.xfrc_applied[1:, 2] = pushes[:, 0], pushes[:, 1]
        data.xfrc_applied[1:, 4] = -pushes[:, 2]
        mujoco.mj_step2(model, data)
        taken += 1
    return Timing(1e6 * (time.perf_counter() - begin) / max(1, taken), int(memories[0]["steps"]))


def _read(data: Any, rows: Any, dt: float) -> None:
    """Body states; places moved back by one step, because our engine moves before forces act and the law knows it."""
    turn = data.cvel[1:, 1]
    centre, origin = data.xipos[1:], data.subtree_com[1]
    vx = data.cvel[1:, 3] + turn * (centre[:, 2] - origin[2])
    vz = data.cvel[1:, 5] - turn * (centre[:, 0] - origin[0])
    angles = data.qpos[2:].copy()
    for index, parent in enumerate(PARENT):
        if parent >= 0:
            angles[index] += angles[parent]
    rows[:, 3], rows[:, 4], rows[:, 5] = vx, vz, -turn
    rows[:, 0] = centre[:, 0] - dt * vx
    rows[:, 1] = centre[:, 2] - dt * vz
    rows[:, 2] = angles + dt * turn


def our_walk(scenario: Scenario, loop: str) -> Timing:
    """Walk on our engine by the compiled or the readable ("batch") loop."""
    numerics = scenario.numerics
    settings, gains = pack_settings(scenario), pack_gains()
    plant = pack_plant(build_body(scenario.person, scenario.components, scenario.foot))
    landings = first_landings(scenario)
    seconds = 2.0 * landings * scenario.step_time
    begin = time.perf_counter()
    run = run_walk(
        settings, gains, plant, landings, seconds, numerics.time_step_s, numerics.iterations, loop
    )
    return Timing(1e6 * (time.perf_counter() - begin) / run.time_steps, len(run.steps))


def engines(strides: int = 4, turns: int = 3) -> dict[str, Timing]:
    """Median timings in turn: compiled loop, readable loop, MuJoCo from Python."""
    scenario = Scenario(strides=strides)
    makers = {
        "compiled": lambda: our_walk(scenario, "compiled"),
        "readable": lambda: our_walk(scenario, "batch"),
        "mujoco": lambda: mujoco_walk(scenario),
    }
    found: dict[str, list[Timing]] = {name: [] for name in makers}
    for turn in range(turns + 1):
        for name, make in makers.items():
            timing = make()
            if turn:  # the first compiles
                found[name].append(timing)
    return {name: sorted(timings)[len(timings) // 2] for name, timings in found.items()}


if __name__ == "__main__":
    for engine, timing in engines().items():
        print(f"{engine}: {timing.step_us:.2f} us per step, {timing.landings} landings")
