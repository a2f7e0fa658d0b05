"""Figure of a whole way: poses on the ground, and of every step the force peaks and the knee rate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sim.plots.person import draw_person
from sim.plots.style import GREY, LEG_STYLE, VERMILLION, WIDTH, new_figure, styled
from sim.series import SIDES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.activities.ramp import RampResult

#: Distance of the poses along the way [m], and most of them.
POSE_DISTANCE, MOST_POSES = 1.2, 24


def way_poses(result: RampResult, ax: Axes) -> Axes:
    """The ground to scale, with the person drawn every metre or so where it was, and the parts named."""
    series, profile = result.series, result.profile
    end = profile.end
    places = np.linspace(-0.5, end + 0.5, 400)
    ax.plot(places, profile.heights(places), color="0.35", linewidth=1.0, zorder=0)
    hip = series.hip[:, 0]
    if len(hip):
        step = max(POSE_DISTANCE, end / MOST_POSES)
        wanted = np.arange(0.0, min(float(hip.max()), end) + 1e-9, step)
        frames = {min(int(np.searchsorted(hip, x)), len(hip) - 1) for x in wanted} | {len(hip) - 1}
        for k in sorted(frames):
            if hip[k] <= end + 1.0:
                draw_person(ax, series, k, np.zeros(2), result.scenario.person, result.body)
    for name, begin, stop in profile.parts:
        ax.axvline(stop, color="0.85", linewidth=0.7, zorder=0)
        where = (0.5 * (begin + stop), 1.0)
        ax.annotate(name, where, xycoords=("data", "axes fraction"), ha="center", va="bottom", size=7, color=GREY)
    ax.set_aspect("equal")
    ax.set_ylabel("height [m]")
    return ax


def way_steps(result: RampResult, forces: Axes, knees: Axes) -> None:
    """Peak force of each leg in every step on it, and flexion rate of the prosthetic knee, over where it stood."""
    columns = result.step_rows()
    stood = np.array([0.0, *columns["heel_x_m"][:-1]])[: len(columns["step"])]
    for leg in (1, 0):
        own = [k for k, foot in enumerate(columns["landing_foot"]) if foot == SIDES[1 - leg]]
        peaks = [columns[f"{SIDES[leg]}_peak_force_bw"][k] for k in own]
        forces.plot(stood[own], peaks, marker="os"[leg == 0], markersize=3, label=SIDES[leg], **LEG_STYLE[leg])
    own = [k for k, foot in enumerate(columns["landing_foot"]) if foot == "sound"]
    rates = [columns["standing_knee_peak_rate_deg_s"][k] for k in own]
    knees.plot(stood[own], rates, marker="s", markersize=3, color=VERMILLION, label="prosthetic knee")
    forces.set_ylabel("peak force\n[BW]")
    knees.set_ylabel("knee rate\n[deg/s]")
    knees.set_xlabel("place of the standing foot [m]")
    for ax in (forces, knees):
        ax.grid(color="0.92", linewidth=0.6)
        for _, _, stop in result.profile.parts:
            ax.axvline(stop, color="0.85", linewidth=0.7, zorder=0)


def way_figure(result: RampResult) -> Figure:
    """Poses, force peaks and knee rate along a way, of any outcome.

    Parameters
    ----------
    result : RampResult

    Returns
    -------
    Figure
        Save it with `save_figure(figure, path, result.to_dataframe())`.
    """
    with styled():
        low, high = (extreme(result.profile.height) for extreme in (min, max))
        needed = 0.87 * WIDTH * (high - low + 2.4) / (result.profile.end + 2.5)  # true to scale at full width
        figure = new_figure(needed + 3.8)
        strip, forces, knees = figure.subplots(3, 1, sharex=True, height_ratios=[needed, 1.2, 1.2])
        way_poses(result, strip)
        way_steps(result, forces, knees)
        figure.legend(*forces.get_legend_handles_labels(), loc="outside lower center", ncols=2)
        strip.set_title(f"A way with ends: {result.outcome}", pad=16)
    return figure
