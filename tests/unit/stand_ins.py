"""Rows without a walk, for tests of what goes around walks. Functions of a module, so that workers find them."""

import os
import signal
import time
from pathlib import Path

from sim.scenario import replace_by_name
from sim.table import TEXTS, columns, input_row, row_key

_NUMBERS = columns()[columns().index("steps_made") :]


def quick_row(base, cell):
    """As large as a real row, from the settings alone."""
    scenario = replace_by_name(base, cell)
    row = {"key": row_key(scenario)} | input_row(scenario) | dict.fromkeys(TEXTS, "")
    start = scenario.slope_deg / 3.0 + scenario.step_length_m
    row |= {"outcome": "walked", "reason": 'Walked 30 steps, "steady"; varied by 0.3 %.'}
    return row | {name: start * (index + 1) for index, name in enumerate(_NUMBERS)}


def deadly_row(base, cell):
    """Kills its process at -8 degrees."""
    if cell["slope_deg"] == -8.0:
        os.kill(os.getpid(), signal.SIGKILL)
    return quick_row(base, cell)


def once_deadly_row(base, cell):
    """Kills its process at -8 degrees, the first time; the name of the scenario is a folder that remembers it."""
    mark = Path(base.name) / "was_here"
    if cell["slope_deg"] == -8.0 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return quick_row(base, cell)


def slow_row(base, cell):
    """Takes a twentieth of a second."""
    time.sleep(0.05)
    return quick_row(base, cell)
