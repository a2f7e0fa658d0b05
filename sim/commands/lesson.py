"""`rampwalk lesson`: one page for a class, on which two walkers walk side by side."""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from typing import Any

from sim.caution import CAUTION, EPILOG
from sim.commands.design_options import executor_of, workers_from
from sim.commands.outputs import page_target
from sim.files import path_text, write_file

NAME = "lesson.html"


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "lesson",
        help="one page for a class: two walkers side by side, guess first, then watch",
        description=(
            "Compute a grid of walks and write one HTML page that needs no network: two walkers side by side, forces, "
            "knee angles, three ready lessons. Notes for teachers: docs/lessons/."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    parser.add_argument("--out", metavar="FILE.html", default=NAME, help=f"page to write; default {NAME}")
    parser.add_argument("--texts", metavar="FILE.json", help="a translation of sim/pages/lesson/texts.json")
    parser.add_argument(
        "--workers", metavar="N", help="walks at a time; default: RAMPWALK_WORKERS, or as many as processors"
    )
    parser.add_argument("--small", action="store_true", help="few short walks only, to see that everything works")
    parser.add_argument("--force", action="store_true", help="replace a page that exists")


def run(options: argparse.Namespace) -> int:
    """Walk the grid, write the page, say what is in it."""
    from sim.grid import grid_size
    from sim.lesson.page import lesson_page
    from sim.lesson.plan import lesson_axes
    from sim.lesson.texts import default_texts, read_texts
    from sim.progress import progress_bar

    target = page_target(options.out, options.force)
    texts = default_texts() if options.texts is None else read_texts(options.texts)
    workers = workers_from(options.workers, grid_size(lesson_axes(options.small)))
    start = time.perf_counter()
    try:
        with executor_of(workers) as executor, progress_bar() as progress:
            page, rows = lesson_page(options.small, executor, progress, texts)
    except KeyboardInterrupt:
        print("rampwalk: stopped, nothing was written; run the same command again", file=sys.stderr)
        return 130
    write_file(target, page, options.force)
    counts = Counter(row["outcome"] for row in rows)
    told = ", ".join(f"{count} {outcome}" for outcome, count in counts.most_common())
    megabytes = len(page.encode("utf-8")) / 1e6
    print(f"{len(rows)} walks: {told} ({time.perf_counter() - start:.1f} s, {workers} at a time).")
    print(f"{path_text(target)}: {megabytes:.2f} MB, opens from disk. Notes for teachers: docs/lessons/.\n\n{CAUTION}")
    return 0
