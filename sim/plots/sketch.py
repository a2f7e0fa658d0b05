"""Sketch of the model with the symbols of docs/model.md: walker, prosthetic knee and ankle, foot on ground."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.plots.person import HEAD, HEAD_RADIUS
from sim.plots.sketch_parts import draw_angle, draw_arrow, draw_damper, draw_spring, moved, say
from sim.plots.sketch_symbols import symbol_list
from sim.plots.style import BLUE, GREY, LEG_STYLE, VERMILLION, given_or_new, new_figure, styled
from sim.scenario import Person
from sim.series import turned
from sim.stance_pose import leg_angles

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.body import Body

Array = NDArray[np.float64]
#: The drawn pose (ours, only to look at): slope, lean [rad]; step, hip ahead [m]; hip height as a share of leg length.
SLOPE, LEAN, STEP, HIP_AHEAD, HIP_HEIGHT = math.radians(-8.0), math.radians(6.0), 0.52, 0.25, 0.86


def sketch_pose(body: Body) -> dict[str, Array]:
    """Joints of the drawn pose [m]: `hip` (2,), `knee`, `ankle` (2, 2), `sole` (2, 3, 2), prosthetic leg first."""
    tangent = np.array([math.cos(SLOPE), math.sin(SLOPE)])
    normal = np.array([-tangent[1], tangent[0]])
    ankles = np.array([body.sole_height * normal, STEP * tangent + body.sole_height * normal])
    hip = HIP_AHEAD * tangent + (HIP_HEIGHT * body.leg_length + body.sole_height) * np.array([0.0, 1.0])
    knees = []
    for ankle in ankles:
        angles = leg_angles(hip, ankle, body)
        assert angles is not None  # the pose is ours
        knees.append(hip + body.thigh_length * np.array([math.sin(angles[0]), -math.cos(angles[0])]))
    sole = ankles[:, None, :] + turned(body.sole_points, np.full((2, 3), SLOPE))
    return {"hip": hip, "knee": np.array(knees), "ankle": ankles, "sole": sole}


def walker_sketch(body: Body, person: Person, ax: Axes | None = None) -> Axes:
    """The person on the slope, with lengths, angles and outside forces.

    Parameters
    ----------
    body : Body
    person : Person
    ax : Axes, optional
    """
    from matplotlib.patches import Circle

    ax = given_or_new(ax, 4.0)
    pose = sketch_pose(body)
    hip, tangent = pose["hip"], np.array([math.cos(SLOPE), math.sin(SLOPE)])
    up = np.array([math.sin(LEAN), math.cos(LEAN)])
    head = hip + HEAD * person.stature_m * up
    neck = hip + (HEAD - HEAD_RADIUS) * person.stature_m * up
    ax.plot(*np.array([hip, neck]).T, color="0.25", linewidth=2.6, solid_capstyle="round")
    ax.add_patch(Circle(tuple(head), HEAD_RADIUS * person.stature_m, fill=False, color="0.25", linewidth=1.1))
    for leg in (1, 0):
        style, sole, ankle = LEG_STYLE[leg], pose["sole"][leg], pose["ankle"][leg]
        ax.plot(*np.array([hip, pose["knee"][leg], ankle]).T, linewidth=1.8, **style)
        ax.plot(*np.vstack([ankle, sole, ankle]).T, linewidth=1.0, color=style["color"])
        ax.plot(*pose["knee"][leg], "os"[leg == 0], color=style["color"], mfc="white", markersize=4.5)
        ax.plot(*ankle, "o", color=style["color"], mfc="white", markersize=3.5)
        for point in sole:
            ax.plot(*point, ".", color="black", markersize=3)
    ax.plot(*hip, "o", color="0.25", mfc="white", markersize=4.5)
    _surface(ax, tangent)
    _lengths(ax, pose, body)
    _outside(ax, hip, up)
    places = (hip + 0.55 * (neck - hip) + (0.12, 0.0), 0.5 * (hip + pose["knee"][0]) - (0.12, 0.0))
    say(ax, places[0], r"$m_b, I_b$")
    say(ax, places[1], "prosthetic", color=VERMILLION, size=7, ha="right")
    say(ax, 0.5 * (pose["knee"][1] + pose["ankle"][1]) + (0.05, 0.06), "sound", color=BLUE, size=7, ha="left")
    ax.set_aspect("equal")
    ax.axis("off")
    return ax


def _surface(ax: Axes, tangent: Array) -> None:
    begin, end = -0.62 * tangent, 0.98 * tangent
    ax.plot(*np.array([begin, end]).T, color="0.35", linewidth=1.2)
    ax.plot([begin[0], begin[0] + 0.5], [begin[1]] * 2, color="0.6", linewidth=0.7, linestyle=":")
    draw_angle(ax, begin, 0.32, 0.0, SLOPE, "")
    say(ax, moved(begin, 0.31, -0.1), r"$\alpha$")
    below = np.array([0.0, -0.13])
    for foothold in (0.0, STEP):
        ax.plot(*np.array([foothold * tangent, foothold * tangent + 1.1 * below]).T, color="0.6", linewidth=0.6)
    draw_arrow(ax, below, STEP * tangent + below, "<|-|>")
    say(ax, 0.5 * STEP * tangent + 1.5 * below, r"$l$")
    draw_arrow(ax, 0.7 * tangent + (0.0, 0.05), 0.9 * tangent + (0.0, 0.05), color="0.4")
    say(ax, 0.8 * tangent + (0.0, 0.1), r"$t$", color="0.4")


def _lengths(ax: Axes, pose: dict[str, Array], body: Body) -> None:
    hip = pose["hip"]
    side = np.array([-0.42, 0.0])
    foot = np.array([hip[0], hip[1] - body.leg_length])
    for end in (hip, foot):
        ax.plot([end[0] + side[0] - 0.03, end[0] + side[0] + 0.03], [end[1]] * 2, color="0.6", linewidth=0.6)
    draw_arrow(ax, hip + side, foot + side, "<|-|>")
    say(ax, 0.5 * (hip + foot) + side - (0.06, 0.0), r"$L$")
    ground = np.array([hip[0], math.tan(SLOPE) * hip[0]])
    ax.plot(*np.array([hip, ground]).T, color="0.6", linewidth=0.6, linestyle=":")
    say(ax, 0.08 * hip + 0.92 * ground + (0.04, 0.0), r"$z$", color="0.4")
    knee, shank = pose["knee"][0], pose["ankle"][0] - pose["knee"][0]
    thigh = knee - hip
    ax.plot(*np.array([knee, knee + 0.55 * thigh]).T, color="0.6", linewidth=0.7, linestyle=":")
    draw_angle(ax, knee, 0.2, math.atan2(thigh[1], thigh[0]), math.atan2(shank[1], shank[0]), r"$\phi$", VERMILLION)


def _outside(ax: Axes, hip: Array, up: Array) -> None:
    centre = hip + 0.06 * up + (0.03, 0.0)
    ax.plot(*centre, "o", color="black", markersize=4)
    draw_arrow(ax, centre, centre - (0.0, 0.3), color="black", linewidth=1.3)
    say(ax, moved(centre, 0.05, 0.01), r"$W = M g$", ha="left")
    tangent = np.array([math.cos(SLOPE), math.sin(SLOPE)])
    normal = np.array([-tangent[1], tangent[0]])
    for foothold, size, named in ((0.07, 0.34, True), (STEP + 0.02, 0.2, False)):
        start = foothold * tangent
        draw_arrow(ax, start, start + size * normal, color=GREY, linewidth=1.3)
        draw_arrow(ax, start, start - 0.3 * size * tangent, color=GREY, linewidth=1.3)
        if named:
            say(ax, start + 0.3 * normal + (0.06, 0.0), r"$N$", color=GREY)
            say(ax, start - 0.14 * tangent - (0.0, 0.045), r"$P$", color=GREY)


def knee_sketch(ax: Axes | None = None) -> Axes:
    """Prosthetic knee and ankle: damper, assist and stops at the knee, spring and damper at the ankle."""
    ax = given_or_new(ax)
    hip, knee, ankle = np.array([-0.25, 2.0]), np.array([0.15, 1.05]), np.array([-0.15, 0.1])
    colour = VERMILLION
    ax.plot(*np.array([hip, knee]).T, color=colour, linewidth=2.4)
    ax.plot(*np.array([knee, ankle]).T, color=colour, linewidth=2.4)
    ax.plot(*np.array([ankle, (-0.3, -0.12), (0.62, -0.12), ankle]).T, color=colour, linewidth=1.3)
    thigh = knee - hip
    ax.plot(*np.array([knee, knee + 0.6 * thigh]).T, color="0.6", linewidth=0.7, linestyle=":")
    shank = ankle - knee
    draw_angle(ax, knee, 0.42, math.atan2(thigh[1], thigh[0]), math.atan2(shank[1], shank[0]), r"$\phi$", colour)
    behind = np.array([-0.42, 0.0])
    upper, lower = knee - 0.55 * thigh, knee + 0.55 * shank
    for end in (upper, lower):
        ax.plot(*np.array([end, end + behind]).T, color="0.2", linewidth=1.0)
    draw_damper(ax, lower + behind, upper + behind, "0.2", 0.1)
    say(ax, 0.5 * (upper + lower) + behind - (0.16, 0.0), "loaded: $R$, $R_e$\nswing: $R_s$, $A$", ha="right", size=7.5)
    say(ax, moved(knee, 0.12, 0.3), "stops: $K, D$", ha="left", size=7.5)
    draw_angle(ax, knee, 0.2, math.radians(35), math.radians(-80), r"", "0.2")
    say(ax, moved(knee, 0.3, -0.1), r"$\tau$", ha="left")
    top, bottom = ankle + 0.42 * (knee - ankle), np.array([0.42, -0.04])
    draw_spring(ax, bottom, top, "0.2", 0.045)
    say(ax, 0.5 * (top + bottom) + (0.12, 0.05), r"$k_{ankle}$, $c_{ankle}$, $\delta$", ha="left", size=7.5)
    for point, face in ((hip, "white"), (knee, "white"), (ankle, "white")):
        ax.plot(*point, "o", color=colour, mfc=face, markersize=6)
    say(ax, (-0.05, 2.12), "prosthetic knee and ankle", size=8)
    ax.set(xlim=(-1.45, 1.3), ylim=(-0.2, 2.25))
    ax.set_aspect("equal")
    ax.axis("off")
    return ax


def contact_sketch(ax: Axes | None = None) -> Axes:
    """One point of a sole in the ground: contact law across the surface, anchor along it."""
    ax = given_or_new(ax)
    ax.plot([-1.2, 1.2], [0.0, 0.0], color="0.35", linewidth=1.2)
    ax.plot([-1.2, 1.2], [-1.0, -1.0], color="0.35", linewidth=0.8, linestyle="--")
    point = np.array([0.3, -0.3])
    ax.plot([-0.9, 0.75], [-0.21, -0.34], color=BLUE, linewidth=1.6)
    ax.plot(*point, "o", color="black", markersize=4)
    draw_spring(ax, (0.18, -1.0), (0.18, -0.32), "0.2", 0.07)
    draw_damper(ax, (0.45, -1.0), (0.45, -0.33), "0.2", 0.08)
    say(ax, (0.62, -0.72), r"$k, c$", ha="left")
    draw_spring(ax, (-0.75, -0.55), (0.05, -0.55), "0.2", 0.05)
    draw_damper(ax, (-0.75, -0.8), (0.05, -0.8), "0.2", 0.06)
    ax.plot([-0.75, -0.75], [-0.9, -0.45], color="0.2", linewidth=1.6)
    ax.plot([0.05, 0.05, 0.18], [-0.8, -0.4, -0.33], color="0.2", linewidth=0.8)
    say(ax, (-0.85, -0.67), r"$k_a, c_a$", ha="right")
    draw_arrow(ax, (-0.75, -0.2), (0.05, -0.2), "<|-|>", "0.4", linewidth=0.7)
    say(ax, (-0.35, -0.11), r"$e$", color="0.4")
    draw_arrow(ax, (0.95, 0.0), (0.95, -0.3), "<|-|>", "0.4", linewidth=0.7)
    say(ax, (1.05, -0.15), r"$d$", color="0.4")
    draw_arrow(ax, point, (0.3, 0.5), color=GREY, linewidth=1.3)
    say(ax, (0.42, 0.4), r"$N$", color=GREY)
    draw_arrow(ax, point, (-0.15, -0.3), color=GREY, linewidth=1.3)
    say(ax, (-0.2, -0.38), r"$P$, $|P| \leq \mu N$", color=GREY, ha="right", size=7)
    say(ax, (-1.2, 0.12), "surface", size=7, ha="left", color="0.35")
    say(ax, (-0.1, 0.72), "one of three points of a sole", size=8)
    ax.set(xlim=(-1.45, 1.3), ylim=(-1.1, 0.8))
    ax.set_aspect("equal")
    ax.axis("off")
    return ax


def model_figure(body: Body, person: Person) -> Figure:
    """Walker, knee, contact and the list of symbols; data: `sketch_symbols.symbol_table`.

    Parameters
    ----------
    body : Body
    person : Person
    """
    with styled():
        figure = new_figure(5.6)
        grid = figure.add_gridspec(3, 2, width_ratios=[1.25, 1.0], height_ratios=[1.25, 1.0, 0.72])
        walker_sketch(body, person, figure.add_subplot(grid[0:2, 0]))
        knee_sketch(figure.add_subplot(grid[0, 1]))
        contact_sketch(figure.add_subplot(grid[1, 1]))
        symbol_list(figure.add_subplot(grid[2, :]))
    return figure
