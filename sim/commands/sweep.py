"""`rampwalk sweep`: many walks to a table, with figures."""

from __future__ import annotations

import argparse
import sys
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from sim.caution import CAUTION
from sim.commands.scenario_options import SETTING_OF, add_scenario_options, scenario_from
from sim.errors import RampwalkError
from sim.grid import RANGE_HELP, Axes, axes_of, grid_size, is_range, parse_range

FORMATS = ("png", "svg")
#: Fewer walks are done sooner here than workers start (a walk takes 0.1 s, a worker starts in 1 to 2 s).
WORTH_A_POOL = 24


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "sweep",
        help="many walks over ranges of settings: table and figures",
        description=(
            f"Walk every combination of the given ranges. A range is {RANGE_HELP}; write --slope-deg=-4:-12:5 with = "
            "because of the minus. Options with a single value hold for all walks. Without any range, the default "
            "ranges of slope, step length and flexion resistance are used where no value is given."
        ),
        epilog=CAUTION,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    parser.add_argument(
        "--over", action="append", default=[], metavar="NAME=RANGE", help="range of any setting by its name; repeatable"
    )
    add_output_options(parser, "sweep-out")


def add_output_options(parser: argparse.ArgumentParser, folder: str) -> None:
    """Add `--out` and `--workers`."""
    parser.add_argument("--out", metavar="DIR", default=folder, help=f"folder of the results; default {folder}")
    parser.add_argument("--workers", metavar="N", help="walks at a time; default: as many as processors")


def run(options: argparse.Namespace) -> int:
    """Sweep, write table and figures, say how the walks ended."""
    axes = axes_from(options)
    fixed = {name: None for name in SETTING_OF.values() if name in axes}
    base = scenario_from(argparse.Namespace(**(vars(options) | fixed)))
    workers, folder = workers_from(options.workers, grid_size(axes)), folder_from(options.out)
    from sim.survey import closing_lines, run_survey, save_figures, write_survey

    try:
        with executor_of(workers) as executor:
            survey = run_survey(base, axes, executor, progress=True, workers=workers)
            write_survey(survey, folder)
            drawn = save_figures(survey, folder, FORMATS, executor)
    except OSError as err:
        raise unwritable(folder, err) from err
    except KeyboardInterrupt:
        print("rampwalk: stopped; run the same command again for the whole table", file=sys.stderr)
        return 130
    print("\n".join(closing_lines(survey)))
    print(f"{folder / 'table.csv'}, about.json and {len(drawn)} figures ({', '.join(drawn)}).")
    return 0


def axes_from(options: argparse.Namespace) -> Axes:
    """Axes of the options that are ranges, and of `--over`; the default ones if there are none.

    Raises
    ------
    RampwalkError
        If a range is not one, or a value is not allowed.
    """
    ranges: dict[str, tuple[object, ...]] = {}
    for option, name in SETTING_OF.items():
        text = getattr(options, name)
        if text and is_range(text):
            ranges[name] = parse_range(option, text)
    over = {}
    for text in options.over:
        name, equals, values = text.partition("=")
        if not equals:
            raise RampwalkError(f"--over = {text!r} is not NAME=RANGE; write for example knee.load_on_n=80:200:4.")
        over[name.strip()] = parse_range(name.strip(), values)
    checked = axes_of(over)
    for name in checked:
        if getattr(options, name, None):
            raise RampwalkError(f"{name} is given both as an option and in --over; give it once.", name)
    if not ranges and not checked:
        from sim.survey import DEFAULT_RANGES

        free = {name: text for name, text in DEFAULT_RANGES.items() if not getattr(options, name)}
        ranges = {name: parse_range(name, text) for name, text in free.items()}
    return axes_of(ranges | checked)


def workers_from(given: str | None, walks: int) -> int:
    """Number of workers, at most one per walk. Raises RampwalkError."""
    from sim.pool import usable_cpus

    if given is None:
        return usable_cpus() if walks >= WORTH_A_POOL else 1
    if not given.isdecimal() or not 1 <= int(given) <= 1000:
        raise RampwalkError(f"--workers = {given!r} is not a whole number of 1 to 1000; give one.", "--workers", given)
    return min(int(given), walks)


def folder_from(given: str) -> Path:
    """Folder of the results, made if it does not exist. Raises RampwalkError."""
    folder = Path(given)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as err:
        raise unwritable(folder, err) from err
    return folder


def unwritable(folder: Path, err: OSError) -> RampwalkError:
    """Error (not raised) for a folder that cannot be written."""
    why = err.strerror or str(err)
    return RampwalkError(f"--out = {str(folder)!r}: {why}; give a folder that can be written.", "--out", str(folder))


def executor_of(workers: int) -> Any:
    """Context of a pool of processes; of None for one worker, which is this process."""
    from sim.pool import worker_pool

    return nullcontext() if workers == 1 else worker_pool(workers)
