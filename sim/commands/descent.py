"""`rampwalk descent`: sums over a long way down, settings compared."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.scenario_options import add_scenario_options, number_or_text, scenario_from
from sim.commands.window import cells_over
from sim.errors import RampwalkError, check_range, number_text
from sim.files import check_target, write_file
from sim.grid import Cell, rounded
from sim.scenario import Scenario, replace_by_name

if TYPE_CHECKING:
    from collections.abc import Sequence

RESISTANCE = "knee.flexion_resistance"
SHARES = (0.8, 1.0, 1.25)
"""Resistances compared without --over, as shares of the scenario's (ours)."""


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "descent",
        help="sums over a long way down: sound-leg work, force peaks, energy and power of the knee",
        description=(
            "Adds up what the steady strides of a computed walk do over a long way down: negative work of the sound "
            "leg, force peaks above a level, energy and mean power taken by the prosthetic knee."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    parser.add_argument("--way-m", metavar="VALUE", help="along the slope; default 100 m")
    parser.add_argument("--level-bw", metavar="VALUE", help="count sound-leg peaks above this; default 1.2 BW")
    parser.add_argument(
        "--over",
        action="append",
        default=[],
        metavar="NAME=RANGE",
        help="settings to compare, each value by itself; default: flexion resistance 20 %% less, as given, 25 %% more",
    )
    parser.add_argument("--csv", metavar="FILE.csv", help="write the table")
    parser.add_argument("--force", action="store_true", help="replace a file that exists")


def run(options: argparse.Namespace) -> int:
    """Walk each setting, add up, compare."""
    from sim import descent
    from sim.activities.walk import walk

    base = scenario_from(options)
    way = _number(options.way_m, "--way-m", descent.WAY_M, (descent.SHORTEST_WAY_M, descent.LONGEST_WAY_M), "m")
    level = _number(options.level_bw, "--level-bw", descent.PEAK_LEVEL_BW, descent.PEAK_LEVEL_RANGE_BW, "body weights")
    settings = settings_from(base, options.over)
    for what, cell in settings:
        _check_can_be_summed(what, replace_by_name(base, cell))
    target = None if options.csv is None else check_target(options.csv, "--csv", options.force)
    rows = [(what, descent.descent_of(walk(replace_by_name(base, cell)), way, level)) for what, cell in settings]
    table = descent.descent_table(rows)
    print("\n".join([*descent.descent_lines(table, way, level), "", CAUTION]))
    if target is not None:
        write_file(target, table.to_csv(index=False, lineterminator="\n"), options.force, "--csv")
    return 0


def settings_from(base: Scenario, over: Sequence[str]) -> list[tuple[str, Cell]]:
    """What is compared, a name and settings each. Raises RampwalkError."""
    if over:
        return [("as given", {}), *cells_over(base, over)]
    own = base.knee.flexion_resistance
    values = [rounded(share * own) for share in SHARES]
    return [(f"{number_text(value)} N m s/rad", {RESISTANCE: value}) for value in dict.fromkeys(values)]


def _check_can_be_summed(what: str, scenario: Scenario) -> None:
    """Raise RampwalkError unless a prosthetic knee goes downhill."""
    if not scenario.person.has_prosthesis:
        message = "person.limbs = 'both-sound' has no prosthetic knee to add up; use 'one-prosthetic'."
        raise RampwalkError(message, "person.limbs")
    if scenario.slope_deg >= 0.0:
        message = f"slope_deg = {scenario.slope_deg:g} deg ({what}) is not downhill; give a slope below 0."
        raise RampwalkError(message, "slope_deg", scenario.slope_deg)


def _number(text: str | None, option: str, default: float, ends: tuple[float, float], unit: str) -> float:
    if text is None:
        return default
    return check_range(option, number_or_text(text), *ends, unit, "give a number in that range")
