"""The edge of what succeeds along one number: a scan and halving."""

from __future__ import annotations

from collections.abc import Callable, Sequence


def first_that_holds(tried: Sequence[tuple[float, bool]]) -> tuple[float | None, float | None]:
    """First value, in the order given, that succeeds together with the next one, and the value before it.

    A lone success between failures is luck of one run and does not count; the last value counts alone.

    Returns
    -------
    (float or None, float or None)
        None, None if nothing holds; the second is None if the first value already holds.
    """
    for k, (value, good) in enumerate(tried):
        following = tried[k + 1][1] if k + 1 < len(tried) else True
        if good and following:
            return value, tried[k - 1][0] if k else None
    return None, None


def last_in_a_row(tried: Sequence[tuple[float, bool]]) -> tuple[float | None, float | None]:
    """Last value of those that succeed without a gap from the first on, and the value after it (None at the end)."""
    last: float | None = None
    for value, good in tried:
        if not good:
            return last, value
        last = value
    return last, None


def edge_between(
    succeeds: Callable[[float], bool], fails_at: float, holds_at: float, precision: float
) -> tuple[float, float]:
    """Halve between a value that fails and one that succeeds; returns both ends, at most `precision` apart."""
    while abs(holds_at - fails_at) > precision:
        middle = 0.5 * (fails_at + holds_at)
        if succeeds(middle):
            holds_at = middle
        else:
            fails_at = middle
    return fails_at, holds_at
