"""A sweep with what belongs beside its table: what was run and how, how it ended. Figures: `sim.survey_figures`."""

from __future__ import annotations

import json
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION
from sim.design import Design, design_of
from sim.errors import is_number
from sim.grid import STARTS, Axes, Cell, axes_of, cells_of, parse_range
from sim.plots.data import (
    RESISTANCE,
    SLOPE,
    STEP,
    SWEEP_COLUMNS,
    nearest_value,
    slice_of,
)
from sim.progress import Progress
from sim.scenario import Scenario, replace_by_name, to_dict
from sim.store import open_store
from sim.sweep import Executor, filled_cells, keys_of, sweep
from sim.table import (
    code_version,
    column_of,
    outcome_counts,
    row_key,
    setting_values,
    stage_counts,
    write_table,
)
from sim.table_reader import read_table

if TYPE_CHECKING:
    import pandas as pd


DEFAULT_RANGES = {SLOPE: "-4:-12:5", STEP: "0.35:0.65:7", RESISTANCE: "20:300:8:log"}
"""The default sweep, as ranges."""
LARGEST_HELD = 2_000
"""Rows of which all columns are held in memory (ours: 25 MB); of more, only `FIGURE_COLUMNS` and the axes."""
FIGURE_COLUMNS = frozenset({"start", "stage", *SWEEP_COLUMNS})


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
    start : str
        One of `sim.grid.STARTS`.
    """

    base: Scenario
    axes: Axes
    table: pd.DataFrame
    seconds: float
    workers: int
    design: Design | None = None
    found: int = 0
    kept: Path | None = None
    start: str = STARTS[0]

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
    start: str = STARTS[0],
) -> Survey:
    """Sweep, timed; parameters as of `sim.sweep.sweep`. `workers` is only written down."""
    design = design_of(over)
    axes = design.axes if design.kind == "grid" else {}
    began = time.perf_counter()
    if folder is None:
        table = sweep(base, design, executor, progress)
        return Survey(base, axes, table, time.perf_counter() - began, workers, design)
    with open_store(folder, base, fresh) as store:
        found = sum(key in store for key in keys_of(base, design.cells))
        design = replace(design, cells=filled_cells(store, base, design, executor, progress, start))
        keys = keys_of(base, design.cells)
        store.write_table(keys, folder / "table.csv")
    seconds = time.perf_counter() - began
    needed = None if len(keys) <= LARGEST_HELD else {column_of(name) for name in axes} | FIGURE_COLUMNS
    table = read_table(folder / "table.csv", needed, most_bytes=None)
    return Survey(base, axes, table, seconds, workers, design, found, folder, start)


def stored_survey(path: Path, base: Scenario, axes: Axes) -> Survey | None:
    """Survey from a table on disk, if it holds exactly these walks as this code would compute them."""
    if not path.is_file():
        return None
    table = read_table(path)
    wanted = [row_key(replace_by_name(base, cell)) for cell in cells_of(axes)]
    return Survey(base, axes, table, 0.0, 0) if table["key"].tolist() == wanted else None


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
        "start": survey.start,
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
    if survey.start == STARTS[1]:
        from_neighbour = survey.table["start"] == STARTS[1]
        through = int((from_neighbour & (survey.table["outcome"] == "walked")).sum())
        told = f"{int(from_neighbour.sum())} walks that did not get through from the standing pose were tried from a "
        lines.append(f"{told}neighbour's last landing; {through} of them walked (column start).")
    stages = stage_counts(survey.table)
    if stages:
        which = ", ".join(f"{count} {stage}" for stage, count in stages.items())
        lines.append(f"{sum(stages.values())} rows need a look ({which}): columns stage and message say why.")
    if survey.found:
        lines.append(f"{survey.found} of the walks were there from before.")
    if walked:
        lines.append(f"{per_second:.1f} walks per second ({survey.seconds:.1f} s, {survey.workers} at a time).")
    return lines
