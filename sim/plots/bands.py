"""Figure of own numbers beside published bands, all on one axis."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.plots.style import BLUE, GREY, LIGHT, VERMILLION, given_or_new, new_figure, styled

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FARTHEST = 3.0
"""Half widths of a band from its middle, beyond which a mark is drawn as an arrow at the edge."""
LONGEST = 60
"""Letters of a name on one line."""
#: Verdict -> marker, colour of its edge and of its face: told apart without colour.
VERDICTS: dict[str, dict[str, Any]] = {
    "pass": {"marker": "o", "color": BLUE},
    "near": {"marker": "D", "color": GREY, "markerfacecolor": "white"},
    "miss": {"marker": "X", "color": VERMILLION},
    "warn": {"marker": "^", "color": GREY, "markerfacecolor": "white"},
}
_MEANS = {"pass": "inside", "near": "just outside", "miss": "outside", "warn": "outside a recalled band"}


def band_marks(data: pd.DataFrame, ax: Axes | None = None) -> Axes:
    """One row per number: the band from -1 to 1, the number where it falls, an arrow if it is far out.

    Parameters
    ----------
    data : DataFrame
        `what`, `unit`, `ours`, `low`, `high` and `verdict`, one of `VERDICTS`; `ours` is NaN where there is none.
    ax : Axes, optional
    """
    ax = given_or_new(ax, 1.0 + 0.16 * len(data))
    ax.axvspan(-1.0, 1.0, color="0.93", linewidth=0.0, zorder=0)
    ax.axvline(0.0, color=LIGHT, linewidth=0.7, zorder=0)
    for row, each in enumerate(data.to_dict("records")):
        half = 0.5 * (each["high"] - each["low"])
        place = (each["ours"] - 0.5 * (each["high"] + each["low"])) / half
        said = _text(each["ours"]) if np.isfinite(place) else "–"
        if not np.isfinite(place):
            ax.text(0.0, row, "no walk", size=6.5, ha="center", va="center", color=VERMILLION)
        elif abs(place) > FARTHEST:
            edge = np.sign(place) * FARTHEST
            look: dict[str, Any] = {"arrowstyle": "-|>", "color": VERDICTS[each["verdict"]]["color"]}
            ax.annotate("", (1.12 * edge, row), (0.94 * edge, row), arrowprops=look | {"mutation_scale": 8})
        else:
            ax.plot(place, row, linestyle="none", **VERDICTS[each["verdict"]])
        band = f"{_text(each['low'])} to {_text(each['high'])}"
        ax.text(1.01, row, f"{said} ({band})", transform=ax.get_yaxis_transform(), size=6.5, va="center")
    names = [fill(f"{each['what']} [{each['unit']}]", LONGEST) for each in data.to_dict("records")]
    ax.set_yticks(range(len(data)), names, size=6.5, linespacing=1.0)
    ax.set_ylim(len(data) - 0.4, -0.6)
    ax.set_xlim(-1.15 * FARTHEST, 1.15 * FARTHEST)
    ax.set_xlabel("ours, from the middle of the published band [half widths]")
    return ax


def _text(value: float) -> str:
    """Four digits, with a true minus sign: bands of a law are narrow."""
    return f"{value:.4g}".replace("-", "\N{MINUS SIGN}")


def bands_figure(data: pd.DataFrame, title: str = "") -> Figure:
    """`band_marks` with a legend; beside each row our number and the band.

    Parameters
    ----------
    data : DataFrame
        As of `band_marks`.
    title : str
    """
    from matplotlib.lines import Line2D

    with styled():
        figure = new_figure(1.1 + 0.19 * len(data))
        band_marks(data, figure.add_subplot())
        handles = [
            Line2D([], [], linestyle="none", **look, label=_MEANS[name])
            for name, look in VERDICTS.items()
            if (data["verdict"] == name).any()
        ]
        figure.legend(handles=handles, loc="outside lower center", ncols=4)
        if title:
            figure.suptitle(title, size=9)
    return figure
