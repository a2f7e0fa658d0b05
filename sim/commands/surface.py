"""`rampwalk surface`: an outcome over two settings as contours, with the edge between walking and falling."""

from __future__ import annotations

import argparse
import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION, EPILOG
from sim.commands.design_options import (
    add_fresh_option,
    add_output_options,
    add_over_option,
    axes_from,
    base_from,
    executor_of,
    folder_from,
    unwritable,
    workers_from,
)
from sim.commands.scenario_options import add_scenario_options
from sim.errors import RampwalkError, shown, unknown_name
from sim.grid import RANGE_HELP, Axes, cells_of, grid_size
from sim.scenario import Scenario
from sim.settings import full_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from sim.boundary import Crossing
    from sim.grid import Cell

VALUE, WIDTH = "sound_peak_force_bw", "5"


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    parser = subparsers.add_parser(
        "surface",
        help="an outcome over two settings as contours, with the edge between walking and falling",
        description=(
            f"Contours over two ranges, or over two for each value of a third. A range is {RANGE_HELP}. Between "
            "neighbours of which one walk was completed and the other was not, the edge is found by bisection."
        ),
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_scenario_options(parser)
    add_over_option(parser)
    parser.add_argument("--across", metavar="NAME", help="setting of the level axis; default: the last range but one")
    parser.add_argument("--up", metavar="NAME", help="setting of the upright axis; default: the last range")
    parser.add_argument("--value", metavar="COLUMN", default=VALUE, help=f"column that is drawn; default {VALUE}")
    parser.add_argument(
        "--width", metavar="PERCENT", default=WIDTH, help=f"how exactly the edge is found, of the axis; default {WIDTH}"
    )
    add_output_options(parser, "surface-out")
    add_fresh_option(parser)


def run(options: argparse.Namespace) -> int:
    """Walk the grid, find the edge, draw."""
    axes = axes_from(options)
    x, y = axis_names(axes, options.across, options.up)
    value, width = _value_from(options.value), _width_from(options.width)
    base = base_from(options, axes)
    workers, folder = workers_from(options.workers, grid_size(axes)), folder_from(options.out)
    try:
        data, edge = walked_surface(folder, base, axes, (x, y), value, width, workers, options.fresh)
        draw(folder, axes, (x, y), value, data, edge)
    except OSError as err:
        raise unwritable(folder, err) from err
    except KeyboardInterrupt:
        print(f"rampwalk: stopped; walks are saved in {folder}, run the same command again to go on", file=sys.stderr)
        return 130
    completed = int((data["outcome"] == "walked").sum())
    count = grid_size(axes)
    print(f"{count} walks on the grid, {len(data) - count} to find the edge; {completed} completed.")
    widest = max((crossing.width for crossing in edge), default=0.0)
    found = f"{len(edge)} points, each within {100 * widest:.2g} % of its axis" if edge else "none inside the ranges"
    print(f"Edge between completed walks and others: {found}.")
    print(f"{folder}: surface.png, surface.csv, edge.csv.\n\n{CAUTION}")
    return 0


def axis_names(axes: Axes, across: str | None, up: str | None) -> tuple[str, str]:
    """Settings of the two drawn axes; the third, if there is one, makes panels. Raises RampwalkError."""
    from sim.boundary import scale_of

    names = list(axes)
    if len(names) not in {2, 3}:
        raise RampwalkError(f"a surface needs two ranges, or three for panels, not {len(names)}; give as many.")
    asked = [full_name(Scenario, given) if given else None for given in (across, up)]
    for option, name in zip(("--across", "--up"), asked, strict=True):
        if name is not None and name not in names:
            raise RampwalkError(f"{option} = {name} has no range; choose of {', '.join(names)}.", option, name)
    if asked[0] and asked[0] == asked[1]:
        raise RampwalkError(f"--across and --up are both {asked[0]}; choose two.", "--up", up)
    free = [name for name in names if name not in asked]
    y = asked[1] or free.pop()
    x = asked[0] or free.pop()
    for name in (x, y):
        scale_of(name, axes[name])
    return x, y


def _value_from(given: str) -> str:
    from sim.table import columns, number_columns

    if given not in columns():
        raise unknown_name(given, columns(), "column")
    if given not in number_columns():
        raise RampwalkError(f"--value = {given} holds words, not numbers; choose a measured value.", "--value", given)
    return given


def _width_from(given: str) -> float:
    try:
        percent = float(given)
    except ValueError:
        percent = math.nan
    if not 0.01 <= percent <= 100.0:
        message = f"--width = {shown(given)} is not 0.01 to 100 percent of an axis; give 5, for example."
        raise RampwalkError(message, "--width", given)
    return percent / 100.0


def walked_surface(
    folder: Path,
    base: Scenario,
    axes: Axes,
    drawn: tuple[str, str],
    value: str,
    width: float,
    workers: int = 1,
    fresh: bool = False,
    progress: bool = True,
) -> tuple[pd.DataFrame, list[Crossing]]:
    """Walks of the grid and of the bisection, and the edge.

    Returns
    -------
    DataFrame
        Columns of all axes, `outcome`, value, `made_for` ("grid" or "edge").
    list of Crossing
    """
    import pandas as pd

    from sim.boundary import crossings_of, refined, scale_of
    from sim.store import open_store
    from sim.sweep import fill

    parts: list[pd.DataFrame] = []
    with open_store(folder, base, fresh) as store, executor_of(workers) as executor:

        def walk(cells: Sequence[Cell]) -> pd.DataFrame:
            keys = fill(store, base, cells, executor, progress)
            rows = store.some_columns(keys, ["outcome", value])
            places: dict[str, Any] = {name: [cell[name] for cell in cells] for name in axes}
            parts.append(rows.assign(**places, made_for="edge" if parts else "grid"))
            return rows

        cells = cells_of(axes)
        ended = walk(cells)["outcome"]
        walked = {tuple(cell.values()): outcome == "walked" for cell, outcome in zip(cells, ended, strict=True)}
        scales = {name: scale_of(name, axes[name]) for name in drawn}
        edge = refined(crossings_of(axes, drawn, walked), scales, width, walk)
    data = pd.concat(parts, ignore_index=True)
    return data[[*axes, *(name for name in data.columns if name not in axes)]], edge


def draw(
    folder: Path, axes: Axes, drawn: tuple[str, str], value: str, data: pd.DataFrame, edge: Sequence[Crossing]
) -> None:
    """Write surface.png, surface.svg, surface.csv and edge.csv."""
    from sim.boundary import edge_segments, edge_table, scale_of
    from sim.plots import save_figure
    from sim.plots.labels import axis_label
    from sim.plots.surface import panel_title, surface_figure
    from sim.table import with_unit

    x, y = drawn
    others = [name for name in axes if name not in drawn]
    panels = []
    for cell in cells_of({name: axes[name] for name in others}):
        here = [crossing for crossing in edge if all(crossing.fixed[name] == cell[name] for name in others)]
        rows = data
        for name in others:
            rows = rows[rows[name] == cell[name]]
        panels.append((panel_title(cell), rows, edge_segments(here, axes, x, y)))
    labels = (axis_label(x), axis_label(y), axis_label(value))
    scales = ((x, scale_of(x, axes[x])), (y, scale_of(y, axes[y])))
    save_figure(surface_figure(panels, *scales, value, labels), folder / "surface", data, ("png", "svg"))
    edge_table(edge).rename(columns=with_unit).to_csv(folder / "edge.csv", index=False, lineterminator="\n")
