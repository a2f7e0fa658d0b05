"""`rampwalk report`: one page on the window of a scenario, for screen and print."""

from __future__ import annotations

import argparse
import shlex
import sys
from pathlib import Path
from typing import Any

from sim.caution import CAUTION, EPILOG
from sim.commands.design_options import executor_of, workers_from
from sim.commands.outputs import page_target
from sim.commands.scenario_options import SETTING_OF, add_scenario_options, scenario_from
from sim.errors import RampwalkError
from sim.files import path_text, write_file

#: About as many walks as a report makes; only chooses between one process and several.
_ABOUT = 120
#: Members of each group that the page advises (ours: enough to see whether most or few can use a value).
USUAL_BAND = 20


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "report",
        help="one page on the window of a scenario, for screen and print",
        description=(
            "Writes one HTML page: person and ramp in words, window with first trial value, the one thing to watch, "
            "stick figures at three resistances, what else changes the load, limits, how to repeat. A band that "
            "rampwalk window --band has kept beside the scenario file is shown. To have a PDF, print the page."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    parser.add_argument("--out", metavar="FILE.html", default="report.html", help="the page; default report.html")
    parser.add_argument("--force", action="store_true", help="replace a page that exists")
    parser.add_argument(
        "--workers", metavar="N", help="walks at a time; default: RAMPWALK_WORKERS, or as many as processors"
    )


def run(options: argparse.Namespace) -> int:
    """Compute, write the page, say the short of it."""
    from sim.band_file import band_path, read_band
    from sim.pages.report import report_page
    from sim.pages.report_words import short_words
    from sim.report import make_report
    from sim.window_criteria import Criteria
    from sim.window_study import walk_in_memory

    if options.scenario is None:
        raise RampwalkError("--scenario is missing; give the file of the person and the ramp.", "--scenario")
    base, criteria = scenario_from(options), Criteria()
    target = page_target(options.out, options.force)
    band, missing = read_band(band_path(options.scenario), base, criteria)
    workers = workers_from(options.workers, _ABOUT)
    try:
        with executor_of(workers) as executor:
            report = make_report(base, criteria, walk_in_memory(base, executor), band, missing)
            page = report_page(report, commands_of(options, band is not None), band_command_of(options))
    except KeyboardInterrupt:
        print("rampwalk: stopped, nothing was written; run the same command again", file=sys.stderr)
        return 130
    write_file(target, page, options.force, "--out")
    lines, watch = short_words(report)
    print("\n".join([*lines, watch, "", CAUTION]))
    print(f"\n{report.seconds:.0f} s. Open {path_text(target)}")
    return 0


def commands_of(options: argparse.Namespace, with_band: bool) -> list[str]:
    """What makes the page again: without folders, which another machine does not have."""
    again = shlex.join(["rampwalk", "report", *_scenario_words(options), "--out", "report.html"])
    return [band_command_of(options), again] if with_band else [again]


def band_command_of(options: argparse.Namespace) -> str:
    """What makes a band for the scenario."""
    return shlex.join(["rampwalk", "window", *_scenario_words(options), "--band", str(USUAL_BAND)])


def _scenario_words(options: argparse.Namespace) -> list[str]:
    given = {option: getattr(options, name) for option, name in SETTING_OF.items()}
    changed = [f"{option}={value}" for option, value in given.items() if value is not None]
    return ["--scenario", Path(options.scenario).name, *changed]
