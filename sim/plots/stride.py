"""Figure of one stride: joint angles, ground forces, knee moment and power, and where the energy came from and went."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.body import FOOT
from sim.law.records import GRAVITY
from sim.plots.data import record_of_walk
from sim.plots.style import BLUE, GREY, LEG_STYLE, VERMILLION, given_or_new, new_figure, number_label, styled
from sim.series import SIDES

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.result import WalkResult

ANGLES = ("hip_flexion_deg", "knee_flexion_deg", "ankle_dorsiflexion_deg")
Array = NDArray[np.float64]


# -------------------------------------------------------------------------------- data
def power_by_source(result: WalkResult) -> dict[str, Array]:
    """Power of everything that acts on the bodies, over the frames of a run.

    Parameters
    ----------
    result : WalkResult

    Returns
    -------
    dict of str to ndarray, shape (n,)
        [W], positive where it gives to the bodies. The ground counts at each foot's points (spring, damper and
        friction together), a joint without its end stops, and the stops of knees and ankles on their own. Rail and
        helper are not in it.
    """
    series, body, place = result.series, result.body, result.frames["body"]
    power: dict[str, Array] = {"gravity": -place[:, :, 4] @ body.mass * GRAVITY}
    stops = np.zeros(len(place))
    for leg, side in enumerate(SIDES):
        power[f"hip {side}"] = series.hip_torque[:, leg] * series.hip_rate[:, leg]
        power[f"knee {side}"] = series.knee_torque[:, leg] * series.knee_rate[:, leg]
        power[f"ankle {side}"] = series.ankle_torque[:, leg] * series.ankle_rate[:, leg]
        stops += series.knee_stop_torque[:, leg] * series.knee_rate[:, leg]
        stops += series.ankle_stop_torque[:, leg] * series.ankle_rate[:, leg]
        power[f"ground {side}"] = _ground_power(result, leg)
    return power | {"end stops": stops}


def _ground_power(result: WalkResult, leg: int) -> Array:
    """Power of the ground on the three points of one foot, shape (n,) [W]."""
    foot, forces = result.frames["body"][:, FOOT + 3 * leg], result.frames["forces"]
    arm = forces["arm"][:, leg]
    velocity = foot[:, None, 3:5] + foot[:, None, 5:6] * np.stack([-arm[..., 1], arm[..., 0]], axis=-1)
    across = (forces["normal_elastic"] + forces["normal_damping"])[:, leg]
    along = (forces["friction_elastic"] + forces["friction_damping"])[:, leg]
    tangent = forces["tangent"][:, leg]
    normal = np.stack([-tangent[..., 1], tangent[..., 0]], axis=-1)
    force = np.where(across > 0.0, across, 0.0)[..., None] * normal
    force = force + np.where(across > 0.0, along, 0.0)[..., None] * tangent
    total: Array = (force * velocity).sum(axis=(1, 2))
    return total


def kinetic_energy(result: WalkResult) -> Array:
    """Of all bodies, shape (n,) [J]."""
    place, body = result.frames["body"], result.body
    energy: Array = 0.5 * ((place[:, :, 3] ** 2 + place[:, :, 4] ** 2) @ body.mass + place[:, :, 5] ** 2 @ body.inertia)
    return energy


def ledger_data(result: WalkResult) -> pd.DataFrame:
    """What each source gave and took in the last measured prosthetic stride.

    Returns
    -------
    DataFrame
        `source`, `given_j`, `taken_j`, both at least zero; at the end `faster at the end` (rise of the kinetic energy,
        as taken, or its fall, as given) and `rest`, which closes the balance: what sampling every 2.5 ms misses, and
        what rail and helper did. Empty of a walk without a measured stride.
    """
    import pandas as pd

    from sim.metrics.signals import power_in_and_out

    stride = last_stride(result)
    rows: list[tuple[str, float, float]] = []
    if stride is not None:
        first, last = stride
        part = slice(first, last + 1)
        for source, power in power_by_source(result).items():
            rows.append((source, *power_in_and_out(power[part], np.ones(len(power[part])), result.series.interval)))
        energy = kinetic_energy(result)
        rise = float(energy[last] - energy[first])
        rows.append(("faster at the end", max(0.0, -rise), max(0.0, rise)))
        rest = -sum(given - taken for _, given, taken in rows)
        rows.append(("rest", max(0.0, rest), max(0.0, -rest)))
    return pd.DataFrame(rows, columns=["source", "given_j", "taken_j"])


def last_stride(result: WalkResult) -> tuple[int, int] | None:
    """First and last frame of the last measured stride of the prosthetic leg; None if none was measured."""
    record = record_of_walk(result)
    if record is None:
        return None
    stride = record.strides[0][-1]
    return stride.first, min(stride.last, len(result.frames) - 1)  # a run may end with its last landing


def stride_data(result: WalkResult) -> pd.DataFrame:
    """Time series of the last measured prosthetic stride, from its landing to its next.

    Returns
    -------
    DataFrame
        `stride_percent`, `sound_landed` (1 from the sound foot's landing on), and of both legs the angles, low-passed
        forces across and along the surface [BW], knee moment (extending positive, end stops included) and knee power
        (absorbing negative), both raw and low-passed. Empty of a walk without a measured stride.
    """
    import pandas as pd

    from sim.metrics.signals import low_pass
    from sim.metrics.strides import filtered_forces

    stride = last_stride(result)
    if stride is None:
        return pd.DataFrame({"stride_percent": []})
    (first, last), series = stride, result.series
    part, count = slice(first, last + 1), last - first
    landings = [float(row["time"]) for row in result.step_records if int(row["leg"]) == 1]
    landed = max((time for time in landings if time < series.time[last]), default=np.inf)
    smooth = filtered_forces(series) / result.scenario.person.weight
    columns: dict[str, Any] = {
        "stride_percent": 100.0 * np.arange(count + 1) / count,
        "sound_landed": (series.time[part] >= landed).astype(int),
    }
    angles = (series.hip_flexion, series.knee_flexion, series.dorsiflexion)
    for leg, side in enumerate(SIDES):
        for name, angle in zip(ANGLES, angles, strict=True):
            columns[f"{side}_{name}"] = np.degrees(angle[part, leg])
        columns[f"{side}_force_across_low_passed_bw"] = smooth[part, leg, 0]
        columns[f"{side}_force_along_low_passed_bw"] = smooth[part, leg, 1]
        torque = series.knee_torque[:, leg] + series.knee_stop_torque[:, leg]
        power = torque * series.knee_rate[:, leg]
        columns[f"{side}_knee_extending_moment_nm"] = -torque[part]
        columns[f"{side}_knee_power_w"] = power[part]
        columns[f"{side}_knee_extending_moment_low_passed_nm"] = low_pass(-torque, series.interval)[part]
        columns[f"{side}_knee_power_low_passed_w"] = low_pass(power, series.interval)[part]
    return pd.DataFrame(columns)


# -------------------------------------------------------------------------------- drawing
#: Column after the name of the leg -> label of the axis.
PANELS = {
    "hip_flexion_deg": "hip flexion\n[deg]",
    "knee_flexion_deg": "knee flexion\n[deg]",
    "ankle_dorsiflexion_deg": "ankle\ndorsiflexion [deg]",
    "force_across_low_passed_bw": "force across\nsurface [BW]",
    "force_along_low_passed_bw": "force along\nsurface [BW]",
    "knee_extending_moment_low_passed_nm": "knee extending\nmoment [N m]",
    "knee_power_low_passed_w": "knee power\n[W]",
}


def stride_curves(data: pd.DataFrame, name: str, ax: Axes | None = None) -> Axes:
    """One quantity of both legs over the prosthetic stride; a thin line where the sound foot lands.

    Parameters
    ----------
    data : DataFrame
        As of `stride_data`.
    name : str
        One of `PANELS`.
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    for leg in (1, 0):
        ax.plot(data["stride_percent"], data[f"{SIDES[leg]}_{name}"], label=SIDES[leg], **LEG_STYLE[leg])
    ax.axhline(0.0, color="0.8", linewidth=0.7, zorder=0)
    landed = data.loc[data["sound_landed"] == 1, "stride_percent"]
    if len(landed):
        ax.axvline(landed.iloc[0], color=GREY, linewidth=0.7, linestyle=":")
    ax.set_xlim(0.0, 100.0)
    ax.set_ylabel(PANELS[name])
    ax.set_xlabel("prosthetic stride [%]")
    return ax


def ledger_bars(data: pd.DataFrame, ax: Axes | None = None) -> Axes:
    """What each source gave (filled, to the right) and took (hatched, to the left) in one stride.

    Parameters
    ----------
    data : DataFrame
        As of `ledger_data`.
    ax : Axes, optional
    """
    ax = given_or_new(ax)
    for row, (given, taken) in enumerate(zip(data["given_j"], data["taken_j"], strict=True)):
        ax.barh(row, given, height=0.7, facecolor=BLUE)
        ax.barh(row, -taken, height=0.7, facecolor="white", edgecolor=VERMILLION, hatch="////", linewidth=0.8)
        net = given - taken
        text = number_label(round(net)) if abs(net) >= 0.5 else "0"
        ax.annotate(text, (max(given, 0.0), row), (3, 0), textcoords="offset points", va="center", size=7)
    ax.axvline(0.0, color="0.3", linewidth=0.7)
    ax.set_yticks(range(len(data)), list(data["source"]))
    ax.set_ylim(len(data) - 0.4, -0.6)
    ax.set_xlabel("energy in one stride [J]: taken, hatched; given, filled; number: net")
    ax.margins(x=0.08)
    return ax


def stride_figure(data: pd.DataFrame, ledger: pd.DataFrame, title: str = "") -> Figure:
    """Angles above, forces, knee moment and power in the middle, ledger below.

    Parameters
    ----------
    data, ledger : DataFrame
        As of `stride_data` and `ledger_data`.
    title : str
    """
    with styled():
        figure = new_figure(7.4)
        grid = figure.add_gridspec(4, 6, height_ratios=[1, 1, 1, 1.55])
        places = [grid[0, 0:2], grid[0, 2:4], grid[0, 4:6], grid[1, 0:3], grid[1, 3:6], grid[2, 0:3], grid[2, 3:6]]
        first: Axes | None = None
        for place, name in zip(places, PANELS, strict=True):
            ax = figure.add_subplot(place, sharex=first)
            first = first or ax
            stride_curves(data, name, ax)
            if not name.startswith("knee_") or name in ANGLES:  # the row below says it
                ax.set_xlabel("")
        ledger_bars(ledger, figure.add_subplot(grid[3, :]))
        handles, labels = first.get_legend_handles_labels() if first else ([], [])
        title_of_lines = "dotted: the sound foot lands; forces, moment and power low-passed (25 Hz)"
        figure.legend(handles, labels, loc="outside lower center", ncols=2, title=title_of_lines)
        if title:
            figure.suptitle(title, size=9)
    return figure
