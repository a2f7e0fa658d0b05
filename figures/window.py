"""Usable window of flexion resistance by slope: criteria on the default slope, and the window on each slope.

Files go to `figures/out/`.
"""

from functools import partial
from pathlib import Path

import pandas as pd

from sim.cell import run_cell
from sim.plots import save_for_print
from sim.plots.style import number_label
from sim.plots.window import window_figure
from sim.pool import usable_cpus, worker_pool
from sim.scenario import Scenario
from sim.window import find_windows
from sim.window_words import table_row

SLOPES = (-4.0, -6.0, -8.0, -10.0, -12.0)
DETAIL = SLOPES.index(Scenario().slope_deg)

if __name__ == "__main__":
    base = Scenario()
    searched = [SLOPES[DETAIL], *SLOPES[:DETAIL], *SLOPES[DETAIL + 1 :]]  # of the first the limits of every criterion
    with worker_pool(usable_cpus()) as pool:
        walk = partial(pool.map, partial(run_cell, base))
        found = find_windows(base, [{"slope_deg": slope} for slope in searched], lambda cells: list(walk(cells)))
    named = [(f"slope {number_label(slope)} deg", found[searched.index(slope)]) for slope in SLOPES]
    table = pd.DataFrame([table_row(window, what) for what, window in named])
    save_for_print(window_figure(named, DETAIL), Path(__file__).parent / "out" / "window", table)
