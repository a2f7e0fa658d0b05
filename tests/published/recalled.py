"""Numbers recalled from papers that nobody here has read again: a miss warns and does not fail."""

import warnings


class RecalledNumberMissed(UserWarning):
    """Our value is not where a recalled number says."""


def compare(what: str, ours: float, recalled: float, tolerance: float, source: str) -> None:
    """Warn if `ours` is further than `tolerance` (a share) from the recalled number."""
    off = abs(ours / recalled - 1.0)
    if off > tolerance:
        warnings.warn(
            f"{what}: ours {ours:.7g}, recalled {recalled:.7g} ({source}, from memory), {off:.2%} apart",
            RecalledNumberMissed,
            stacklevel=2,
        )
