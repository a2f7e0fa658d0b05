"""Which strides of a walk are measured, and when each foot was down in them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sim.body import Body
from sim.metrics.signals import CONTACT_N, intervals_above, low_pass
from sim.series import Series, Surface

Array = NDArray[np.float64]
Rows = np.ndarray[Any, Any]

#: A foot that is off the ground for less than this bounces [s] (ours; a swing takes 0.3 s or more).
SHORTEST_SWING = 0.06
#: Measured strides vary by less than this share of their mean in a steady walk.
STEADY = 0.02


@dataclass(frozen=True)
class Stride:
    """From one landing of a foot to its next. Times are frames of a `Series`; each end is one past the last.

    Attributes
    ----------
    leg : int
    first, last : int
        Landings that begin and end it, by the walker's own account.
    contact, lift : int
        First and one past the last frame in which the low-passed load is above 20 N.
    touch : int
        First frame with a raw load above 20 N.
    next_contact : int
        First frame of the contact that ends the swing.
    other_landing : int
        The other foot's landing within it.
    rows : tuple of int
        Its two steps in the table of steps: the other foot's, then its own.
    """

    leg: int
    first: int
    last: int
    contact: int
    lift: int
    touch: int
    next_contact: int
    other_landing: int
    rows: tuple[int, int]


@dataclass(frozen=True, eq=False)
class Record:
    """Everything that a metric may look at.

    Attributes
    ----------
    series : Series
    rows : ndarray of `STEP`, shape (steps,)
        All steps of the walk.
    surface : Surface
        Straight ground on which the measured strides lie.
    body : Body
    weight : float
        Of the whole person [N].
    passive : bool
        Leg 0 is a prosthesis.
    load_on, load_off : float
        Loads at which the prosthetic knee changes its resistance [N].
    filtered : ndarray, shape (n, 2, 2)
        Low-passed ground force, across and along the surface [N].
    strides : tuple of tuple of Stride
        Measured strides of the prosthetic and of the sound leg, equally many, at least one.
    """

    series: Series
    rows: Rows
    surface: Surface
    body: Body
    weight: float
    passive: bool
    load_on: float
    load_off: float
    filtered: Array
    strides: tuple[tuple[Stride, ...], tuple[Stride, ...]]

    def slope_energy(self, length: float) -> float | None:
        """What gravity gives over a length along the surface [J]; None unless it goes down."""
        given = -self.weight * math.sin(self.surface.slope) * length
        return given if given > 0.0 else None


def on_slope(rows: Rows, start_x: float, slack: float = 1e-9) -> NDArray[np.bool_]:
    """Which steps had both heels on the straight ground behind `start_x` [m], shape (steps,)."""
    heel = rows["heel_x"] >= start_x - slack
    result = np.zeros(len(rows), bool)
    result[1:] = heel[1:] & heel[:-1]
    return result


def measured_landings(rows: Rows, start_x: float, ended_early: bool) -> tuple[list[int], list[int]] | None:
    """Landings of each leg that bound the measured strides, or None if there is not one stride.

    Only landings on the straight ground count. If the walk ended early, its last two steps are left out: they are
    the fall. Of the strides that remain, the later half is measured (of an odd number the larger half).
    """
    usable = np.flatnonzero(rows["heel_x"] >= start_x - 1e-9)
    if ended_early:
        usable = usable[usable < len(rows) - 2]
    landings = [[int(k) for k in usable if rows["leg"][k] == leg] for leg in range(2)]
    available = min(len(own) for own in landings) - 1
    if available < 1:
        return None
    keep = (available + 1) // 2
    return landings[0][-keep - 1 :], landings[1][-keep - 1 :]


def filtered_forces(series: Series) -> Array:
    """Low-passed force across and along the local surface, shape (n, 2 legs, 2) [N]."""
    both = np.stack([series.load, series.push], axis=-1)
    return low_pass(both.reshape(len(both), 4), series.interval).reshape(both.shape)


def frame_of(time: float, series: Series) -> int:
    """First frame at or after a time."""
    return math.ceil(time / series.interval - 1e-6)


def strides_of(leg: int, landings: list[int], rows: Rows, series: Series, filtered: Array) -> tuple[Stride, ...] | None:
    """Strides of one leg between its landings, or None if a foot is not seen to land and lift in one of them."""
    gap = round(SHORTEST_SWING / series.interval)
    contacts = intervals_above(filtered[:, leg, 0], CONTACT_N, gap)
    raw = series.load[:, leg]
    found = []
    for begin, end in pairwise(landings):
        first, last, other = (frame_of(float(rows["time"][k]), series) for k in (begin, end, begin + 1))
        contact = [(a, b) for a, b in contacts if a <= first + gap and first < b]
        if not contact or contact[0][1] >= min(last, len(raw)):  # it still stands where the stride, or all, ends
            return None
        start, lift = contact[0]
        touch = start + int(np.argmax(raw[start:lift] > CONTACT_N))
        upcoming = min([a for a, b in contacts if lift < a <= last < b], default=min(last, len(raw)))
        found.append(Stride(leg, first, min(last, len(raw)), start, lift, touch, upcoming, other, (begin + 1, end)))
    return tuple(found)


def scuffs_per_step(rows: Rows, series: Series) -> NDArray[np.int64]:
    """How often the foot that ends each step touched the ground on its way, with more than 20 N, shape (steps,).

    Touches within `SHORTEST_SWING` of lift-off or landing belong to these.
    """
    gap = round(SHORTEST_SWING / series.interval)
    contacts = [intervals_above(series.load[:, leg], CONTACT_N, gap) for leg in range(2)]
    landings = [frame_of(float(time), series) for time in rows["time"]]
    counts = []
    for k, (begin, end) in enumerate(pairwise([0, *landings])):
        own = contacts[int(rows["leg"][k])]
        counts.append(sum(begin < first and last < min(end, len(series.time)) for first, last in own))
    return np.array(counts, np.int64)
