"""`rampwalk ladder`: situations of practice ordered by computed burden, as small steps up."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.outputs import deliver, outputs_from
from sim.commands.posture_options import add_options, settings_from

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from sim.ladder import Climb, Rung

SUGGESTION = (
    "A suggestion to discuss, computed for one model person: whoever trains with the person decides what comes next."
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.ladder_situations import Ladder

    parser = subparsers.add_parser(
        "ladder",
        help="a ladder of practice: situations ordered by computed burden, as small steps up",
        description=(
            "Runs bends in place and walks over slopes, steps, rail and helper, and leads from the easiest bend to "
            "free walking by the smallest steps up. About 65 runs. See docs/activities.md."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Ladder)


def run(options: argparse.Namespace) -> int:
    """Build the ladder, say why each rung is there."""
    from sim.ladder import climb
    from sim.ladder_situations import Ladder

    settings = settings_from(options, Ladder)
    outputs = outputs_from(options)
    found = climb(settings)

    def draw() -> tuple[Figure, pd.DataFrame]:
        from sim.plots.ladder import ladder_data, ladder_figure

        return ladder_figure(found), ladder_data(found)

    deliver(outputs, found, draw, "\n".join([*ladder_lines(found), "", SUGGESTION, "", CAUTION]))
    return 0


def ladder_lines(found: Climb) -> list[str]:
    """Rungs with their reasons, what could not be done, and steps beyond the bound."""
    if not found.rungs:
        lines = ["No ladder: free walking on the steepest slope with the longest steps is not reached by steps up."]
    else:
        lines = [f"{'burden':>9}{'step up':>9}   rung and why"]
        for number, rung in enumerate(found.rungs):
            lines += _rung_lines(number, rung, found)
        bound = found.settings.largest_step_up
        over = [str(found.rungs.index(rung) + 1) for rung in found.beyond_bound]
        told = f"more at rung {', '.join(over)}, with nothing tried between" if over else "no rung steps up more"
        lines += ["", f"Bound of a step up: {bound:g}; {told}."]
    undone = [f"  {each.name}: {burden.outcome}" for each, burden in found.tried if not burden.done]
    if undone:
        lines += ["", "Not completed in the model, so on no rung:", *undone]
    return lines


def _rung_lines(number: int, rung: Rung, found: Climb) -> list[str]:
    step = f"{rung.step_up:+.2f}" if number else ""
    lines = [f"{rung.total:9.2f}{step:>9}   {number + 1}. {rung.situation.name}"]
    if not number:
        return [*lines, f"{'':21}the easiest that was tried"]
    before, weights = found.rungs[number - 1].burden.parts, found.settings.weights()
    from sim.ladder_burden import PARTS

    changes = {name: weights[name] * (value - before[name]) for name, value in rung.burden.parts.items()}
    most = sorted(changes, key=lambda name: -abs(changes[name]))[:2]
    why = "; ".join(f"{PARTS[name]} {changes[name]:+.2f}" for name in most)
    tie = " (a tie with the rung below: the order flips when one weight is halved or doubled)" if rung.tie else ""
    return [*lines, f"{'':21}{why}{tie}"]
