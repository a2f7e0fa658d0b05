"""Which moments of a walk the page shows, and the numbers of each moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.metrics.strides import filtered_forces
from sim.plots.data import last_window

if TYPE_CHECKING:
    from sim.result import WalkResult

SAMPLE_S = 0.01
"""Between two moments that are shown [s]; nothing is made up between them."""
FALL_SECONDS = (1.5, 3.5)
"""Of a walk that ended early at least, and at most, this much of its end is shown [s]."""
ANGLE, LENGTH, FORCE = 0.0005, 0.0005, 0.002
"""Quanta: angles [rad], places [m], forces [body weights]."""
PLACE_ERROR_M = 0.001
"""No joint or sole point on the page is further than this from the walk [m]: half a quantum at the hip, and half a
quantum of thigh, shank and foot angle times their lengths, 1.4 m together for the tallest person."""

#: Channel -> quantum, in the order in which they are packed. Angles as in `sim.series.Series`; legs: prosthetic, sound.
CHANNELS: dict[str, float] = {
    "hip_x": LENGTH,
    "hip_y": LENGTH,
    "trunk": ANGLE,
    **{f"{part}_{leg}": ANGLE for leg in (0, 1) for part in ("thigh", "shank", "foot")},
    "mass_centre_x": LENGTH,
    "mass_centre_y": LENGTH,
    **{f"{name}_{leg}": FORCE for leg in (0, 1) for name in ("load", "force_x", "force_y")},
    **{f"pressure_{leg}": LENGTH for leg in (0, 1)},
}

Array = NDArray[np.float64]


def shown_frames(result: WalkResult) -> NDArray[np.int64]:
    """Frames that the page shows, `SAMPLE_S` apart.

    Returns
    -------
    ndarray of int
        Of a walk with measured strides its last two, from landing to landing of the prosthetic foot, without the last
        moment, so that they can be repeated. Of any other its end, if possible from a landing of that foot.
    """
    interval = result.series.interval
    if not interval:
        return np.zeros(0, np.int64)
    every = max(1, round(SAMPLE_S / interval))
    if repeats(result):
        window = last_window(result)
        return np.arange(window.start, window.stop - 1, every)
    last = len(result.frames) - 1
    least, most = (last - round(seconds / interval) for seconds in FALL_SECONDS)
    landings = [round(float(row["time"]) / interval) for row in result.step_records if int(row["leg"]) == 0]
    start = max([frame for frame in landings if most <= frame <= least], default=max(0, least))
    return np.arange(start + (last - start) % every, last + 1, every)  # up to its very end


def repeats(result: WalkResult) -> bool:
    """True if whole strides were measured, which the page repeats."""
    return result.outcome == "walked" and result.metrics["measured_strides"] is not None


def channels_of(result: WalkResult, frames: NDArray[np.int64]) -> Array:
    """Values of all `CHANNELS` at some frames, shape (channels, frames), SI units and body weights.

    The load is low-passed as in all figures; the force vector is not.
    """
    series, weight = result.series, result.scenario.person.weight
    load = filtered_forces(series)[:, :, 0] / weight
    legs = [
        {
            f"thigh_{leg}": series.thigh[:, leg],
            f"shank_{leg}": series.shank[:, leg],
            f"foot_{leg}": series.foot[:, leg],
            f"load_{leg}": load[:, leg],
            f"force_x_{leg}": series.ground_force[:, leg, 0] / weight,
            f"force_y_{leg}": series.ground_force[:, leg, 1] / weight,
            f"pressure_{leg}": series.pressure_centre[:, leg],
        }
        for leg in (0, 1)
    ]
    values = legs[0] | legs[1] | {"hip_x": series.hip[:, 0], "hip_y": series.hip[:, 1], "trunk": series.trunk}
    values |= {"mass_centre_x": series.mass_centre[:, 0], "mass_centre_y": series.mass_centre[:, 1]}
    return np.array([values[name][frames] for name in CHANNELS])
