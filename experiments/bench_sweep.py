"""What sweeps cost: overhead beside the walks themselves, what cost grows with, many rows in constant memory."""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from experiments.bench_mujoco import engines
from sim.activities.walk import walk
from sim.design import latin_hypercube_design
from sim.grid import axes_of, cells_of
from sim.scenario import Scenario, replace_by_name
from sim.sweep import sweep

TURNS = 3
SLOPES = {"slope_deg": [-4.0, -5.0, -6.0, -7.0], "step_length_m": [0.45, 0.5, 0.55]}
STRIDES, TIME_STEPS_S, GRIDS = (6, 12, 24, 48), (5e-4, 2.5e-4, 1.25e-4), (4, 8, 16, 32)
#: The owner's limits.
MOST_OVERHEAD, MOST_MEMORY_MB, MOST_WORKER_MB, TEN_THOUSAND_MIN = 0.10, 400.0, 250.0, 20.0


def seconds_of(function: Callable[[], Any], turns: int = TURNS) -> float:
    """Median time of a call [s]."""
    found = []
    for _ in range(turns):
        start = time.perf_counter()
        function()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def overhead_share() -> float:
    """Time of a serial sweep that is kept on disk / time of its walks alone, less 1 (median of turns in pairs)."""
    base = Scenario()
    scenarios = [replace_by_name(base, cell) for cell in cells_of(axes_of(SLOPES))]
    ratios = []
    for _ in range(2 * TURNS + 1):
        alone = seconds_of(lambda: [walk(scenario) for scenario in scenarios], 1)
        with tempfile.TemporaryDirectory() as folder:
            kept = seconds_of(lambda where=folder: sweep(base, SLOPES, folder=where), 1)
        ratios.append(kept / alone - 1.0)
    return statistics.median(ratios)


def dask_rate(count: int = 24) -> float | None:
    """Walks per second on a local cluster of two workers, started and warm; None without dask."""
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        return None
    design = latin_hypercube_design({"slope_deg": (-7.0, -4.0), "step_length_m": (0.45, 0.55)}, count, seed=2)
    cluster = LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50)
    with cluster, Client(cluster) as client:
        sweep(Scenario(strides=1), design, client)  # both are up
        return count / seconds_of(lambda: sweep(Scenario(), design, client))


def power_of(sizes: Sequence[float], seconds: Sequence[float]) -> float:
    """Exponent of the cost that grows with a size, without its constant part: 1 is linear.

    The constant is what is left of a straight line at size 0, if that is above 0.
    """
    constant = max(0.0, float(np.polyfit(sizes, seconds, 1)[1]))
    left = np.maximum(np.array(seconds) - constant, 1e-9)
    return float(np.polyfit(np.log(sizes), np.log(left), 1)[0])


def growth_rows() -> list[tuple[str, str, str]]:
    """Cost against strides, time steps per second and size of the grid: measured, exponent."""
    base = Scenario(slope_deg=-5.0)
    strides = [seconds_of(lambda n=n: walk(replace_by_name(base, {"strides": n}))) for n in STRIDES]
    steps = [seconds_of(lambda dt=dt: walk(replace_by_name(base, {"time_step_s": dt}))) for dt in TIME_STEPS_S]
    grids = []
    for count in GRIDS:
        design = latin_hypercube_design({"slope_deg": (-7.0, -4.0)}, count, seed=3)
        grids.append(seconds_of(lambda these=design: sweep(Scenario(strides=4), these)))
    found = (
        ("strides", STRIDES, strides),
        ("time steps per second", tuple(1.0 / dt for dt in TIME_STEPS_S), steps),
        ("walks of a sweep", GRIDS, grids),
    )
    return [
        (
            name,
            ", ".join(f"{size:g}: {1e3 * t:.0f} ms" for size, t in zip(sizes, times, strict=True)),
            f"{power_of(sizes, times):.2f}",
        )
        for name, sizes, times in found
    ]


def large_table(rows: int) -> dict[str, Any]:
    """`experiments.bench_rows` in a fresh process, whose memory is its own."""
    command = [sys.executable, "-m", "experiments.bench_rows", str(rows)]
    made = subprocess.run(command, check=True, capture_output=True, text=True, cwd=Path(__file__).parents[1])  # noqa: S603
    found: dict[str, Any] = json.loads(made.stdout)
    return found


def sections(double_rate: float, rows: int) -> str:
    """Markdown of everything here.

    Parameters
    ----------
    double_rate : float
        Walks per second on two processes, measured in the same run.
    rows : int
        Of the large table.
    """
    overhead, dask, table, timings = overhead_share(), dask_rate(), large_table(rows), engines()
    minutes = 10_000 / double_rate / 60.0
    told = "not installed" if dask is None else f"{dask:.2f} walks per second"
    memory = f"most memory of the parent, {table['rows']:,} rows | {table['memory_mb']:.0f} MB"
    of_worker = f"{table['worker_memory_before_mb']:.0f} MB before, {table['worker_memory_mb']:.0f} MB after"
    lines = [
        "## Sweeps",
        "",
        "| what | measured | limit |",
        "|---|---|---|",
        f"| sweep kept on disk, time beside its walks | {100 * overhead:.1f} % | {100 * MOST_OVERHEAD:.0f} % |",
        f"| local dask cluster of two workers | {told} | |",
        f"| 10,000 walks on two processes | {minutes:.0f} min | {TEN_THOUSAND_MIN:.0f} min |",
        f"| {memory} | {MOST_MEMORY_MB:.0f} MB |",
        f"| the same with no row yet | {table['memory_before_mb']:.0f} MB | |",
        f"| most memory of a worker that makes half of these rows | {of_worker} | {MOST_WORKER_MB:.0f} MB |",
        f"| sweep itself per row, without a walk | {1e3 * table['seconds'] / table['rows']:.2f} ms | |",
        "",
        "The large table has rows made from settings alone, as wide as those of walks, by two workers",
        "(`experiments.bench_rows`; `--walk` makes real ones). A sweep of 10,000 is reckoned from the rate.",
        "",
        "## What the cost grows with",
        "",
        "| with | measured | exponent |",
        "|---|---|---|",
        *(f"| {name} | {measured} | {power} |" for name, measured, power in growth_rows()),
        "",
        "Exponent of what is left after the constant part; 1 is linear.",
        "",
        "## Against another engine",
        "",
        "The same seven segments, the same compiled law of contact and control, the same time step, a walk of",
        f"{timings['mujoco'].landings} landings; MuJoCo is driven from a Python loop (`experiments.bench_mujoco`).",
        "",
        "| loop | per time step | of ours |",
        "|---|---|---|",
    ]
    ours = timings["compiled"].step_us
    labels = {"compiled": "compiled loop", "readable": "readable Python loop", "mujoco": "MuJoCo, Python loop"}
    for name, label in labels.items():
        lines.append(f"| {label} | {timings[name].step_us:.2f} us | {timings[name].step_us / ours:.1f} |")
    return "\n".join([*lines, ""])
