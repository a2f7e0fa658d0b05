"""Walks, texts, style and script into one HTML file that loads nothing."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from html import escape
from string import Template
from typing import Any

from sim.body import build_body
from sim.caution import CAUTION, SAFETY_PAGE
from sim.errors import RampwalkError
from sim.grid import Axes, Cell, cells_of
from sim.interrupt import stop_on_interrupt
from sim.lesson.frames import CHANNELS, SAMPLE_S
from sim.lesson.plan import lesson_axes, lesson_base, plan_dict
from sim.lesson.rows import lesson_row
from sim.lesson.texts import PAGES, Texts, default_texts
from sim.pack import pack_settings
from sim.plots.data import SLOPE
from sim.plots.person import FORCE_LENGTH, HEAD, HEAD_RADIUS, SHOULDER
from sim.progress import Progress
from sim.result import software_of
from sim.scatter import Executor, rows_as_they_come
from sim.scenario import Scenario, replace_by_name
from sim.table import Row

SCRIPTS = ("data.js", "clock.js", "words.js", "stage.js", "plots.js", "state.js", "build.js", "choose.js", "play.js")
"""In the order in which they are joined."""
#: What a row tells the page; its bytes apart.
_TOLD = ("outcome", "steps", "seconds", "start", "samples", "repeats", "numbers", "toward", "reached_slope")


def lesson_rows(
    base: Scenario, axes: Axes, executor: Executor | None = None, progress: Progress | None = None
) -> list[Row]:
    """Walk every cell of a grid, in its order.

    Parameters
    ----------
    base : Scenario
    axes : dict of str to tuple
    executor : Executor, optional
        As of `sim.sweep.sweep`.
    progress : callable, optional
        Called with (done, total).

    Raises
    ------
    KeyboardInterrupt
        If someone asked to stop.
    RampwalkError
        If no cell has a walk.
    """
    cells = cells_of(axes)
    rows: list[Row] = [{} for _ in cells]
    done = 0
    with stop_on_interrupt() as stop:
        for found in rows_as_they_come(base, cells, executor, stop, lesson_row):
            for index, row in found:
                rows[index] = row
            done += len(found)
            if progress:
                progress(done, len(cells))
        if stop.asked:
            raise KeyboardInterrupt
    if not any(row.get("packed") for row in rows):
        raise RampwalkError(f"no walk of the lesson could be computed: {rows[0].get('message') or rows[0]['outcome']}.")
    return rows


def lesson_data(base: Scenario, axes: Axes, rows: Sequence[Row]) -> dict[str, Any]:
    """Everything that the page computes with, as plain values for JSON, but the bytes of the walks.

    Each walk has its `begin` and `length` in the text of `walks_text`.
    """
    walks, begin = [], 0
    for row in rows:
        length = len(_as_text(row))
        walks.append({name: row[name] for name in _TOLD if name in row} | {"begin": begin, "length": length})
        begin += length
    numerics = base.numerics
    software = software_of(numerics.time_step_s, numerics.iterations, numerics.loop)
    return {
        "made_with": {"rampwalk": software["rampwalk"], "gains": str(software["gains_sha256"])[:12]},
        "strides": base.strides,
        "axes": {name: list(values) for name, values in axes.items()},
        "sample_s": SAMPLE_S,
        "channels": [[name, quantum] for name, quantum in CHANNELS.items()],
        "person": _person(base),
        "grounds": [_ground(base, {SLOPE: slope}) for slope in axes[SLOPE]],
        "plan": plan_dict(),
        "walks": walks,
    }


def walks_text(rows: Sequence[Row]) -> str:
    """The bytes of all walks, each as base64, one after the other."""
    return "".join(_as_text(row) for row in rows)


def _as_text(row: Row) -> str:
    return base64.b64encode(row.get("packed", b"")).decode("ascii")


def _person(base: Scenario) -> dict[str, Any]:
    """Lengths of the stick figure [m]; legs: prosthetic, sound."""
    body, stature = build_body(base.person, base.components, base.foot), base.person.stature_m
    return {
        "thigh": body.thigh_length,
        "shank": body.shank_length,
        "sole": body.sole_points.tolist(),
        "sole_height": body.sole_height,
        "leg_length": body.leg_length,
        "shoulder": SHOULDER * stature,
        "neck": (HEAD - HEAD_RADIUS) * stature,
        "head": HEAD * stature,
        "head_radius": HEAD_RADIUS * stature,
        "force_length": FORCE_LENGTH,
    }


def _ground(base: Scenario, cell: Cell) -> dict[str, list[float]]:
    """Knots of the ground of one slope, see `sim.law.ground`."""
    ground = pack_settings(replace_by_name(base, cell))[0]["ground"]
    count = int(ground["knots"])
    return {name: [float(value) for value in ground[name][:count]] for name in ("x", "height", "slope")}


def page_of(data: dict[str, Any], walks: str, texts: Texts | None = None) -> str:
    """The page as HTML text.

    Parameters
    ----------
    data : dict
        Of `lesson_data`.
    walks : str
        Of `walks_text`.
    texts : dict of str to str, optional
        Of `sim.lesson.texts`; None: English.
    """
    texts = texts or default_texts()
    style = (PAGES / "page.css").read_text(encoding="utf-8")
    parts = [(PAGES / name).read_text(encoding="utf-8") for name in SCRIPTS]
    script = "\n".join(["(function () {", "'use strict';", *parts, "}());", ""])
    style = f"\n{style}"
    words = {f"t_{name}": escape(text) for name, text in texts.items()}
    return Template((PAGES / "page.html").read_text(encoding="utf-8")).substitute(
        words,
        caution=escape(CAUTION),
        safety_page=escape(SAFETY_PAGE),
        style=style,
        style_hash=_hash(style),
        script=f"\n{script}",
        script_hash=_hash(f"\n{script}"),
        data=json_for_page(data),
        walks=walks,
        texts=json_for_page(texts),
    )


def json_for_page(value: object) -> str:
    """JSON for a `script` element: no sign in it can end the element or begin another."""
    text = json.dumps(value, separators=(",", ":"), allow_nan=False)
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _hash(text: str) -> str:
    """For the page's own rule of what may run in it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def lesson_page(
    small: bool = False,
    executor: Executor | None = None,
    progress: Progress | None = None,
    texts: Texts | None = None,
) -> tuple[str, list[Row]]:
    """Compute the walks and make the page; returns it and the rows behind it."""
    base, axes = lesson_base(small), lesson_axes(small)
    rows = lesson_rows(base, axes, executor, progress)
    return page_of(lesson_data(base, axes, rows), walks_text(rows), texts), rows
