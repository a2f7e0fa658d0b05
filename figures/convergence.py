"""Convergence in the time step: how far the mass centre is off the walk with the finest step.

Root of the mean square over some step lengths, since a foot lands at a whole time step, early or late by chance. Files
go to `figures/out/`.
"""

from pathlib import Path

import numpy as np
import pandas as pd

from sim.body import build_body
from sim.drivers.loops import run_walk
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.plots import save_for_print
from sim.plots.convergence import convergence_figure
from sim.scenario import Scenario
from sim.series import series_of

STEPS, FINEST = (8e-4, 4e-4, 2e-4, 1e-4), 2.5e-5  # s
FRAME = 2.4e-3  # s, a multiple of every time step
LENGTHS = (0.45, 0.47, 0.49, 0.51, 0.53, 0.55)  # m
PARTS = ("until the first landing", "until the second landing")


def walked(length: float, step: float) -> tuple[np.ndarray, np.ndarray]:
    """Mass centre every `FRAME`, shape (n, 2) [m], and times of the first two landings [s]."""
    scenario = Scenario(step_length_m=length)
    body = build_body(scenario.person, scenario.components, scenario.foot)
    records = pack_settings(scenario), pack_gains(), pack_plant(body)
    run = run_walk(*records, 3, 3.0, step, scenario.numerics.iterations, frame_time=FRAME)
    return series_of(run.frames, body).mass_centre, run.steps["time"][: len(PARTS)]


def errors() -> pd.DataFrame:
    """`what`, `time_step_s`, `error_m`: farthest distance until a landing, root mean square over the lengths."""
    squares = np.zeros((len(PARTS), len(STEPS)))
    for length in LENGTHS:
        right, landings = walked(length, FINEST)
        ends = (landings / FRAME).astype(int)
        for column, step in enumerate(STEPS):
            rough = walked(length, step)[0]
            count = min(len(rough), len(right))
            far = np.linalg.norm(rough[:count] - right[:count], axis=1)
            squares[:, column] += [far[:end].max() ** 2 / len(LENGTHS) for end in ends]
    return pd.DataFrame(
        [
            (part, step, float(np.sqrt(squares[row, column])))
            for row, part in enumerate(PARTS)
            for column, step in enumerate(STEPS)
        ],
        columns=["what", "time_step_s", "error_m"],
    )


if __name__ == "__main__":
    data = errors()
    save_for_print(convergence_figure(data, FINEST), Path(__file__).parent / "out" / "convergence", data)
