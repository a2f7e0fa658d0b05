"""The option `--band`: how many virtual people and guesses, and where their windows are kept."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import NamedTuple

from sim.commands.design_options import folder_from
from sim.commands.scenario_options import number_or_text
from sim.errors import RampwalkError, check_range
from sim.scenario import Scenario, from_toml, replace_by_name


def add_band_option(parser: argparse.ArgumentParser) -> None:
    """Add `--band`."""
    parser.add_argument(
        "--band",
        metavar="N",
        help="also windows of N virtual people and of N guesses of the model, kept beside the scenario file; minutes",
    )


class BandWish(NamedTuple):
    """How many members of each group, and where the band is kept."""

    members: int
    path: Path


def band_from(options: argparse.Namespace, base: Scenario) -> BandWish:
    """Wish for a band. Raises RampwalkError before anything is walked."""
    from sim.band_file import ENDING, band_path
    from sim.files import check_target
    from sim.window_band import GROUPS, LEAST, MOST, members_of

    count = check_range("--band", number_or_text(options.band), LEAST, MOST, "", "fewer say nothing, more take hours")
    if not count.is_integer():
        raise RampwalkError(f"--band = {options.band} is not a whole number; give {LEAST} to {MOST}.", "--band")
    for group in GROUPS:
        members_of(base, group, int(count))
    path = folder_from(options.out) / f"window{ENDING}"
    if options.scenario is not None and _same_but_resistance(base, from_toml(options.scenario)):
        path = check_target(band_path(options.scenario), "--band", force=True)
    return BandWish(int(count), path)


def _same_but_resistance(a: Scenario, b: Scenario) -> bool:
    held = {"knee.flexion_resistance": a.knee.flexion_resistance}
    return a == replace_by_name(b, held)
