"""`rampwalk window`: where flexion resistance is neither too low nor too high, a first trial value, what moves them."""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.band_option import BandWish, add_band_option, band_from
from sim.commands.design_options import (
    add_fresh_option,
    add_output_options,
    executor_of,
    folder_from,
    unwritable,
    workers_from,
)
from sim.commands.scenario_options import add_scenario_options, number_or_text, scenario_from
from sim.errors import RampwalkError, shown
from sim.grid import parse_range, value_text
from sim.scenario import Scenario, replace_by_name
from sim.settings import described, full_name, names_of, replaced
from sim.window_criteria import Criteria

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sim.grid import Cell
    from sim.window_found import Window

#: About as many walks as one run makes; only chooses between one process and several.
_ABOUT = 150


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "window",
        help="lower limit, upper limit and first trial value of the flexion resistance",
        description=(
            "Scans flexion resistance, finds where each criterion of too low and too high changes, and names a first "
            "trial value. Criteria: " + ", ".join(names_of(Criteria)) + "; see docs/window.md."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    parser.add_argument(
        "--criterion", action="append", default=[], metavar="NAME=VALUE", help="another limit; repeatable"
    )
    parser.add_argument(
        "--over",
        action="append",
        default=[],
        metavar="NAME=RANGE",
        help="a window for each value of a setting, instead of the usual four changes; repeatable",
    )
    add_band_option(parser)
    parser.add_argument("--alone", action="store_true", help="only the window of the scenario itself")
    add_output_options(parser, "window-out")
    add_fresh_option(parser)


def run(options: argparse.Namespace) -> int:
    """Find windows, write table and figure, say what was found."""
    base, criteria = scenario_from(options), criteria_from(options.criterion)
    changes = changes_from(base, options.over, options.alone)
    band = None if options.band is None else band_from(options, base)
    workers, folder = workers_from(options.workers, _ABOUT), folder_from(options.out)
    start = time.perf_counter()
    try:
        lines = windows_in(folder, base, criteria, changes, workers, options.fresh, band=band)
    except OSError as err:
        raise unwritable(folder, err) from err
    except KeyboardInterrupt:
        print(f"rampwalk: stopped; walks are saved in {folder}, run the same command again to go on", file=sys.stderr)
        return 130
    print("\n".join(lines))
    print(f"\n{time.perf_counter() - start:.0f} s. {folder}: window.csv, walks.csv, helps.csv, window.png, about.json")
    if band is not None:
        print(f"Band: {band.path}")
    print(f"\n{CAUTION}")
    return 0


def criteria_from(given: Sequence[str]) -> Criteria:
    """Criteria of `NAME=VALUE` texts. Raises RampwalkError."""
    changes: dict[str, object] = {}
    words = {setting.name for setting in described(Criteria) if setting.choices}
    for entry in given:
        name, equals, text = (part.strip() for part in entry.partition("="))
        if not equals:
            message = f"--criterion = {shown(entry)} is not NAME=VALUE; write for example sound_peak_share=0.15."
            raise RampwalkError(message, "--criterion", entry)
        full = full_name(Criteria, name)
        if full in changes:
            raise RampwalkError(f"--criterion gives {full} twice; give it once.", full)
        changes[full] = text if full in words else number_or_text(text)
    return replaced(Criteria(), changes)


def changes_from(base: Scenario, over: Sequence[str], alone: bool) -> list[tuple[str, Cell]]:
    """What is different in each window, the scenario itself first. Raises RampwalkError."""
    own: list[tuple[str, Cell]] = [("as given", {})]
    if alone and over:
        raise RampwalkError("--alone and --over contradict each other; give one.", "--alone")
    found = cells_over(base, over)
    if any("knee.flexion_resistance" in cell for _, cell in found):
        raise RampwalkError("--over = knee.flexion_resistance is what the window is over; vary another.", "--over")
    return [*own, *found] if alone or over else [*own, *usual_changes(base)]


def cells_over(base: Scenario, over: Sequence[str]) -> list[tuple[str, Cell]]:
    """Each value of each `NAME=RANGE` by itself, with a name. Raises RampwalkError."""
    found: list[tuple[str, Cell]] = []
    for entry in over:
        given, equals, text = entry.partition("=")
        if not equals:
            message = f"--over = {shown(entry)} is not NAME=RANGE; write for example slope_deg=-4,-6,-8."
            raise RampwalkError(message, "--over", entry)
        name = full_name(Scenario, given.strip())
        for value in parse_range(name, text):
            replace_by_name(base, {name: value})
            found.append((f"{name} {value_text(value)}", {name: value}))
    return found


def usual_changes(base: Scenario) -> list[tuple[str, Cell]]:
    """Steeper, shorter, heavier, slower: one each, where the scenario allows it."""
    from sim.window_help import SLOWER_SHARE, cadenced, paced

    own = {
        name: getattr(base, name) - 0.05
        for name in ("step_length_m", "sound_step_length_m", "prosthetic_step_length_m")
        if getattr(base, name) is not None
    }
    tried: list[tuple[str, Cell]] = [
        ("slope 2 deg steeper", {"slope_deg": base.slope_deg + (2.0 if base.slope_deg > 0.0 else -2.0)}),
        ("steps 5 cm shorter", {**own, **cadenced(base)}),
        ("10 kg heavier", {"person.mass_kg": base.person.mass_kg + 10.0}),
        ("10 % slower", paced(base, 1.0 - SLOWER_SHARE)),
    ]
    found = []
    for what, cell in tried:
        try:
            replace_by_name(base, cell)
        except RampwalkError:
            continue
        found.append((what, cell))
    return found


def windows_in(
    folder: Path,
    base: Scenario,
    criteria: Criteria,
    changes: Sequence[tuple[str, Cell]],
    workers: int,
    fresh: bool = False,
    progress: bool = False,
    band: BandWish | None = None,
) -> list[str]:
    """Find the windows with all walks kept in a folder, write tables and figure there, return what to print."""
    import pandas as pd

    from sim.plots import save_figure
    from sim.plots.window import window_figure
    from sim.store import open_store
    from sim.sweep import fill
    from sim.window import RESISTANCE
    from sim.window_band import find_band
    from sim.window_band_words import band_lines
    from sim.window_help import help_lines
    from sim.window_study import STUDY_COLUMNS, plain_cells, study
    from sim.window_words import table_row, window_lines

    with open_store(folder, base, fresh) as store, executor_of(workers) as executor:

        def walk(cells: Sequence[Cell]) -> list[dict[str, Any]]:
            keys = fill(store, base, plain_cells(base, cells), executor, progress)
            single_keys = list(dict.fromkeys(keys))  # two windows may share a walk, the store gives it once
            rows = store.some_columns(single_keys, STUDY_COLUMNS).to_dict("records")
            by_key: dict[str, Any] = dict(zip(single_keys, rows, strict=True))
            return [by_key[key] for key in keys]

        found = study(base, changes, walk, criteria)
        made = None if band is None else find_band(base, found.window.first_trial, walk, band.members, criteria)
    windows = found.windows
    table = pd.DataFrame([table_row(window, what) for what, window in windows])
    save_figure(window_figure(windows), folder / "window", table, ("png", "svg"))
    table.to_csv(folder / "window.csv", index=False, lineterminator="\n")
    found.helps.to_csv(folder / "helps.csv", index=False, lineterminator="\n")
    walks = [
        {"what": what, RESISTANCE: at, **window.rows[at], **{f"excess_{k}": v for k, v in window.excess[at].items()}}
        for what, window in windows
        for at in sorted(window.rows)
    ]
    pd.DataFrame(walks).to_csv(folder / "walks.csv", index=False, lineterminator="\n")
    _write_about(folder, base, criteria, changes, found.window, found.seconds)
    lines = window_lines(found.window)
    if len(windows) > 1:
        lines += ["", "How the window moves (lower, upper, first trial value [N m s/rad]):"]
        lines += [_move_line(what, window) for what, window in windows]
    if band is not None and made is not None:
        from sim.band_file import write_band

        write_band(band.path, made, base, criteria)
        lines += ["", *band_lines(made)]
    return [*lines, "", *help_lines(found.helps, found.present)]


def _move_line(what: str, window: Window) -> str:
    piece = window.main
    if piece is None or window.first_trial is None:
        at, names = window.nearest()
        why = f"fewest criteria broken at {at:.3g}: {', '.join(names)}" if names else "no walk was completed"
        return f"  {what}: no window ({why})"
    parts = f"; in {len(window.pieces)} parts, the widest shown" if len(window.pieces) > 1 else ""
    closed = f"{' '.join(piece.closed_low) or 'end of scan'} | {' '.join(piece.closed_high) or 'end of scan'}"
    return f"  {what}: {piece.low:.3g}, {piece.high:.3g}, {window.first_trial:.3g} (closed by {closed}{parts})"


def _write_about(
    folder: Path,
    base: Scenario,
    criteria: Criteria,
    changes: Sequence[tuple[str, Cell]],
    window: Window,
    seconds: float,
) -> None:
    from sim.scenario import to_dict
    from sim.settings import as_dict
    from sim.table import code_version

    about = {
        "caution": CAUTION,
        "base": to_dict(base),
        "criteria": as_dict(criteria),
        "criteria_sources": {setting.name: setting.source for setting in described(Criteria)},
        "windows": dict(changes),
        "limits": [
            {"criterion": each.criterion, "kept": each.kept, "broken": each.broken, "limit": each.value}
            for each in window.limits
        ],
        "best": {name: value if value == value else None for name, value in window.best.items()},  # noqa: PLR0124
        "seconds": round(seconds, 2),
        "code_version": code_version(),
    }
    text = json.dumps(about, indent=2, allow_nan=False)
    (folder / "about.json").write_text(text + "\n", encoding="utf-8")
