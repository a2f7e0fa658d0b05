"""Window of flexion resistance as a small drawing for a page: axis, window, first trial value, who can use what."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

from sim.window import HIGH, LOW

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sim.window_found import Window

WIDTH, LEFT, RIGHT, BAR, BAR_HEIGHT = 400.0, 8.0, 392.0, 34.0, 30.0
_TICKS = (10, 20, 50, 100, 200, 500)
_CURVE_TOP, _CURVE_BOTTOM = 126.0, 176.0
_LINES = (("#7a3b00", "none"), ("#444444", "5 3"))


def place_of(resistance: float) -> float:
    """Where a resistance is on the axis [units of the drawing]."""
    share = math.log(resistance / LOW) / math.log(HIGH / LOW)
    return LEFT + (RIGHT - LEFT) * min(1.0, max(0.0, share))


def dial_svg(window: Window, said: str, curves: Sequence[tuple[str, Sequence[tuple[float, float]]]] = ()) -> str:
    """Drawing as an SVG element.

    Parameters
    ----------
    window : Window
    said : str
        The same in words, for those who do not see it.
    curves : sequence of (str, sequence of (float, float))
        Name, and resistance with the share of people who can use it; at most two.
    """
    parts = [
        f'<rect x="{LEFT}" y="{BAR}" width="{RIGHT - LEFT}" height="{BAR_HEIGHT}" fill="url(#hatch)" stroke="#777"/>'
    ]
    for piece in window.pieces:
        a, b = place_of(piece.low), place_of(piece.high)
        parts.append(
            f'<rect x="{a:.1f}" y="{BAR}" width="{max(1.5, b - a):.1f}" height="{BAR_HEIGHT}" fill="#9cc9ea" '
            'stroke="#0060a0" stroke-width="1.5"/>'
        )
    if window.main is not None:
        a, b = place_of(window.main.low), place_of(window.main.high)
        parts.append(_text(a - 6, BAR + 20, "too low", "end", halo=True))
        parts.append(_text(b + 6, BAR + 20, "too high", "start", halo=True))
    else:
        parts.append(_text(200, BAR + 20, "no window: some criterion is always broken", "middle", halo=True))
    if window.first_trial is not None:
        x = place_of(window.first_trial)
        parts.append(f'<path d="M{x:.1f} {BAR - 8} V{BAR + BAR_HEIGHT + 4}" stroke="#003a63" stroke-width="2.5"/>')
        anchor = "start" if x < 90 else "end" if x > 310 else "middle"
        parts.append(_text(x, BAR - 13, f"first trial {window.first_trial:.3g}", anchor, bold=True))
    parts += _axis()
    height = 100.0
    if curves:
        parts += _curves(curves)
        height = _CURVE_BOTTOM + 12.0 + 16.0 * len(curves)
    top = 0.0 if window.first_trial is not None else BAR - 6.0  # nothing stands above the bar
    return (
        f'<svg viewBox="0 {top:g} {WIDTH:g} {height - top:g}" role="img" aria-labelledby="dial-title" font-size="12" '
        f'font-family="system-ui, sans-serif"><title id="dial-title">{escape(said)}</title>'
        '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<rect width="6" height="6" fill="#fff"/><rect width="1.6" height="6" fill="#c9a48c"/></pattern></defs>'
        f"{''.join(parts)}</svg>"
    )


def _axis() -> list[str]:
    y = BAR + BAR_HEIGHT
    found = []
    for tick in _TICKS:
        x = place_of(tick)
        found.append(f'<path d="M{x:.1f} {y} v5" stroke="#222"/>')
        found.append(_text(x, y + 17, str(tick), "end" if tick == _TICKS[-1] else "middle"))
    return [*found, _text(200, y + 33, "flexion resistance [N m s/rad]", "middle")]


def _curves(curves: Sequence[tuple[str, Sequence[tuple[float, float]]]]) -> list[str]:
    """Shares over resistance, 0 at the bottom and all at the top, a named line each."""
    found = [
        f'<path d="M{LEFT} {_CURVE_TOP} H{RIGHT} M{LEFT} {_CURVE_BOTTOM} H{RIGHT}" stroke="#bbb"/>',
        _text(LEFT, _CURVE_TOP - 4, "all can use it", "start"),
        _text(LEFT, _CURVE_BOTTOM - 5, "nobody", "start"),
    ]
    for row, ((name, points), (color, dashes)) in enumerate(zip(curves, _LINES, strict=False)):
        reach = _CURVE_BOTTOM - _CURVE_TOP
        path = " L".join(f"{place_of(at):.1f} {_CURVE_BOTTOM - reach * share:.1f}" for at, share in points)
        look = f'fill="none" stroke="{color}" stroke-width="2" stroke-dasharray="{dashes}"'
        y = _CURVE_BOTTOM + 18.0 + 16.0 * row
        found.append(f'<path d="M{path}" {look}/><path d="M{LEFT} {y - 4:g} h26" {look}/>')
        found.append(_text(LEFT + 32, y, name, "start"))
    return found


def _text(x: float, y: float, text: str, anchor: str, bold: bool = False, halo: bool = False) -> str:
    weight = ' font-weight="700"' if bold else ""
    around = ' stroke="#fff" stroke-width="4" paint-order="stroke"' if halo else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="#222"{weight}{around}>{escape(text)}</text>'
