"""The command `rampwalk`: finds the command's module, runs it, turns errors into one sentence."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

from sim import __version__
from sim.caution import EPILOG
from sim.errors import RampwalkError, shown, unknown_name
from sim.files import path_text, reason_of

#: Command -> what it does, in a line. Its module is `sim.commands.<command>`, `_` for `-`; its `add_parser(subparsers)`
#: adds a parser of this name, and `run(options) -> int`. Only the module of the command asked for is imported.
COMMANDS = {
    "walk": "one walk: outcome, table, JSON, figure",
    "export": "time series of one walk as CSV, netCDF or C3D",
    "sweep": "many walks over ranges of settings: table and figures",
    "sensitivity": "which settings move which outcomes most",
    "surface": "an outcome over two settings as contours, with the edge between walking and falling",
    "window": "lower limit, upper limit and first trial value of the flexion resistance",
    "report": "one page on the window of a scenario, for screen and print",
    "uneven": "what uneven steps and an uneven rhythm cost, beside even ones",
    "descent": "sums over a long way down: sound-leg work, force peaks, energy and power of the knee",
    "stand": "standing on a slope: load share, creep, what opens a lock",
    "bend": "bending in place: knee rate and load share",
    "sit": "sitting down and standing up: load share, seat contact, knee rate",
    "step-to": "step-to descent: one foot leads, the other closes up",
    "ladder": "a ladder of practice: situations ordered by computed burden, as small steps up",
    "overlap": "one setting everywhere: which resistance each activity bears, and where they meet",
    "stop": "stop on a slope, stand, and walk on",
    "stair": "one stair down over the yielding prosthetic knee",
    "flight": "down a flight of stairs step over step",
    "ramp": "a whole way with ends: level, down, landing, down, level, or up",
    "rail": "a hand on a rail: how much it carries, and what its side changes",
    "helper": "the least support at the pelvis with which a walk succeeds",
    "posture": "trunk lean and mass centre over the foot: knee rate, loads, falls",
    "uphill": "walking up: how steep, effort, over the prosthetic foot, toe clearance",
    "lesson": "one page for a class: two walkers side by side, guess first, then watch",
    "demo": "the default sweep with figures, a page and what the numbers show",
}


class Parser(argparse.ArgumentParser):
    """Parser that raises RampwalkError instead of printing its usage and leaving."""

    def error(self, message: str) -> NoReturn:
        """Raise what is wrong as one sentence."""
        if "expected one argument" in message:
            message += "; give it a value, after = if it begins with a minus"
        raise RampwalkError(f"{message}; see {self.prog} --help.")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments; None takes those of the process.

    Returns
    -------
    int
        Exit status: 0, also for a fall; 2 for bad input and for files that cannot be written, with one sentence on
        stderr; 130 after an interrupt.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a sign that the terminal does not know is no reason to fail
            stream.reconfigure(errors="backslashreplace")
    try:
        return _run(_parsed(arguments))
    except RampwalkError as err:
        lines = (line.strip() for line in str(err).splitlines())
        print(f"rampwalk: {' '.join(lines)}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("rampwalk: stopped; nothing was written", file=sys.stderr)
        return 130
    except SystemExit as leave:  # --help and --version
        return int(leave.code or 0)
    except _OutputError as err:  # do not fail again when Python closes stdout
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if not isinstance(err.cause, BrokenPipeError):
            place = err.cause.filename or "standard output"
            print(f"rampwalk: cannot write {path_text(place)}: {reason_of(err.cause)}", file=sys.stderr)
        return 1


class _OutputError(Exception):
    """Standard output does not take more: its reader has left, or it is a file on a full disk."""

    def __init__(self, cause: OSError) -> None:
        super().__init__(str(cause))
        self.cause = cause


def _run(options: argparse.Namespace) -> int:
    try:
        status = int(options.run(options))
        sys.stdout.flush()  # here, where `main` can meet a reader that has left
    except OSError as err:  # files of results have raised RampwalkError
        raise _OutputError(err) from err
    return status


def _parsed(arguments: list[str]) -> argparse.Namespace:
    """Options of the command that is asked for. Raises RampwalkError."""
    parser = Parser(prog="rampwalk", description="Walking on slopes with one above-knee prosthesis.", epilog=EPILOG)
    parser.add_argument("--version", action="version", version=f"rampwalk {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=Parser)
    asked = next((word for word in arguments if not word.startswith("-")), None)
    for name, summary in COMMANDS.items():
        if name == asked:
            module = import_module(f"sim.commands.{name.replace('-', '_')}")
            module.add_parser(commands)
            commands.choices[name].set_defaults(run=module.run)
        else:
            commands.add_parser(name, help=summary)
    if asked is None:
        if not arguments:
            raise RampwalkError(f"give a command: {', '.join(COMMANDS)}; see rampwalk --help.")
    elif asked not in COMMANDS:
        raise unknown_name(asked, COMMANDS, "command")
    options, unknown = parser.parse_known_args(arguments)
    if unknown:
        raise _unknown_argument(unknown[0], commands.choices[asked] if asked else parser)
    return options


def _unknown_argument(word: str, parser: argparse.ArgumentParser) -> RampwalkError:
    """Error (not raised) for an argument that the parser does not know."""
    if not word.startswith("--"):
        said = f"{shown(word)} is not an option; options are written --name value, see {parser.prog} --help."
        return RampwalkError(said)
    known = [name for action in parser._actions for name in action.option_strings if name.startswith("--")]
    return unknown_name(word.partition("=")[0], known, "option")


if __name__ == "__main__":
    sys.exit(main())
