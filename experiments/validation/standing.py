"""Standing on two feet: row P10, the standing part of row C05, and the tasks in place of row C07."""

from __future__ import annotations

import numpy as np

from experiments.validation.targets import Finding
from experiments.validation.walks import Walks
from sim.activities.bend import Bend, bend, ground_moment_at_knee
from sim.activities.sit import Sit, sit
from sim.activities.stair import Stair, stair
from sim.activities.stand import LET_GO, SETTLE, Stand, stand
from sim.posture_result import PostureResult
from sim.scenario import Knee
from sim.series import Series

SECONDS = 8.0  # of standing; all is still after 3 (ours)
SHARES = (0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5)  # asked for on the prosthetic leg, row P10 (ours)
OTHER_FEET = (0.10, 0.20)  # m ahead, row P10: how much the answer hangs on it (ours)
BENDING = 0.2  # rad/s, row C07: slower than this no resistance is read (ours)


def pressed(slope_deg: float, share: float, ahead: float) -> tuple[float, float]:
    """Share of the load on the prosthetic leg, and torque of the hip that presses its knee straight [N m].

    Raises
    ------
    ValueError
        If the person does not stand.
    """
    asked = Stand(
        slope_deg=slope_deg, seconds=SECONDS, weight_on_prosthetic=share, prosthetic_foot_ahead_m=ahead
    )
    result = stand(asked)
    found, effort = (result.metrics[n] for n in ("prosthetic_load_share", "prosthetic_hip_extending_torque_nm"))
    if result.outcome != "stood" or found is None or effort is None:
        raise ValueError(f"standing {result.outcome} on {slope_deg:g} deg with {share:g} of the weight")
    return found, effort


def unloading(ahead: float) -> tuple[float, float]:
    """Change of the prosthetic load from level to -10 degrees at the same hip effort [%], and that effort [N m].

    The change is nan if no share on the slope has that effort.
    """
    level_share, effort = pressed(0.0, Stand().weight_on_prosthetic, ahead)
    found = np.array([pressed(-10.0, share, ahead) for share in SHARES])
    found = found[np.argsort(found[:, 1])]
    share = float(np.interp(effort, found[:, 1], found[:, 0], left=np.nan, right=np.nan))
    return 100.0 * (share / level_share - 1.0), effort


def let_go(slope_deg: float) -> tuple[float, float]:
    """Moment of the ground on the prosthetic knee [N m], flexing positive, and flexion at the end [rad], once the hip
    that pressed it straight has let go.

    The moment is its mean over the half second after that, or until the run ends.
    """
    result = stand(Stand(slope_deg=slope_deg, seconds=SECONDS, hip_presses_knee="at-first"))
    time, moment = result.series.time, ground_moment_at_knee(result, result.series)
    after = (time > LET_GO) & (time < LET_GO + 0.5)
    flexion = result.series.knee_flexion[:, 0]
    before = flexion[np.searchsorted(time, SETTLE)]
    return float(moment[after].mean()) if after.any() else float(moment[-1]), float(flexion[-1] - before)


def p10(_walks: Walks) -> Finding:
    """Not answered: the load share is a setting of standing, so it cannot be compared. What can be said is said.

    A slope changes the hip torque that holds the passive knee straight. If a person repeated the effort of level
    standing (ours), the load would fall, by how much hangs on how far the foot is ahead: across the row's whole band.
    """
    ahead = Stand().prosthetic_foot_ahead_m
    feet = sorted({ahead, *OTHER_FEET})
    changes = ", ".join(f"{unloading(foot)[0]:.0f} % at {foot:.2f} m" for foot in feet)
    flat, slope = let_go(0.0)[0], let_go(-10.0)[0]
    how = (
        "the load share is a setting of standing. With the hip effort of level standing (an assumption) the load would "
        f"change by {changes} of the prosthetic foot ahead, so the assumption would decide the answer. Firm: the "
        f"ground's flexing moment at a knee let go is {flat:.1f} N m on the level and {slope:.1f} N m on the slope"
    )
    return Finding(None, how, "not applicable")


def more_flexed_than_level(slopes: tuple[float, ...]) -> float:
    """Least of how much further a knee let go is bent at the end on each slope than on the level [deg]."""
    level = let_go(0.0)[1]
    return float(np.degrees(min(let_go(slope)[1] - level for slope in slopes)))


def resistances(series: Series, knee: Knee) -> np.ndarray:
    """Torque / rate of the prosthetic knee in every frame in which it is loaded and bends [N m s/rad]."""
    bending = (series.load[:, 0] > knee.load_on_n) & (series.knee_rate[:, 0] > BENDING)
    return np.array(-series.knee_torque[bending, 0] / series.knee_rate[bending, 0])


def tasks_in_place(knee: Knee) -> dict[str, PostureResult]:
    """Bending, sitting down and the stair with one knee."""
    return {
        "bending in place": bend(Bend(repeats=1, knee=knee)),
        "sitting down": sit(Sit(knee=knee)),
        "stair": stair(Stair(knee=knee)),
    }
