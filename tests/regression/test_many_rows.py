import json
import subprocess
import sys

import pytest

LIMIT_MB = 400.0  # the owner's, for 100,000 rows
#: What a row may cost [kB] (ours): 0.1 for where it is and its settings, 0.25 for the columns of figures, and room.
LIMIT_PER_ROW = 0.7


@pytest.mark.slow
def test_memory_of_the_parent_hardly_grows_with_the_rows():
    """Two sizes, the rest by a straight line; `python -m experiments.bench_rows` makes all 100,000."""
    small, large = (made(count) for count in (3_000, 13_000))
    per_row = (large["memory_mb"] - small["memory_mb"]) / 10_000
    assert small["memory_mb"] > 50.0  # it was measured
    assert 1e3 * per_row < LIMIT_PER_ROW
    assert small["memory_mb"] + 97_000 * per_row < LIMIT_MB
    assert large["worker_memory_mb"] < small["worker_memory_mb"] + 20.0
    assert large["table_mb"] > 4.0 * small["table_mb"]


def made(rows):
    command = [sys.executable, "-m", "experiments.bench_rows", str(rows)]
    return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
