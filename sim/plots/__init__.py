"""Figures. Every function takes data and an optional axes, draws, and returns what it drew on; nothing is shown.

`sim.plots.data` makes the tables behind them, `save_figure` writes figure and table side by side.
"""

from sim.plots.stride import ledger_bars, ledger_data, stride_curves, stride_data, stride_figure
from sim.plots.style import save_figure, save_for_print
from sim.plots.sweeps import (
    lines_over,
    outcome_map,
    outcome_map_figure,
    outcome_strip,
    resistance_figure,
    step_length_figure,
)
from sim.plots.walks import (
    force_curves,
    knee_curves,
    mass_centre_ahead,
    mass_centre_figure,
    mass_centre_path,
    stick_figures,
    walk_figure,
)

__all__ = [
    "force_curves",
    "knee_curves",
    "ledger_bars",
    "ledger_data",
    "lines_over",
    "mass_centre_ahead",
    "mass_centre_figure",
    "mass_centre_path",
    "outcome_map",
    "outcome_map_figure",
    "outcome_strip",
    "resistance_figure",
    "save_figure",
    "save_for_print",
    "step_length_figure",
    "stick_figures",
    "stride_curves",
    "stride_data",
    "stride_figure",
    "walk_figure",
]
