"""Which of some settings moves the sound-leg peak most: total and first indices, and one setting at a time.

A small sample, to show the figure in a minute; the answer of a larger one is `experiments/sensitivity`. Files go to
`figures/out/`; the differences of one setting at a time have their own CSV.
"""

from functools import partial
from pathlib import Path

from sim.cell import run_cell
from sim.influences import default_influences
from sim.plots import save_for_print
from sim.plots.data import PEAK
from sim.plots.sensitivity import sensitivity_figure
from sim.pool import usable_cpus, worker_pool
from sim.scenario import Scenario
from sim.sensitivity import study
from sim.table import as_table, write_table

VARIED = (
    "knee.flexion_resistance",
    "step_length_m",
    "cadence_steps_per_min",
    "person.mass_kg",
    "person.residual_hip_strength_fraction",
    "contact.sound_stiffness_bw_per_leg_length",
)
SAMPLES, SEED = 16, 0  # base points: enough for a picture with wide intervals, not for a ranking

if __name__ == "__main__":
    base, stem = Scenario(), Path(__file__).parent / "out" / "sensitivity"
    influences = {name: influence for name, influence in default_influences().items() if name in VARIED}
    with worker_pool(usable_cpus()) as pool:
        walk = partial(pool.map, partial(run_cell, base), chunksize=4)
        found = study(base, influences, SAMPLES, SEED, lambda cells: as_table(walk(cells)))
    figure = sensitivity_figure(found.indices, found.tornado, PEAK)
    figure.suptitle(f"A small sample ({SAMPLES} base points): wide intervals, no ranking of close settings", size=9)
    save_for_print(figure, stem, found.indices)
    write_table(found.tornado, stem.with_name("sensitivity_one_at_a_time.csv"))
