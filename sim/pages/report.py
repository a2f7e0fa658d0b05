"""The report as one HTML page with everything inside; every text is escaped."""

from __future__ import annotations

import base64
import io
from html import escape
from pathlib import Path
from string import Template
from typing import TYPE_CHECKING

from sim.caution import CAUTION, SAFETY_PAGE
from sim.descent import PEAK_LEVEL_BW, WAY_M, descent_of
from sim.pages.dial import dial_svg
from sim.pages.report_words import (
    COLUMNS,
    LIMITS,
    band_words,
    change_cells,
    dial_words,
    end_rows,
    helps_head,
    nothing_to_compare,
    settings_text,
    short_words,
    split_words,
    strip_words,
    title_of,
    who_words,
)
from sim.report import Report
from sim.window_band_words import shares_over

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sim.result import WalkResult

_TEMPLATE = Path(__file__).with_name("report.html")
_DESCENT = {
    "knee_taken_kj": ("taken by the prosthetic knee [kJ]", 1),
    "knee_mean_power_w": ("mean power of that [W]", 0),
    "sound_leg_taken_kj": ("taken by the sound leg [kJ]", 1),
    "sound_peaks_above": (f"sound-leg peaks above {PEAK_LEVEL_BW:g} body weights", 0),
    "steps": ("steps", 0),
}


def report_page(report: Report, commands: Sequence[str], band_command: str) -> str:
    """Page as HTML text; `commands` make it again, `band_command` makes a band."""
    window, band = report.window, report.band
    curves = []
    if band is not None:
        members = band.groups["people"]
        name = f"share of {len(members)} virtual people, each the same per kg"
        curves.append((name, shares_over(members, band.mass)))
        guesses = band.groups["model"]
        curves.append((f"share of {len(guesses)} draws of the model's guesses", shares_over(guesses)))
    software = report.walks[0][1].software
    versions = ", ".join(f"{name} {value}" for name, value in software.items() if name != "gains_sha256")
    made = f"Computed in {report.seconds:.0f} s with {versions}, gains {str(software['gains_sha256'])[:12]}."
    return Template(_TEMPLATE.read_text(encoding="utf-8")).substitute(
        title=escape(title_of(report.scenario)),
        caution=escape(CAUTION),
        safety_page=escape(SAFETY_PAGE),
        who=_paragraphs(who_words(report.scenario)),
        short=_short(report),
        dial=f'<figure class="dial">{dial_svg(window, dial_words(window), curves)}</figure>',
        ends=_table("The window and its ends", COLUMNS, end_rows(report), words=2) if window.main is not None else "",
        splits=_paragraphs(split_words(window)),
        band=_paragraphs(band_words(report, band_command)),
        strips="\n".join(_strip(what, result) for what, result in report.walks),
        way=f"{WAY_M:g}",
        descent=_descent(report),
        helps=_helps(report),
        limits="\n".join(f"<li>{escape(line)}</li>" for line in LIMITS),
        command=escape("\n".join(commands)),
        settings=_settings(report),
        versions=escape(made),
    )


def _paragraphs(lines: Sequence[str]) -> str:
    return "\n".join(f"<p>{escape(line)}</p>" for line in lines)


def _short(report: Report) -> str:
    lines, watch = short_words(report)
    told = f'<p class="watch">{escape(watch)}</p>' if watch else ""
    return f"{_paragraphs(lines)}\n{told}"


def _table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], words: int = 0) -> str:
    """Table in a region that scrolls on a narrow screen; the last `words` columns hold text, the first one names."""
    first = len(heads) - words

    def cell(place: int, text: str) -> str:
        if place == 0:
            return f'<th scope="row">{escape(text)}</th>'
        kind = ' class="words"' if place >= first else ""
        return f"<td{kind}>{escape(text)}</td>"

    body = "\n".join(f"<tr>{''.join(cell(k, text) for k, text in enumerate(row))}</tr>" for row in rows)
    kinds = [' class="words"' if place >= first else "" for place in range(len(heads))]
    head = "".join(f'<th scope="col"{kind}>{escape(text)}</th>' for kind, text in zip(kinds, heads, strict=True))
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{escape(caption)}"><table><caption>{escape(caption)}'
        f"</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def strip_picture(result: WalkResult) -> bytes:
    """Stick figures of one walk as SVG."""
    from sim.plots.style import new_figure, styled
    from sim.plots.walks import stick_figures

    with styled():
        figure = new_figure(1.9)
        stick_figures(result, figure.add_subplot())
        raw = io.BytesIO()
        figure.savefig(raw, format="svg", metadata={"Date": None}, bbox_inches="tight", pad_inches=0.02)
    return raw.getvalue()


def _strip(what: str, result: WalkResult) -> str:
    heading, caption = strip_words(what, result)
    picture = base64.b64encode(strip_picture(result)).decode("ascii")
    alt = f"Stick figures of a walk at {heading}. {caption}"
    return (
        f'<figure><figcaption><strong>{escape(heading)}</strong> {escape(caption)}</figcaption>'
        f'<img alt="{escape(alt)}" src="data:image/svg+xml;base64,{picture}"></figure>'
    )


def _descent(report: Report) -> str:
    rows = []
    for what, result in report.walks:
        name = f"{what}, {result.scenario.knee.flexion_resistance:.3g} N m s/rad"
        found = descent_of(result)
        if found["outcome"] != "walked" or report.scenario.slope_deg >= 0.0:
            rows.append([name, *["-"] * len(_DESCENT)])
            continue
        rows.append([name, *(f"{found[key]:.{digits}f}" for key, (_, digits) in _DESCENT.items())])
    table = _table("Sums along the slope", ["resistance", *(title for title, _ in _DESCENT.values())], rows)
    said = "Reckoned from the measured strides of each computed walk. Nobody walked so far: nothing tires or warms."
    return f"{table}\n{_paragraphs([said])}"


def _helps(report: Report) -> str:
    if report.start_row["outcome"] != "walked":
        return _paragraphs([nothing_to_compare(report)])
    rows = [change_cells(row, report.start_row) for row in report.helps.to_dict("records")]
    heads = ["one thing changed", "sound-leg peak [BW]", "knee rate [deg/s]", "effort [J/m]", "margin [cm]", "in words"]
    return f"{_paragraphs(helps_head(report))}\n{_table('Most helpful first', heads, rows, words=1)}"


def _settings(report: Report) -> str:
    text = settings_text(report.scenario)
    if not text:
        return _paragraphs(["All settings have their defaults."])
    return f"<p>Settings that differ from the defaults:</p>\n<pre>{escape(text)}</pre>"
