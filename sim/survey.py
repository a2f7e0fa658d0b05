"""A sweep with everything that belongs beside its table: figures, the walks behind them, what was run and how."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from sim.caution import CAUTION
from sim.design import Design, design_of
from sim.errors import is_number
from sim.grid import Axes, Cell, axes_of, cells_of, parse_range
from sim.plots.data import (
    PACES,
    RESISTANCE,
    SLOPE,
    STEP,
    SWEEP_COLUMNS,
    nearest_value,
    slice_of,
    sweep_data,
    travel_data,
    walk_data,
)
from sim.pool import usable_cpus, worker_pool
from sim.progress import Progress
from sim.scenario import Scenario, replace_by_name, to_dict
from sim.store import open_store
from sim.sweep import Executor, fill, keys_of, sweep
from sim.table import (
    code_version,
    column_of,
    outcome_counts,
    read_table,
    row_key,
    setting_values,
    stage_counts,
    write_table,
)

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from sim.result import WalkResult

DEFAULT_RANGES = {SLOPE: "-4:-12:5", STEP: "0.35:0.65:7", RESISTANCE: "20:300:8:log"}
"""The default sweep, as ranges."""
LARGEST_HELD = 2_000
"""Rows of which all columns are held in memory (ours: 25 MB); of more, only `FIGURE_COLUMNS` and the axes."""
FIGURE_COLUMNS = frozenset({"key", "stage", *SWEEP_COLUMNS})
MOST_TRAVEL_LINES = 5
"""Most step lengths in the figure of the mass centre."""
_PACE_SETTINGS = ("speed_m_s", "cadence_steps_per_min", "walk_ratio_m_min")


def default_axes() -> Axes:
    """Five slopes, seven step lengths, eight resistances."""
    return axes_of({name: parse_range(name, text) for name, text in DEFAULT_RANGES.items()})


@dataclass(frozen=True, eq=False)
class Survey:
    """A finished sweep.

    Attributes
    ----------
    base : Scenario
    axes : dict of str to tuple
        Full setting name -> values.
    table : DataFrame
        One row per walk, see `sim.sweep.sweep`.
        Of a large sweep that is kept on disk only the columns that figures and counts need.
    seconds : float
        What it took; 0 if the table was read.
    workers : int
    design : Design, optional
        None: the full grid over the axes.
    found : int
        Rows that were there from before.
    kept : Path, optional
        Folder that already holds the whole table.
    """

    base: Scenario
    axes: Axes
    table: pd.DataFrame
    seconds: float
    workers: int
    design: Design | None = None
    found: int = 0
    kept: Path | None = None

    @cached_property
    def cells(self) -> Sequence[Cell]:
        """Cells of the rows."""
        return self.design.cells if self.design else cells_of(self.axes)

    @cached_property
    def middle(self) -> Cell:
        """The cell next to the base scenario: what a figure holds fixed."""
        given = setting_values(self.base)
        return {name: _nearest(values, given[name]) for name, values in self.axes.items()}

    @cached_property
    def core(self) -> pd.DataFrame:
        """The rows over slope, step length and resistance; any other axis at its middle value."""
        others = {name: value for name, value in self.middle.items() if name not in (SLOPE, STEP, RESISTANCE)}
        return slice_of(self.table, {column_of(name): value for name, value in others.items()})

    def cut(self, *free: str) -> pd.DataFrame:
        """Rows of `core` that vary only in the named axes."""
        fixed = {name: value for name, value in self.middle.items() if name not in free}
        return slice_of(self.core, {column_of(name): value for name, value in fixed.items()})


def _nearest(values: tuple[object, ...], wanted: object) -> object:
    if wanted in values:
        return wanted
    numbers = [value for value in values if is_number(value)]
    if is_number(wanted) and numbers:
        return nearest_value(numbers, float(wanted))  # type: ignore[arg-type]  # a real number
    return values[len(values) // 2]


def run_survey(
    base: Scenario,
    over: Mapping[str, Iterable[object]] | Design,
    executor: Executor | None = None,
    progress: Progress | bool | None = None,
    workers: int = 1,
    folder: Path | None = None,
    fresh: bool = False,
) -> Survey:
    """Sweep, timed; parameters as of `sim.sweep.sweep`. `workers` is only written down."""
    design = design_of(over)
    axes = design.axes if design.kind == "grid" else {}
    start = time.perf_counter()
    if folder is None:
        table = sweep(base, design, executor, progress)
        return Survey(base, axes, table, time.perf_counter() - start, workers, design)
    with open_store(folder, base, fresh) as store:
        found = sum(key in store for key in keys_of(base, design.cells))
        keys = fill(store, base, design.cells, executor, progress)
        store.write_table(keys, folder / "table.csv")
    seconds = time.perf_counter() - start
    needed = None if len(keys) <= LARGEST_HELD else {column_of(name) for name in axes} | FIGURE_COLUMNS
    table = read_table(folder / "table.csv", needed)
    return Survey(base, axes, table, seconds, workers, design, found, folder)


def stored_survey(path: Path, base: Scenario, axes: Axes) -> Survey | None:
    """Survey from a table on disk, if it holds exactly these walks as this code would compute them."""
    if not path.is_file():
        return None
    table = read_table(path)
    wanted = [row_key(replace_by_name(base, cell)) for cell in cells_of(axes)]
    return Survey(base, axes, table, 0.0, 0) if table["key"].tolist() == wanted else None


# -------------------------------------------------------------------------------- the walks behind the figures
def pace_data(survey: Survey, executor: Executor | None = None) -> pd.DataFrame:
    """Walks over slope and step length at fixed cadence and at fixed speed, both those of the middle of the sweep.

    Returns
    -------
    DataFrame
        Columns of `sim.plots.data.sweep_data` and `pace`, one of `PACES`.
    """
    import pandas as pd

    axes = {name: survey.axes[name] for name in (SLOPE, STEP) if name in survey.axes}
    middle = replace_by_name(survey.base, survey.middle)
    fixed = {PACES[0]: {"cadence_steps_per_min": 60.0 / middle.step_time}, PACES[1]: {"speed_m_s": middle.speed}}
    free = all(getattr(survey.base, name) is None and name not in survey.axes for name in _PACE_SETTINGS)
    parts = []
    for pace, setting in fixed.items():
        if free and pace == PACES[0]:  # the rule for the speed is a fixed cadence, so these walks are in the table
            rows = survey.cut(*axes)
        else:
            rows = sweep(replace_by_name(middle, dict.fromkeys(_PACE_SETTINGS) | setting), axes, executor)
        parts.append(sweep_data(rows.assign(pace=pace), "pace"))
    return pd.concat(parts, ignore_index=True)


def walks_of(survey: Survey, rows: pd.DataFrame) -> list[WalkResult]:
    """Results with time series of some rows of the table; rows without a result are left out."""
    from sim.activities.walk import walk

    kept = rows.index[rows["outcome"] != "crashed"]
    return [walk(replace_by_name(survey.base, survey.cells[index])) for index in kept]


def _travel_rows(survey: Survey) -> pd.DataFrame:
    """Completed walks of the middle slope and resistance, evenly spread over the step lengths."""
    rows = survey.cut(STEP)
    rows = rows[rows["outcome"] == "walked"]
    count = min(MOST_TRAVEL_LINES, len(rows))
    return rows.iloc[[round(i * (len(rows) - 1) / max(1, count - 1)) for i in range(count)]]


# -------------------------------------------------------------------------------- figures
Drawn = tuple["Figure", "pd.DataFrame"]


def _draw_map(survey: Survey, executor: Executor | None) -> Drawn:
    del executor  # all walks are in the table
    from sim.plots import outcome_map_figure

    data = sweep_data(survey.core)
    return outcome_map_figure(data), data


def _draw_resistance(survey: Survey, executor: Executor | None) -> Drawn:
    del executor  # as above
    from sim.plots import resistance_figure

    data = sweep_data(survey.cut(SLOPE, RESISTANCE))
    return resistance_figure(data), data


def _draw_step_length(survey: Survey, executor: Executor | None) -> Drawn:
    from sim.plots import step_length_figure

    data = pace_data(survey, executor)
    return step_length_figure(data), data


def _draw_mass_centre(survey: Survey, executor: Executor | None) -> Drawn:
    del executor  # time series stay in this process
    from sim.plots import mass_centre_figure

    data = travel_data(walks_of(survey, _travel_rows(survey)))
    return mass_centre_figure(data, f"Mass centre over one stride, {_middle_text(survey, SLOPE, RESISTANCE)}"), data


def _draw_walk(survey: Survey, executor: Executor | None) -> Drawn | None:
    del executor  # one walk
    from sim.plots import walk_figure

    results = walks_of(survey, survey.cut())
    return (walk_figure(results[0]), walk_data(results[0])) if results else None


def _middle_text(survey: Survey, *names: str) -> str:
    from sim.plots.style import number_label

    values = setting_values(replace_by_name(survey.base, survey.middle))
    words = {SLOPE: "slope {} deg", STEP: "steps of {} m", RESISTANCE: "flexion resistance {} N m s/rad"}
    return ", ".join(words[name].format(number_label(values[name])) for name in names)


class Plan(NamedTuple):
    """A figure of a survey: the axes that it needs, how it is drawn, what it shows."""

    needs: tuple[str, ...]
    draw: Callable[[Survey, Executor | None], Drawn | None]
    caption: str


FIGURES = {
    "walk": Plan((), _draw_walk, "One walk: poses of its last stride with ground forces, force curves, knee angles."),
    "mass_centre": Plan((STEP,), _draw_mass_centre, "Travel of the mass centre over one stride, per step length."),
    "step_length": Plan(
        (STEP,), _draw_step_length, "Sound-leg peak force against step length, at fixed cadence and at fixed speed."
    ),
    "resistance": Plan(
        (RESISTANCE,), _draw_resistance, "Sound-leg peak force and knee flexion rate against flexion resistance."
    ),
    "outcome_map": Plan(
        (STEP, RESISTANCE), _draw_map, "Outcome and sound-leg peak force over step length and flexion resistance."
    ),
}
"""File name -> figure."""


def figures_for(axes: Axes) -> list[str]:
    """Names of the figures that a sweep over these axes can have."""
    return [name for name, plan in FIGURES.items() if all(len(axes.get(need, ())) > 1 for need in plan.needs)]


def figures_of(survey: Survey) -> list[str]:
    """Names of the figures that a survey can have: those over a grid."""
    return figures_for(survey.axes) if survey.design is None or survey.design.kind == "grid" else []


def save_figures(
    survey: Survey, folder: Path, formats: tuple[str, ...], executor: Executor | None = None
) -> dict[str, pd.DataFrame]:
    """Draw all figures that the survey can have, each with its CSV; returns name -> numbers behind it."""
    from sim.plots import save_figure

    drawn = {}
    for name in figures_of(survey):
        result = FIGURES[name].draw(survey, executor)
        if result is not None:
            save_figure(result[0], folder / name, result[1], formats)
            drawn[name] = result[1]
    return drawn


def save_default_figure(name: str, folder: Path) -> None:
    """One figure of the default sweep as PNG, SVG, PDF and CSV; the sweep's table is kept in the folder and used again
    as long as nothing that its numbers follow from has changed.
    """
    from sim.plots import save_figure

    folder.mkdir(parents=True, exist_ok=True)
    base, axes, path = Scenario(), default_axes(), folder / "table.csv"
    workers = usable_cpus()
    with worker_pool(workers) as pool:
        survey = stored_survey(path, base, axes) or run_survey(base, axes, pool, True, workers)
        write_table(survey.table, path)
        drawn = FIGURES[name].draw(survey, pool)
    if drawn is not None:
        save_figure(drawn[0], folder / name, drawn[1], ("png", "svg", "pdf"))


# -------------------------------------------------------------------------------- what was run
def about(survey: Survey) -> dict[str, Any]:
    """Everything needed to repeat the sweep, and how it went, as plain values."""
    from sim.result import software_of

    numerics = survey.base.numerics
    return {
        "caution": CAUTION,
        "base": to_dict(survey.base),
        "axes": {name: list(values) for name, values in survey.axes.items()},
        "design": survey.design.kind if survey.design else "grid",
        **(survey.design.details if survey.design else {}),
        "walks": len(survey.table),
        "walks_found": survey.found,
        "outcomes": outcome_counts(survey.table),
        "seconds": round(survey.seconds, 3),
        "walks_per_second": round((len(survey.table) - survey.found) / survey.seconds, 3) if survey.seconds else None,
        "workers": survey.workers,
        "date": datetime.now(UTC).isoformat(timespec="seconds"),
        "software": software_of(numerics.time_step_s, numerics.iterations, numerics.loop),
        "code_version": code_version(),
    }


def write_survey(survey: Survey, folder: Path) -> None:
    """`table.csv` and `about.json`."""
    if survey.kept != folder:
        write_table(survey.table, folder / "table.csv")
    text = json.dumps(about(survey), indent=2, allow_nan=False)
    (folder / "about.json").write_text(text + "\n", encoding="utf-8")


def closing_lines(survey: Survey) -> list[str]:
    """How many walks ended in which way, what needs a look, and how fast it went."""
    counts = outcome_counts(survey.table)
    shown = {name: count for name, count in counts.items() if count or name != "invalid"}
    steady = int(((survey.table["outcome"] == "walked") & (survey.table["steady"] == 1.0)).sum())
    walked = len(survey.table) - survey.found
    per_second = walked / survey.seconds if survey.seconds else float("nan")
    told = ", ".join(f"{count} {name}" for name, count in shown.items())
    lines = [f"{len(survey.table)} walks: {told} (of those that walked, {steady} steady)."]
    stages = stage_counts(survey.table)
    if stages:
        which = ", ".join(f"{count} {stage}" for stage, count in stages.items())
        lines.append(f"{sum(stages.values())} rows need a look ({which}): columns stage and message say why.")
    if survey.found:
        lines.append(f"{survey.found} of the walks were there from before.")
    if walked:
        lines.append(f"{per_second:.1f} walks per second ({survey.seconds:.1f} s, {survey.workers} at a time).")
    return lines
