"""Parts of a technical sketch: arrows, springs, dampers, angles, words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def moved(place: Any, right: float, up: float) -> tuple[float, float]:
    """A place beside another."""
    return float(place[0]) + right, float(place[1]) + up


def draw_arrow(ax: Axes, start: Any, end: Any, style: str = "-|>", color: str = "0.2", **more: Any) -> None:
    """Arrow between two places, its size not counted in the limits."""
    look: dict[str, Any] = {"arrowstyle": style, "color": color, "linewidth": 0.9, "mutation_scale": 7}
    look |= {"shrinkA": 0, "shrinkB": 0} | more
    ax.annotate("", xy=tuple(end), xytext=tuple(start), arrowprops=look)


def say(ax: Axes, place: Any, text: str, **look: Any) -> None:
    """Text centred at a place."""
    given: dict[str, Any] = {"ha": "center", "va": "center", "size": 8} | look
    ax.text(float(place[0]), float(place[1]), text, **given)


def draw_spring(ax: Axes, start: Any, end: Any, color: str, width: float) -> None:
    """Zigzag from start to end."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    along = end - start
    across = np.array([-along[1], along[0]]) / np.hypot(*along)
    shares = [0.0, 0.2, *(0.2 + 0.6 * (k + 0.5) / 6 for k in range(6)), 0.8, 1.0]
    sides = [0.0, 0.0, *(width * (-1.0) ** k for k in range(6)), 0.0, 0.0]
    points = np.array([start + s * along + w * across for s, w in zip(shares, sides, strict=True)])
    ax.plot(*points.T, color=color, linewidth=1.0)


def draw_damper(ax: Axes, start: Any, end: Any, color: str, width: float) -> None:
    """Cylinder open towards the end, and a piston in it."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    along = end - start
    across = width * np.array([-along[1], along[0]]) / np.hypot(*along)
    bottom, top, piston = start + 0.35 * along, start + 0.7 * along, start + 0.55 * along
    for line in (
        (start, bottom), (top + across, bottom + across, bottom - across, top - across),
        (piston + 0.8 * across, piston - 0.8 * across), (piston, end),
    ):  # fmt: skip
        ax.plot(*np.array(line).T, color=color, linewidth=1.0)


def draw_angle(ax: Axes, centre: Any, radius: float, begin: float, end: float, text: str, color: str = "0.2") -> None:
    """Arc with an arrow from one direction to another [rad from +x], and its name."""
    turn = np.linspace(begin, end, 24)
    arc = np.asarray(centre) + radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    ax.plot(*arc[:-1].T, color=color, linewidth=0.9)
    draw_arrow(ax, arc[-3], arc[-1], color=color)
    middle = 0.5 * (begin + end)
    say(ax, np.asarray(centre) + 1.4 * radius * np.array([math.cos(middle), math.sin(middle)]), text, color=color)
