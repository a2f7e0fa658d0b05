"""The figures of a sweep, each with the numbers behind it, and the walks that they need beside the table."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from sim.cell import walk_cell
from sim.grid import Axes
from sim.plots.data import PACES, RESISTANCE, SLOPE, STEP, sweep_data, travel_data, walk_data
from sim.pool import usable_cpus, worker_pool
from sim.scenario import Scenario, replace_by_name
from sim.survey import Survey, default_axes, run_survey, stored_survey
from sim.sweep import Executor, sweep
from sim.table import setting_values, write_table

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from sim.result import WalkResult

MOST_TRAVEL_LINES = 5
"""Most step lengths in the figure of the mass centre."""
_PACE_SETTINGS = ("speed_m_s", "cadence_steps_per_min", "walk_ratio_m_min")


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
    kept = rows.index[rows["outcome"] != "crashed"]
    return [walk_cell(survey.base, survey.cells[index]) for index in kept]


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
