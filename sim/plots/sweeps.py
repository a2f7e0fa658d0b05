"""Figures of a sweep's table: lines over step length or resistance with falls marked, and maps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.plots.data import PACES, PEAK, RATE, RESISTANCE, SLOPE, STEP
from sim.plots.style import GREY, LIGHT, VERMILLION, given_or_new, line_style, new_figure, number_label, styled

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LABEL = {
    SLOPE: "slope [deg]",
    STEP: "step length [m]",
    RESISTANCE: "flexion resistance [N m s/rad]",
    PEAK: "sound leg: peak force [BW]",
    "prosthetic_peak_force_bw": "prosthetic leg: peak force [BW]",
    RATE: "prosthetic knee under load:\npeak flexion rate [deg/s]",
}
#: Outcome -> marker in a strip and hatch in a map.
OUTCOME_STYLE: dict[str, dict[str, Any]] = {
    "fell": {"marker": "x", "color": VERMILLION, "hatch": "////"},
    "stalled": {"marker": "s", "color": "#CC79A7", "hatch": "...."},
    "no result": {"marker": "*", "color": "black", "hatch": "xxxx"},
}
#: Most columns of a map whose cells still hold a number.
MOST_NUMBERS = 9


def shown_outcome(outcome: str) -> str:
    """Walked, fell, stalled; the rest has no result."""
    return outcome if outcome in {"walked", "fell", "stalled"} else "no result"


# -------------------------------------------------------------------------------- lines
def lines_over(data: pd.DataFrame, x: str, y: str, ax: Axes | None = None, group: str = SLOPE) -> Axes:
    """One line per value of `group`, broken where no walk was completed; hollow markers where it was not steady.

    Parameters
    ----------
    data : DataFrame
        Rows with columns x, y, group, `outcome`, `steady`.
    x, y, group : str
        Column names.
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    groups = sorted(data[group].unique(), reverse=True)
    for index, value in enumerate(groups):
        rows = data[data[group] == value].sort_values(x)
        style = line_style(index, len(groups))
        walked = (rows["outcome"] == "walked").to_numpy()
        steady = walked & (rows["steady"] == 1.0).to_numpy()
        height = np.where(walked, rows[y].to_numpy(float), np.nan)
        places = rows[x].to_numpy(float)
        label = f"{number_label(value)} deg" if group == SLOPE else number_label(value)
        ax.plot(places, height, color=style["color"], linestyle=style["linestyle"], label=label)
        marker = {"linestyle": "none", "marker": style["marker"], "color": style["color"]}
        ax.plot(places[~steady], height[~steady], **marker, markerfacecolor="white")
        ax.plot(places[steady], height[steady], **marker)
    ax.set_xlabel(LABEL.get(x, x))
    ax.set_ylabel(LABEL.get(y, y))
    ax.grid(color="0.92", linewidth=0.6)
    return ax


def outcome_strip(data: pd.DataFrame, x: str, ax: Axes | None = None, group: str = SLOPE) -> Axes:
    """How each walk ended, a row per value of `group`: a dot walked, a cross fell, a square stalled, a star neither."""
    ax = given_or_new(ax, 1.2)
    groups = sorted(data[group].unique(), reverse=True)
    for index, value in enumerate(groups):
        rows = data[data[group] == value]
        ended = rows["outcome"].map(shown_outcome).to_numpy()
        places = rows[x].to_numpy(float)
        ax.plot(places[ended == "walked"], np.full((ended == "walked").sum(), index), ".", color=LIGHT, markersize=4)
        for outcome, style in OUTCOME_STYLE.items():
            here = places[ended == outcome]
            look = {"marker": style["marker"], "color": style["color"], "linestyle": "none", "markersize": 5}
            ax.plot(here, np.full(len(here), index), **look)
    ax.set_yticks(range(len(groups)), [number_label(value) for value in groups])
    ax.set_ylim(len(groups) - 0.4, -0.6)
    ax.set_xlabel(LABEL.get(x, x))
    ax.set_ylabel(LABEL.get(group, group))
    return ax


def _line_handles(data: pd.DataFrame, group: str = SLOPE) -> list[Any]:
    """Legend entries of `lines_over` and `outcome_strip`."""
    from matplotlib.lines import Line2D

    groups = sorted(data[group].unique(), reverse=True)
    handles = [
        Line2D([], [], **line_style(index, len(groups)), label=f"{number_label(value)} deg")
        for index, value in enumerate(groups)
    ]
    if ((data["outcome"] == "walked") & (data["steady"] != 1.0)).any():
        hollow: dict[str, Any] = {"marker": "o", "color": GREY, "markerfacecolor": "white"}
        handles.append(Line2D([], [], linestyle="none", **hollow, label="hollow: not steady"))
    ended = set(data["outcome"].map(shown_outcome))
    handles.append(Line2D([], [], marker=".", linestyle="none", color=LIGHT, label="walked"))
    for outcome, style in OUTCOME_STYLE.items():
        if outcome in ended:
            look = {"marker": style["marker"], "color": style["color"]}
            handles.append(Line2D([], [], **look, linestyle="none", label=outcome))
    return handles


def step_length_figure(data: pd.DataFrame) -> Figure:
    """Sound-leg peak over step length, one line per slope, at fixed cadence and at fixed speed side by side.

    Parameters
    ----------
    data : DataFrame
        As of `sim.survey_figures.pace_data`: columns of `lines_over` and `pace`.
    """
    with styled():
        figure = new_figure(3.9)
        axes = figure.subplots(2, 2, sharex=True, sharey="row", height_ratios=[3, 1])
        for column, pace in enumerate(PACES):
            rows = data[data["pace"] == pace]
            top, bottom = axes[0, column], axes[1, column]
            lines_over(rows, STEP, PEAK, top).set_xlabel("")
            outcome_strip(rows, STEP, bottom)
            top.set_title(f"{pace}: {_pace_text(rows, pace)}")
            if column:
                top.set_ylabel("")
                bottom.set_ylabel("")
        resistance = number_label(data[RESISTANCE].iloc[0])
        figure.suptitle(f"Sound-leg peak force against step length (flexion resistance {resistance} N m s/rad)", size=9)
        figure.legend(handles=_line_handles(data), loc="outside lower center", ncols=6)
    return figure


def _pace_text(rows: pd.DataFrame, pace: str) -> str:
    if not len(rows):
        return "no walks"
    speed, step = rows["wanted_speed_m_s"], rows[STEP]
    if pace == PACES[0]:
        return f"{60 * (speed / step).median():.0f} steps a minute"
    return f"{speed.median():.2f} m/s"


def resistance_figure(data: pd.DataFrame) -> Figure:
    """Sound-leg peak and loaded knee flexion rate over flexion resistance, one line per slope, falls marked.

    Parameters
    ----------
    data : DataFrame
        Columns of `lines_over`, all rows of one step length.
    """
    with styled():
        figure = new_figure(5.2)
        axes = figure.subplots(3, 1, sharex=True, height_ratios=[3, 3, 1.2])
        for ax, name in zip(axes, (PEAK, RATE), strict=False):
            lines_over(data, RESISTANCE, name, ax).set_xlabel("")
        outcome_strip(data, RESISTANCE, axes[2])
        values = np.sort(data[RESISTANCE].unique())
        if values[0] > 0.0 and values[-1] > 5.0 * values[0]:
            axes[2].set_xscale("log")
        axes[2].set_xticks(values, [number_label(value) for value in values])
        axes[2].minorticks_off()
        step = number_label(data[STEP].iloc[0])
        figure.suptitle(f"Against the flexion resistance of the knee (steps of {step} m)", size=9)
        figure.legend(handles=_line_handles(data), loc="outside lower center", ncols=6)
    return figure


# -------------------------------------------------------------------------------- maps
def outcome_map(
    data: pd.DataFrame, ax: Axes | None = None, y: str = PEAK, limits: tuple[float, float] | None = None
) -> Axes:
    """Outcome and a measured value over step length (across) and flexion resistance (up), a cell per walk.

    Cells are equally large whatever the spacing. Falls are hatched with strokes, stalls with dots; `~` behind a number
    says that the walk was not steady.

    Parameters
    ----------
    data : DataFrame
        Rows of one slope with columns `step_length_m`, `knee.flexion_resistance`, `outcome`, `steady` and y.
    ax : Axes, optional
    y : str
        Column that is shown by colour and number.
    limits : (low, high), optional
        Of the colour scale; None takes those of the data.
    """
    from matplotlib.colors import Normalize

    ax = given_or_new(ax)
    steps, resistances = np.sort(data[STEP].unique()), np.sort(data[RESISTANCE].unique())
    scale = Normalize(*(limits or value_limits(data, y)))
    for row in data.to_dict("records"):
        corner = (int(np.searchsorted(steps, row[STEP])), int(np.searchsorted(resistances, row[RESISTANCE])))
        _cell(ax, corner, str(row["outcome"]), row[y], row["steady"] == 1.0, scale, len(steps) <= MOST_NUMBERS)
    for axis, values in ((ax.xaxis, steps), (ax.yaxis, resistances)):
        every = max(1, round(len(values) / 9))
        axis.set_ticks(np.arange(len(values))[::every] + 0.5, [f"{value:.3g}" for value in values[::every]])
        axis.set_tick_params(length=0)
    ax.set_xlim(0, len(steps))
    ax.set_ylim(0, len(resistances))
    ax.set_xlabel(LABEL[STEP])
    ax.set_ylabel(LABEL[RESISTANCE])
    return ax


def _cell(
    ax: Axes, corner: tuple[int, int], outcome: str, value: Any, steady: bool, scale: Any, numbered: bool
) -> None:
    import matplotlib as mpl
    from matplotlib.patches import Rectangle

    shown = shown_outcome(outcome)
    if shown != "walked":
        style = OUTCOME_STYLE[shown]
        look = {"facecolor": "white", "edgecolor": style["color"], "hatch": style["hatch"]}
        ax.add_patch(Rectangle(corner, 1, 1, linewidth=0.0, **look))
        return
    if value is None or not np.isfinite(value):
        return
    colour = mpl.colormaps["cividis"](scale(value))
    ax.add_patch(Rectangle(corner, 1, 1, facecolor=colour, edgecolor="white", linewidth=0.4))
    if numbered:
        bright = float(np.dot(colour[:3], (0.299, 0.587, 0.114)))
        text = f"{value:.2f}" if steady else f"{value:.2f}~"
        where = (corner[0] + 0.5, corner[1] + 0.5)
        ax.text(*where, text, ha="center", va="center", size=5.5, color="black" if bright > 0.5 else "white")


def value_limits(data: pd.DataFrame, y: str) -> tuple[float, float]:
    """Colour scale: the range of the walks that were completed, without the outermost 2 %."""
    values = data.loc[data["outcome"] == "walked", y].dropna()
    if not len(values):
        return 0.0, 1.0
    low, high = (float(value) for value in values.quantile([0.02, 0.98]))
    return (low, high) if high > low else (low - 0.5, low + 0.5)


def outcome_map_figure(data: pd.DataFrame, y: str = PEAK) -> Figure:
    """`outcome_map` of every slope side by side, on one colour scale.

    Parameters
    ----------
    data : DataFrame
        As for `outcome_map`, of one or several slopes.
    y : str
        Column shown by colour and number.
    """
    slopes = sorted(data[SLOPE].unique(), reverse=True)
    columns = min(3, len(slopes))
    rows = -(-len(slopes) // columns)
    with styled():
        figure = new_figure(0.9 + 2.35 * rows)
        axes = figure.subplots(rows, columns, squeeze=False, sharex=True, sharey=True)
        limits = value_limits(data, y)
        for index, ax in enumerate(axes.flat):
            if index >= len(slopes):
                ax.axis("off")
                continue
            outcome_map(data[data[SLOPE] == slopes[index]], ax, y, limits)
            ax.set_title(f"slope {number_label(slopes[index])} deg")
            below = index + columns < len(slopes)
            ax.tick_params(labelbottom=not below)
            if below:
                ax.set_xlabel("")
            if index % columns:
                ax.set_ylabel("")
        _map_legend(figure, axes, data, limits, y, axes.flat[-1] if len(slopes) < rows * columns else None)
    return figure


def _map_legend(
    figure: Figure, axes: Any, data: pd.DataFrame, limits: tuple[float, float], y: str, spare: Axes | None
) -> None:
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize
    from matplotlib.patches import Patch

    colours = ScalarMappable(Normalize(*limits), "cividis")
    figure.colorbar(colours, ax=list(axes.flat), label=LABEL.get(y, y), extend="both", shrink=0.6, aspect=30, pad=0.02)
    ended = set(data["outcome"].map(shown_outcome))
    handles = [
        Patch(facecolor="white", edgecolor=style["color"], hatch=style["hatch"], label=outcome)
        for outcome, style in OUTCOME_STYLE.items()
        if outcome in ended
    ]
    handles.append(Patch(facecolor=LIGHT, label="walked; ~ not steady"))
    if spare is not None:
        spare.legend(handles=handles, loc="center", handleheight=1.6)
    else:
        figure.legend(handles=handles, loc="outside lower center", ncols=4, handleheight=1.6)
