"""Ground profiles with ends: parts of even slope joined by bends, or heights from a file, as knots for the walker.

Between knots the slope changes evenly, so that height and slope are both continuous; beyond the outer knots the ground
goes on straight.
"""

from __future__ import annotations

import csv
import io
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from sim.errors import RampwalkError, check_range, number_text, shown
from sim.files import path_text, read_limited
from sim.law.records import KNOTS

Row = tuple[float, ...]
#: Slopes that can be walked on at all [deg], as of a scenario.
STEEPEST = (-20.0, 15.0)
#: Largest file of heights [bytes], and longest way [m] (ours).
LARGEST_FILE, LONGEST_WAY = 2_000_000, 200.0


@dataclass(frozen=True)
class Part:
    """A stretch of even slope.

    Attributes
    ----------
    name : str
    length : float
        Level length, its half of the bends at both ends included [m].
    slope_deg : float
        Downhill negative.
    """

    name: str
    length: float
    slope_deg: float


@dataclass(frozen=True)
class Profile:
    """Ground as knots.

    Attributes
    ----------
    x, height, slope : tuple of float
        Place and height of each knot [m], tan of the slope there; 2 to 64 knots, x rising.
    parts : tuple of (str, float, float)
        Name, begin and end of the named parts along x [m].
    note : str
        How it was made, with the smoothing.
    """

    x: tuple[float, ...]
    height: tuple[float, ...]
    slope: tuple[float, ...]
    parts: tuple[tuple[str, float, float], ...]
    note: str

    @property
    def end(self) -> float:
        """Where the last part ends [m]."""
        return self.parts[-1][2]

    def fill(self, ground: Any) -> None:
        """Write the knots into a record of `GROUND`."""
        count = len(self.x)
        ground["knots"] = count
        for name, values in (("x", self.x), ("height", self.height), ("slope", self.slope)):
            ground[name][:] = 0.0
            ground[name][:count] = values

    def heights(self, at: Any) -> np.ndarray[Any, np.dtype[np.float64]]:
        """Height at places [m], as the walker sees it."""
        x, slope = np.asarray(self.x), np.asarray(self.slope)
        at = np.asarray(at, float)
        k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
        d = at - x[k]
        inside = np.clip(d, 0.0, x[k + 1] - x[k])
        bend = (slope[k + 1] - slope[k]) / (x[k + 1] - x[k])
        height = np.asarray(self.height)[k] + inside * (slope[k] + 0.5 * bend * inside)
        beyond: np.ndarray[Any, np.dtype[np.float64]] = height + (d - inside) * np.where(d < 0.0, slope[0], slope[-1])
        return beyond

    def part_at(self, x: float) -> str:
        """Name of the part that a place lies in; the first or last one beyond the ends."""
        for name, _, end in self.parts:
            if x < end:
                return name
        return self.parts[-1][0]


def profile_of(parts: Sequence[Part], bend: float) -> Profile:
    """Profile of stretches of even slope, joined by bends in which the slope grows evenly.

    Parameters
    ----------
    parts : sequence of Part
        At least one; neighbours of one slope need no bend.
    bend : float
        Length of each bend [m], half of it in each of the two parts.

    Raises
    ------
    RampwalkError
        If a part is too short for its bends, too steep, or there are too many.
    """
    if not parts:
        raise RampwalkError("a way needs at least one part; give one.", "parts")
    for part in parts:
        check_range(f"slope of {part.name}", part.slope_deg, *STEEPEST, "deg", "beyond it a person climbs")
        check_range(f"length of {part.name}", part.length, bend, LONGEST_WAY, "m", "a part must be longer than a bend")
    ends = [0.0, *itertools.accumulate(part.length for part in parts)]
    tangents = [math.tan(math.radians(part.slope_deg)) for part in parts]
    x, slope = [0.0], [tangents[0]]
    for place, before, after in zip(ends[1:], tangents, tangents[1:], strict=False):
        if before != after:
            x += [place - 0.5 * bend, place + 0.5 * bend]
            slope += [before, after]
    x.append(ends[-1])
    slope.append(tangents[-1])
    named = tuple((part.name, a, b) for part, (a, b) in zip(parts, itertools.pairwise(ends), strict=True))
    note = f"slope changes evenly over {number_text(bend)} m where one part joins the next"
    return Profile(*_knots(x, slope, 0.0), named, note)


def _knots(x: Sequence[float], slope: Sequence[float], height: float) -> tuple[Row, Row, Row]:
    """x, height, slope of the knots without doubles. Raises RampwalkError if there are too many."""
    kept = [(x[0], slope[0])]
    for place, tangent in zip(x[1:], slope[1:], strict=True):
        if place > kept[-1][0] + 1e-9:
            kept.append((place, tangent))
    if len(kept) > KNOTS:
        raise RampwalkError(f"the way has {len(kept)} bends and ends, at most {KNOTS} are possible; make it simpler.")
    heights = [height]
    for (a, before), (b, after) in itertools.pairwise(kept):
        heights.append(heights[-1] + 0.5 * (before + after) * (b - a))
    return tuple(place for place, _ in kept), tuple(heights), tuple(tangent for _, tangent in kept)


def smoothed(distance: Sequence[float], height: Sequence[float], spacing: float) -> Profile:
    """Profile of measured heights: knots at even distances, at each the mean slope over one spacing around it.

    Parameters
    ----------
    distance, height : sequence of float
        Points of the way, distance rising [m].
    spacing : float
        Wanted distance of knots and width of the mean [m]; larger where 64 knots would not reach.

    Raises
    ------
    RampwalkError
        If the points are no way, or somewhere steeper than can be walked after smoothing.
    """
    x, y = np.asarray(distance, float), np.asarray(height, float)
    if len(x) < 2 or not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise RampwalkError("a way needs two points or more with finite numbers; give them.", "profile")
    if not (np.diff(x) > 0.0).all():
        k = int(np.flatnonzero(np.diff(x) <= 0.0)[0]) + 1
        said = f"distance = {number_text(float(x[k]))} m does not grow beyond {number_text(float(x[k - 1]))} m"
        raise RampwalkError(f"{said}; sort the points and leave doubles out.", "profile", float(x[k]))
    length = float(x[-1] - x[0])
    check_range("length of the way", length, spacing, LONGEST_WAY, "m", "a way is longer than the spacing of its knots")
    x = x - x[0]
    count = min(KNOTS, max(2, math.ceil(length / spacing) + 1))
    knots = np.linspace(0.0, length, count)
    width = max(spacing, float(knots[1]))
    low, high = np.clip(knots - 0.5 * width, 0.0, length), np.clip(knots + 0.5 * width, 0.0, length)
    tangents = (np.interp(high, x, y) - np.interp(low, x, y)) / (high - low)
    for k, tangent in enumerate(tangents.tolist()):
        place = f"slope at {knots[k]:.2f} m"
        check_range(place, math.degrees(math.atan(tangent)), *STEEPEST, "deg", "make it gentler or the spacing wider")
    profile = Profile(*_knots(knots.tolist(), tangents.tolist(), float(y[0])), (("way", 0.0, length),), "")
    off = float(np.abs(profile.heights(x) - y).max())
    note = f"{count} knots, each with the mean slope over {width:.2f} m; heights off by {1000.0 * off:.0f} mm at most"
    return Profile(profile.x, profile.height, profile.slope, profile.parts, note)


def read_profile(path: str | Path, spacing: float) -> Profile:
    """Profile from a CSV file with the columns `distance_m` and `height_m`.

    Raises
    ------
    RampwalkError
        If the file cannot be read or is no such table, with the line.
    """
    raw = read_limited(path, LARGEST_FILE, "CSV file of distance_m,height_m")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise RampwalkError(f"{path_text(path)} is not UTF-8 text; save it as CSV.", "profile", str(path)) from err
    try:
        table = [row for row in csv.reader(io.StringIO(text)) if row]
    except csv.Error as err:
        said = f"{path_text(path)} is not a CSV table: {err}; save it anew."
        raise RampwalkError(said, "profile", str(path)) from err
    head = [name.strip() for name in table[0]] if table else []
    if head != ["distance_m", "height_m"]:
        said = f"{path_text(path)} must begin with the line distance_m,height_m, not {shown(','.join(head))}"
        raise RampwalkError(f"{said}; name the columns so.", "profile", str(path))
    points = [_point(row, number, path) for number, row in enumerate(table[1:], 2)]
    if len(points) < 2:
        raise RampwalkError(f"{path_text(path)} has {len(points)} points; give two or more.", "profile", str(path))
    return smoothed([x for x, _ in points], [y for _, y in points], spacing)


def _point(row: Sequence[str], number: int, path: str | Path) -> tuple[float, float]:
    try:
        x, y = (float(text) for text in row)
    except ValueError:
        x, y = math.nan, math.nan
    if not (math.isfinite(x) and math.isfinite(y)):
        said = f"row {number} of {path_text(path)} is {shown(','.join(row))}, not two numbers"
        raise RampwalkError(f"{said}; write for example 1.5,-0.12.", "profile", str(path))
    return x, y
