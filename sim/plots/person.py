"""A person as a stick figure, and forces as arrows: the same in every strip of poses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.plots.style import LEG_STYLE
from sim.series import turned

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from sim.body import Body
    from sim.scenario import Person
    from sim.series import Series

FORCE_LENGTH = 0.45
"""Length of a ground-force arrow of one body weight [m]."""
SMALLEST_FORCE = 0.03
"""Forces below this are not drawn [body weights]."""
#: For drawing only: shoulder and head above the hip, head radius, shares of stature (Drillis and Contini, from memory).
SHOULDER, HEAD, HEAD_RADIUS = 0.288, 0.405, 0.052

Array = NDArray[np.float64]


def draw_person(ax: Axes, series: Series, k: int, shift: Array, person: Person, body: Body) -> tuple[float, float]:
    """Draw frame `k` moved by `shift` [m], with an arrow for the ground force under each foot.

    Sound leg solid with dots, prosthetic leg dashed with squares.

    Returns
    -------
    (float, float)
        Where the head is, in data units.
    """
    from matplotlib.patches import Circle

    stature = person.stature_m
    hip, lean = series.hip[k] + shift, series.trunk[k]
    up = np.array([-np.sin(lean), np.cos(lean)])
    shoulder, neck, head = (hip + share * stature * up for share in (SHOULDER, HEAD - HEAD_RADIUS, HEAD))
    ax.plot(*np.array([hip, shoulder]).T, color="0.25", linewidth=2.4, solid_capstyle="round")
    ax.plot(*np.array([shoulder, neck]).T, color="0.25", linewidth=1.1)
    place = (float(head[0]), float(head[1]))
    ax.add_patch(Circle(place, HEAD_RADIUS * stature, fill=False, color="0.25", linewidth=1.1))
    for leg in (1, 0):
        style = LEG_STYLE[leg]
        joints = np.array([hip, series.knee[k, leg] + shift, series.ankle[k, leg] + shift])
        sole = series.sole[k, leg] + shift
        ax.plot(*joints.T, linewidth=1.4, **style)
        ax.plot(*joints[1], "os"[leg == 0], color=style["color"], markersize=3, mfc="white" if leg == 0 else None)
        ax.plot(*np.vstack([joints[2], sole[[0, 1, 2]], joints[2]]).T, linewidth=1.0, color=style["color"])
        under = np.array([series.pressure_centre[k, leg], -body.sole_height])
        start = series.ankle[k, leg] + turned(under, series.foot[k, leg]) + shift
        draw_force(ax, start, series.ground_force[k, leg] / person.weight, style["color"])
    return place


def draw_force(ax: Axes, start: Any, force: Any, color: str) -> None:
    """Arrow of a force [body weights] from where it acts [m]; none for a very small one."""
    if np.hypot(*force) <= SMALLEST_FORCE:
        return
    look: dict[str, Any] = {"color": color, "linewidth": 1.6, "alpha": 0.55, "mutation_scale": 7}
    look |= {"arrowstyle": "-|>", "shrinkA": 0, "shrinkB": 0}
    ax.annotate("", xy=tuple(start + FORCE_LENGTH * force), xytext=tuple(start), arrowprops=look)
