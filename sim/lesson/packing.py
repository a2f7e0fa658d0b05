"""Numbers to few bytes and back: whole multiples of a quantum, differences in time, one byte where one is enough."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sim.errors import RampwalkError

LARGEST = 2**27
"""Largest whole number that is packed: its differences fit in four bytes of seven bits, for the page's reader too."""


def quantised(values: NDArray[np.float64], quanta: Sequence[float]) -> NDArray[np.int64]:
    """Nearest whole multiples, shape of `values`, (channels, n).

    Raises
    ------
    RampwalkError
        If a number is not finite or too large for its quantum.
    """
    scaled = values / np.asarray(quanta)[:, None]
    if not (np.isfinite(scaled).all() and (np.abs(scaled) < LARGEST / 4).all()):
        raise RampwalkError("a walk has numbers that cannot be packed: not finite, or far too large.")
    whole: NDArray[np.int64] = np.rint(scaled).astype(np.int64)
    return whole


def packed(whole: NDArray[np.int64]) -> bytes:
    """Bytes of whole numbers, shape (channels, n), channel after channel.

    Each channel begins with its first number; then come differences to the number before. A difference d is written as
    2 d, or as -2 d - 1 if it is negative, seven bits a byte, low bits first, the high bit set if more follow.
    """
    steps = np.diff(whole, axis=1, prepend=0)
    code = np.where(steps < 0, -2 * steps - 1, 2 * steps).ravel()
    lengths = 1 + (code >= 1 << 7) + (code >= 1 << 14) + (code >= 1 << 21)
    ends = np.cumsum(lengths)
    out = np.zeros(int(ends[-1]) if len(ends) else 0, np.uint8)
    for byte in range(4):
        here = lengths > byte
        more = np.where(lengths[here] > byte + 1, 128, 0)
        out[ends[here] - lengths[here] + byte] = ((code[here] >> (7 * byte)) & 127) | more
    return out.tobytes()


def unpacked(raw: bytes, channels: int, count: int) -> NDArray[np.int64]:
    """Whole numbers of bytes, shape (channels, count); what the page does, here for checks.

    Raises
    ------
    RampwalkError
        If the bytes hold other than `channels` x `count` numbers.
    """
    codes, value, shift = [], 0, 0
    for byte in raw:
        value |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            codes.append(value)
            value = shift = 0
    if len(codes) != channels * count or shift:
        raise RampwalkError(f"{len(codes)} packed numbers are not {channels} x {count}; the data are damaged.")
    code = np.array(codes, np.int64).reshape(channels, count)
    return np.cumsum(np.where(code & 1, -((code + 1) >> 1), code >> 1), axis=1)
