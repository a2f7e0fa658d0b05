"""Memory and time of a table of many rows: `python -m experiments.bench_rows [rows] [--walk]`.

Without `--walk` a row is made from its settings alone, as wide as that of a walk, by two worker processes, so that what
is measured is the sweep itself: 100,000 rows take some minutes. With `--walk` they are walks of one stride on all
processors: an hour or more. Prints one JSON object: rows, seconds, most memory of this process before and after [MB],
most memory of a worker before and after [MB], size of the table [MB].
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from typing import Any
from unittest import mock

from sim.cell import run_cell
from sim.design import latin_hypercube_design
from sim.grid import Cell
from sim.pool import worker_pool
from sim.scenario import Scenario, replace_by_name
from sim.survey import closing_lines, run_survey
from sim.sweep import fill
from sim.table import TEXTS, Row, columns, input_row, number_columns, row_key

ROWS, WORKERS = 100_000, 2
OVER = {"slope_deg": (-12.0, -4.0), "step_length_m": (0.4, 0.6), "person.mass_kg": (60.0, 90.0)}
_MEASURED = tuple(name for name in columns() if name in number_columns() and name not in input_row(Scenario()))


def stand_in_row(base: Scenario, cell: Cell) -> Row:
    """Row as wide as that of a walk, from its settings alone."""
    scenario = replace_by_name(base, cell)
    row: Row = {"key": row_key(scenario)} | input_row(scenario) | dict.fromkeys(TEXTS, "")
    row |= {"outcome": "walked", "reason": "Walked 36 steps in 22.4 s; 12 measured strides vary by 0.3 %, steady."}
    return row | {name: scenario.slope_deg / (3.0 + index) for index, name in enumerate(_MEASURED)}


def memory_mb(_: int = 0) -> float:
    """Largest resident memory of this program so far [MB]; 0 where the system does not tell."""
    status = Path("/proc/self/status")
    if status.is_file():  # unlike getrusage without what the program that started this one had
        words = next((line.split() for line in status.read_text().splitlines() if line.startswith("VmHWM:")), None)
        if words:
            return 1024.0 * float(words[1]) / 1e6
    try:
        import resource
    except ImportError:  # not on every system
        return 0.0
    unit = 1.0 if sys.platform == "darwin" else 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6


def large_table(rows: int, walks: bool, folder: Path) -> dict[str, Any]:
    """Make the table as `rampwalk sweep` does; what it took."""
    before, start = memory_mb(), time.perf_counter()
    design = latin_hypercube_design(OVER, rows, seed=1)
    base = Scenario(strides=1)
    make = run_cell if walks else stand_in_row
    with mock.patch("sim.sweep.fill", partial(fill, make=make)), worker_pool(None if walks else WORKERS) as pool:
        worker_before = max(pool.map(memory_mb, range(8 * WORKERS)))
        survey = run_survey(base, design, pool, None, WORKERS, folder)
        worker_after = max(pool.map(memory_mb, range(8 * WORKERS)))
    closing_lines(survey)
    assert len(survey.table) == rows
    return {
        "rows": rows,
        "seconds": round(time.perf_counter() - start, 1),
        "memory_before_mb": round(before, 1),
        "memory_mb": round(memory_mb(), 1),
        "worker_memory_before_mb": round(worker_before, 1),
        "worker_memory_mb": round(worker_after, 1),
        "table_mb": round((folder / "table.csv").stat().st_size / 1e6, 1),
    }


def main(arguments: list[str]) -> None:
    numbers = [int(word) for word in arguments if not word.startswith("--")]
    folder = Path(tempfile.mkdtemp(prefix="rampwalk-rows-"))
    try:
        print(json.dumps(large_table(numbers[0] if numbers else ROWS, "--walk" in arguments, folder)))
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    from experiments.bench_rows import main as main_of_module  # workers know this module by its name only

    main_of_module(sys.argv[1:])
