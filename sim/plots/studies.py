"""Figures of a few walks side by side: a number over what was varied; what fell is marked, not left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.activities.uphill import CLEARANCE, SWING_HABITS
from sim.plots.style import BLUE, GREY, LEG_STYLE, VERMILLION, new_figure, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.study import Study

#: Outcomes of a walk that did what it was to do.
COMPLETED = ("walked", "arrived")
#: Column, label, look.
Line = tuple[str, str, dict[str, Any]]
PEAKS: Sequence[Line] = (
    ("prosthetic_peak_force_bw", "prosthetic leg", LEG_STYLE[0]),
    ("sound_peak_force_bw", "sound leg", LEG_STYLE[1]),
)
RATE: Sequence[Line] = (("knee_loaded_peak_rate_deg_s", "prosthetic knee", {"color": VERMILLION, "marker": "s"}),)


def column(rows: Sequence[Any], name: str) -> np.ndarray[Any, Any]:
    """Values of a column; NaN where there is none or it is a word."""
    return np.array([float(row[name]) if isinstance(row[name], float) else np.nan for row in rows])


def lines_over(ax: Axes, rows: Sequence[Any], x: str, lines: Sequence[Line], label: str) -> None:
    """Curves over a varied number through the completed walks, and a cross at the foot of the axes for each other."""
    at, ended = column(rows, x), np.array([row["outcome"] not in COMPLETED for row in rows])
    for name, what, look in lines:
        full: dict[str, Any] = {"marker": "o", "markersize": 3, **look}
        ax.plot(at, np.where(ended, np.nan, column(rows, name)), label=what, **full)
    if ended.any():
        where = ax.get_xaxis_transform()
        foot = np.full(int(ended.sum()), 0.03)
        ax.plot(at[ended], foot, "x", color=GREY, transform=where, label="not completed")
    ax.set_ylabel(label)
    ax.grid(color="0.92", linewidth=0.6)


def panels(count: int, title: str) -> tuple[Figure, list[Axes]]:
    """Figure with panels side by side under one heading."""
    figure = new_figure(3.0)
    figure.suptitle(title, size=9)
    return figure, list(np.atleast_1d(figure.subplots(1, count)))


def legends(figure: Figure, axes: Sequence[Axes], label: str) -> None:
    """X label of each panel, and one legend of all below them."""
    for ax in axes:
        ax.set_xlabel(label)
    legend_below(figure, axes)


def legend_below(figure: Figure, axes: Sequence[Axes]) -> None:
    """One legend of all panels."""
    handles: dict[str, Any] = {}
    for ax in axes:
        for handle, name in zip(*ax.get_legend_handles_labels(), strict=True):
            handles.setdefault(name, handle)
    figure.legend(list(handles.values()), list(handles), loc="outside lower center", ncols=3)


def rail_figure(study: Study) -> Figure:
    """Peaks, knee rate and frontal hip moment of the prosthetic side over the carried share."""
    here = [row for row in study.rows if row["rail_side"] == "prosthetic"]
    there = [row for row in study.rows if row["rail_side"] == "sound"]
    with styled():
        figure, axes = panels(3, "A hand on a rail; on the right statics across the way, not the walk")
        lines_over(axes[0], here, "carried_share", PEAKS, "peak force [BW]")
        lines_over(axes[1], here, "carried_share", RATE, "knee flexion rate [deg/s]")
        name = "prosthetic_hip_frontal_nm"
        lines_over(axes[2], here, "carried_share", ((name, "rail on this side", LEG_STYLE[0]),), "")
        other: Line = (name, "rail on the sound side", {"color": BLUE, "linestyle": "-"})
        lines_over(axes[2], there, "carried_share", (other,), "moment at the prosthetic hip,\nacross the way [N m]")
        legends(figure, axes, "carried share of the weight")
    return figure


def helper_figure(study: Study) -> Figure:
    """Steps made, peaks and knee rate over the lifted share; a line at the least share that does."""
    rows = [row for row in study.rows if row["lifted_share"] is not None]
    least = study.found["least_lifted_share"]
    with styled():
        figure, axes = panels(3, "Hands at the pelvis")
        lines_over(axes[0], rows, "lifted_share", (("steps", "steps made", {"color": "0.2"}),), "steps")
        lines_over(axes[1], rows, "lifted_share", PEAKS, "peak force [BW]")
        lines_over(axes[2], rows, "lifted_share", RATE, "knee flexion rate [deg/s]")
        if isinstance(least, float):
            for ax in axes:
                ax.axvline(least, color=BLUE, linewidth=0.9, label="least that does")
        legends(figure, axes, "lifted share of the weight")
    return figure


def posture_figure(study: Study) -> Figure:
    """Knee rate and peaks over trunk lean (upper row) and over the shift of the mass centre (lower row)."""
    with styled():
        figure = new_figure(5.2)
        figure.suptitle("Posture", size=9)
        grid = figure.subplots(2, 2)
        for axes, varied, name, label in zip(
            grid,
            ("trunk lean", "mass centre"),
            ("trunk_lean_wanted_deg", "mass_centre_shift_m"),
            ("wanted trunk lean, forward positive [deg]", "mass centre further ahead [m]"),
            strict=True,
        ):
            rows = [row for row in study.rows if row["varied"] == varied]
            lines_over(axes[0], rows, name, PEAKS, "peak force [BW]")
            lines_over(axes[1], rows, name, RATE, "knee flexion rate [deg/s]")
            for ax in axes:
                ax.set_xlabel(label)
        legend_below(figure, list(grid.ravel()))
    return figure


def uphill_figure(study: Study) -> Figure:
    """Effort, what it takes to come over the prosthetic foot, hip moment and toe clearance over the varied number."""
    x = "slope_deg" if study.found["varied"] == "slope" else "step_difference_m"
    label = "slope [deg]" if x == "slope_deg" else "prosthetic less sound step [m]"
    lines = (
        ("positive work of the person\n[J per m and kg]", "effort_j_per_m_kg", {"color": "0.2"}),
        ("rise over the prosthetic foot /\nenergy of motion", "barrier_over_motion", LEG_STYLE[0]),
        ("mean hip extension, prosthetic side\n[N m/kg]", "prosthetic_hip_extension_mean_nm_per_kg", LEG_STYLE[0]),
        ("toe clearance, prosthetic foot\n[mm]", "prosthetic_toe_clearance_mm", LEG_STYLE[0]),
    )
    with styled():
        figure = new_figure(5.0)
        figure.suptitle("Uphill", size=9)
        axes = list(figure.subplots(2, 2).ravel())
        for ax, (what, name, look) in zip(axes, lines, strict=True):
            lines_over(ax, study.rows, x, ((name, "completed", look),), what)
        axes[3].axhline(1000.0 * CLEARANCE, color="0.6", linewidth=0.7)
        for ax in axes:
            ax.set_xlabel(label)
        legend_below(figure, axes[:1])
    return figure


def swing_figure(study: Study) -> Figure:
    """Knee flexion in swing and toe clearance of the prosthetic side over each habit, a column of panels per habit."""
    with styled():
        figure = new_figure(4.2)
        figure.suptitle("Swing of the prosthetic leg uphill", size=9)
        grid = figure.subplots(2, len(SWING_HABITS), sharey="row", sharex="col")
        flexion: Line = ("prosthetic_knee_swing_peak_deg", "completed", LEG_STYLE[0])
        toe: Line = ("prosthetic_toe_clearance_mm", "completed", LEG_STYLE[0])
        for k, (what, name, _) in enumerate(SWING_HABITS):
            rows = [row for row in study.rows if row["habit"] == what]
            lines_over(grid[0, k], rows, "value", (flexion,), "" if k else "knee flexion in swing [deg]")
            lines_over(grid[1, k], rows, "value", (toe,), "" if k else "toe clearance [mm]")
            grid[1, k].axhline(1000.0 * CLEARANCE, color="0.6", linewidth=0.7)
            grid[0, k].set_title(what)
            grid[1, k].set_xlabel("torque [N m]" if name.endswith("_nm") else "share of the hand-over")
        legend_below(figure, list(grid.ravel()))
    return figure
