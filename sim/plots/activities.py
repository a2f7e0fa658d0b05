"""Figure of one activity in place: poses over time, force curves, knee angles."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.parameters import ours_flight
from sim.plots.person import FORCE_LENGTH, draw_force, draw_person
from sim.plots.style import GREY, LEG_STYLE, WIDTH, given_or_new, new_figure, styled
from sim.series import SIDES

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.posture_result import PostureResult

#: Poses of a strip, and between them [m].
POSES, SPACING = 7, 0.85
#: Activities on stairs.
STAIRS = ("stair", "flight")
#: Up to so many landings of a flight, the middles of its swings are drawn too.
MIDDLES = 3


def activity_data(result: PostureResult) -> pd.DataFrame:
    """Time series, and the number of the pose that is drawn, if one is."""
    frame = result.to_dataframe()
    pose = np.full(len(frame), np.nan)
    if len(frame):
        drawn = pose_frames(result)
        pose[drawn] = np.arange(1, len(drawn) + 1)
    frame["pose"] = pose
    return frame


def pose_frames(result: PostureResult) -> list[int]:
    """Frames that are drawn: the first settled one to the last, evenly; of a flight those of its steps."""
    count = len(result.frames)
    if result.activity == "flight":
        return _frames_of_steps(result)
    first = min(count - 1, 760)  # standing has settled
    return [round(k) for k in np.linspace(first, count - 1, POSES)]


def _frames_of_steps(result: PostureResult) -> list[int]:
    """First lift, each landing and, of few, the middle of each swing, and the end."""
    memory, time = result.memory["flight"], result.series.time
    made = int(memory["made"])
    lifts, lands = memory["lifted_at"][:made], memory["at"][:made]
    moments = [*lifts[:1], *lands, float(time[-1])]
    if made <= MIDDLES:
        moments += [*(0.5 * (lifts + lands))]
    return sorted({min(int(np.searchsorted(time, moment)), len(time) - 1) for moment in moments})


def activity_poses(result: PostureResult, ax: Axes | None = None) -> Axes:
    """Poses drawn apart, with an arrow for each ground force, for the seat's and for a push."""
    ax = given_or_new(ax, 3.2)
    ground, record = _ground(result), result.series
    if len(record.time):
        for number, k in enumerate(pose_frames(result)):
            shift = np.array([number * SPACING - float(record.ankle[k, 1, 0]), 0.0])
            if result.activity == "stair":
                shift[0] = number * SPACING
            elif result.activity == "flight":
                shift[0] -= float(record.hip[k, 0] - record.ankle[k, 1, 0])
            head = _draw_pose(ax, result, k, shift)
            middle = number * SPACING - shift[0]
            places = np.linspace(middle - 0.35, middle + 0.45, 401)
            ax.plot(places + shift[0], ground(places), color="0.35", linewidth=1.0, zorder=0)
            ax.annotate(f"{number + 1}", head, (0, 9), textcoords="offset points", ha="center", size=7, color=GREY)
    ax.set_aspect("equal")
    ax.margins(0.01, 0.02)
    ax.axis("off")
    return ax


def _ground(result: PostureResult) -> Any:
    """Height of the ground at places [m]."""
    slope = np.tan(np.radians(getattr(result.settings, "slope_deg", 0.0)))
    if result.activity not in STAIRS:
        return lambda x: slope * x
    settings: Any = result.settings
    steps = settings.steps if result.activity == "flight" else 1
    edges = _edge_x(result) + settings.tread_m * np.arange(steps)
    return lambda x: -settings.riser_m * np.searchsorted(edges, x)


def _edge_x(result: PostureResult) -> float:
    """Where the edge of the upper tread is [m]."""
    foot = result.body.foot_length
    heel = float(np.median(result.series.sole[:100, 0, 0, 0]))
    beyond: float = ours_flight.flight()["over"].value
    if result.activity == "stair":
        beyond = result.settings.foot_over_edge  # type: ignore[attr-defined]  # a stair has it
    return heel + foot * (1.0 - beyond)


def _draw_pose(ax: Axes, result: PostureResult, k: int, shift: Any) -> tuple[float, float]:
    """The person, and the forces of seat and push; returns where the head is."""
    person, series = result.settings.person, result.series
    head = draw_person(ax, series, k, shift, person, result.body)
    hip, lean = series.hip[k] + shift, series.trunk[k]
    draw_force(ax, hip, result.frames["seat"][k] / person.weight, "0.4")
    push = np.array([result.frames["push"][k] / person.weight, 0.0])
    draw_force(ax, hip + 0.2 * np.array([-np.sin(lean), np.cos(lean)]), push, "0.1")
    return head


def activity_curves(data: pd.DataFrame, forces: Axes, knees: Axes) -> None:
    """Force across the surface of each foot and of the seat, and flexion of both knees, over time."""
    for leg in (1, 0):
        side = SIDES[leg]
        forces.plot(data["time_s"], data[f"{side}_force_across_surface_bw"], label=side, **LEG_STYLE[leg])
        knees.plot(data["time_s"], data[f"{side}_knee_flexion_deg"], label=side, **LEG_STYLE[leg])
    if (data["seat_force_vertical_bw"] > 0.0).any():
        forces.plot(data["time_s"], data["seat_force_vertical_bw"], color="0.4", linestyle=":", label="seat")
    forces.set_ylabel("force across\nsurface [BW]")
    knees.set_ylabel("knee flexion\n[deg]")
    knees.set_xlabel("time [s]")
    for row in data[data["pose"].notna()].to_dict("records"):
        for ax in (forces, knees):
            ax.axvline(row["time_s"], color="0.88", linewidth=0.7, zorder=0)
        where: dict[str, Any] = {"transform": forces.get_xaxis_transform(), "ha": "center", "va": "bottom"}
        forces.text(row["time_s"], 1.01, f"{row['pose']:.0f}", size=7, color=GREY, **where)


def activity_figure(result: PostureResult) -> Figure:
    """Poses with forces, force curves and knee angles of one activity in place, of any outcome.

    Parameters
    ----------
    result : PostureResult

    Returns
    -------
    Figure
        Save it with `save_figure(figure, path, activity_data(result))`.
    """
    data = activity_data(result)
    with styled():
        figure = new_figure(5.6)
        strip, forces, knees = figure.subplots(3, 1, height_ratios=[2.4, 1.2, 1.2])
        activity_poses(result, strip)
        activity_curves(data, forces, knees)
        knees.sharex(forces)
        forces.tick_params(labelbottom=False)
        figure.legend(*forces.get_legend_handles_labels(), loc="outside lower center", ncols=3)
        arrow = f"arrow of {FORCE_LENGTH:g} m = 1 body weight; poses drawn apart"
        strip.set_title(f"{result.activity.capitalize()}: {result.outcome}\n{arrow}", pad=14)
        figure.set_figwidth(WIDTH)
    return figure
