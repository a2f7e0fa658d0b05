"""Options that say which walks a command makes, where, and how many at a time; shared by commands of many walks."""

from __future__ import annotations

import argparse
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from sim.commands.scenario_options import SETTING_OF, scenario_from
from sim.design import DESIGNS, Design, grid_design, latin_hypercube_design, paired_design, sobol_design
from sim.errors import RampwalkError, check_choice, shown
from sim.grid import Axes, axes_of, is_range, parse_range
from sim.scenario import Scenario
from sim.settings import full_name
from sim.spreads import parse_spread

#: Fewer walks are done sooner here than workers start (a walk takes 0.1 s, a worker starts in 1 to 2 s).
WORTH_A_POOL = 24
DEFAULT_SAMPLES = "128"


def add_over_option(parser: argparse.ArgumentParser) -> None:
    """Add `--over`."""
    parser.add_argument(
        "--over", action="append", default=[], metavar="NAME=RANGE", help="range of any setting by its name; repeatable"
    )


def add_design_options(parser: argparse.ArgumentParser) -> None:
    """Add `--over`, `--design`, `--samples`, `--seed`."""
    add_over_option(parser)
    parser.add_argument(
        "--design",
        metavar="|".join(DESIGNS),
        default=DESIGNS[0],
        help="every combination (default), lists in step, or points spread over ranges or distributions",
    )
    parser.add_argument("--samples", metavar="N", help=f"walks of a sampled design; default {DEFAULT_SAMPLES}")
    parser.add_argument("--seed", metavar="N", help="start of the random numbers of a sampled design; default 0")


def add_output_options(parser: argparse.ArgumentParser, folder: str) -> None:
    """Add `--out` and `--workers`."""
    parser.add_argument("--out", metavar="DIR", default=folder, help=f"folder of the results; default {folder}")
    parser.add_argument(
        "--workers", metavar="N", help="walks at a time; default: RAMPWALK_WORKERS, or as many as processors"
    )


def add_fresh_option(parser: argparse.ArgumentParser) -> None:
    """Add `--fresh`."""
    parser.add_argument("--fresh", action="store_true", help="delete rows that are in the folder and start over")


def base_from(options: argparse.Namespace, varied: Any) -> Scenario:
    """Scenario of the options, without those whose setting varies. Raises RampwalkError."""
    fixed = {name: None for name in SETTING_OF.values() if name in varied}
    return scenario_from(argparse.Namespace(**(vars(options) | fixed)))


def design_from(options: argparse.Namespace) -> Design:
    """Design of the options.

    Raises
    ------
    RampwalkError
        If a range is not one, a value is not allowed, or an option does not belong to the design.
    """
    kind = check_choice("--design", options.design or DESIGNS[0], DESIGNS)
    sampled = kind in {"latin-hypercube", "sobol"}
    for option in ("samples", "seed"):
        if getattr(options, option) is not None and not sampled:
            message = f"--{option} belongs to the designs latin-hypercube and sobol, not to {kind}; leave it out."
            raise RampwalkError(message, f"--{option}")
    if kind == "grid":
        return grid_design(axes_from(options))
    texts = range_texts(options)
    if not texts:
        raise RampwalkError(f"the design {kind} has nothing to vary; give a range, as --slope-deg=-4:-12.", "--design")
    if kind == "paired":
        return paired_design({name: parse_range(shown_as, text) for name, (shown_as, text) in texts.items()})
    spreads = {name: parse_spread(shown_as, text) for name, (shown_as, text) in texts.items()}
    count = whole_number("--samples", options.samples or DEFAULT_SAMPLES)
    seed = whole_number("--seed", options.seed or "0")
    make = latin_hypercube_design if kind == "latin-hypercube" else sobol_design
    return make(spreads, count, seed)


def whole_number(option: str, text: str) -> int:
    """Whole number of a text. Raises RampwalkError."""
    if not (text.isascii() and text.isdecimal() and len(text) < 10):
        raise RampwalkError(f"{option} = {shown(text)} is not a whole number of 0 or more; give one.", option, text)
    return int(text)


def range_texts(options: argparse.Namespace) -> dict[str, tuple[str, str]]:
    """Full name -> name as the user wrote it, and text, of all that varies. Raises RampwalkError."""
    found = {}
    for option, name in SETTING_OF.items():
        text = getattr(options, name)
        if text and is_range(text):
            found[name] = (option, text)
    over: set[str] = set()
    for entry in options.over:
        given, equals, text = entry.partition("=")
        if not equals:
            message = f"--over = {shown(entry)} is not NAME=RANGE; write for example knee.load_on_n=80:200:4."
            raise RampwalkError(message, "--over", entry)
        name = full_name(Scenario, given.strip())
        if name in over:
            raise RampwalkError(f"{name} is given as an axis twice; give it once.", name)
        if name in SETTING_OF.values() and getattr(options, name):
            raise RampwalkError(f"{name} is given both as an option and in --over; give it once.", name)
        over.add(name)
        found[name] = (given.strip(), text)
    return found


def axes_from(options: argparse.Namespace) -> Axes:
    """Axes of the options that are ranges, and of `--over`; the default ones if there are none.

    Raises
    ------
    RampwalkError
        If a range is not one, or a value is not allowed.
    """
    ranges = {name: parse_range(shown_as, text) for name, (shown_as, text) in range_texts(options).items()}
    if not ranges:
        from sim.survey import DEFAULT_RANGES

        free = {name: text for name, text in DEFAULT_RANGES.items() if not getattr(options, name)}
        ranges = {name: parse_range(name, text) for name, text in free.items()}
    return axes_of(ranges)


def workers_from(given: str | None, walks: int) -> int:
    """Number of workers, at most one per walk. Raises RampwalkError."""
    from sim.pool import checked_workers, usable_cpus, workers_in_environment

    if given is not None:
        return min(checked_workers("--workers", given), walks)
    asked = workers_in_environment()
    if asked is not None:
        return min(asked, walks)
    return usable_cpus() if walks >= WORTH_A_POOL else 1


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
