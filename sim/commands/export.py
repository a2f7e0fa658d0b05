"""`rampwalk export`: one walk as files that other tools read."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from sim.caution import CAUTION, EPILOG
from sim.commands.scenario_options import add_scenario_options, scenario_from
from sim.errors import RampwalkError
from sim.files import check_target, new_files, path_text


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "export",
        help="time series of one walk as CSV, netCDF or C3D",
        description=(
            "Walk once and write its time series: places of joints and feet, angles, torques, ground forces, centres "
            "of pressure. The ending of the name chooses the format: .csv (with a table of its columns beside it), "
            ".nc (netCDF with units), .c3d (points in mm, forces in N)."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    parser.add_argument("--out", metavar="FILE", nargs="+", required=True, help="files to write, .csv .nc .c3d")
    parser.add_argument("--force", action="store_true", help="replace files that exist")


def run(options: argparse.Namespace) -> int:
    """Walk, and write every file or none of one folder."""
    scenario = scenario_from(options)
    from sim.export import WRITERS

    paths = _targets(options.out, options.force)
    from sim.activities.walk import walk

    result = walk(scenario)
    if len(result.frames) < 2:
        raise RampwalkError("the walk ended before there was anything to export; try another scenario.", "--out")
    for path in paths:
        with new_files(path.parent, options.force, "--out") as scratch:
            WRITERS[path.suffix.lower()](result, scratch / path.name)
    print(f"{result.outcome}: {result.reason}")
    print(f"{len(result.frames)} frames, one every {1e3 * result.series.interval:g} ms: {', '.join(options.out)}.")
    print(f"\n{CAUTION}")
    return 0


def _targets(given: list[str], force: bool) -> list[Path]:
    """Paths that may all be written, each once. Raises RampwalkError."""
    from sim.export import check_format, files_of

    paths, taken = [], set()
    for name in given:
        path = check_target(name, "--out", force)
        check_format(path, "--out")
        for file in files_of(path):
            if file in taken:
                raise RampwalkError(f"--out writes {path_text(file)} twice; give another name.", "--out", name)
            taken.add(check_target(file, "--out", force))
        paths.append(path)
    return paths
