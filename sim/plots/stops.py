"""Figure of a stop on a slope and the walk after it: poses, forces, knees and speed over the whole run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.plots.person import FORCE_LENGTH, draw_person
from sim.plots.style import GREY, LEG_STYLE, new_figure, styled
from sim.series import SIDES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.posture_result import PostureResult

#: Between poses of the strip [m].
SPACING = 0.95
#: Moments of a run by the name of their metric.
DECIDED, BRAKED, CLOSED, REST, RISES, OFF = (
    "decided_at_s", "braked_at_s", "closed_at_s", "rest_at_s", "goes_over_at_s", "set_off_at_s",
)  # fmt: skip


def stop_moments(result: PostureResult) -> list[tuple[float, str]]:
    """Times [s] that are drawn, with what is then, rising; those that a run did not come to are left out."""
    told = {name: result.metrics[name] for name in (DECIDED, BRAKED, CLOSED, REST, RISES, OFF)}
    end = float(result.series.time[-1]) if len(result.series.time) else 0.0
    wanted: list[tuple[float | None, str]] = [
        (_plus(told[DECIDED], -0.7), "walks"),
        (told[DECIDED], "decides"),
        (_plus(told[BRAKED], -0.12), "leans back"),
        (told[BRAKED], "sound foot\nlands"),
        (_plus(told[BRAKED], 0.35), "brakes"),
        (told[CLOSED], "foot closes\nup"),
        (told[REST], "at rest"),
        (told[RISES], "still at rest"),
        (told[OFF], "tips, first\nfoot lifts"),
        (_plus(told[OFF], result.metrics["first_step_time_s"]), "first\nlanding"),
        (end, "end" if result.outcome == "stopped and walked on" else result.outcome),
    ]
    return [(time, what) for time, what in wanted if time is not None and 0.0 <= time <= end]


def _plus(time: float | None, more: float | None) -> float | None:
    return None if time is None or more is None else time + more


def stop_poses(result: PostureResult, ax: Axes) -> Axes:
    """Poses at the moments of the run, drawn apart, with an arrow for each ground force."""
    series, slope = result.series, np.tan(np.radians(result.settings.slope_deg))  # type: ignore[attr-defined]  # a stop has one
    for number, (time, what) in enumerate(stop_moments(result)):
        k = min(int(np.searchsorted(series.time, time)), len(series.time) - 1)
        at = series.hip[k, 0]
        shift = np.array([number * SPACING - at, -slope * at])
        head = draw_person(ax, series, k, shift, result.settings.person, result.body)
        places = np.linspace(-0.42, 0.42, 3)
        ax.plot(number * SPACING + places, slope * places, color="0.35", linewidth=1.0, zorder=0)
        told: dict[str, Any] = {"textcoords": "offset points", "ha": "center", "size": 6.5, "color": GREY}
        ax.annotate(f"{number + 1}", head, (0, 9), va="bottom", **told)
        ax.annotate(what, (number * SPACING, -0.16), (0, 0), va="top", annotation_clip=False, **told)
    ax.set_aspect("equal")
    ax.margins(0.01, 0.12)
    ax.axis("off")
    return ax


def stop_curves(result: PostureResult, forces: Axes, knees: Axes, speed: Axes) -> None:
    """Force across the surface of each foot, flexion of both knees, speed of the mass centre, over time."""
    series, weight = result.series, result.settings.person.weight
    for leg in (1, 0):
        forces.plot(series.time, series.load[:, leg] / weight, label=SIDES[leg], **LEG_STYLE[leg])
        knees.plot(series.time, np.degrees(series.knee_flexion[:, leg]), label=SIDES[leg], **LEG_STYLE[leg])
    speed.plot(series.time, series.mass_centre_velocity[:, 0], color="0.2")
    speed.axhline(0.0, color="0.8", linewidth=0.7, zorder=0)
    forces.set_ylabel("force across\nsurface [BW]")
    knees.set_ylabel("knee flexion\n[deg]")
    speed.set_ylabel("mass centre,\nlevel speed [m/s]")
    speed.set_xlabel("time [s]")
    rest, rises = result.metrics[REST], result.metrics[RISES]
    where: dict[str, Any] = {"transform": forces.get_xaxis_transform(), "ha": "center", "va": "bottom"}
    for number, (time, _) in enumerate(stop_moments(result)):
        forces.text(time, 1.01, f"{number + 1}", size=6.5, color=GREY, **where)
        for ax in (forces, knees, speed):
            ax.axvline(time, color="0.88", linewidth=0.7, zorder=0)
    if rest is not None:
        for ax in (forces, knees, speed):
            ax.axvspan(rest, float(series.time[-1]) if rises is None else rises, color="0.94", zorder=-1)


def stop_figure(result: PostureResult) -> Figure:
    """Poses and curves of a whole run, of any outcome.

    Parameters
    ----------
    result : PostureResult
        Of `sim.activities.stop.stop`.

    Returns
    -------
    Figure
        Save it with `save_figure(figure, path, result.to_dataframe())`.
    """
    with styled():
        figure = new_figure(5.8)
        strip, forces, knees, speed = figure.subplots(4, 1, height_ratios=[1.9, 1.2, 1.0, 1.0])
        if len(result.series.time):
            stop_poses(result, strip)
            stop_curves(result, forces, knees, speed)
        for ax in (forces, knees):
            ax.sharex(speed)
            ax.tick_params(labelbottom=False)
        figure.legend(*forces.get_legend_handles_labels(), loc="outside lower center", ncols=2)
        arrow = f"arrow of {FORCE_LENGTH:g} m = 1 body weight; poses drawn apart; grey: stands at rest"
        strip.set_title(f"Stop on a slope: {result.outcome}\n{arrow}", pad=10)
    return figure
