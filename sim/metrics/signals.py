"""Sampled signals: low-pass, contact intervals, short peaks. Pure functions on arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: As in the open treadmill data (Fukuchi, Fukuchi, Duarte 2018, doi 10.7717/peerj.4640): low-pass and contact.
CUT_OFF_HZ, CONTACT_N = 25.0, 20.0


def low_pass(values: Array, interval: float, cut_off: float = CUT_OFF_HZ) -> Array:
    """Signal through a second-order Butterworth low-pass, forward and backward, so without delay.

    Parameters
    ----------
    values : ndarray, shape (n,) or (n, k)
        Samples along the first axis.
    interval : float
        Between samples [s].
    cut_off : float
        Of the single pass [Hz]; two passes halve the amplitude there.

    Returns
    -------
    ndarray, shape of `values`

    Notes
    -----
    Two passes of the digital filter have the gain 1 / (1 + (tan(pi f dt) / tan(pi f_c dt))^4); it is applied to the
    spectrum, which spares the start-up of a recursive filter. The ends are continued by point reflection over
    0.1 s, as is usual for two-way filters.
    """
    count = len(values)
    pad = min(count - 1, round(0.1 / interval))
    if pad < 1:
        return np.array(values, float)
    before = 2.0 * values[0] - values[pad:0:-1]
    after = 2.0 * values[-1] - values[-2 : -pad - 2 : -1]
    # the spectrum closes the signal to a ring: a straight line between its ends keeps that from ringing
    extended = np.concatenate([before, values, after])
    ramp = np.linspace(0.0, 1.0, len(extended))
    line = extended[0] + np.multiply.outer(ramp, extended[-1] - extended[0])
    spectrum = np.fft.rfft(extended - line, axis=0)
    frequency = np.fft.rfftfreq(len(extended), interval)
    below = frequency * interval < 0.5
    ratio = np.full(len(frequency), np.inf)
    ratio[below] = np.tan(np.pi * frequency[below] * interval) / np.tan(np.pi * cut_off * interval)
    gain = 1.0 / (1.0 + ratio**4)
    shaped = (spectrum.T * gain).T
    result: Array = (np.fft.irfft(shaped, len(extended), axis=0) + line)[pad : pad + count]
    return result


def intervals_above(values: Array, threshold: float, shortest_gap: int = 0) -> list[tuple[int, int]]:
    """Stretches of samples above a threshold, as (first, one past the last).

    Parameters
    ----------
    values : ndarray, shape (n,)
    threshold : float
        In the unit of `values`.
    shortest_gap : int
        Gaps of fewer samples are closed, so that a foot that bounces does not count as lifted.
    """
    above = np.concatenate([[False], values > threshold, [False]])
    edges = np.flatnonzero(above[1:] != above[:-1]).tolist()
    found: list[tuple[int, int]] = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        if found and first - found[-1][1] < shortest_gap:
            found[-1] = (found[-1][0], last)
        else:
            found.append((first, last))
    return found


#: A flank of a peak ends where it falls more slowly than this share of its steepest part (ours).
FLANK_END = 1.0 / 3.0


def highest_short_peak(values: Array, level: float, longest: float) -> float:
    """Height above `level` of the highest peak that is shorter than `longest` samples; 0 if there is none.

    A peak's length is its width halfway between its top and the higher end of its two flanks. So a spike that rides
    on a broad hump is short, and the hump is not.

    Parameters
    ----------
    values : ndarray, shape (n,)
    level : float
        Only peaks above it count, in the unit of `values`.
    longest : float
        [samples]
    """
    tops = 1 + np.flatnonzero((values[1:-1] > values[:-2]) & (values[1:-1] >= values[2:]) & (values[1:-1] > level))
    highest = 0.0
    for top in tops.tolist():
        left, right = values[top::-1], values[top:]
        half = 0.5 * (values[top] + max(_flank_end(left), _flank_end(right)))
        if _fall(left, half) + _fall(right, half) < longest:
            highest = max(highest, float(values[top]) - level)
    return highest


def _flank_end(side: Array) -> float:
    """Value where the flank of a peak ends; the peak is the first sample."""
    drops = side[:-1] - side[1:]
    ended = np.flatnonzero(drops < FLANK_END * np.maximum.accumulate(drops))
    return float(side[ended[0]] if len(ended) else side[-1])


def _fall(side: Array, half: float) -> float:
    """Samples from a peak, the first sample, to where the signal falls through `half`, between samples."""
    below = np.flatnonzero(side <= half)
    if not len(below):
        return float(len(side))
    k = int(below[0])
    high, low = float(side[k - 1]), float(side[k])
    return k - 1 + (high - half) / (high - low)


def variation(values: Array) -> float | None:
    """Standard deviation (n - 1) / mean; None with fewer than two values or a mean of zero."""
    if len(values) < 2 or values.mean() == 0.0:
        return None
    return float(values.std(ddof=1) / abs(values.mean()))


def rise_rate(values: Array, interval: float) -> float | None:
    """Mean rate between the first crossings of 20 % and 80 % of the highest value, which starts at or below 20 %.

    Parameters
    ----------
    values : ndarray, shape (n,)
        From contact to the first peak.
    interval : float
        Between samples [s].

    Returns
    -------
    float or None
        [unit of `values` / s]; None if the signal does not rise through both.
    """
    peak = float(values.max())
    times = [_crossing(values, share * peak) for share in (0.2, 0.8)]
    if times[0] is None or times[1] is None or times[1] <= times[0]:
        return None
    return 0.6 * peak / ((times[1] - times[0]) * interval)


def _crossing(values: Array, level: float) -> float | None:
    """First rise through a level, in samples, between samples."""
    k = int(np.argmax(values > level))
    if k == 0:
        return None
    return k - 1 + float((level - values[k - 1]) / (values[k] - values[k - 1]))


def first_at_least(values: Array, level: float) -> int | None:
    """Index of the first value at or above a level, None if there is none."""
    found = np.flatnonzero(values >= level)
    return int(found[0]) if len(found) else None


def power_in_and_out(torque: Array, rate: Array, interval: float) -> tuple[float, float]:
    """Work that a torque gave to and took from what it turns [J], by the trapezoid rule; both at least zero.

    Parameters
    ----------
    torque, rate : ndarray, shape (n,)
        [N m], [rad/s]
    interval : float
        Between samples [s].
    """
    power = torque * rate
    given, taken = np.maximum(power, 0.0), np.maximum(-power, 0.0)
    return tuple(float(part.sum() - 0.5 * (part[0] + part[-1])) * interval for part in (given, taken))  # type: ignore[return-value]
