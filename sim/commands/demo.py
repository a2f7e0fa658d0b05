"""`rampwalk demo`: the default sweep, its figures, a page, the lesson, and what the numbers show."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from sim.caution import CAUTION, EPILOG
from sim.commands.lesson import NAME as LESSON
from sim.commands.sweep import FORMATS, add_output_options, executor_of, workers_from
from sim.files import check_target, locked, make_folder, new_files
from sim.scenario import Scenario

SMALL_RANGES = {"slope_deg": "-4:-8:2", "step_length_m": "0.45:0.55:2", "knee.flexion_resistance": "30:60:2"}
SMALL_STRIDES = 4


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "demo",
        help="the default sweep with figures, a page and what the numbers show",
        description="Sweep slope, step length and flexion resistance, draw the figures, write a page and the lesson.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_output_options(parser, "demo-out")
    parser.add_argument("--small", action="store_true", help="a few short walks only, to see that everything works")
    parser.add_argument("--force", action="store_true", help="replace results that are in the folder")


def run(options: argparse.Namespace) -> int:
    """Sweep, draw, write `index.html` and the lesson, say what the numbers show."""
    from sim.findings import findings
    from sim.grid import axes_of, grid_size, parse_range
    from sim.lesson.page import lesson_page
    from sim.pages.demo import demo_page
    from sim.plots.data import RESISTANCE
    from sim.progress import progress_bar
    from sim.survey import closing_lines, default_axes, run_survey, write_survey
    from sim.survey_figures import save_figures

    small = {name: parse_range(name, text) for name, text in SMALL_RANGES.items()}
    axes = axes_of(small) if options.small else default_axes()
    base = Scenario(strides=SMALL_STRIDES) if options.small else Scenario()
    workers, folder = workers_from(options.workers, grid_size(axes)), make_folder(options.out)
    for name in outputs():
        check_target(folder / name, "--out", options.force)
    try:
        with locked(folder), new_files(folder, options.force) as scratch:
            with executor_of(workers) as executor:
                survey = run_survey(base, axes, executor, progress=True, workers=workers)
                write_survey(survey, scratch)
                drawn = save_figures(survey, scratch, FORMATS, executor)
                with progress_bar("walks of the lesson") as progress:
                    lesson, _ = lesson_page(options.small, executor, progress)
            said = findings(survey.core, drawn["step_length"], float(str(survey.middle[RESISTANCE])))
            command = "rampwalk demo --small" if options.small else "rampwalk demo"
            page = demo_page(survey, said, scratch, list(drawn), command)
            (scratch / "index.html").write_text(page, encoding="utf-8")
            (scratch / LESSON).write_text(lesson, encoding="utf-8")
    except KeyboardInterrupt:
        print("rampwalk: stopped, nothing was written; run the same command again", file=sys.stderr)
        return 130
    print("\n".join([*closing_lines(survey), "", *said, "", CAUTION]))
    print(f"\nOpen {folder / 'index.html'}\nFor a class: {folder / LESSON}, with notes for teachers in docs/lessons/")
    return 0


def outputs() -> list[str]:
    """Names of all files that the demonstration can write."""
    from sim.survey_figures import FIGURES

    figures = [f"{name}.{kind}" for name in FIGURES for kind in (*FORMATS, "csv")]
    return ["index.html", LESSON, "table.csv", "about.json", *figures]
