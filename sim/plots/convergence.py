"""Figure of convergence: error against time step, with the line of first order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sim.plots.style import GREY, SINGLE_MM, given_or_new, line_style, new_figure, styled

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def fitted_order(step: np.ndarray, error: np.ndarray, finest: float) -> float:
    """Power of the time step in the error.

    Parameters
    ----------
    step : ndarray, shape (n,)
        Time steps [s].
    error : ndarray, shape (n,)
        Distance from the solution with the finest step, above zero.
    finest : float
        That step [s]; the solution is itself off in proportion to it, so the error goes with `step - finest`.
    """
    return float(np.polyfit(np.log(np.asarray(step) - finest), np.log(error), 1)[0])


def error_lines(data: pd.DataFrame, finest: float, ax: Axes | None = None) -> Axes:
    """Error over time step on logarithmic axes, a line per `what`, and a thin line of first order.

    Parameters
    ----------
    data : DataFrame
        `what`, `time_step_s`, `error_m`.
    finest : float
        Step of the walk that they are compared with [s].
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    names = list(dict.fromkeys(data["what"]))
    for index, name in enumerate(names):
        rows = data[data["what"] == name].sort_values("time_step_s")
        step, error = rows["time_step_s"].to_numpy(float), rows["error_m"].to_numpy(float)
        order = fitted_order(step, error, finest)
        style = line_style(index, len(names) + 1)  # none of them light
        ax.loglog(1e3 * step, 1e3 * error, **style, label=f"{name}: order {order:.2f}")
    step = np.sort(data["time_step_s"].unique())
    least = float(data["error_m"].min())
    first = 0.5 * least * (step - finest) / (step[0] - finest)
    ax.loglog(1e3 * step, 1e3 * first, color=GREY, linewidth=0.8, label="first order")
    ticks = [f"{1e3 * value:g}" for value in step]
    ax.set_xticks(1e3 * step, ticks)
    ax.minorticks_off()
    ax.set_xlabel("time step [ms]")
    ax.set_ylabel("mass centre off the finest walk [mm]")
    ax.grid(color="0.92", linewidth=0.6)
    return ax


def convergence_figure(data: pd.DataFrame, finest: float) -> Figure:
    """`error_lines` over one column of a page."""
    with styled():
        figure = new_figure(3.4, SINGLE_MM)
        ax = error_lines(data, finest, figure.add_subplot())
        figure.legend(*ax.get_legend_handles_labels(), loc="outside lower center", ncols=1)
    return figure
