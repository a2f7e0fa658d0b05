"""`rampwalk overlap`: what each activity asks of one flexion resistance, and where they meet."""

from __future__ import annotations

import argparse
import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.outputs import deliver, outputs_from
from sim.commands.posture_options import add_options, settings_from

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from sim.overlap import Asked, SameSetting


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.overlap_criteria import Overlap

    parser = subparsers.add_parser(
        "overlap",
        help="one setting everywhere: which resistance each activity bears, and where they meet",
        description=(
            "Runs walking down, sitting down, one stair, bending and standing over a range of flexion resistance and "
            "tells in which range each keeps its criteria. About 90 runs. See docs/activities.md."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Overlap)
    parser.add_argument(
        "--criterion", action="append", default=[], metavar="NAME=VALUE",
        help="another limit of the walk, as of rampwalk window; repeatable",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Ask every activity, say where they meet."""
    from sim.commands.window import criteria_from
    from sim.overlap import same_setting
    from sim.overlap_criteria import Overlap

    settings = settings_from(options, Overlap)
    if options.criterion:
        settings = replace(settings, walk=criteria_from(options.criterion))
    outputs = outputs_from(options)
    found = same_setting(settings)

    def draw() -> tuple[Figure, pd.DataFrame]:
        from sim.plots.overlap import overlap_data, overlap_figure

        return overlap_figure(found), overlap_data(found)

    deliver(outputs, found, draw, "\n".join([*overlap_lines(found), "", CAUTION]))
    return 0


def overlap_lines(found: SameSetting) -> list[str]:
    """Window of each activity, what closes it, and where all of them meet."""
    from sim.overlap_criteria import ACTIVITIES

    person = found.settings.person
    given = found.settings
    lines = [
        f"One setting everywhere: {person.mass_kg:g} kg, {person.stature_m:g} m, {given.knee.law} law",
        f"walk at {given.slope_deg:g} deg, seat {given.seat_height_m:g} m, riser {given.riser_m:g} m",
        "",
        f"{'activity':24}{'window [N m s/rad]':>20}   closed below by | closed above by",
    ]
    for each in found.asked:
        lines += _activity_lines(ACTIVITIES[each.activity].title, each)
    lines += ["", *_meeting_lines(found)]
    told = {
        f"  {name.replace('_', ' ')}: {says}"
        for each in found.asked
        for name, (_, says) in ACTIVITIES[each.activity].criteria.items()
        if any(excess[name] > 0.0 for excess in each.excess.values())
    }
    return [*lines, "", "Criteria that are broken somewhere (limits are ours, see docs/activities.md):", *sorted(told)]


def _activity_lines(title: str, each: Asked) -> list[str]:
    if not each.windows:
        at, names = each.nearest()
        return [f"{title:24}{'none':>20}   fewest broken at {at:.3g}: {_words(names)}"]
    lines = []
    for kept in each.windows:
        span = f"{kept.low:.3g} to {kept.high:.3g}"
        below, above = (_words(names) or "end of the range" for names in (kept.closed_low, kept.closed_high))
        lines.append(f"{title:24}{span:>20}   {below} | {above}")
        title = ""
    return lines


def _words(names: tuple[str, ...]) -> str:
    return ", ".join(name.replace("_", " ") for name in names)


def _meeting_lines(found: SameSetting) -> list[str]:
    from sim.overlap import most_together
    from sim.overlap_criteria import ACTIVITIES

    if found.common:
        meet = " and ".join(f"{low:.3g} to {high:.3g}" for low, high in found.common)
        return [f"All of them meet at {meet} N m s/rad."]
    (low, high), left_out = most_together(found.asked)
    if math.isnan(low):
        return ["All of them meet nowhere, and none keeps its criteria anywhere."]
    named = ", ".join(ACTIVITIES[name].title for name in left_out)
    return [f"All of them meet nowhere. Most meet at {low:.3g} to {high:.3g} N m s/rad, without: {named}."]
