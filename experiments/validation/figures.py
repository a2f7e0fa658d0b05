"""Pictures of docs/validation.md: published bands and events with our curves over them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from experiments.validation.people import able_of_slope, able_of_treadmill
from experiments.validation.targets import table
from experiments.validation.walks import Walks, able_of_angles, both
from sim.metrics import Record, record_of
from sim.metrics.signals import low_pass
from sim.pack import pack_settings
from sim.plots.style import BLUE, GREY, LIGHT, VERMILLION, new_figure, save_figure, styled
from sim.result import WalkResult

SHARE = np.linspace(0.0, 1.0, 101)
SLOPES, SPEEDS = (0.0, -5.0, -10.0), (1.30, 1.49, 1.69, 1.88)
JOINTS = {"hip": "hip flexion", "knee": "knee flexion", "ankle": "ankle dorsiflexion"}
STRIDE = "1.3"  # of leg lengths
OURS: dict[str, Any] = {"color": BLUE, "label": "walker, two sound legs"}


def record(result: WalkResult) -> Record | None:
    """Measured strides, None of a walk that fell."""
    if result.outcome != "walked":
        return None
    settings = pack_settings(result.scenario)[0]
    return record_of(settings, result.body, result.series, result.step_records, ended_early=False)


def resampled(values: np.ndarray, first: int, last: int) -> np.ndarray:
    return np.interp(first + SHARE * (last - first), np.arange(len(values)), values)


def stride_angles(found: Record) -> dict[str, np.ndarray]:
    """Mean angle of both legs over the stride from touch to touch, shape (101,) each [deg]."""
    series = found.series
    angles = {"hip": series.hip_flexion, "knee": series.knee_flexion, "ankle": series.dorsiflexion}
    curves: dict[str, list[np.ndarray]] = {name: [] for name in angles}
    for leg in range(2):
        for stride in found.strides[leg]:
            length = stride.last - stride.first
            for name, angle in angles.items():
                curves[name].append(resampled(np.degrees(angle[:, leg]), stride.touch, stride.touch + length))
    return {name: np.mean(rows, axis=0) for name, rows in curves.items()}


def stance_forces(found: Record) -> np.ndarray:
    """Mean low-passed vertical force of both legs over stance, shape (101,) [BW]."""
    vertical = low_pass(found.series.ground_force[:, :, 1] / found.weight, found.series.interval)
    rows = [
        resampled(vertical[:, leg], stride.contact, stride.lift - 1)
        for leg in range(2)
        for stride in found.strides[leg]
    ]
    return np.mean(rows, axis=0)


def without_walk(ax: Any, result: WalkResult) -> None:
    ax.text(0.45, 0.93, f"our walk {result.outcome}", transform=ax.transAxes, ha="center", color=VERMILLION)


def bands(ax: Any, joint: str, slope: float) -> None:
    """95 % bands at quarters of the stride; the source pools -5 and -10 degrees."""
    quantity = f"{joint}_{'dorsi' if joint == 'ankle' else ''}flexion_angle"
    for row in table("slope-values", "angle_moment_bands.csv"):
        if row["task"] == ("level" if slope == 0.0 else "decline") and row["quantity"] == quantity:
            low, high = float(row["low_deg"]), float(row["high_deg"])
            ax.bar(float(row["cycle_pct"]), high - low, width=5, bottom=low, color=LIGHT, label="95 % of 10 people")


def events(ax: Any, joint: str, slope: float) -> None:
    """Events of the published fit."""
    (row,) = (
        row
        for row in table("slope-values", "fitted_angle_events.csv")
        if float(row["slope_deg"]) == slope and row["stride_length_over_leg_length"] == STRIDE
    )
    names = {
        "knee": (("stance_peak",) * 2, ("midstance_min",) * 2, ("swing_peak",) * 2),
        "ankle": (("early_plantar",) * 2, ("max_dorsi",) * 2, ("pushoff_plantar", "pushoff")),
    }.get(joint, ())
    points = [(float(row[f"{joint}_{share}_pct"]), float(row[f"{joint}_{angle}_deg"])) for angle, share in names]
    if joint == "knee":
        points += [(0.0, float(row["knee_at_contact_deg"])), (50.0, float(row["knee_at_50pct_deg"]))]
    if points:
        ax.plot(*zip(*points, strict=True), "k^", label="events of a published fit")


def draw_angles(walks: Walks) -> tuple[Any, pd.DataFrame]:
    figure, rows = new_figure(6.4), []
    axes = figure.subplots(3, 3, sharex=True, sharey="row")
    for column, slope in enumerate(SLOPES):
        result = walks.of(able_of_angles(slope))
        found = record(result)
        curves = stride_angles(found) if found else {}
        for ax, (joint, name) in zip(axes[:, column], JOINTS.items(), strict=True):
            ax.use_sticky_edges = False
            ax.set_xlim(-4.0, 104.0)
            bands(ax, joint, slope)
            events(ax, joint, slope)
            if joint in curves:
                ax.plot(100 * SHARE, curves[joint], **OURS)
                rows += [(slope, joint, 100 * x, y) for x, y in zip(SHARE, curves[joint], strict=True)]
            else:
                without_walk(ax, result)
            if column == 0:
                ax.set_ylabel(f"{name} [deg]")
        axes[0, column].set_title("level" if slope == 0.0 else f"{slope:g} degrees".replace("-", "\N{MINUS SIGN}"))
        axes[2, column].set_xlabel("stride [%]")
    one_legend(figure, axes.flat)
    return figure, pd.DataFrame(rows, columns=["slope_deg", "joint", "stride_percent", "angle_deg"])


def one_legend(figure: Any, axes: Any) -> None:
    """Each label once, below all panels."""
    found = {label: handle for ax in axes for handle, label in zip(*ax.get_legend_handles_labels(), strict=True)}
    figure.legend(found.values(), found.keys(), loc="outside lower center", ncols=len(found))


def draw_forces(walks: Walks) -> tuple[Any, pd.DataFrame]:
    figure, rows = new_figure(4.8), []
    axes = figure.subplots(2, 2, sharex=True, sharey=True)
    published = table("treadmill-grf", "stance_curves.csv")
    for ax, speed in zip(axes.flat, SPEEDS, strict=True):
        own = [row for row in published if float(row["belt_speed_m_s"]) == speed]
        columns = ("stance_pct", "vertical_mean_BW", "vertical_sd_BW")
        x, mean, sd = (np.array([float(row[name]) for row in own]) for name in columns)
        ax.fill_between(x, mean - sd, mean + sd, color=LIGHT, label="one person, treadmill, ± 1 sd")
        ax.plot(x, mean, color=GREY, linestyle="--", label="the same, mean")
        result = walks.of(able_of_treadmill(speed))
        found = record(result)
        if found:
            force = stance_forces(found)
            ax.plot(100 * SHARE, force, **OURS)
            rows += [(speed, 100 * x, y) for x, y in zip(SHARE, force, strict=True)]
        else:
            without_walk(ax, result)
        ax.set_title(f"{speed:.2f} m/s")
    for ax in axes[1]:
        ax.set_xlabel("stance [%]")
    for ax in axes[:, 0]:
        ax.set_ylabel("vertical force [BW]")
    one_legend(figure, axes.flat)
    return figure, pd.DataFrame(rows, columns=["speed_m_s", "stance_percent", "vertical_force_bw"])


def draw_peaks(walks: Walks) -> tuple[Any, pd.DataFrame]:
    figure, rows = new_figure(3.2), []
    axes = figure.subplots(1, 2, sharey=True)
    events_of = table("treadmill-grf", "stance_events.csv")
    results = {speed: walks.of(able_of_treadmill(speed)) for speed in SPEEDS}
    for ax, (column, name, title) in zip(
        axes, (("peak1_BW", "first_peak_bw", "first peak"), ("peak2_BW", "second_peak_bw", "second peak")), strict=True
    ):
        for speed, result in results.items():
            values = [float(row[column]) for row in events_of if float(row["belt_speed_m_s"]) == speed]
            spread = {"color": GREY, "fmt": "s", "capsize": 3, "label": "one person, ± 1 sd"}
            ax.errorbar(speed, np.mean(values), np.std(values), **spread)
            if result.outcome == "walked":
                ours = both(result, name)
                ax.plot(speed, ours, "o", **OURS)
                rows.append((name, speed, ours))
            else:
                ax.plot(speed, 0.03, "x", color=VERMILLION, transform=ax.get_xaxis_transform(), label="our walk fell")
        ax.set_title(title)
        ax.set_xlabel("speed [m/s]")
    axes[0].set_ylabel("vertical force [BW]")
    one_legend(figure, axes)
    return figure, pd.DataFrame(rows, columns=["metric", "speed_m_s", "force_bw"])


def draw_stance(walks: Walks) -> tuple[Any, pd.DataFrame]:
    figure, rows = new_figure(3.2), []
    left, right = figure.subplots(1, 2)
    own = [row for row in table("slope-values", "stride_frequency_by_slope.csv") if row["speed_m_s"] == "1.25"]
    slopes = [float(row["slope_deg"]) for row in own]
    columns = (("stance_fraction_derived", "stance_share", left), ("step_length_m_derived", "step_length_m", right))
    for column, name, ax in columns:
        ax.plot(slopes, [float(row[column]) for row in own], "s--", color=GREY, label="people, 1.25 m/s")
        for slope in slopes:
            result = walks.of(able_of_slope(slope))
            if result.outcome == "walked":
                ours = both(result, name)
                ax.plot(slope, ours, "o", **OURS)
                rows.append((name, slope, ours))
            else:
                ax.plot(slope, 0.03, "x", color=VERMILLION, transform=ax.get_xaxis_transform(), label="our walk fell")
        ax.set_ymargin(0.6)  # a difference of 0.01 is rounding and must look small
        ax.set_xticks(slopes)
        ax.set_xlabel("slope [deg], downhill negative")
    left.set_ylabel("stance share of the stride [1]")
    right.set_ylabel("step length [m] (a setting)")
    one_legend(figure, (left, right))
    return figure, pd.DataFrame(rows, columns=["metric", "slope_deg", "value"])


DRAWINGS: dict[str, Callable[[Walks], tuple[Any, pd.DataFrame]]] = {
    "angles": draw_angles,
    "forces": draw_forces,
    "peaks": draw_peaks,
    "stance": draw_stance,
}


def draw_all(walks: Walks, folder: Path) -> list[Path]:
    """All pictures, each with the table behind it."""
    written = []
    for name, draw in DRAWINGS.items():
        with styled():
            figure, data = draw(walks)
        written += save_figure(figure, folder / f"validation_{name}.png", data)
    return written
