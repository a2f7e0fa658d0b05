"""`rampwalk sensitivity`: which settings move which outcomes, as indices and one at a time."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.design_options import (
    add_fresh_option,
    add_output_options,
    add_over_option,
    base_from,
    executor_of,
    folder_from,
    range_texts,
    unwritable,
    whole_number,
    workers_from,
)
from sim.commands.scenario_options import add_scenario_options
from sim.spreads import SPREAD_HELP, parse_spread

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from sim.grid import Cell
    from sim.influences import Influence
    from sim.scenario import Scenario
    from sim.sensitivity import Sensitivity

DEFAULT_SAMPLES = "64"
SHOWN = "sound_peak_force_bw"


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "sensitivity",
        help="which settings move which outcomes most",
        description=(
            "Sobol' indices and one-at-a-time differences around a walk. Without any range, person, knee, foot, floor "
            f"and gait vary over the bands of the parameter tables. A range is {SPREAD_HELP}. It makes N x (settings + "
            "2) walks over the whole ranges, and as many over the part of them in which every walk is completed."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    add_over_option(parser)
    parser.add_argument("--samples", metavar="N", help=f"base points, a power of two; default {DEFAULT_SAMPLES}")
    parser.add_argument("--seed", metavar="N", help="start of the random numbers; default 0")
    add_output_options(parser, "sensitivity-out")
    add_fresh_option(parser)


def run(options: argparse.Namespace) -> int:
    """Walk, take indices, write tables and figure, say what is strongest."""
    from sim.influences import default_influences, influences_of

    texts = range_texts(options)
    spreads = {name: parse_spread(shown_as, text) for name, (shown_as, text) in texts.items()}
    influences = influences_of(spreads) if spreads else default_influences()
    base = base_from(options, texts)
    count = whole_number("--samples", options.samples or DEFAULT_SAMPLES)
    seed = whole_number("--seed", options.seed or "0")
    workers, folder = workers_from(options.workers, count * len(influences)), folder_from(options.out)
    try:
        found = study_in(folder, base, influences, count, seed, workers, options.fresh)
    except OSError as err:
        raise unwritable(folder, err) from err
    except KeyboardInterrupt:
        print(f"rampwalk: stopped; walks are saved in {folder}, run the same command again to go on", file=sys.stderr)
        return 130
    print("\n".join([*told(found), "", CAUTION, f"{folder}: indices.csv, tornado.csv, sensitivity.png, about.json"]))
    return 0


def study_in(
    folder: Path,
    base: Scenario,
    influences: dict[str, Influence],
    count: int,
    seed: int,
    workers: int,
    fresh: bool = False,
    progress: bool = True,
) -> Sensitivity:
    """`sim.sensitivity.study` with its walks kept in a folder, and its tables and figure written there.

    Raises
    ------
    RampwalkError
        As of `study` and of `sim.store.open_store`.
    """
    from sim.plots import save_figure
    from sim.plots.sensitivity import sensitivity_figure
    from sim.sensitivity import OUTCOMES, study
    from sim.store import open_store
    from sim.sweep import fill

    with open_store(folder, base, fresh) as store, executor_of(workers) as executor:

        def walk(cells: Sequence[Cell]) -> pd.DataFrame:
            keys = fill(store, base, cells, executor, progress)
            return store.some_columns(keys, ["outcome", *OUTCOMES])

        found = study(base, influences, count, seed, walk)
    found.tornado.to_csv(folder / "tornado.csv", index=False, lineterminator="\n")
    figure = sensitivity_figure(found.indices, found.tornado, SHOWN)
    save_figure(figure, folder / "sensitivity", found.indices, ("png", "svg"))
    (folder / "sensitivity.csv").replace(folder / "indices.csv")
    _write_about(folder, base, influences, found, {"samples": count, "seed": seed})
    return found


def _write_about(
    folder: Path, base: Scenario, influences: dict[str, Influence], found: Sensitivity, more: dict[str, int]
) -> None:
    from sim.scenario import to_dict
    from sim.spreads import spread_text
    from sim.table import code_version

    about = {
        "caution": CAUTION,
        "base": to_dict(base),
        "ranges": {
            name: {"spread": spread_text(each.spread), "source": each.source} for name, each in influences.items()
        },
        **more,
        "part_in_which_all_walk": found.part,
        "completed_over_whole_ranges": found.completed,
        "walks": found.walks,
        "code_version": code_version(),
    }
    text = json.dumps(about, indent=2, allow_nan=False)
    (folder / "about.json").write_text(text + "\n", encoding="utf-8")


def told(found: Sensitivity) -> list[str]:
    """What a study found, in a few lines."""
    from sim.sensitivity import NOT_COMPLETED, OUTCOMES, strongest

    lines = [f"{found.walks} walks; over the whole ranges {100 * found.completed:.0f} % were completed."]
    if found.part is None:
        lines.append("In no part of the ranges that was tried were all walks completed: no index of forces and angles.")
    elif found.part < 1.0:
        lines.append(
            f"Forces and angles: over {100 * found.part:.0f} % of every range around the base walk, in which all walks "
            "were completed."
        )
    for outcome in (NOT_COMPLETED, *OUTCOMES):
        rows = strongest(found, outcome)
        if len(rows):
            names = ", ".join(
                f"{row['setting']} {row['total']:.2f} ({row['total_low']:.2f} to {row['total_high']:.2f})"
                for row in rows.to_dict("records")
            )
            lines.append(f"{outcome}: {names}")
        elif outcome == NOT_COMPLETED:
            how = "completed" if found.completed == 1.0 else "not completed"
            lines.append(f"{outcome}: no index, every walk was {how}.")
    return [*lines, "Numbers are total indices with 95 % intervals."]
