"""Figures of single walks: mass centre over a stride, stick figures, force and knee curves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.plots.data import STEP, ground_heights, last_window, pose_frames, walk_data
from sim.plots.person import FORCE_LENGTH, draw_person
from sim.plots.style import GREY, LEG_STYLE, WIDTH, given_or_new, line_style, new_figure, number_label, styled
from sim.series import SIDES

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.result import WalkResult

POSE_SPACING = 0.62
"""Between poses of a strip along the surface [m], so that they do not cover each other."""
CURVE_HEIGHTS = (1.3, 1.3)
"""Of force and knee curves under a strip [inch]."""

Array = NDArray[np.float64]


# -------------------------------------------------------------------------------- mass centre
def mass_centre_path(data: pd.DataFrame, ax: Axes | None = None) -> Axes:
    """Height over travel of the mass centre in one stride, a line per step length; a marker where the sound foot lands.

    Parameters
    ----------
    data : DataFrame
        As of `sim.plots.data.travel_data`.
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    for rows, style in _per_step(data):
        ax.plot(rows["travel_m"], rows["height_m"], color=style["color"], linestyle=style["linestyle"])
        landing = _other_landing(rows)
        ax.plot(
            rows["travel_m"].iloc[landing], rows["height_m"].iloc[landing], style["marker"], color=style["color"]
        )
    ax.axvline(0.0, color="0.6", linewidth=0.7)
    ax.set_xlabel("travel along the surface, from plumb over\nthe prosthetic ankle [m]")
    ax.set_ylabel("height above the surface [m]")
    ax.grid(color="0.92", linewidth=0.6)
    return ax


def mass_centre_ahead(data: pd.DataFrame, ax: Axes | None = None) -> Axes:
    """How far the mass centre is ahead of the standing foot's ankle over one stride, a line per step length."""
    ax = given_or_new(ax)
    for rows, style in _per_step(data):
        cut = _other_landing(rows)
        for part in (rows.iloc[:cut], rows.iloc[cut:]):
            ax.plot(part["stride_percent"], part["ahead_m"], color=style["color"], linestyle=style["linestyle"])
        ax.plot(
            rows["stride_percent"].iloc[cut], rows["ahead_m"].iloc[cut], style["marker"], color=style["color"]
        )
    ax.axhline(0.0, color="0.6", linewidth=0.7)
    ax.set_xlim(0, 100)
    ax.set_xlabel("share of the stride, from the landing\nof the prosthetic foot [%]")
    ax.set_ylabel("ahead of the standing ankle [m]")
    ax.grid(color="0.92", linewidth=0.6)
    return ax


def _per_step(data: pd.DataFrame) -> list[tuple[pd.DataFrame, dict[str, Any]]]:
    steps = sorted(data[STEP].unique())
    return [(data[data[STEP] == step], line_style(index, len(steps))) for index, step in enumerate(steps)]


def _other_landing(rows: pd.DataFrame) -> int:
    """First row in which the other foot stands."""
    feet = rows["standing_foot"].to_numpy()
    changed = np.flatnonzero(feet != feet[0])
    return int(changed[0]) if len(changed) else len(feet) - 1


def mass_centre_figure(data: pd.DataFrame, title: str = "Mass centre over one stride") -> Figure:
    """`mass_centre_path` and `mass_centre_ahead` side by side."""
    from matplotlib.lines import Line2D

    with styled():
        figure = new_figure(3.3)
        left, right = figure.subplots(1, 2)
        mass_centre_path(data, left)
        mass_centre_ahead(data, right)
        right.text(1, 0.0, "over the ankle", color=GREY, size=7, va="bottom")
        handles = [
            Line2D([], [], **style, label=f"{rows[STEP].iloc[0]:.3g} m") for rows, style in _per_step(data)
        ]
        figure.suptitle(title, size=9)
        if handles:
            heading = "step length; marker: the sound foot lands"
            figure.legend(handles=handles, loc="outside lower center", ncols=7, title=heading)
        else:
            left.text(0.5, 0.5, "no measured stride", transform=left.transAxes, ha="center")
    return figure


# -------------------------------------------------------------------------------- one walk
def _leg_names(result: WalkResult) -> tuple[str, str]:
    return ("prosthetic", "sound") if result.scenario.person.has_prosthesis else ("first", "second")


def stick_figures(result: WalkResult, ax: Axes | None = None) -> Axes:
    """Poses of the last stride (of a fall: of the last seconds), drawn apart, with an arrow for each ground force.

    Sound leg solid with dots, prosthetic leg dashed with squares. Angles, heights and the surface are true to scale;
    only the poses are moved apart along the slope.
    """
    ax = given_or_new(ax, 3.5)
    series, scenario = result.series, result.scenario
    slope = math.radians(scenario.slope_deg)
    frames = pose_frames(result, last_window(result))
    for number, k in enumerate(frames):
        own = float(series.hip[k, 0])
        ground = float(ground_heights(scenario, np.array([own]))[0])
        place = number * POSE_SPACING
        shift = np.array([place * math.cos(slope) - own, place * math.sin(slope) - ground])
        _draw_ground(ax, result, own, shift)
        head = draw_person(ax, series, k, shift, scenario.person, result.body)
        ax.annotate(str(number + 1), head, (0, 9), textcoords="offset points", ha="center", size=7, color=GREY)
    ax.set_aspect("equal")
    ax.margins(0.005, 0.02)
    ax.axis("off")
    return ax


def _draw_ground(ax: Axes, result: WalkResult, x: float, shift: Array) -> None:
    reach = 0.5 * POSE_SPACING * math.cos(math.radians(result.scenario.slope_deg))
    places = np.linspace(x - reach, x + reach, 7)
    heights = ground_heights(result.scenario, places)
    ax.plot(places + shift[0], heights + shift[1], color="0.35", linewidth=1.0, zorder=0)


def force_curves(data: pd.DataFrame, ax: Axes | None = None, names: tuple[str, str] = SIDES) -> Axes:
    """Low-passed force of each foot across the surface over time.

    Parameters
    ----------
    data : DataFrame
        As of `sim.plots.data.walk_data`.
    ax : Axes, optional
    names : tuple of str
        Of the legs, for the legend.
    """
    ax = given_or_new(ax)
    for leg in (1, 0):
        ax.plot(data["time_s"], data[f"{SIDES[leg]}_force_low_passed_bw"], label=names[leg], **LEG_STYLE[leg])
    ax.axhline(1.0, color="0.8", linewidth=0.7)
    ax.set_ylabel("force across\nsurface [BW]")
    ax.set_xlabel("time [s]")
    return ax


def knee_curves(data: pd.DataFrame, ax: Axes | None = None, names: tuple[str, str] = SIDES) -> Axes:
    """Flexion of both knees over time; data as for `force_curves`."""
    ax = given_or_new(ax)
    for leg in (1, 0):
        ax.plot(data["time_s"], data[f"{SIDES[leg]}_knee_flexion_deg"], label=names[leg], **LEG_STYLE[leg])
    ax.axhline(0.0, color="0.8", linewidth=0.7)
    ax.set_ylabel("knee flexion\n[deg]")
    ax.set_xlabel("time [s]")
    return ax


def _mark_poses(ax: Axes, data: pd.DataFrame) -> None:
    """Numbers of the drawn poses along the top."""
    for row in data[data["pose"].notna()].to_dict("records"):
        ax.axvline(row["time_s"], color="0.88", linewidth=0.7, zorder=0)
        where: dict[str, Any] = {"transform": ax.get_xaxis_transform(), "ha": "center", "va": "bottom"}
        ax.text(row["time_s"], 1.01, f"{row['pose']:.0f}", size=7, color=GREY, **where)


def walk_figure(result: WalkResult) -> Figure:
    """Strip of stick figures with ground forces, force curves and knee angles of the end of one walk.

    Parameters
    ----------
    result : WalkResult
        Of any outcome.

    Returns
    -------
    Figure
        Save it with `save_figure(figure, path, sim.plots.data.walk_data(result))`.
    """
    data, names = walk_data(result), _leg_names(result)
    with styled():
        figure = new_figure(6.5)
        strip, forces, knees = figure.subplots(3, 1, height_ratios=[3.0, *CURVE_HEIGHTS])
        stick_figures(result, strip)
        _fit_height(figure, strip)
        force_curves(data, forces, names).set_xlabel("")
        knee_curves(data, knees, names)
        _mark_poses(forces, data)
        knees.sharex(forces)
        forces.tick_params(labelbottom=False)
        if len(data) > 1:
            knees.set_xlim(data["time_s"].iloc[0], data["time_s"].iloc[-1])
        figure.legend(*forces.get_legend_handles_labels(), loc="outside lower center", ncols=2)
        arrow = f"arrow of {FORCE_LENGTH:g} m = 1 body weight; poses drawn apart"
        strip.set_title(f"{_headline(result)}\n{arrow}")
    return figure


def _fit_height(figure: Figure, strip: Axes) -> None:
    """Give the strip the height that it needs at full width, and the figure the sum."""
    limits, grid = strip.dataLim, strip.get_gridspec()
    assert grid is not None  # made by subplots
    needed = 0.93 * WIDTH * limits.height / limits.width
    grid.set_height_ratios([needed, *CURVE_HEIGHTS])
    figure.set_figheight(needed + sum(CURVE_HEIGHTS) + 1.4)


def _headline(result: WalkResult) -> str:
    scenario = result.scenario
    slope, resistance = number_label(scenario.slope_deg), number_label(scenario.knee.flexion_resistance)
    what = f"{slope} deg, steps of {scenario.mean_step_length:.3g} m, {scenario.speed:.3g} m/s"
    knee = f", flexion resistance {resistance} N m s/rad" if scenario.person.has_prosthesis else ""
    return f"{result.outcome.capitalize()}: {what}{knee}"

