"""How figures look, and how they are saved: same input, same bytes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SINGLE_MM, DOUBLE_MM = 88.0, 178.0
"""Widths of a figure [mm]: one column of a page, both; journals ask for 85 to 90 and 170 to 180 (common practice)."""
MM_PER_INCH = 25.4
WIDTH = DOUBLE_MM / MM_PER_INCH
"""Of a figure over both columns [inch]."""
#: Okabe and Ito's palette: told apart with every common colour vision deficiency, and in grey with the line styles.
BLUE, VERMILLION, GREY, LIGHT = "#0072B2", "#D55E00", "#555555", "#BBBBBB"
#: Colour, line style, marker of each leg; a prosthetic leg is never told by its colour alone.
LEG_STYLE: tuple[dict[str, Any], dict[str, Any]] = (
    {"color": VERMILLION, "linestyle": (0, (4, 1.3))},
    {"color": BLUE, "linestyle": "-"},
)
LINES: Sequence[Any] = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (1, 1)), (0, (8, 2)), (0, (3, 4)))
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "<")
_RC: Any = {
    "font.family": "DejaVu Sans",  # comes with matplotlib, so the same everywhere
    "font.size": 8.0,
    "axes.titlesize": 8.5,
    "axes.labelsize": 8.0,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "lines.linewidth": 1.3,
    "lines.markersize": 4.5,
    "legend.fontsize": 7.5,
    "legend.frameon": False,
    "legend.handlelength": 3.6,  # long enough to tell the line styles
    "hatch.linewidth": 0.6,
    "axes.unicode_minus": True,
    "figure.dpi": 100.0,
    "savefig.dpi": 300.0,  # the least that journals ask for pictures in points (common practice)
    "svg.hashsalt": "rampwalk",
    "svg.fonttype": "path",  # no font needed where it is shown
    "pdf.fonttype": 42,  # TrueType inside the file; many journals refuse Type 3
    "pdf.compression": 6,
}
_NO_DATE: dict[str, dict[str, Any]] = {"png": {}, "svg": {"Date": None}, "pdf": {"CreationDate": None}}
FORMATS = tuple(_NO_DATE)


@contextmanager
def styled() -> Iterator[None]:
    """The project's look inside the block."""
    import matplotlib as mpl

    with mpl.rc_context(_RC):
        yield


def new_figure(height: float, width_mm: float = DOUBLE_MM) -> Figure:
    """Empty figure of a width [mm] and a height [inch] that no window knows of."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width_mm / MM_PER_INCH, height), layout="constrained")


def given_or_new(ax: Axes | None, height: float = 3.0) -> Axes:
    """The axes, or those of a new figure."""
    return new_figure(height).add_subplot() if ax is None else ax


def number_label(value: float) -> str:
    """Number for a label, three digits, with a true minus sign."""
    return f"{value:.3g}".replace("-", "\N{MINUS SIGN}")


def line_style(index: int, count: int) -> dict[str, Any]:
    """Colour, line style and marker of one of several ordered lines: light grows with the index, never so far that a
    line is pale in grey print.
    """
    import matplotlib as mpl

    share = index / max(1, count - 1)
    return {
        "color": mpl.colormaps["viridis"](0.72 * share),
        "linestyle": LINES[index % len(LINES)],
        "marker": MARKERS[index % len(MARKERS)],
    }


def save_figure(
    figure: Figure, path: str | Path, data: pd.DataFrame, formats: Sequence[str] | None = None
) -> list[Path]:
    """Write a figure and, beside it, the table it was drawn from.

    Parameters
    ----------
    figure : Figure
    path : str or Path
        With its ending, or without one and with `formats`.
    data : DataFrame
        Written as CSV with units in its column names.
    formats : sequence of str, optional
        Of `FORMATS`; None takes the ending of the path.

    Returns
    -------
    list of Path
        The files written; the same bytes for the same figure and the same libraries.
    """
    from sim.table import write_table

    path = Path(path)
    stem = path.with_suffix("") if formats is None else path
    kinds = [path.suffix.removeprefix(".").lower()] if formats is None else list(formats)
    written = []
    with styled():
        for kind in kinds:
            file = path if formats is None else stem.with_name(f"{stem.name}.{kind}")
            figure.savefig(file, format=kind, metadata=_NO_DATE[kind])
            written.append(file)
    table = stem.with_name(f"{stem.name}.csv")
    write_table(data, table)
    return [*written, table]


def save_for_print(figure: Figure, stem: str | Path, data: pd.DataFrame) -> list[Path]:
    """`save_figure` in every format: PNG to look at, SVG and PDF with all fonts inside for print, CSV of the numbers.

    The folder is made. Nothing is cut off or added, so that a figure keeps the width it was made with.
    """
    stem = Path(stem)
    stem.parent.mkdir(parents=True, exist_ok=True)
    return save_figure(figure, stem, data, FORMATS)
