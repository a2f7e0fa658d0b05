"""The page of the demonstration: one HTML file with everything inside."""

from __future__ import annotations

import base64
from html import escape
from pathlib import Path
from string import Template

import pandas as pd

from sim.caution import CAUTION, SAFETY_PAGE
from sim.plots.data import SLOPE
from sim.survey import Survey, about, closing_lines
from sim.survey_figures import FIGURES

_TEMPLATE = Path(__file__).with_name("demo.html")
_COLUMNS = {
    "sound_peak_force_bw": ("sound-leg peak [BW]", 2),
    "prosthetic_peak_force_bw": ("prosthetic peak [BW]", 2),
    "knee_loaded_peak_rate_deg_s": ("knee flexion rate [deg/s]", 0),
    "knee_energy_share_of_slope": ("slope energy taken by the knee", 2),
}


def demo_page(survey: Survey, said: list[str], folder: Path, drawn: list[str], command: str) -> str:
    """Page as HTML text.

    Parameters
    ----------
    survey : Survey
    said : list of str
        The findings, a sentence each.
    folder : Path
        Where the SVG files of the figures are.
    drawn : list of str
        Names of the figures.
    command : str
        What makes this page again.
    """
    software = about(survey)["software"]
    versions = ", ".join(f"{name} {value}" for name, value in software.items() if name != "gains_sha256")
    return Template(_TEMPLATE.read_text(encoding="utf-8")).substitute(
        caution=escape(CAUTION),
        safety_page=escape(SAFETY_PAGE),
        walks=escape(" ".join(closing_lines(survey))),
        findings="\n".join(f"<li>{escape(sentence)}</li>" for sentence in said),
        table_caption="Completed walks: median, and in brackets smallest to largest, over all steps and resistances",
        table=main_numbers(survey.table),
        figures="\n".join(_figure(name, folder) for name in drawn),
        command=escape(command),
        versions=escape(f"Computed with {versions}, gains {str(software['gains_sha256'])[:12]}."),
    )


def main_numbers(table: pd.DataFrame) -> str:
    """Rows of an HTML table, one per slope: how many walked, and the main measured values of those."""
    heads = "".join(f"<th>{escape(title)}</th>" for title, _ in _COLUMNS.values())
    lines = [f"<tr><th>slope [deg]</th><th>walked</th>{heads}</tr>"]
    for slope, rows in sorted(table.groupby(SLOPE), key=lambda pair: -float(str(pair[0]))):
        walked = rows[rows["outcome"] == "walked"]
        cells = "".join(f"<td>{_spread(walked[name].dropna(), digits)}</td>" for name, (_, digits) in _COLUMNS.items())
        lines.append(f"<tr><th>{slope:g}</th><td>{len(walked)} of {len(rows)}</td>{cells}</tr>")
    return "\n".join(lines)


def _spread(values: pd.Series[float], digits: int) -> str:
    if not len(values):
        return "-"
    return f"{values.median():.{digits}f} ({values.min():.{digits}f} to {values.max():.{digits}f})"


def _figure(name: str, folder: Path) -> str:
    picture = base64.b64encode((folder / f"{name}.svg").read_bytes()).decode("ascii")
    caption = escape(FIGURES[name].caption)
    link = f'<a href="{escape(name)}.csv">numbers</a>'
    image = f'<img alt="{caption}" src="data:image/svg+xml;base64,{picture}">'
    return f"<figure>{image}<figcaption>{caption} {link}</figcaption></figure>"
