"""Figure of a ladder of practice: the parts of the burden of every rung, lowest rung at the bottom."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sim.ladder_burden import PARTS
from sim.plots.style import GREY, given_or_new, new_figure, styled

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.ladder import Climb

MINUS = "\N{MINUS SIGN}"
#: Face and hatch of each part: told apart without colour.
_LOOKS = (("#0072B2", ""), ("#BBD9EC", "//"), ("#D55E00", ""), ("#F3C9A5", "\\\\"), ("#BBBBBB", ".."))


def ladder_data(found: Climb) -> pd.DataFrame:
    """One row per situation: outcome, burden, its weighted parts, measured numbers, and the rung, if it is one."""
    import pandas as pd

    weights = found.settings.weights()
    places = {rung.situation: k + 1 for k, rung in enumerate(found.rungs)}
    rows = []
    for situation, burden in found.tried:
        row: dict[str, Any] = {"situation": situation.name, "rung": places.get(situation), "outcome": burden.outcome}
        row["burden"] = burden.total(weights) if burden.done else None
        row |= {f"{name}_part": weights[name] * value for name, value in burden.parts.items()}
        rows.append(row | dict(burden.measured))
    return pd.DataFrame(rows)


def ladder_bars(found: Climb, ax: Axes | None = None) -> Axes:
    """A bar per rung, made of the weighted parts of its burden; ties are bracketed by an equals sign."""
    ax = given_or_new(ax, 4.0)
    weights = found.settings.weights()
    for (name, what), (face, hatch) in zip(PARTS.items(), _LOOKS, strict=True):
        left = [0.0] * len(found.rungs)
        for k, rung in enumerate(found.rungs):
            before = list(PARTS)[: list(PARTS).index(name)]
            left[k] = sum(weights[each] * rung.burden.parts[each] for each in before)
        widths = [weights[name] * rung.burden.parts[name] for rung in found.rungs]
        look: dict[str, Any] = {"color": face, "hatch": hatch, "edgecolor": "white", "linewidth": 0.5}
        ax.barh(range(len(widths)), widths, left=left, height=0.7, label=what, **look)
    for k, rung in enumerate(found.rungs):
        step = "" if k == 0 else f"{rung.step_up:+.2f}{' (tie)' if rung.tie else ''}".replace("-", MINUS)
        ax.text(rung.total + 0.04, k, step, va="center", size=6.5, color=GREY)
    names = [f"{rung.situation.name}  {k + 1}" for k, rung in enumerate(found.rungs)]
    ax.set_yticks(range(len(names)), names, size=6.5)
    ax.set_xlabel("burden, beside it the step up from the rung below")
    ax.margins(x=0.12)
    return ax


def ladder_figure(found: Climb) -> Figure:
    """The ladder; save it with `save_figure(figure, path, ladder_data(found))`."""
    with styled():
        figure = new_figure(1.6 + 0.24 * max(4, len(found.rungs)))
        ax = figure.subplots()
        ladder_bars(found, ax)
        figure.legend(*ax.get_legend_handles_labels(), loc="outside lower center", ncols=2)
        figure.suptitle("A ladder of practice, lowest rung first: a suggestion to discuss", size=8.5)
    return figure
