"""The whole command, killed and stopped: no finished row is lost, none is torn, the table comes out the same."""

import os
import signal
import subprocess
import sys
import time
import zlib
from pathlib import Path

import numpy as np
import pytest

COMMAND = [
    sys.executable,
    *("-m", "sim.cli", "sweep", "--strides", "1", "--slope-deg=-4:-6:5", "--step-length-m=0.45:0.55:12"),
]
WALKS = 60


def sweep(folder, workers=1):
    return subprocess.Popen(
        [*COMMAND, "--workers", str(workers), "--out", str(folder)],
        env=os.environ | {"PYTHONPATH": str(Path.cwd())},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def rows_in(folder):
    """Whole rows by key; fails on a torn one that is not the last."""
    path = folder / "rows.csv"
    text = path.read_bytes() if path.is_file() else b""
    lines = text.split(b"\n")
    found = {}
    for line in lines[1:-1]:  # the last has no end, and is empty unless it is torn
        row, _, check = line.rpartition(b",")
        assert check == f"{zlib.crc32(row):08x}".encode()
        found[row.partition(b",")[0]] = row
    return found


def wait_for(folder, count, program):
    until = time.monotonic() + 120.0
    while len(rows_in(folder)) < count:
        assert time.monotonic() < until
        if program.poll() is not None:
            return
        time.sleep(0.005)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    program = sweep(folder)
    _, said = program.communicate()
    assert program.returncode in {0, 1}, said
    return (folder / "table.csv").read_bytes()


@pytest.mark.slow
def test_killed_at_20_random_moments_the_table_comes_out_the_same(whole, tmp_path):
    random, kills, folder, before = np.random.default_rng(7), 0, tmp_path / "0", {}
    while kills < 20:
        workers = 1 if kills % 4 else 2
        program = sweep(folder, workers)
        wait_for(folder, len(before) + int(random.integers(0, 5)), program)
        time.sleep(float(random.uniform(0.0, 0.2)))
        ended = program.poll() is not None
        program.kill()
        program.communicate()
        after = rows_in(folder)
        assert before.items() <= after.items()
        before = after
        kills += not ended
        if ended or len(before) > WALKS - 6:
            finish(folder, whole)
            folder, before = tmp_path / str(kills), {}
    finish(folder, whole)


def finish(folder, whole):
    program = sweep(folder)
    said, _ = program.communicate()
    assert program.returncode in {0, 1}
    assert (folder / "table.csv").read_bytes() == whole
    assert said.startswith(f"{WALKS} walks: ")


@pytest.mark.slow
@pytest.mark.parametrize("workers", [1, 2])
def test_an_interrupt_saves_everything_and_says_how_to_go_on(whole, tmp_path, workers):
    program = sweep(tmp_path, workers)
    wait_for(tmp_path, 5, program)
    program.send_signal(signal.SIGINT)
    out, err = program.communicate()
    saved = len(rows_in(tmp_path))
    assert program.returncode == 130
    assert out == ""
    assert "Traceback" not in err
    assert err.splitlines()[-1] == (
        f"rampwalk: stopped with {saved} of {WALKS} walks saved in {tmp_path}; run the same command again to go on"
    )
    assert saved < WALKS
    finish(tmp_path, whole)


@pytest.mark.slow
def test_workers_end_with_a_killed_parent(tmp_path):
    program = sweep(tmp_path, 2)
    wait_for(tmp_path, 3, program)
    workers = children(program.pid)
    assert len(workers) >= 2
    program.kill()
    program.communicate()
    until = time.monotonic() + 30.0
    while any(Path(f"/proc/{pid}").exists() and not zombie(pid) for pid in workers):
        assert time.monotonic() < until
        time.sleep(0.05)


def children(pid):
    listed = subprocess.run(["ps", "--ppid", str(pid), "-o", "pid="], capture_output=True, text=True, check=True)
    return [int(word) for word in listed.stdout.split()]


def zombie(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True
