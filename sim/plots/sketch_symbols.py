"""Symbols of the sketch of the model, as drawn and as docs/model.md writes them, and their list."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from sim.plots.style import given_or_new

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes


class Symbol(NamedTuple):
    """A symbol of the sketch: as drawn, as docs/model.md writes it, what it is, unit."""

    drawn: str
    written: str
    meaning: str
    unit: str


SYMBOLS = (
    Symbol(r"$\alpha$", "alpha", "slope, downhill negative", "rad"),
    Symbol(r"$l$", "l", "step length", "m"),
    Symbol(r"$t$", "t_x, t_y", "line between footholds", "1"),
    Symbol(r"$L$", "L", "hip to ankle, straight leg", "m"),
    Symbol(r"$W = M g$", "W", "weight at the mass centre", "N"),
    Symbol(r"$m_b, I_b$", "m_b, I_b", "segment: mass, inertia", "kg, kg m²"),
    Symbol(r"$z$", "z", "height of the hip", "m"),
    Symbol(r"$\phi$", "phi", "knee flexion", "rad"),
    Symbol(r"$\tau$", "tau", "torque of a joint", "N m"),
    Symbol(r"$R$", "R", "resistance, loaded flexion", "N m s/rad"),
    Symbol(r"$R_e$", "R_e", "resistance, loaded extension", "N m s/rad"),
    Symbol(r"$R_s$", "R_s", "resistance in swing", "N m s/rad"),
    Symbol(r"$A$", "A", "extension assist", "N m"),
    Symbol(r"$K, D$", "K, D", "end stop", "N m/rad, N m s/rad"),
    Symbol(r"$\delta$", "delta", "dorsiflexion", "rad"),
    Symbol(r"$k_{ankle}$", "k_ankle", "ankle stiffness", "N m/rad"),
    Symbol(r"$c_{ankle}$", "c_ankle", "ankle damping", "N m s/rad"),
    Symbol(r"$d$", "d", "depth of a sole point", "m"),
    Symbol(r"$k, c$", "k, c", "contact law", "N/m$^{1.5}$, s/m"),
    Symbol(r"$N, P$", "N, P", "force across, along", "N"),
    Symbol(r"$k_a, c_a$", "k_a, c_a", "anchor", "N/m, N s/m"),
    Symbol(r"$e$", "e", "stretch of the anchor", "m"),
    Symbol(r"$\mu$", "mu", "friction, |P| ≤ μ N", "1"),
)
"""All symbols of the sketch, in the order of its list."""


def symbol_table() -> pd.DataFrame:
    """`symbol`, `meaning`, `unit` of everything that the sketch shows."""
    import pandas as pd

    rows = [(symbol.written, symbol.meaning, symbol.unit.replace("$^{1.5}$", "^1.5")) for symbol in SYMBOLS]
    return pd.DataFrame(rows, columns=["symbol", "meaning", "unit"])


def symbol_list(ax: Axes | None = None) -> Axes:
    """All symbols with meaning and unit, in columns."""
    ax = given_or_new(ax, 1.4)
    starts = (0.0, 0.315, 0.69)  # of the columns
    rows = -(-len(SYMBOLS) // len(starts))
    for index, symbol in enumerate(SYMBOLS):
        x, y = divmod(index, rows)
        left, height = starts[x], 1.0 - (y + 0.5) / rows
        ax.text(left, height, symbol.drawn, size=7.5, va="center")
        ax.text(left + 0.068, height, f"{symbol.meaning} [{symbol.unit}]", size=6.8, va="center")
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.axis("off")
    return ax
