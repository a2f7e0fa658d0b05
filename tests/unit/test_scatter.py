import os
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

import sim.scatter
from sim.cell import OtherCodeError
from sim.errors import RampwalkError
from sim.grid import axes_of, cells_of
from sim.interrupt import Stop
from sim.pool import ONE_THREAD, usable_cpus, worker_pool, workers_in_environment
from sim.scatter import rows_as_they_come
from sim.scenario import Scenario, replace_by_name
from sim.table import cell_key, input_row, row_key, setting_values
from tests.unit import stand_ins

BASE = Scenario(strides=1)
CELLS = cells_of(axes_of({"slope_deg": [-5.0, -6.0, -7.0, -8.0, -9.0, -10.0]}))


def rows(executor, make=stand_ins.quick_row, base=BASE, cells=CELLS, stop=None):
    found = [pair for some in rows_as_they_come(base, cells, executor, stop, make) for pair in some]
    assert len(found) == len({index for index, _ in found})
    return dict(sorted(found))


def expected(base=BASE):
    return dict(enumerate(stand_ins.quick_row(base, cell) for cell in CELLS))


# -------------------------------------------------------------------------------- lost workers
def test_only_the_walk_that_kills_its_worker_is_a_crash_row():
    with worker_pool(2) as pool:
        found = rows(pool, stand_ins.deadly_row)
    whole = expected()
    assert list(found) == list(range(6))
    for index, row in found.items():
        if CELLS[index]["slope_deg"] == -8.0:
            assert row["outcome"] == "crashed"
            assert row["stage"] == "worker"
            assert row["message"].startswith("BrokenProcessPool: ")
            assert "lost twice" in row["message"]
            assert row["key"] == whole[index]["key"]
            assert input_row(replace_by_name(BASE, CELLS[index])).items() <= row.items()
        else:
            assert row == whole[index]


@pytest.mark.slow
def test_a_worker_lost_once_costs_no_row(tmp_path):
    base = replace_by_name(BASE, {"name": str(tmp_path)})
    with worker_pool(2) as pool:
        assert rows(pool, stand_ins.once_deadly_row, base) == expected(base)
    assert (tmp_path / "was_here").exists()


@pytest.mark.slow
def test_pools_that_break_without_end_end_in_rows(monkeypatch):
    monkeypatch.setattr(sim.scatter, "MOST_BREAKS", 1)
    cells = [{"slope_deg": -8.0, "step_length_m": 0.3 + 0.01 * index} for index in range(5)]
    with worker_pool(1) as pool:
        found = rows(pool, stand_ins.deadly_row, cells=cells)
    assert [row["stage"] for row in found.values()] == ["worker"] * 5
    assert "lost 1 times" in found[4]["message"]  # not among those that the worker may have had


def test_a_pool_that_is_shut_down_is_rows():
    pool = ThreadPoolExecutor(1)
    pool.shutdown()
    found = rows(pool)
    assert {row["stage"] for row in found.values()} == {"worker"}
    assert "cannot schedule new futures" in found[0]["message"]


def test_a_worker_with_other_code_ends_the_sweep(monkeypatch):
    with worker_pool(1) as pool:
        rows(pool, cells=CELLS[:1])
        monkeypatch.setattr(sim.scatter, "code_version", lambda: "0123")
        with pytest.raises(OtherCodeError, match=r"than this process \(0123\)") as caught:
            rows(pool)
    assert str(caught.value).endswith("run again.")


# -------------------------------------------------------------------------------- stopping
def test_once_asked_to_stop_nothing_is_begun_and_what_runs_comes_in():
    stop, begun = Stop(), []
    cells = [{"slope_deg": -5.0 - 0.1 * index} for index in range(40)]

    def noted(base, cell):
        begun.append(cell)
        if len(begun) == 4:
            stop.ask()
        time.sleep(0.01)
        return stand_ins.quick_row(base, cell)

    with ThreadPoolExecutor(2) as pool:
        found = rows(pool, noted, stop=stop, cells=cells)
    assert len(found) == len(begun) < len(cells)


# -------------------------------------------------------------------------------- keys, workers, threads
def test_key_of_a_cell_is_the_key_of_its_scenario():
    cell = {"slope_deg": -7.0, "person.mass_kg": 80.0, "knee.law": "hydraulic", "speed_m_s": 0.6}
    assert cell_key(setting_values(BASE), cell) == row_key(replace_by_name(BASE, cell)) != row_key(BASE)


def test_workers_from_the_environment(monkeypatch):
    monkeypatch.delenv("RAMPWALK_WORKERS", raising=False)
    assert workers_in_environment() is None
    monkeypatch.setenv("RAMPWALK_WORKERS", " 3 ")
    assert workers_in_environment() == 3
    with worker_pool() as pool:
        assert pool._max_workers == 3
    monkeypatch.setenv("RAMPWALK_WORKERS", "many")
    with pytest.raises(RampwalkError, match="RAMPWALK_WORKERS = 'many' is not a whole number of 1 to 1000"):
        workers_in_environment()
    assert usable_cpus() >= 1


@pytest.mark.slow
def test_a_dask_cluster_gives_the_same_bits_with_one_thread_each(recwarn):
    distributed = pytest.importorskip("distributed")
    from sim.sweep import sweep

    over = {"slope_deg": [-5.0, -8.0], "flexion_resistance": [30.0, 60.0, 90.0]}
    cluster = distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None)
    with cluster, distributed.Client(cluster) as client:
        assert len(client.scheduler_info()["workers"]) == 2
        for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
            assert set(client.run(os.getenv, name).values()) == {"1"} == {ONE_THREAD[name]}
        spread = sweep(BASE, over, client)
        assert set(client.run(os.getpid).values()).isdisjoint({os.getpid()})
        pids = client.run(lambda: "sim.activities.walk" in sys.modules)
        failed = dict(pair for some in rows_as_they_come(BASE, CELLS[:3], client, make=_broken) for pair in some)
    assert any(pids.values())  # the walks were made there
    assert spread.equals(sweep(BASE, over))
    assert all(row["message"].startswith("ZeroDivisionError: injected") for row in failed.values())
    recwarn.clear()


def _broken(base, cell):  # noqa: ARG001
    raise ZeroDivisionError("injected")
