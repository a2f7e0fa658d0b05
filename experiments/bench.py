"""How fast it is, as ratios to the bare engine step measured in the same run: `python -m experiments.bench [--quick]`.

Prints the tables and writes them to `docs/performance.md`; with `--quick`, a large table of 2,000 rows instead of
100,000, and nothing is written. Times on a shared machine vary with what else runs; the ratios
less so, because both sides of each are measured moments apart, several times in turn.
"""

from __future__ import annotations

import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

from experiments.bench_rows import ROWS, memory_mb
from experiments.bench_sweep import sections
from sim.activities.walk import walk
from sim.body import build_body
from sim.drivers.engine import Engine
from sim.drivers.loops import call_pointers, call_step, run_walk, walker_pivots
from sim.law.compiled import entry
from sim.law.records import BODIES
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.pool import warm_up, worker_pool
from sim.scenario import Scenario
from sim.sweep import sweep

PAGE = Path(__file__).parents[1] / "docs" / "performance.md"
#: Walks of the small sweep, time steps of a bare run, how often each is measured.
SWEEP_AXES = {
    "slope_deg": [-4.0, -5.0, -6.0, -7.0],
    "step_length_m": [0.45, 0.5, 0.55],
    "flexion_resistance": [40.0, 60.0],
}
BARE_STEPS, TURNS = 40_000, 7
#: The owner's limits: what is measured, limit, unit.
LIMITS = {"loop": 3.0, "walk": 0.2, "thousand": 120.0, "shell": 2.0, "memory": 250.0, "efficiency": 0.85}


@entry
def bare_steps(address: Any, n: int, dt: float) -> None:
    """Only the engine's own step, n times."""
    for _ in range(n):
        call_step(address[0], address[4], dt)


@entry
def bare_exchange(address: Any, got: Any, put: Any, n: int) -> None:
    """Only reading all bodies and writing all forces, n times."""
    for _ in range(n):
        got[0] = 0
        call_pointers(address[1], address[4], address[2], address[5])
        put[0] = 0
        call_pointers(address[1], address[4], address[3], address[6])


def engine_of(scenario: Scenario) -> Engine:
    """The plant of a walk in the air, upright: same bodies and joints, no law."""
    settings = pack_settings(scenario)
    plant = pack_plant(build_body(scenario.person, scenario.components, scenario.foot))[0]
    state = np.zeros((BODIES, 6))
    pivots = walker_pivots(plant, settings[0]["person"])
    for pivot in pivots:  # each body hangs from its parent, so that no joint has a gap to close
        parent = state[pivot.first, :2] + pivot.anchor_first
        state[pivot.second, :2] = parent - np.array(pivot.anchor_second)
    iterations = scenario.numerics.iterations
    return Engine(plant["mass"], plant["inertia"], state, pivots, iterations=iterations)


def seconds_of(function: Callable[[], Any]) -> float:
    """Time of one call [s]."""
    start = time.perf_counter()
    function()
    return time.perf_counter() - start


def step_times(scenario: Scenario) -> dict[str, float]:
    """Microseconds per time step: bare engine step, exchange of arrays, whole loop with the law (medians)."""
    dt = scenario.numerics.time_step_s
    settings, gains = pack_settings(scenario), pack_gains()
    plant = pack_plant(build_body(scenario.person, scenario.components, scenario.foot))
    found: dict[str, list[float]] = {"engine": [], "exchange": [], "loop": []}
    for turn in range(TURNS + 1):
        engine = engine_of(scenario)
        address, counts, keep = engine.addresses()
        bare = seconds_of(lambda a=address: bare_steps(a, BARE_STEPS, dt)) / BARE_STEPS
        exchange = seconds_of(lambda a=address, c=counts: bare_exchange(a, *c, BARE_STEPS)) / BARE_STEPS
        del keep
        start = time.perf_counter()
        run = run_walk(settings, gains, plant, 30, 30.0, dt, scenario.numerics.iterations)
        loop = (time.perf_counter() - start) / run.time_steps
        if turn:  # the first compiles
            for name, value in (("engine", bare), ("exchange", exchange), ("loop", loop)):
                found[name].append(1e6 * value)
    return {name: statistics.median(values) for name, values in found.items()}


def walk_seconds(scenario: Scenario) -> float:
    """A whole 12-stride walk with metrics, after warm-up (median) [s]."""
    return statistics.median(seconds_of(lambda: walk(scenario)) for _ in range(TURNS))


def sweep_rates() -> dict[str, float]:
    """Walks per second serial and with two processes, started and warm, and memory per worker [MB]."""
    count = np.prod([len(values) for values in SWEEP_AXES.values()])
    serial, double, memory = [], [], 0.0
    with worker_pool(2) as pool:
        list(pool.map(memory_mb, range(8)))  # both are up
        for _ in range(3):
            serial.append(float(count) / seconds_of(lambda: sweep(Scenario(), SWEEP_AXES)))
            double.append(float(count) / seconds_of(lambda: sweep(Scenario(), SWEEP_AXES, pool)))
        memory = max(pool.map(memory_mb, range(8)))
    return {"serial": statistics.median(serial), "double": statistics.median(double), "memory": memory}


def reachable_efficiency(scenario: Scenario) -> float:
    """What two processes reach here and now on pure compiled stepping, share of twice one process."""
    with ProcessPoolExecutor(2, get_context("spawn"), warm_up) as pool:
        list(pool.map(spin, [scenario] * 4))
        ones = [seconds_of(lambda: list(pool.map(spin, [scenario]))) for _ in range(3)]
        twos = [seconds_of(lambda: list(pool.map(spin, [scenario] * 2))) for _ in range(3)]
    return statistics.median(ones) / statistics.median(twos)


def spin(scenario: Scenario) -> None:
    """About half a second of bare stepping."""
    engine = engine_of(scenario)
    address, _, keep = engine.addresses()
    bare_steps(address, 400_000, scenario.numerics.time_step_s)
    del keep


def shell_seconds() -> float:
    """`rampwalk walk` from the shell, machine code on disk (median) [s]."""
    command = [sys.executable, "-m", "sim.cli", "walk"]
    return statistics.median(
        seconds_of(lambda: subprocess.run(command, check=True, capture_output=True))  # noqa: S603  # our own program
        for _ in range(5)
    )


def report(rows_of_table: int) -> str:
    """Measure everything; returns the page."""
    scenario = Scenario()
    warm_up()
    steps = step_times(scenario)
    one_walk, rates, shell = walk_seconds(scenario), sweep_rates(), shell_seconds()
    reachable = reachable_efficiency(scenario)
    engine, loop = steps["engine"], steps["loop"]
    thousand, efficiency = 1000.0 / rates["double"], rates["double"] / rates["serial"] / 2.0
    shell_row = (f"{shell:.2f} s", f"{1e6 * shell / engine:.0f}", f"{LIMITS['shell']:g} s")
    rows = [
        ("bare engine step", f"{engine:.2f} us", "1.0", ""),
        ("reading bodies, writing forces", f"{steps['exchange']:.2f} us", f"{steps['exchange'] / engine:.2f}", ""),
        ("whole loop with control", f"{loop:.2f} us", f"{loop / engine:.2f}", f"{LIMITS['loop']:g} us"),
        ("engine's own step in it", f"{100 * engine / loop:.0f} %", "", ""),
        ("12-stride walk with metrics", f"{one_walk:.3f} s", f"{1e6 * one_walk / engine:.0f}", f"{LIMITS['walk']:g} s"),
        ("walks per second, serial", f"{rates['serial']:.2f}", "", ""),
        ("walks per second, two processes", f"{rates['double']:.2f}", "", ""),
        ("parallel efficiency of two processes", f"{efficiency:.2f}", "", f"{LIMITS['efficiency']:g} at least"),
        ("the same of pure compiled stepping", f"{reachable:.2f}", "", ""),
        ("1,000 walks on two processes", f"{thousand:.0f} s", "", f"{LIMITS['thousand']:g} s"),
        ("memory per worker", f"{rates['memory']:.0f} MB", "", f"{LIMITS['memory']:g} MB"),
        ("`rampwalk walk` from the shell, warm", *shell_row),
    ]
    table = ["| what | measured | in bare engine steps | limit |", "|---|---|---|---|"]
    table += [f"| {' | '.join(row)} |" for row in rows]
    return "\n".join([_head(scenario), *table, "", sections(rates["double"], rows_of_table)])


def _head(scenario: Scenario) -> str:
    count = int(np.prod([len(values) for values in SWEEP_AXES.values()]))
    busy = f", load average {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return (
        "# Performance\n\n"
        "Made by `python -m experiments.bench` (`make bench`), all in one run. A bare engine step is pymunk's own\n"
        "step of the same seven bodies and six joints, called from compiled code, without any law. Limits are the\n"
        "owner's, for a quiet machine; where other programs run beside it, read the ratios.\n\n"
        f"{datetime.now(UTC).date()}, Python {platform.python_version()}, {os.cpu_count()} processors{busy}.\n"
        f"Time step {1e3 * scenario.numerics.time_step_s:g} ms, {scenario.numerics.iterations} iterations, "
        f"sweeps of {count} walks.\n"
    )


def main() -> None:
    """Measure, print, write the page."""
    quick = "--quick" in sys.argv[1:]
    page = report(2_000 if quick else ROWS)
    print(page)
    if quick:
        return
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
