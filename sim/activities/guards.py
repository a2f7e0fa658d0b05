"""Whether the physics of a run held: finite numbers, joints together, energy accounted for.

A run that breaks one of these is no result, however it ended. The limits stand far from both sides: of 300 sensible
walks none had a separation above 0.013 mm or a residual above 5e-6; of 500 with settings anywhere in their ranges,
those whose motion stayed bounded had at most 0.6 mm and 6e-4, but for one residual of 1.7e-3, which is invalid by
this limit; those that blew up from 1.8 mm and 2e-3 on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.drivers.engine import Pivot

MOST_SEPARATION = 1e-3
"""Farthest that the two sides of a joint may be apart [m] (ours, see above)."""
MOST_RESIDUAL = 1e-3
"""Largest share of the energy that passed through that may be unaccounted for [1] (ours, see above)."""
#: To this precision the moment is found at which the energy went wrong [s].
_MOMENT = 0.01

Bools = np.ndarray[Any, np.dtype[np.bool_]]
Floats = np.ndarray[Any, np.dtype[np.float64]]


@dataclass(frozen=True)
class Breach:
    """What went wrong first, and when.

    Attributes
    ----------
    time : float
        [s]
    cause : str
        A sentence without its end.
    """

    time: float
    cause: str


def breach_of(
    frames: Any, pivots: Sequence[Pivot], end: float, residual_at: Callable[[float], float]
) -> Breach | None:
    """First breach of a run, None if there is none.

    Parameters
    ----------
    frames : ndarray of `FRAME`, shape (n,)
    pivots : sequence of Pivot
        The joints.
    end : float
        When the run ended [s].
    residual_at : callable
        Share of the energy that is unaccounted for when the same run is ended at a time [s]; NaN if it is no number.
    """
    breaches = []
    if not _surely_finite(frames):
        broken = np.flatnonzero(~finite_rows(frames))
        if len(broken):
            breaches.append(Breach(float(frames["time"][broken[0]]), "a number left the finite range"))
    apart = separations(frames["body"], pivots)
    wide = np.flatnonzero(apart > MOST_SEPARATION)
    if len(wide):
        widest = float(np.nanmax(apart))
        cause = f"a joint came apart (by {1000 * widest:.3g} mm at most, allowed {1000 * MOST_SEPARATION:g} mm)"
        breaches.append(Breach(float(frames["time"][wide[0]]), cause))
    residual = residual_at(end)
    if math.isnan(residual):
        breaches.append(Breach(end, "the energy book holds a number that is not finite"))
    elif residual > MOST_RESIDUAL:
        time = first_time(lambda moment: not residual_at(moment) <= MOST_RESIDUAL, end)
        cause = f"{100 * residual:.2g} % of the energy is unaccounted for (allowed {100 * MOST_RESIDUAL:g} %)"
        breaches.append(Breach(time, cause))
    return min(breaches, key=lambda breach: breach.time, default=None)


def energy_residual(book: Any, energy_of: Callable[[Any], Mapping[str, float | None]]) -> float:
    """Share of the energy of a run that is unaccounted for; NaN if its book holds a number that is not finite.

    Parameters
    ----------
    book : record
        Of the run.
    energy_of : callable
        Book -> energies, see `sim.ledger.energy_book`.
    """
    with np.errstate(all="ignore"):  # a run that blew up has any numbers
        energy = energy_of(book)
    if not all(math.isfinite(value) for value in energy.values() if value is not None):
        return math.nan
    return energy["residual_fraction"] or 0.0


def _surely_finite(records: Any) -> bool:
    """Quick look at all records as if everything in them were a float; a whole number below 0 then looks like NaN."""
    if records.dtype.itemsize % 8 or not records.flags.c_contiguous:
        return False
    return bool(np.isfinite(records.view(np.uint8).view(np.float64)).all())


def finite_rows(records: Any) -> Bools:
    """Which records hold finite numbers only, shape (n,); nested fields too."""
    kept = np.ones(len(records), np.bool_)
    for name in records.dtype.names or ():
        kept &= finite_rows(records[name])
    if records.dtype.names is None:
        kept &= np.isfinite(records).all(axis=tuple(range(1, records.ndim)))
    return kept


def separations(body: Any, pivots: Sequence[Pivot]) -> Floats:
    """Widest distance between the two anchors of any joint [m], shape (n,); NaN where a number is not finite.

    Parameters
    ----------
    body : ndarray, shape (n, bodies, 6)
        x, y, angle of each mass centre, and their rates.
    pivots : sequence of Pivot
    """
    widest = np.zeros(len(body))
    with np.errstate(all="ignore"):  # a run that blew up has any numbers
        for pivot in pivots:
            gap = _anchor(body[:, pivot.first], pivot.anchor_first)
            gap = gap - _anchor(body[:, pivot.second], pivot.anchor_second)
            widest = np.maximum(widest, np.hypot(gap[0], gap[1]))
    return widest


def _anchor(states: Any, anchor: tuple[float, float]) -> Floats:
    """Place of a point of a body in the world [m], shape (2, n)."""
    x, y, angle = states[:, 0], states[:, 1], states[:, 2]
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.array([x + cosine * anchor[0] - sine * anchor[1], y + sine * anchor[0] + cosine * anchor[1]])


def first_time(broken: Callable[[float], bool], end: float) -> float:
    """A moment at which something that is broken at the end first is, by halving [s].

    Where it breaks, heals and breaks again, one of these moments.
    """
    whole, found = 0.0, end
    while found - whole > _MOMENT:
        middle = 0.5 * (whole + found)
        if broken(middle):
            found = middle
        else:
            whole = middle
    return found
