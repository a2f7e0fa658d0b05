"""Figure of a window: what each criterion says over flexion resistance, and how the window moves."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from sim.plots.style import BLUE, GREY, LIGHT, VERMILLION, given_or_new, new_figure, number_label, styled
from sim.window_criteria import CRITERIA

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.window_found import Window

_TICKS = tuple(digit * 10.0**power for power in range(-1, 3) for digit in (1, 2, 5))


def criteria_bars(window: Window, ax: Axes | None = None) -> Axes:
    """One row per criterion over resistance: thin where it is kept, thick and hatched where it is broken, empty where a
    fall or stall leaves it unknown; the window is shaded, the first trial value a line.

    Parameters
    ----------
    window : sim.window_found.Window
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    places = sorted(window.rows)
    edges = np.array([places[0], *(np.sqrt(a * b) for a, b in itertools.pairwise(places)), places[-1]])
    for row, name in enumerate(CRITERIA):
        values = np.array([window.excess[at][name] for at in places])
        for state, height, look in (
            (values <= 0.0, 0.12, {"facecolor": LIGHT}),
            (values > 0.0, 0.62, {"facecolor": "white", "edgecolor": VERMILLION, "hatch": "////", "linewidth": 0.8}),
        ):
            for start, stop in _runs(state):
                left, right = edges[start], edges[stop]
                ax.barh(row, right - left, left=left, height=height, **look)
    for piece in window.pieces:
        ax.axvspan(piece.low, piece.high, color=BLUE, alpha=0.15, linewidth=0)
    if window.first_trial is not None:
        ax.axvline(window.first_trial, color=BLUE, linewidth=1.4)
    ax.set_yticks(range(len(CRITERIA)), [name.replace("_", " ") for name in CRITERIA])
    ax.set_ylim(len(CRITERIA) - 0.4, -0.6)
    resistance_axis(ax, places[0], places[-1])
    return ax


def _runs(state: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[tuple[int, int]]:
    """First index and index after the last of each run of True."""
    steps = np.flatnonzero(np.diff(np.concatenate([[0], state.astype(int), [0]])))
    return list(zip(steps[::2].tolist(), steps[1::2].tolist(), strict=True))


def moves_bars(windows: Sequence[tuple[str, Window]], ax: Axes | None = None) -> Axes:
    """One bar per window, every part of it, with the first trial value as a dot.

    Parameters
    ----------
    windows : sequence of (str, sim.window_found.Window)
        What is different, and the window.
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    for row, (_, window) in enumerate(windows):
        for piece in window.pieces:
            ax.barh(row, piece.high - piece.low, left=piece.low, height=0.5, facecolor="#BBD9EC", edgecolor=BLUE)
        if window.first_trial is not None:
            ax.plot([window.first_trial], [row], "o", color=BLUE)
        elif not window.pieces:
            ax.annotate("no window", (0.5, row), xycoords=("axes fraction", "data"), va="center", color=GREY)
    ax.set_yticks(range(len(windows)), [what for what, _ in windows])
    ax.set_ylim(len(windows) - 0.4, -0.6)
    places = [at for _, window in windows for at in window.rows]
    resistance_axis(ax, min(places), max(places))
    return ax


def resistance_axis(ax: Axes, low: float, high: float) -> None:
    """Logarithmic axis of the flexion resistance from low to high [N m s/rad]."""
    ax.set_xscale("log")
    ax.set_xlim(low, high)
    ticks = [tick for tick in _TICKS if low <= tick <= high]
    ax.set_xticks(ticks, [number_label(tick) for tick in ticks])
    ax.minorticks_off()
    ax.set_xlabel("flexion resistance [N m s/rad]")


def window_figure(windows: Sequence[tuple[str, Window]], detail: int = 0) -> Figure:
    """Criteria of one window, and all windows below each other.

    Parameters
    ----------
    windows : sequence of (str, sim.window_found.Window)
        What is different, and the window.
    detail : int
        Which one's criteria are shown; the first is the scenario itself, unless something else is said.
    """
    with styled():
        figure = new_figure(3.2 + 0.7 + 0.28 * len(windows))
        upper, lower = figure.subplots(2, 1, height_ratios=[12, 2 + len(windows)])
        name, window = windows[detail]
        criteria_bars(window, upper)
        told = "hatched: criterion broken; shaded: window; line: first trial value (only a first trial)"
        upper.set_title(told if detail == 0 else f"{name}; {told}")
        moves_bars(windows, lower)
        lower.set_title("the window and its first trial value when one thing is different")
    return figure
