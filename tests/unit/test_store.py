import json
import os
import re
import signal
import subprocess
import sys
import threading
import time

import numpy as np
import pandas as pd
import pytest

import sim.store
from sim.cell import run_cell
from sim.errors import RampwalkError
from sim.grid import axes_of, cells_of
from sim.scenario import Scenario, replace_by_name
from sim.store import ROWS, open_store
from sim.sweep import Stopped, fill, sweep
from sim.table import as_table, csv_header, csv_row, write_table
from sim.table_reader import read_table
from tests.unit.stand_ins import quick_row

BASE = Scenario(strides=1)
CELLS = cells_of(axes_of({"slope_deg": [-4.0, -5.0, -6.0], "step_length_m": [0.4, 0.45, 0.5]}))


def filled(folder, cells=CELLS, base=BASE, fresh=False, make=quick_row, **more):
    """Table of a sweep that is kept in a folder, as bytes, and how many walks were made."""
    made = []

    def counted(base, cell):
        made.append(cell)
        return make(base, cell)

    with open_store(folder, base, fresh) as store:
        keys = fill(store, base, cells, make=counted, **more)
        store.write_table(keys, folder / "table.csv")
    return (folder / "table.csv").read_bytes(), len(made)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return filled(tmp_path_factory.mktemp("whole"))[0]


# -------------------------------------------------------------------------------- the table
def test_lines_are_those_of_pandas(tmp_path):
    rows = [run_cell(BASE, {"slope_deg": -5.0}), run_cell(BASE, {"knee.load_on_n": 50.0}), quick_row(BASE, CELLS[0])]
    rows[2] |= {"name": 'a, "b"', "speed_m_s": float("inf"), "cadence_steps_per_min": np.float64(1e-7), "strides": 3}
    write_table(as_table(rows), tmp_path / "pandas.csv")
    ours = "\n".join([csv_header(), *(csv_row(row) for row in rows)]) + "\n"
    assert (tmp_path / "pandas.csv").read_text() == ours


def test_real_walks_kept_on_disk_are_the_table_of_the_sweep(tmp_path):
    over = {"slope_deg": [-5.0, -8.0], "flexion_resistance": [30.0, 60.0]}
    kept, plain = sweep(BASE, over, folder=tmp_path), sweep(BASE, over)
    pd.testing.assert_frame_equal(kept, plain, check_exact=True)
    write_table(plain, tmp_path / "plain.csv")
    assert (tmp_path / "table.csv").read_bytes() == (tmp_path / "plain.csv").read_bytes()
    told = []
    again = sweep(BASE, over, folder=tmp_path, progress=lambda done, total: told.append((done, total)))
    pd.testing.assert_frame_equal(again, plain, check_exact=True)
    assert told == [(4, 4)]


def test_chosen_columns_can_be_read_alone(tmp_path, whole):
    (tmp_path / "table.csv").write_bytes(whole)
    some = read_table(tmp_path / "table.csv", ["slope_deg", "outcome", "knee.flexion_resistance"])
    everything = read_table(tmp_path / "table.csv")
    assert set(some.columns) == {"slope_deg", "outcome", "knee.flexion_resistance"}
    pd.testing.assert_frame_equal(some, everything[list(some.columns)], check_exact=True)


# -------------------------------------------------------------------------------- going on
def test_the_same_again_makes_no_walk(tmp_path, whole):
    assert filled(tmp_path) == (whole, 9)
    assert filled(tmp_path) == (whole, 0)
    assert filled(tmp_path, fresh=True) == (whole, 9)


def test_other_ranges_use_the_rows_they_share(tmp_path, whole):
    assert filled(tmp_path, CELLS[:4])[1] == 4
    assert filled(tmp_path) == (whole, 5)


def test_the_same_walk_asked_for_twice_is_made_once(tmp_path):
    text, made = filled(tmp_path, [CELLS[0], CELLS[1], CELLS[0]])
    lines = text.decode().splitlines()
    assert made == 2
    assert lines[1] == lines[3] != lines[2]


def test_a_file_cut_anywhere_loses_only_the_torn_row(tmp_path, whole):
    filled(tmp_path)
    full = (tmp_path / ROWS).read_bytes()
    ends = [match.end() for match in re.finditer(b"\n", full)]
    for cut in [0, 5, ends[0] - 1, ends[0], *range(ends[3], ends[4] + 1, 97), ends[4] - 1, ends[4], len(full) - 1]:
        (tmp_path / ROWS).write_bytes(full[:cut])
        there = sum(end <= cut for end in ends[1:])
        assert filled(tmp_path) == (whole, 9 - there), cut


def test_a_damaged_row_is_walked_again(tmp_path, whole):
    filled(tmp_path)
    full = bytearray((tmp_path / ROWS).read_bytes())
    place = full.index(b"\n", full.index(b"\n") + 1) + 300
    full[place] ^= 1
    (tmp_path / ROWS).write_bytes(full)
    assert filled(tmp_path) == (whole, 1)
    assert filled(tmp_path) == (whole, 0)


def test_crashed_rows_are_tried_again(tmp_path, whole):
    def failing(base, cell):
        if cell["slope_deg"] == -5.0:
            return quick_row(base, cell) | {"outcome": "crashed", "stage": "worker", "message": "lost"}
        return quick_row(base, cell)

    text, made = filled(tmp_path, make=failing)
    assert made == 9
    assert text.count(b"crashed") == 3
    assert filled(tmp_path) == (whole, 3)


# -------------------------------------------------------------------------------- never mixed
def refused(folder, **given):
    with pytest.raises(RampwalkError) as caught:
        filled(folder, **given)
    said = str(caught.value)
    assert "\n" not in said
    assert said.endswith(".")
    assert "--fresh" in said
    return said


def test_other_settings_are_refused_and_nothing_is_lost(tmp_path, whole):
    filled(tmp_path)
    assert "strides = 1, not 2" in refused(tmp_path, base=Scenario(strides=2))
    finer = replace_by_name(BASE, {"time_step_s": 2e-4, "person.mass_kg": 80.0})
    said = refused(tmp_path, base=finer)
    assert "numerics.time_step_s = 0.00025, not 0.0002" in said
    assert "person.mass_kg = 75.0, not 80.0" in said
    assert filled(tmp_path) == (whole, 0)


def test_other_code_is_refused_and_fresh_starts_over(tmp_path, monkeypatch):
    filled(tmp_path)
    monkeypatch.setattr(sim.store, "code_version", lambda: "0123")
    assert "made by other code" in refused(tmp_path)
    assert filled(tmp_path, fresh=True)[1] == 9
    assert json.loads((tmp_path / "sweep.json").read_text())["code_version"] == "0123"


@pytest.mark.parametrize("text", ["", "[]", '{"base": 1}', "{"])
def test_rows_that_nobody_can_tell_the_origin_of_are_refused(tmp_path, text):
    filled(tmp_path)
    (tmp_path / "sweep.json").write_text(text)
    assert "cannot be read" in refused(tmp_path)
    (tmp_path / "sweep.json").unlink()
    assert "has no sweep.json" in refused(tmp_path)


def test_other_columns_are_refused(tmp_path):
    filled(tmp_path)
    text = (tmp_path / ROWS).read_text()
    (tmp_path / ROWS).write_text(text.replace("slope_deg", "slope_rad", 1))
    assert "other columns" in refused(tmp_path)


def test_two_sweeps_do_not_write_into_one_folder(tmp_path):
    with open_store(tmp_path, BASE), pytest.raises(RampwalkError, match=r"another run .* is writing there"):
        filled(tmp_path)


# -------------------------------------------------------------------------------- stopped
def test_an_interrupt_keeps_what_is_finished(tmp_path, whole):
    def interrupted(base, cell):
        if cell == CELLS[3]:
            os.kill(os.getpid(), signal.SIGINT)
        return quick_row(base, cell)

    with pytest.raises(Stopped) as caught:
        filled(tmp_path, make=interrupted)
    assert (caught.value.done, caught.value.total) == (4, 9)  # the walk under way is finished too
    assert filled(tmp_path) == (whole, 5)


def test_a_second_interrupt_stops_at_once(tmp_path, whole):
    def stubborn(base, cell):
        if cell == CELLS[3]:
            os.kill(os.getpid(), signal.SIGINT)
            os.kill(os.getpid(), signal.SIGINT)
            time.sleep(60.0)
        return quick_row(base, cell)

    with pytest.raises(KeyboardInterrupt):
        filled(tmp_path, make=stubborn)
    assert filled(tmp_path) == (whole, 6)


def test_handlers_of_signals_are_as_before(tmp_path):
    before = signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)
    filled(tmp_path)
    assert (signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)) == before


def test_a_sweep_in_another_thread_leaves_signals_alone(tmp_path, whole):
    found = []
    thread = threading.Thread(target=lambda: found.append(filled(tmp_path)))
    thread.start()
    thread.join()
    assert found == [(whole, 9)]


SCRIPT = """
import sys
from pathlib import Path
from sim.scenario import Scenario
from sim.grid import axes_of, cells_of
from sim.pool import worker_pool
from sim.store import open_store
from sim.sweep import fill
from tests.unit.stand_ins import slow_row

if __name__ == "__main__":
    folder, base = Path(sys.argv[1]), Scenario(strides=1)
    cells = cells_of(axes_of({"slope_deg": [-4.0 - 0.01 * i for i in range(60)], "step_length_m": [0.4, 0.5]}))
    with open_store(folder, base) as store:
        keys = fill(store, base, cells, make=slow_row)
        store.write_table(keys, folder / "table.csv")
"""


def test_killed_at_random_moments_nothing_is_lost(tmp_path):
    """The store alone, with rows of 50 ms; the whole command is killed in tests/regression/test_kill.py."""
    script, folder, random = tmp_path / "script.py", tmp_path / "killed", np.random.default_rng(1)
    script.write_text(SCRIPT)
    folder.mkdir()
    before = b""
    for _ in range(2):
        program = subprocess.Popen([sys.executable, str(script), str(folder)], env=os.environ | {"PYTHONPATH": "."})
        more = len(before) + int(random.integers(1, 20_000))
        while not ((folder / ROWS).is_file() and (folder / ROWS).stat().st_size > more):
            assert program.poll() is None
            time.sleep(0.01)
        program.kill()
        program.wait()
        after = (folder / ROWS).read_bytes()
        assert after.startswith(before[: before.rfind(b"\n") + 1])  # append only
        before = after
    subprocess.run([sys.executable, str(script), str(folder)], env=os.environ | {"PYTHONPATH": "."}, check=True)
    killed = (folder / "table.csv").read_bytes()
    subprocess.run([sys.executable, str(script), str(tmp_path)], env=os.environ | {"PYTHONPATH": "."}, check=True)
    assert killed == (tmp_path / "table.csv").read_bytes()
