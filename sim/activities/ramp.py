"""A whole way with ends: level, down, landing, down, level, or up, or any profile; step by step."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.activities.guards import Breach
from sim.activities.verdict import outcome_of, reason_for
from sim.activities.walk import LONGEST, MOST_EXTENSIONS, SPARE_LANDINGS, SPARE_SECONDS, breach_in, run_until
from sim.body import Body, build_body
from sim.caution import CAUTION
from sim.drivers.loops import Run
from sim.ledger import energy_book
from sim.pack import pack_plant, pack_settings
from sim.profile import Profile
from sim.result import software_of, step_columns
from sim.scenario import Scenario, to_dict
from sim.series import Series, series_of
from sim.study import Value, plain

if TYPE_CHECKING:
    import pandas as pd

#: Steps that count as the first ones on a part: each foot's first stance there.
FIRST_STEPS = 2


@dataclass(frozen=True, eq=False)
class RampResult:
    """Result of one way.

    Attributes
    ----------
    scenario : Scenario
        Its slope and ground are not used.
    profile : Profile
    outcome : str
        `arrived`, `fell`, `stalled` or `invalid`.
    told : str
        Where and what.
    rows : tuple of dict
        Per part of the way: the first steps on it, and the rest; columns as in `docs/activities.md`.
    energy : dict
        Of the whole way, see `sim.ledger.energy_book`.
    software : dict
    frames, step_records : ndarray of `FRAME`, of `STEP`
    body : Body
    """

    scenario: Scenario
    profile: Profile
    outcome: str
    told: str
    rows: tuple[dict[str, Value], ...]
    energy: dict[str, float | None]
    software: dict[str, str | float | int]
    frames: Any
    step_records: Any
    body: Body
    activity: str = "ramp"

    @cached_property
    def series(self) -> Series:
        """Named arrays over time."""
        return series_of(self.frames, self.body)

    def step_rows(self) -> dict[str, list[Any]]:
        """Table of steps as columns, with the part in which each foot lands."""
        columns = step_columns(self.step_records, self.series, self.scenario.person.weight, math.inf)
        del columns["on_slope"]
        columns["part"] = [self.profile.part_at(float(x)) for x in self.step_records["heel_x"]]
        columns["toe_clearance_m"] = [clearance(value) for value in self.step_records["clearance"].tolist()]
        return columns

    def to_dataframe(self) -> pd.DataFrame:
        """Table of steps."""
        import pandas as pd

        return pd.DataFrame(self.step_rows())

    def to_json_dict(self) -> dict[str, Any]:
        """Everything but the time series as plain values for JSON."""
        columns = self.step_rows()
        return {
            "activity": self.activity,
            "scenario": to_dict(self.scenario),
            "profile": {
                "x_m": self.profile.x,
                "height_m": self.profile.height,
                "slope": self.profile.slope,
                "parts": self.profile.parts,
                "note": self.profile.note,
            },
            "outcome": self.outcome,
            "told": self.told,
            "rows": [plain(row) for row in self.rows],
            "steps": [plain(dict(zip(columns, row, strict=True))) for row in zip(*columns.values(), strict=True)],
            "energy": plain(self.energy),
            "software": self.software,
            "caution": CAUTION,
        }


def clearance(value: float) -> float | None:
    """Least toe clearance of a step [m]; None where no swing was seen."""
    return value if value < 1e3 else None


def ramp(scenario: Scenario, profile: Profile) -> RampResult:
    """Walk a way from its beginning until both feet are beyond its end.

    Parameters
    ----------
    scenario : Scenario
        Person, prosthesis, steps, speed, rail and helper.
    profile : Profile

    Returns
    -------
    RampResult
        A fall is a result, not an error.
    """
    settings = pack_settings(scenario)
    profile.fill(settings[0]["ground"])
    body = build_body(scenario.person, scenario.components, scenario.foot)
    plant = pack_plant(body)
    landings = math.ceil(profile.end / scenario.mean_step_length) + SPARE_LANDINGS
    for _ in range(MOST_EXTENSIONS + 1):
        seconds = LONGEST * landings * scenario.step_time + SPARE_SECONDS
        run = run_until(seconds, landings, scenario, settings, plant)
        missing = profile.end - _both_beyond(run)
        if run.status or len(run.steps) < landings or missing <= 0.0:
            break
        landings += math.ceil(missing / scenario.mean_step_length) + 1
    breach = breach_in(run, scenario, settings, plant)
    walked = outcome_of(run, landings, _both_beyond(run) >= profile.end, breach)
    outcome = "arrived" if walked == "walked" else walked
    rows = () if outcome == "invalid" else part_rows(run, scenario, profile, series_of(run.frames, body), outcome)
    return RampResult(
        scenario=scenario,
        profile=profile,
        outcome=outcome,
        told=_told(outcome, run, scenario, profile, breach),
        rows=rows,
        energy=energy_book(run.book),
        software=software_of(scenario.numerics.time_step_s, scenario.numerics.iterations, run.loop),
        frames=run.frames,
        step_records=run.steps,
        body=body,
    )


def _both_beyond(run: Run) -> float:
    """How far the hinder foot has come [m]."""
    return float(run.steps["heel_x"][-2:].min()) if len(run.steps) > 1 else 0.0


def part_rows(
    run: Run, scenario: Scenario, profile: Profile, series: Series, outcome: str
) -> tuple[dict[str, Value], ...]:
    """Per part of the way: a row for the first steps on it and one for the rest; of a fall without its last two steps.

    A step counts to the part in which its standing foot stands: its loads are those of that stance.
    """
    steps = run.steps
    columns = step_columns(steps, series, scenario.person.weight, math.inf)
    usable = len(steps) if outcome == "arrived" else max(0, len(steps) - 2)
    stands = ["", *(profile.part_at(float(x)) for x in steps["heel_x"][:-1])][: len(steps)]
    begun = profile.parts[0][0]  # the first step begins in the starting pose
    stands = [part or begun for part in stands]
    rows = []
    for name, begin, end in profile.parts:
        own = [k for k in range(usable) if stands[k] == name]
        for which, chosen in (("first steps", own[:FIRST_STEPS]), ("rest", own[FIRST_STEPS:])):
            rows.append({"part": name, "which": which, "length_m": end - begin, **_row(chosen, steps, columns)})
    return tuple(rows)


def _row(chosen: Sequence[int], steps: Any, columns: dict[str, list[Any]]) -> dict[str, Value]:
    """Numbers over some steps; None where there is none."""
    on_prosthetic = [k for k in chosen if steps["leg"][k] == 1]  # the sound foot lands: the prosthetic leg stood

    def over(name: str, which: Sequence[int], how: Any) -> float | None:
        values = [columns[name][k] for k in which]
        return float(how(values)) if values else None

    toe = [clearance(float(steps["clearance"][k])) for k in chosen if steps["leg"][k] == 0]
    clear = [value for value in toe if value is not None]
    return {
        "steps": float(len(chosen)),
        "step_length_m": over("length_m", chosen, np.mean),
        "speed_m_s": over("hip_speed_m_s", chosen, np.mean),
        "sound_peak_force_bw": over("sound_peak_force_bw", chosen, max),
        "prosthetic_peak_force_bw": over("prosthetic_peak_force_bw", chosen, max),
        "knee_peak_rate_deg_s": over("standing_knee_peak_rate_deg_s", on_prosthetic, max),
        "knee_flexion_at_sound_landing_deg": over("knee_flexion_of_standing_leg_deg", on_prosthetic, np.mean),
        "prosthetic_toe_clearance_mm": 1000.0 * min(clear) if clear else None,
        "scuffs": over("scuffs", chosen, sum),
    }


def _told(outcome: str, run: Run, scenario: Scenario, profile: Profile, breach: Breach | None) -> str:
    way = ", ".join(f"{name} {end - begin:.3g} m" for name, begin, end in profile.parts)
    if outcome == "arrived":
        first = next(k for k, (a, b) in enumerate(itertools.pairwise(run.steps["heel_x"])) if min(a, b) >= profile.end)
        return f"Arrived after {first + 2} steps and {run.steps['time'][first + 1]:.1f} s. The way: {way}."
    where = ""
    if len(run.frames):
        x = float(run.frames["body"][-1, 0, 0])
        where = f" It was in the part {profile.part_at(x)!r}, {x:.1f} m from the start."
    return f"{reason_for(outcome, run, scenario, {}, breach)}{where} The way: {way}."
