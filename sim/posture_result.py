"""What came out of an activity in place: outcome, reason, metrics, energy, time series."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.activities.guards import Breach, breach_of, energy_residual
from sim.body import Body
from sim.caution import CAUTION
from sim.drivers.loops import walker_pivots
from sim.law.posture import NUMBERS_LOST, SANK, TOPPLED
from sim.law.posture_records import POSTURE_SOURCES
from sim.ledger import energy_book
from sim.pack import pack_plant
from sim.posture_pack import pack_posture
from sim.posture_scenario import InPlace
from sim.result import software_of
from sim.series import SIDES, Series, named_columns, series_of
from sim.settings import as_dict

if TYPE_CHECKING:
    import pandas as pd

    from sim.drivers.posture_loop import PostureRun

Metrics = dict[str, float | None]


@dataclass(frozen=True, eq=False)
class PostureResult:
    """Result of standing, bending, sitting or the single stair.

    Attributes
    ----------
    activity : str
    settings : InPlace
    outcome : str
        A fall is a result. `invalid` is none: the physics did not hold, see `sim.activities.guards`.
    reason : str
        What happened and what to try.
    metrics : dict of str to float or None
        Flat, units in the names; see `docs/activities.md`.
    energy : dict of str to float or None
        Of the whole run [J], as of a walk, with seat, edge, lock and push among the sources.
    software : dict of str to str, float or int
        What is needed to repeat the run.
    frames : ndarray of `POSTURE_FRAME`, shape (n,)
        Raw record every 2.5 ms.
    memory : record of `POSTURE_MEMORY`
        State at the end, with what the lock did.
    body : Body
    """

    activity: str
    settings: InPlace
    outcome: str
    reason: str
    metrics: Metrics
    energy: Metrics
    software: dict[str, str | float | int]
    frames: np.ndarray[Any, Any]
    memory: Any
    body: Body

    @cached_property
    def series(self) -> Series:
        """Named arrays over time, those of a walk; ground force with the edge's."""
        return series_of_posture(self.frames, self.body)

    def to_dataframe(self) -> pd.DataFrame:
        """Time series, one row per frame, units in the names."""
        import pandas as pd

        columns = named_columns(self.series, self.settings.person.weight)
        return pd.DataFrame(columns | posture_columns(self.frames, self.settings.person.weight))

    def to_json_dict(self) -> dict[str, Any]:
        """Everything but the time series as plain values for JSON; numbers that are not finite become None."""
        return {
            "activity": self.activity,
            "settings": as_dict(self.settings),
            "outcome": self.outcome,
            "reason": self.reason,
            "metrics": _finite(self.metrics),
            "energy": _finite(self.energy),
            "software": self.software,
            "caution": CAUTION,
        }


def _finite(values: Metrics) -> Metrics:
    return {name: value if value is None or math.isfinite(value) else None for name, value in values.items()}


def series_of_posture(frames: Any, body: Body) -> Series:
    """`series_of` for the frames of an activity in place; the force of an edge counts as force on the foot."""
    from dataclasses import replace

    return replace(series_of(frames["base"], body), ground_force=np.array(frames["ground"]))


def posture_columns(frames: Any, weight: float) -> dict[str, Any]:
    """Columns beside those of `named_columns`."""
    columns = {
        "seat_force_vertical_bw": frames["seat"][:, 1] / weight,
        "push_n": np.array(frames["push"]),
        "lock_closed": np.array(frames["lock_closed"]),
        "lock_torque_nm": np.array(frames["lock"]),
        "wanted_trunk_lean_deg": np.degrees(frames["wanted_lean"]),
    }
    for leg, side in enumerate(SIDES):
        columns[f"{side}_edge_force_bw"] = frames["edge"][:, leg] / weight
    return columns


def posture_energy(book: Any) -> Metrics:
    """Energy of a run by source: `sim.ledger.energy_book`, with the sources of an activity in place."""
    energy = energy_book(book["base"])
    more, given = 0.0, 0.0
    for source, work, through in zip(POSTURE_SOURCES, book["work"].tolist(), book["through"].tolist(), strict=True):
        name = source.replace(" ", "_")
        energy[f"{name}_in_j"], energy[f"{name}_out_j"] = 0.5 * (through + work), 0.5 * (through - work)
        more += work
        given += 0.5 * (through + work)
    residual, passed = energy["residual_j"], energy["passed_through_j"]
    assert residual is not None  # only ratios can be None
    assert passed is not None
    residual, passed = residual - more, passed + given
    energy |= {"passed_through_j": passed, "residual_j": residual}
    energy["residual_fraction"] = abs(residual) / passed if passed > 0.0 else None
    del energy["knee_share_of_slope"]  # a question about walking downhill
    return energy


def how_it_fell(run: PostureRun, series: Series) -> str:
    """Clause that says how a run ended early."""
    when = f"after {run.time:.1f} s"
    feet = series.ankle[-1, :, 0]
    hip = float(series.hip[-1, 0])
    side = "forward" if hip > feet.max() else "backward" if hip < feet.min() else "down between the feet"
    if run.status == TOPPLED:
        return f"the body tipped {side}, beyond the feet, {when}"
    if run.status == SANK:
        bent = math.degrees(float(series.knee_flexion[-1, 0]))
        return f"the hip sank {side} {when}, the prosthetic knee bent by {bent:.0f} deg"
    return f"the trunk went over {'backward' if series.trunk[-1] > 0 else 'forward'} {when}"


def invalid_result(
    activity: str, settings: InPlace, run: PostureRun, body: Body, names: Sequence[str]
) -> PostureResult | None:
    """Result of a run whose physics did not hold, without metrics; None if it held.

    Parameters
    ----------
    activity : str
    settings : InPlace
    run : PostureRun
    body : Body
    names : sequence of str
        Of the metrics of this activity.
    """

    def residual_at(moment: float) -> float:
        book = run.book if moment >= run.time else run.until(moment).book
        return energy_residual(book, posture_energy)

    person = pack_posture(settings)[0]["base"]["person"]
    breach = breach_of(run.frames["base"], walker_pivots(pack_plant(body)[0], person), run.time, residual_at)
    if breach is None and run.status == NUMBERS_LOST:
        breach = Breach(run.time, "a number left the finite range")
    if breach is None:
        return None
    reason = (
        f"No result: after {breach.time:.2f} s {breach.cause}; the time step is too coarse for this stiffness and "
        "damping: try half of numerics.time_step_s, less resistance or damping, or softer contact."
    )
    return result_of(activity, settings, run, body, "invalid", reason, dict.fromkeys(names))


def result_of(
    activity: str, settings: InPlace, run: PostureRun, body: Body, outcome: str, reason: str, metrics: Metrics
) -> PostureResult:
    """Result of a run that has been judged."""
    numerics = settings.numerics
    return PostureResult(
        activity=activity,
        settings=settings,
        outcome=outcome,
        reason=reason,
        metrics=metrics,
        energy=posture_energy(run.book),
        software=software_of(numerics.time_step_s, numerics.iterations, run.loop),
        frames=run.frames,
        memory=run.memory,
        body=body,
    )
