"""`rampwalk sweep`: many walks to a table, with figures."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.design_options import (
    add_design_options,
    add_fresh_option,
    add_output_options,
    axes_from,
    base_from,
    design_from,
    executor_of,
    folder_from,
    unwritable,
    workers_from,
)
from sim.commands.scenario_options import add_scenario_options
from sim.grid import RANGE_HELP, STARTS
from sim.outward import checked_start
from sim.series_file import KEEP_HELP, check_choice_of_rows
from sim.spreads import SPREAD_HELP

if TYPE_CHECKING:
    from sim.survey import Survey

__all__ = [
    "FORMATS",
    "add_output_options",
    "add_parser",
    "axes_from",
    "executor_of",
    "folder_from",
    "run",
    "unwritable",
    "workers_from",
]
FORMATS = ("png", "svg")
#: Exit status of a sweep in which some row has no result or was stopped, and of one that was interrupted.
NEEDS_A_LOOK, INTERRUPTED = 1, 130


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "sweep",
        help="many walks over ranges of settings: table and figures",
        description=(
            f"Walk every combination of the given ranges. A range is {RANGE_HELP}; write --slope-deg=-4:-12:5 with = "
            "because of the minus. Options with a single value hold for all walks. Without any range, the default "
            "ranges of slope, step length and flexion resistance are used where no value is given. With --design "
            f"latin-hypercube or sobol, a range is {SPREAD_HELP}. Rows are kept as they come: the same command again "
            "goes on where it was stopped. Exit status 1: some rows need a look, see their columns stage and message."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    add_design_options(parser)
    add_output_options(parser, "sweep-out")
    add_fresh_option(parser)
    parser.add_argument(
        "--start",
        metavar="|".join(STARTS),
        default=STARTS[0],
        help="where walks begin: all from the standing pose (default), or those of a grid that do not get through from "
        "there again from the last landing of a neighbour that does",
    )
    parser.add_argument(
        "--keep-series", metavar="WHICH", help=f"time series of some walks as series.nc with units: {KEEP_HELP}"
    )


def run(options: argparse.Namespace) -> int:
    """Sweep, write table and figures, say how the walks ended."""
    design = design_from(options)
    checked_start(options.start, design)
    base = base_from(options, design.axes)
    if options.keep_series is not None:
        check_choice_of_rows(options.keep_series)
    workers, folder = workers_from(options.workers, len(design.cells)), folder_from(options.out)
    from sim.survey import closing_lines, run_survey, write_survey
    from sim.survey_figures import save_figures
    from sim.sweep import Stopped

    try:
        with executor_of(workers) as executor:
            survey = run_survey(base, design, executor, True, workers, folder, options.fresh, options.start)
            write_survey(survey, folder)
            kept = _keep_series(options.keep_series, survey, folder, executor)
            drawn = save_figures(survey, folder, FORMATS, executor)
    except OSError as err:
        raise unwritable(folder, err) from err
    except Stopped as stopped:
        told = f"stopped with {stopped.done} of {stopped.total} walks saved in {folder}"
        print(f"rampwalk: {told}; run the same command again to go on", file=sys.stderr)
        return INTERRUPTED
    except KeyboardInterrupt:
        print(f"rampwalk: stopped; finished walks are in {folder}, the same command again goes on", file=sys.stderr)
        return INTERRUPTED
    lines = closing_lines(survey)
    print("\n".join(lines))
    print(f"{folder / 'table.csv'}, about.json{kept} and {len(drawn)} figures ({', '.join(drawn)}).\n\n{CAUTION}")
    return NEEDS_A_LOOK if (survey.table["stage"] != "").any() else 0


def _keep_series(given: str | None, survey: Survey, folder: Path, executor: Any) -> str:
    """Write the series that were asked for; returns how they are told of."""
    if given is None:
        return ""
    from sim.series_file import chosen_rows, write_series

    rows = chosen_rows(given, survey.table)
    outcomes = survey.table["outcome"].iloc[rows].tolist()
    write_series(folder / "series.nc", survey.base, {row: survey.cells[row] for row in rows}, outcomes, executor)
    return f", series.nc ({len(rows)} walks)"
