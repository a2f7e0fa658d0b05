"""`rampwalk demo`: the default sweep, its figures, a page, and what the numbers show."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from sim.caution import CAUTION
from sim.commands.sweep import FORMATS, add_output_options, executor_of, folder_from, unwritable, workers_from
from sim.scenario import Scenario

SMALL_RANGES = {"slope_deg": "-4:-8:2", "step_length_m": "0.45:0.55:2", "knee.flexion_resistance": "30:60:2"}
SMALL_STRIDES = 4


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "demo",
        help="the default sweep with figures, a page and what the numbers show",
        description="Sweep slope, step length and flexion resistance, draw the figures, write a page.",
        epilog=CAUTION,
        allow_abbrev=False,
    )
    add_output_options(parser, "demo-out")
    parser.add_argument("--small", action="store_true", help="a few short walks only, to see that everything works")


def run(options: argparse.Namespace) -> int:
    """Sweep, draw, write `index.html`, say what the numbers show."""
    from sim.findings import findings
    from sim.grid import axes_of, grid_size, parse_range
    from sim.pages.demo import demo_page
    from sim.plots.data import RESISTANCE
    from sim.survey import closing_lines, default_axes, run_survey, save_figures, write_survey

    small = {name: parse_range(name, text) for name, text in SMALL_RANGES.items()}
    axes = axes_of(small) if options.small else default_axes()
    base = Scenario(strides=SMALL_STRIDES) if options.small else Scenario()
    workers, folder = workers_from(options.workers, grid_size(axes)), folder_from(options.out)
    try:
        with executor_of(workers) as executor:
            survey = run_survey(base, axes, executor, progress=True, workers=workers)
            write_survey(survey, folder)
            drawn = save_figures(survey, folder, FORMATS, executor)
        said = findings(survey.core, drawn["step_length"], float(str(survey.middle[RESISTANCE])))
        command = "rampwalk demo --small" if options.small else "rampwalk demo"
        page = demo_page(survey, said, folder, list(drawn), command)
        (folder / "index.html").write_text(page, encoding="utf-8")
    except OSError as err:
        raise unwritable(folder, err) from err
    except KeyboardInterrupt:
        print("rampwalk: stopped; run the same command again", file=sys.stderr)
        return 130
    print("\n".join([*closing_lines(survey), "", *said, "", CAUTION]))
    print(f"\nOpen {folder / 'index.html'}")
    return 0
