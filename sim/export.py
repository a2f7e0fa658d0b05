"""One walk for other people's tools: places of joints, ground forces and centres of pressure, every column with a unit.

Axes of the laboratory: x level and forward, y up, origin under the ankle that stands at the start. The C3D file has
the axes that motion laboratories use: X forward, Y to the left (always 0, the model is planar), Z up.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.caution import CAUTION
from sim.errors import RampwalkError
from sim.law.ground import height_and_slope
from sim.pack import pack_settings
from sim.series import SIDES, named_columns
from sim.series_file import unit_of

if TYPE_CHECKING:
    import pandas as pd

    from sim.result import WalkResult

Array = NDArray[np.float64]
LEAST_LOAD_N = 20.0
"""Below this load a foot has no centre of pressure here [N]: the usual threshold of force plates (common practice)."""
#: Ending of a name -> what it is, for the table of columns and the netCDF file. The longest that fits counts.
_MEANINGS = {
    "time_s": "time from the start of the walk",
    "trunk_lean_deg": "trunk from upright, forward positive",
    "_x_m": "place, level, forward positive",
    "_y_m": "place, up positive",
    "centre_of_pressure_x_m": "centre of pressure on the surface, level; empty below 20 N",
    "centre_of_pressure_y_m": "centre of pressure on the surface, up; empty below 20 N",
    "ground_force_x_n": "force of the ground on the foot, level, forward positive",
    "ground_force_y_n": "force of the ground on the foot, up positive",
    "_force_across_surface_bw": "ground force perpendicular to the local surface / whole weight",
    "_force_along_surface_bw": "ground force along the local surface, forward positive / whole weight",
    "_force_vertical_bw": "ground force upward / whole weight",
    "_pressure_centre_ahead_of_ankle_m": "centre of the load ahead of the ankle, along the sole; 0 without load",
    "hip_flexion_deg": "thigh ahead of the trunk",
    "knee_flexion_deg": "knee bent from straight",
    "knee_flexion_rate_deg_s": "rate at which the knee bends",
    "ankle_dorsiflexion_deg": "toes toward the shin from a foot square to the shank",
    "hip_torque_nm": "torque that flexes the hip where positive",
    "knee_torque_nm": "torque that flexes the knee where positive, end stops included",
    "ankle_torque_nm": "torque that dorsiflexes the ankle where positive, end stops included",
}


# -------------------------------------------------------------------------------- columns
def centre_of_pressure(result: WalkResult) -> Array:
    """Where the line of each foot's ground force meets the surface, shape (n, 2, 2): frame, leg, x and y [m].

    Contact points sink into the surface, so the mean of their places would miss the moment of the friction. NaN below
    `LEAST_LOAD_N`.
    """
    series, forces = result.series, result.frames["forces"]
    across = forces["normal_elastic"] + forces["normal_damping"]
    along = np.where(across > 0.0, forces["friction_elastic"] + forces["friction_damping"], 0.0)
    tangent = forces["tangent"]
    force = across[..., None] * _left_of(tangent) + along[..., None] * tangent
    moment = _cross(series.sole, force).sum(axis=2)
    loaded = series.load > LEAST_LOAD_N
    share = np.where(loaded[..., None], across / np.where(loaded, series.load, 1.0)[..., None], 0.0)
    below = (share * series.sole[..., 0]).sum(axis=2)
    height, slope = _ground(result, below)
    start = np.stack([below, height], axis=-1)
    forward = np.stack([np.ones_like(slope), slope], axis=-1)
    lever = np.where(loaded, _cross(forward, series.ground_force), 1.0)
    further = (moment - _cross(start, series.ground_force)) / lever
    place: Array = np.where(loaded[..., None], start + further[..., None] * forward, np.nan)
    return place


def _ground(result: WalkResult, x: Array) -> tuple[Array, Array]:
    ground = pack_settings(result.scenario)[0]["ground"]
    found = np.array([height_and_slope(ground, float(place)) for place in x.ravel()])
    return found[:, 0].reshape(x.shape), found[:, 1].reshape(x.shape)


def _left_of(vectors: Array) -> Array:
    return np.stack([-vectors[..., 1], vectors[..., 0]], axis=-1)


def _cross(a: Array, b: Array) -> Array:
    product: Array = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product


def export_columns(result: WalkResult) -> dict[str, Array]:
    """All columns of an export, one array of shape (frames,) each, units in the names.

    Those of `WalkResult.to_dataframe`, and per leg the ball of the foot, the ground force along the level and up [N]
    and the centre of pressure.
    """
    series = result.series
    columns = named_columns(series, result.scenario.person.weight)
    pressure = centre_of_pressure(result)
    for leg, side in enumerate(SIDES):
        for k, axis in enumerate("xy"):
            columns[f"{side}_ball_{axis}_m"] = series.sole[:, leg, 1, k]
            columns[f"{side}_ground_force_{axis}_n"] = series.ground_force[:, leg, k]
            columns[f"{side}_centre_of_pressure_{axis}_m"] = pressure[:, leg, k]
    return columns


def column_table(names: list[str]) -> pd.DataFrame:
    """What the columns of an export are: `column`, `unit`, `meaning`."""
    import pandas as pd

    return pd.DataFrame([(name, _unit(name), _meaning(name)) for name in names], columns=["column", "unit", "meaning"])


def _unit(name: str) -> str:
    return "N" if name.endswith("_n") else unit_of(name)


def _meaning(name: str) -> str:
    return _MEANINGS[max((ending for ending in _MEANINGS if name.endswith(ending)), key=len)]


# -------------------------------------------------------------------------------- files
def write_csv(result: WalkResult, path: Path) -> None:
    """One row per frame, and beside it `NAME-columns.csv`, which says what the columns are."""
    import pandas as pd

    columns = export_columns(result)
    pd.DataFrame(columns).to_csv(path, index=False, lineterminator="\n", float_format="%.9g")
    column_table(list(columns)).to_csv(columns_path(path), index=False, lineterminator="\n")


def columns_path(path: Path) -> Path:
    """Where the table of columns of a CSV file lies."""
    return path.with_name(f"{path.stem}-columns.csv")


def write_netcdf(result: WalkResult, path: Path) -> None:
    """One variable per column over the dimension `time`, with units and meanings."""
    import xarray as xr

    columns = export_columns(result)
    time = columns.pop("time_s")
    data = {
        name: ("time", values, {"units": _unit(name), "long_name": _meaning(name)}) for name, values in columns.items()
    }
    about = {
        "title": "rampwalk: one walk",
        "outcome": result.outcome,
        "reason": result.reason,
        "software": f"rampwalk {result.software['rampwalk']}",
        "comment": f"x level and forward, y up. {CAUTION}",
    }
    dataset = xr.Dataset(data, {"time": ("time", time, {"units": "s"})}, about)
    dataset.to_netcdf(path, engine="scipy", format="NETCDF3_64BIT")


#: Points of a C3D file: label -> column without the axis. `*` stands for both legs.
_POINTS = {"hip": "hip", "mass_centre": "mass_centre"} | {
    f"*_{point}": f"*_{point}" for point in ("knee", "ankle", "heel", "ball", "toe", "centre_of_pressure")
}


def write_c3d(result: WalkResult, path: Path) -> None:
    """Points in mm and ground forces in N, as motion laboratories keep them.

    A centre of pressure that does not exist is an invalid point (negative residual). Force platforms are not declared:
    the format's are flat, and the surface here bends.
    """
    import ezc3d

    columns = export_columns(result)
    points = {
        label.replace("*", side): column.replace("*", side)
        for label, column in _POINTS.items()
        for side in (SIDES if "*" in label else SIDES[:1])
    }
    count = len(columns["time_s"])
    places = np.full((4, len(points), count), 0.0)
    for row, column in enumerate(points.values()):
        places[0, row], places[2, row] = 1e3 * columns[f"{column}_x_m"], 1e3 * columns[f"{column}_y_m"]
    places[3] = 1.0
    missing = np.isnan(places[0])
    places[1, missing], places[3, missing] = np.nan, np.nan
    channels = {
        f"{side}_force_{axis}": columns[f"{side}_ground_force_{own}_n"]
        for side in SIDES
        for axis, own in (("X", "x"), ("Z", "y"))
    }
    rate = 1.0 / result.series.interval if result.series.interval else 1.0
    file = ezc3d.c3d()
    parameters = file["parameters"]
    parameters["POINT"]["RATE"]["value"] = [rate]
    parameters["POINT"]["UNITS"]["value"] = ["mm"]
    parameters["POINT"]["LABELS"]["value"] = list(points)
    parameters["ANALOG"]["RATE"]["value"] = [rate]
    parameters["ANALOG"]["LABELS"]["value"] = list(channels)
    parameters["ANALOG"]["UNITS"]["value"] = ["N"] * len(channels)
    file["data"]["points"] = places
    file["data"]["meta_points"]["residuals"] = np.where(missing, -1.0, 0.0)[None]
    file["data"]["analogs"] = np.array(list(channels.values()))[None]
    file.write(str(path))


#: Ending -> writer.
WRITERS: dict[str, Callable[[WalkResult, Path], None]] = {".csv": write_csv, ".nc": write_netcdf, ".c3d": write_c3d}
_NEEDS = {".nc": "xarray", ".c3d": "ezc3d"}


def check_format(path: Path, option: str) -> None:
    """Raise RampwalkError if an ending is not known or its library is not there."""
    ending = path.suffix.lower()
    if ending not in WRITERS:
        said = f"{option} = {path.name!r} must end in one of {', '.join(WRITERS)}; change its ending."
        raise RampwalkError(said, option, path)
    needed: Any = _NEEDS.get(ending)
    if needed and find_spec(needed) is None:
        message = f"{option} = {path.name!r} needs {needed}; install it with: pip install 'rampwalk[export]'."
        raise RampwalkError(message, option, path)


def files_of(path: Path) -> list[Path]:
    """All files that an export to this path writes."""
    return [path, columns_path(path)] if path.suffix.lower() == ".csv" else [path]
