"""Figure of one setting everywhere: for each activity where its criteria are kept, and where all of them meet."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

from sim.overlap_criteria import ACTIVITIES
from sim.plots.style import BLUE, GREY, VERMILLION, given_or_new, new_figure, number_label, styled
from sim.plots.window import resistance_axis
from sim.window_found import broken

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.overlap import Asked, SameSetting

#: Narrower than this ratio a row of criteria gets no name.
_NARROW = 1.3


def overlap_data(found: SameSetting) -> pd.DataFrame:
    """One row per run and criterion: activity, resistance, outcome, criterion, excess as a share of its limit."""
    import pandas as pd

    rows = [
        {
            "activity": each.activity,
            "flexion_resistance_n_m_s_per_rad": at,
            "outcome": each.rows[at]["outcome"],
            "criterion": name,
            "excess": value,
        }
        for each in found.asked
        for at in each.excess
        for name, value in each.excess[at].items()
    ]
    return pd.DataFrame(rows)


def overlap_bars(found: SameSetting, ax: Axes | None = None) -> Axes:
    """One row per activity: its windows as bars; outside them the criteria that are broken; shaded where all meet."""
    ax = given_or_new(ax, 3.4)
    places = [at for each in found.asked for at in each.excess]
    low, high = min(places), max(places)
    for row, each in enumerate(found.asked):
        _asked_row(ax, row, each, low, high)
    for start, stop in found.common:
        ax.axvspan(start, stop, color=BLUE, alpha=0.15, linewidth=0, zorder=0)
    ax.set_yticks(range(len(found.asked)), [ACTIVITIES[each.activity].title for each in found.asked])
    ax.set_ylim(len(found.asked) - 0.45, -0.55)
    resistance_axis(ax, low, high)
    return ax


def _asked_row(ax: Axes, row: int, each: Asked, low: float, high: float) -> None:
    for kept in each.windows:
        ax.barh(row, kept.high - kept.low, left=kept.low, height=0.5, facecolor="#BBD9EC", edgecolor=BLUE)
    places = list(each.excess)
    edges = [low, *(math.sqrt(a * b) for a, b in itertools.pairwise(places)), high]
    states = [(broken(each.excess[at]), edges[k], edges[k + 1]) for k, at in enumerate(places)]
    for names, group in itertools.groupby(states, lambda state: state[0]):
        if not names:
            continue
        run = list(group)
        left, right = run[0][1], run[-1][2]
        look: dict[str, Any] = {"facecolor": "white", "edgecolor": VERMILLION, "hatch": "///", "linewidth": 0.6}
        ax.barh(row, right - left, left=left, height=0.5, **look)
        _name(ax, row, names, left, right)


def _name(ax: Axes, row: int, names: tuple[str, ...], left: float, right: float) -> None:
    """Name of the first broken criterion, and how many more, where there is room."""
    if right / left < _NARROW:
        return
    more = f"\n+ {len(names) - 1} more" if len(names) > 1 else ""
    words = names[0].replace("_", "\n" if right / left < 1.9 else " ")
    box = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.9}
    ax.text(math.sqrt(left * right), row, words + more, ha="center", va="center", size=5.5, color=GREY, bbox=box)


def overlap_figure(found: SameSetting) -> Figure:
    """Windows of all activities over resistance; save it with `save_figure(figure, path, overlap_data(found))`."""
    with styled():
        figure = new_figure(3.6)
        ax = figure.subplots()
        overlap_bars(found, ax)
        person = found.settings.person
        meet = " and ".join(f"{low:.3g} to {high:.3g}" for low, high in found.common)
        told = f"shaded: all meet at {meet}" if meet else "all of them meet nowhere"
        ax.set_title(
            f"One setting everywhere, {person.mass_kg:g} kg, {person.stature_m:g} m, walk at "
            f"{number_label(found.settings.slope_deg)} deg\nbars: all criteria kept; hatched: which are broken; {told}"
        )
    return figure
