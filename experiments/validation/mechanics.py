"""Rows that plain mechanics decides: M01 to M06. They must hold."""

from __future__ import annotations

import math

import numpy as np

from experiments.shorter_steps.run import exponent
from experiments.validation.targets import Finding, Row
from experiments.validation.walks import Walks, downhill, prosthetic
from sim.body import Body, build_body
from sim.drivers.engine import Engine
from sim.drivers.loops import run_walk, walker_pivots
from sim.law.records import GRAVITY
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.result import WalkResult
from sim.scenario import Scenario
from sim.series import Series, series_of

STEPS = 8  # four whole strides
FALL = 0.5  # m, row M06


def window(series: Series, landing: np.ndarray) -> slice:
    """Frames of the last four whole strides."""
    first, last = (math.ceil(landing[k] / series.interval) for k in (-1 - STEPS, -1))
    return slice(first, min(last, len(series.time) - 1))


def mean_forces(result: WalkResult) -> tuple[float, float, float]:
    """Mean ground force along and across the slope and vertical [BW], less what sped the mass centre up."""
    series, slope = result.series, math.radians(result.scenario.slope_deg)
    part = window(series, result.step_records["time"])
    weight = result.scenario.person.weight
    gained = series.mass_centre_velocity[part.stop] - series.mass_centre_velocity[part.start]
    inertia = gained / (series.time[part.stop] - series.time[part.start]) / GRAVITY
    tangent, normal = np.array([math.cos(slope), math.sin(slope)]), np.array([-math.sin(slope), math.cos(slope)])
    along = series.push[part].sum(axis=1).mean() / weight - inertia @ tangent
    across = series.load[part].sum(axis=1).mean() / weight - inertia @ normal
    vertical = series.ground_force[part, :, 1].sum(axis=1).mean() / weight - inertia[1]
    return float(along), float(across), float(vertical)


def fine(result: WalkResult) -> tuple[np.ndarray, Series]:
    """The same walk with every time step kept."""
    scenario, step = result.scenario, result.scenario.numerics.time_step_s
    seconds = float(result.step_records["time"][-1]) + step
    records = pack_settings(scenario), pack_gains(), pack_plant(result.body)
    run = run_walk(*records, len(result.step_records), seconds, step, scenario.numerics.iterations, frame_time=step)
    return run.frames, series_of(run.frames, result.body)


def lost_per_step(result: WalkResult) -> tuple[float, float]:
    """Energy that joints and ground took per step, and m g s sin(slope) with the run's own way [J].

    Work of a time step is force x mean of the velocities before and after it, which is exact for the engine's steps.
    """
    frames, series = fine(result)
    part, slope = window(series, result.step_records["time"]), math.radians(result.scenario.slope_deg)
    joints = (
        (series.hip_torque, series.hip_rate),
        (series.knee_torque + series.knee_stop_torque, series.knee_rate),
        (series.ankle_torque + series.ankle_stop_torque, series.ankle_rate),
    )
    whole = slice(part.start, part.stop + 1)
    work = sum(float((torque[part] * between(rate[whole])).sum()) for torque, rate in joints) * series.interval
    work += ground_work(frames["forces"][part], between(frames["body"][whole, :, 3:])) * series.interval
    speed, body = frames["body"][[part.start, part.stop], :, 3:], result.body
    kinetic = 0.5 * (body.mass * (speed[..., :2] ** 2).sum(axis=2) + body.inertia * speed[..., 2] ** 2).sum(axis=1)
    moved = series.mass_centre[part.stop] - series.mass_centre[part.start]
    way = moved @ np.array([math.cos(slope), math.sin(slope)])
    rise = moved @ np.array([-math.sin(slope), math.cos(slope)])
    expected = result.scenario.person.weight * (way * math.sin(-slope) - rise * math.cos(slope))
    return float(kinetic[1] - kinetic[0] - work) / STEPS, float(expected) / STEPS


def between(values: np.ndarray) -> np.ndarray:
    """Mean of each value and the next."""
    return 0.5 * (values[:-1] + values[1:])


def ground_work(forces: np.ndarray, velocity: np.ndarray) -> float:
    """Power of the ground on the six sole points, summed over frames [W]; `velocity` of the bodies, shape (n, 7, 3)."""
    feet = velocity[:, [3, 6]][:, :, None]
    arm, tangent = forces["arm"], forces["tangent"]
    moving = feet[..., :2] + feet[..., 2:] * np.stack([-arm[..., 1], arm[..., 0]], axis=-1)
    across = forces["normal_elastic"] + forces["normal_damping"]
    along = np.where(across > 0.0, forces["friction_elastic"] + forces["friction_damping"], 0.0)
    normal = np.stack([-tangent[..., 1], tangent[..., 0]], axis=-1)
    force = along[..., None] * tangent + np.maximum(across, 0.0)[..., None] * normal
    return float((force * moving).sum())


def downhill_walks(walks: Walks) -> list[WalkResult]:
    """Every walk so far that held on -4 degrees or steeper, the row's own and start settings among them."""
    walks.of(prosthetic(-5.0))
    for slope in (-6.0, -8.0, -10.0):
        walks.of(downhill(slope))
    return [result for result in walks.walked() if result.scenario.slope_deg <= -4.0]


def worst(ratios: list[float], what: str, outside: float) -> Finding:
    """The number of the row times the ratio farthest from 1."""
    if not ratios:
        return Finding(None, what, fell="no walk downhill held")
    ratio = max(ratios, key=lambda value: abs(value - 1.0))
    how = f"worst of {len(ratios)} walks, as a share of what mechanics says x {outside:g}; {what}"
    return Finding(ratio * outside, how)


def m01(walks: Walks) -> Finding:
    found = []
    for result in downhill_walks(walks):
        along, across, _ = mean_forces(result)
        found.append(-along / across / math.tan(math.radians(-result.scenario.slope_deg)))
    return worst(found, "mean force of four strides less what the change of speed needs", 0.0875)


def m02(walks: Walks) -> Finding:
    found = [mean_forces(result)[2] for result in walks.walked()]
    return worst(found, "mean force of four strides less what the change of speed needs", 1.0)


def m03(walks: Walks) -> Finding:
    some = downhill_walks(walks)[:: 1 + len(walks.done) // 20]  # every time step is kept, so only a few
    ratios = [lost / expected for lost, expected in map(lost_per_step, some)]
    return worst(ratios, "work of the forces at every time step, each run's own m and s", 38.5)


def fall_time(body: Body, dt: float) -> float:
    """Seconds in which the jointed, limp body, at rest at first, falls by `FALL`."""
    settings = pack_settings(Scenario())[0]
    state = np.zeros((7, 6))
    leg = [0.0, -body.thigh_length, -body.leg_length]
    down = np.array([0.0, *leg, *leg])
    state[:, :2] = body.centre + np.stack([np.zeros(7), down], axis=1)
    pivots = walker_pivots(pack_plant(body)[0], settings["person"])
    engine = Engine(body.mass, body.inertia, state, pivots, iterations=40)
    steps, fallen, before = 0, 0.0, 0.0
    while fallen < FALL:
        engine.step(dt)
        place = engine.read()[:, 1]
        steps, before, fallen = steps + 1, fallen, float(body.mass @ (state[:, 1] - place)) / body.total_mass
    return dt * (steps - (fallen - FALL) / (fallen - before))


def m06(_walks: Walks) -> Finding:
    return Finding(fall_time(build_body(), 1e-3), "seven jointed bodies dropped in the engine, step 1 ms")


def rows() -> dict[str, Row]:
    """All rows of mechanics; to be asked after the rows about people, whose walks they also hold."""
    usual = np.linspace(0.4, 0.6, 6)
    wheel = "rigid-legged walker on the engine, 0.4 to 0.6 m, leg 0.90 m"
    return {
        "M01": m01,
        "M02": m02,
        "M03": m03,
        "M04": lambda _walks: Finding(exponent(usual), wheel),
        "M05": lambda _walks: Finding(exponent(usual, 1.8), f"{wheel}, 1.8 steps per second"),
        "M06": m06,
    }
