"""Where the result of one run goes: short table or JSON, and a figure with its table; the same for every command."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from sim.errors import RampwalkError
from sim.files import check_target, new_files, path_text, write_file

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

FIGURE_KINDS = (".png", ".svg", ".pdf")


class Outputs(NamedTuple):
    """Checked targets of a run."""

    figure: Path | None
    json: Path | None  # none for standard output too
    as_json: bool
    force: bool


def add_output_options(parser: argparse.ArgumentParser, picture: str) -> None:
    """Add `--json`, `--figure` (`picture` says what it shows) and `--force`."""
    parser.add_argument("--json", metavar="FILE|-", help="write the result as one JSON object; - is standard output")
    parser.add_argument("--figure", metavar="FILE.png", help=f"{picture}, with a CSV of them")
    parser.add_argument("--force", action="store_true", help="replace files that exist")


def outputs_from(options: argparse.Namespace) -> Outputs:
    """Targets of the options, before anything is computed.

    Raises
    ------
    RampwalkError
        If a target cannot be written, exists without `--force`, or two are the same file.
    """
    figure = _figure_path(options.figure, options.force)
    target = None if options.json in {None, "-"} else check_target(options.json, "--json", options.force)
    if figure and target and target in {figure, figure.with_suffix(".csv")}:
        raise RampwalkError(f"--json and --figure both write {path_text(target)}; give two names.", "--json", target)
    return Outputs(figure, target, options.json is not None, options.force)


def _figure_path(given: str | None, force: bool) -> Path | None:
    """Path of the figure; its table, of the same name, must be free too. Raises RampwalkError."""
    if given is None:
        return None
    path = check_target(given, "--figure", force)
    if path.suffix.lower() not in FIGURE_KINDS:
        allowed = ", ".join(FIGURE_KINDS)
        raise RampwalkError(f"--figure = {given!r} must end in one of {allowed}; change its ending.", "--figure", given)
    check_target(path.with_suffix(".csv"), "--figure", force)
    return path


def page_target(given: str, force: bool) -> Path:
    """Path of a page of `--out`. Raises RampwalkError."""
    path = check_target(given, "--out", force)
    if path.suffix.lower() not in {".html", ".htm"}:
        raise RampwalkError(f"--out = {path_text(path)} must end in .html; change its ending.", "--out", given)
    return path


def deliver(outputs: Outputs, result: Any, draw: Callable[[], tuple[Figure, pd.DataFrame]], summary: str) -> None:
    """Write figure and JSON, or print the summary; `draw` makes the figure and the table behind it, when asked for."""
    if outputs.figure:
        from sim.plots import save_figure

        with new_files(outputs.figure.parent, outputs.force, "--figure") as scratch:
            figure, data = draw()
            save_figure(figure, scratch / outputs.figure.name, data)
    if not outputs.as_json:
        print(summary)
        return
    text = json.dumps(result.to_json_dict(), indent=2, allow_nan=False)
    if outputs.json:
        write_file(outputs.json, text + "\n", outputs.force, "--json")
    else:
        print(text)
