"""Contours of an outcome over two settings, with the edge between completed walks and others."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.plots.style import VERMILLION, given_or_new, new_figure, number_label, styled
from sim.plots.sweeps import OUTCOME_STYLE, shown_outcome, value_limits

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.boundary import Scale

LEVELS = 9
Segments = Sequence[tuple[Any, Any]]


def contours(
    data: pd.DataFrame,
    x: tuple[str, Scale],
    y: tuple[str, Scale],
    value: str,
    segments: Segments,
    ax: Axes | None = None,
    limits: tuple[float, float] | None = None,
) -> Axes:
    """Filled contours between the completed walks; dots are walks, marks those not completed, a line the edge.

    Parameters
    ----------
    data : DataFrame
        Rows of one panel with columns x, y, `outcome` and value: those of the grid and those of the bisection.
    x, y : (str, Scale)
        Columns and their scales.
    value : str
        Column that is drawn.
    segments : sequence of pairs of points
        See `sim.boundary.edge_segments`.
    ax : Axes, optional
    limits : (low, high), optional
        Of the colours; None takes those of the data.
    """
    ax = given_or_new(ax)
    walked = (data["outcome"] == "walked").to_numpy()
    known = walked & np.isfinite(data[value].to_numpy(float))
    triangles = _triangles(data, x, y, known)
    low, high = limits or value_limits(data, value)
    if triangles is not None:
        heights = np.where(known, data[value].to_numpy(float), low)  # the others are hidden
        ax.tricontourf(triangles, heights, np.linspace(low, high, LEVELS), cmap="cividis", extend="both")
    places = data[[x[0], y[0]]].to_numpy(float)
    dot: dict[str, Any] = {"markersize": 2.5, "markeredgecolor": "black", "markeredgewidth": 0.2, "clip_on": False}
    ax.plot(*places[walked].T, ".", color="white", **dot)
    ended = data["outcome"].map(shown_outcome).to_numpy()
    for outcome, style in OUTCOME_STYLE.items():
        here = places[ended == outcome]
        look: dict[str, Any] = {"marker": style["marker"], "color": style["color"], "markersize": 4, "clip_on": False}
        ax.plot(*here.T, linestyle="none", **look)
    for first, second in segments:
        ax.plot(*np.array([first, second]).T, color=VERMILLION, linewidth=1.8)
    for scale, axis in ((x[1], "x"), (y[1], "y")):
        if scale.log:
            ax.set(**{f"{axis}scale": "log"})
            ticks = [scale.value(k / 4) for k in range(5)]
            (ax.xaxis if axis == "x" else ax.yaxis).set_ticks(ticks, [number_label(tick) for tick in ticks])
            ax.minorticks_off()
    return ax


def _triangles(data: pd.DataFrame, x: tuple[str, Scale], y: tuple[str, Scale], known: Any) -> Any:
    """Triangles between all walks, those with a corner that was not completed hidden; None if all would be.

    They are made in places from 0 to 1, so that neither axis counts for more.
    """
    from matplotlib.tri import Triangulation

    places = np.array([[scale.place(v) for v in data[name].to_numpy(float)] for name, scale in (x, y)]).T
    if len(places) < 3 or np.linalg.matrix_rank(places - places[0], tol=1e-9) < 2:
        return None
    corners = Triangulation(places[:, 0], places[:, 1]).triangles
    hidden = ~known[corners].all(axis=1)
    if hidden.all():
        return None
    shown = data[[x[0], y[0]]].to_numpy(float)
    return Triangulation(shown[:, 0], shown[:, 1], corners, hidden)


def surface_figure(
    panels: Sequence[tuple[str, pd.DataFrame, Segments]],
    x: tuple[str, Scale],
    y: tuple[str, Scale],
    value: str,
    labels: tuple[str, str, str],
) -> Figure:
    """`contours` of every panel side by side, on one colour scale.

    Parameters
    ----------
    panels : sequence of (title, data, segments)
    x, y, value
        As of `contours`.
    labels : (str, str, str)
        Of x, y and value, with units.
    """
    import pandas as pd
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize
    from matplotlib.lines import Line2D

    columns = min(3, len(panels))
    rows = -(-len(panels) // columns)
    everything = pd.concat([data for _, data, _ in panels])
    limits = value_limits(everything, value)
    with styled():
        figure = new_figure(1.0 + 2.5 * rows if columns > 1 else 4.2)
        axes = figure.subplots(rows, columns, squeeze=False, sharex=True, sharey=True)
        for ax, (title, data, segments) in zip(axes.flat, panels, strict=False):
            contours(data, x, y, value, segments, ax, limits)
            ax.set_title(title)
        for ax in axes.flat[len(panels) :]:
            ax.axis("off")
        for ax in axes[:, 0]:
            ax.set_ylabel(labels[1])
        for ax in axes[-1, :]:
            ax.set_xlabel(labels[0])
        colours = ScalarMappable(Normalize(*limits), "cividis")
        figure.colorbar(colours, ax=list(axes.flat), label=labels[2], extend="both", shrink=0.7, pad=0.02)
        ended = set(everything["outcome"].map(shown_outcome))
        handles = [Line2D([], [], color=VERMILLION, linewidth=1.8, label="edge of completed walks")]
        for outcome, style in OUTCOME_STYLE.items():
            if outcome in ended:
                look = {"marker": style["marker"], "color": style["color"], "linestyle": "none"}
                handles.append(Line2D([], [], **look, label=outcome))
        figure.legend(handles=handles, loc="outside lower center", ncols=4)
    return figure


def panel_title(fixed: dict[str, object]) -> str:
    """Title of a panel: what is fixed in it."""
    return ", ".join(
        f"{name} {number_label(value) if isinstance(value, float) else value}" for name, value in fixed.items()
    )
