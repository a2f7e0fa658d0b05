"""`rampwalk uneven`: what uneven steps and an uneven rhythm cost."""

from __future__ import annotations

import argparse
from typing import Any

from sim.caution import CAUTION, EPILOG
from sim.commands.design_options import executor_of, workers_from
from sim.commands.scenario_options import add_scenario_options, scenario_from
from sim.files import check_target, write_file


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "uneven",
        help="what uneven steps and an uneven rhythm cost, beside even ones",
        description=(
            "Walks with the same mean step and pace, shared unevenly between the feet, beside even steps. Give your "
            "own share with the options of step length and step time of each foot."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    parser.add_argument("--csv", metavar="FILE.csv", help="write the table, with all it compares")
    parser.add_argument("--force", action="store_true", help="replace a file that exists")
    parser.add_argument("--workers", metavar="N", help="walks at a time; default 1")


def run(options: argparse.Namespace) -> int:
    """Walk, compare, say what was found."""
    from sim.unevenness import UNEVEN_COLUMNS, compare, shares, uneven_lines
    from sim.window_study import walk_in_memory

    base = scenario_from(options)
    target = None if options.csv is None else check_target(options.csv, "--csv", options.force)
    with executor_of(workers_from(options.workers, len(shares(base)))) as executor:
        table = compare(base, walk_in_memory(base, executor, UNEVEN_COLUMNS))
    print("\n".join([*uneven_lines(table), "", CAUTION]))
    if target is not None:
        write_file(target, table.to_csv(index=False, lineterminator="\n"), options.force, "--csv")
    return 0
