"""Figure of a sensitivity study: indices with their intervals, and what one setting at a time does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.plots.labels import axis_label
from sim.plots.style import BLUE, GREY, LIGHT, VERMILLION, given_or_new, new_figure, styled

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SHOWN = (-0.5, 1.5)
"""Shares of variance drawn at most: a true index is between 0 and 1, its interval from few walks need not be."""


def index_bars(rows: pd.DataFrame, ax: Axes | None = None, order: list[str] | None = None) -> Axes:
    """Total (filled) and first (hollow) indices with 95 % intervals, a row per setting, largest total on top.

    Parameters
    ----------
    rows : DataFrame
        Rows of `sim.sensitivity.Sensitivity.indices` of one outcome.
    ax : Axes, optional
    order : list of str, optional
        Settings from top to bottom.
    """
    ax = given_or_new(ax)
    names = order or rows.sort_values("total", ascending=False, kind="stable")["setting"].tolist()
    rows = rows.set_index("setting").loc[names]
    places = np.arange(len(names), dtype=float)
    looks: tuple[dict[str, Any], ...] = (
        {"color": BLUE, "marker": "o"},
        {"color": GREY, "marker": "s", "markerfacecolor": "white"},
    )
    for kind, shift, look in zip(("total", "first"), (-0.17, 0.17), looks, strict=True):
        middle = rows[kind].to_numpy(float)
        ends = np.abs(rows[[f"{kind}_low", f"{kind}_high"]].to_numpy(float).T - middle)
        ax.errorbar(middle, places + shift, xerr=ends, linestyle="none", elinewidth=0.8, label=f"{kind} index", **look)
    ax.axvline(0.0, color=LIGHT, linewidth=0.7)
    shown = np.clip(ax.get_xlim(), *SHOWN)
    cut = tuple(shown) != ax.get_xlim()
    ax.set_xlim(*shown)
    ax.set_yticks(places, [axis_label(name) for name in names])
    ax.set_ylim(len(names) - 0.4, -0.6)
    ax.set_xlabel("share of variance [1]" + (", longer intervals cut off" if cut else ""))
    return ax


def tornado(rows: pd.DataFrame, outcome: str, ax: Axes | None = None) -> Axes:
    """Outcome with one setting at its low (filled) and high (hollow) end, largest difference on top; a cross at the
    base where the walk at an end was not completed.

    Parameters
    ----------
    rows : DataFrame
        `sim.sensitivity.Sensitivity.tornado`.
    outcome : str
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    base = float(rows[f"{outcome}_base"].iloc[0])
    reach = (rows[[f"{outcome}_low", f"{outcome}_high"]] - base).abs().max(axis=1).fillna(0.0)
    rows = rows.loc[reach.sort_values(ascending=False, kind="stable").index]
    for place, row in enumerate(rows.to_dict("records")):
        for end, colour, face in (("low", BLUE, BLUE), ("high", VERMILLION, "white")):
            value = float(row[f"{outcome}_{end}"])
            if np.isfinite(value):
                look: dict[str, Any] = {"facecolor": face, "edgecolor": colour, "linewidth": 0.9}
                ax.barh(place, value - base, left=base, height=0.7, **look)
            else:
                where = -0.2 if end == "low" else 0.2
                ax.plot([base], [place + where], "x", color=colour)
    ax.axvline(base, color=GREY, linewidth=0.8)
    ax.set_yticks(range(len(rows)), [axis_label(name) for name in rows["setting"]])
    ax.set_ylim(len(rows) - 0.4, -0.6)
    ax.set_xlabel(axis_label(outcome))
    return ax


def sensitivity_figure(indices: pd.DataFrame, rows: pd.DataFrame, outcome: str) -> Figure:
    """Indices of not completing the walk and of one outcome, and the tornado of that outcome.

    Parameters
    ----------
    indices, rows : DataFrame
        `indices` and `tornado` of a `sim.sensitivity.Sensitivity`.
    outcome : str
    """
    from sim.sensitivity import NOT_COMPLETED

    fall, of_outcome = (indices[indices["outcome"] == name] for name in (NOT_COMPLETED, outcome))
    panels = [name for name, part in ((NOT_COMPLETED, fall), (outcome, of_outcome)) if part["total"].notna().any()]
    with styled():
        figure = new_figure((len(panels) + 1) * (0.8 + 0.19 * len(rows)))
        axes = figure.subplots(len(panels) + 1, 1, squeeze=False)[:, 0]
        for ax, name in zip(axes, panels, strict=False):
            part = indices[indices["outcome"] == name]
            index_bars(part, ax)
            share = float(part["part"].iloc[0])
            where = "whole ranges" if share == 1.0 else f"{100 * share:.0f} % of the ranges, in which all walk"
            ax.set_title(f"{axis_label(name)}: {where}, {int(part['walks'].iloc[0])} walks")
            ax.legend(loc="lower right")
        tornado(rows, outcome, axes[-1])
        axes[-1].set_title("one setting at a time: filled low end, hollow high end, cross not completed")
    return figure
