"""Our walker beside the rule of rigid legs: what landings take, what the knee takes, by step length.

For every landing of the measured strides: speed of the mass centre there; energy that rigid legs of this length would
lose at that speed; and the negative work of the landing leg's ground force on the mass centre until the other foot is
off, as Donelan, Kram and Kuo take it of people (2002, J Exp Biol 205:3717, from memory).
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from sim.activities.walk import walk
from sim.errors import RampwalkError
from sim.gains import GAINS_FILE
from sim.metrics import Record
from sim.metrics.signals import power_in_and_out
from sim.plots.data import record_of_walk
from sim.plots.stride import power_by_source
from sim.result import WalkResult
from sim.scenario import Scenario
from sim.series import SIDES

SLOPES, STEPS = (-5.0, -8.0), (0.40, 0.45, 0.50, 0.55, 0.60)  # degrees, m
CADENCE, SPEED = 90.0, 0.75  # steps a minute, m/s: both meet at the start scenario's 0.50 m
PACES = {f"{CADENCE:g} steps a minute": {"cadence_steps_per_min": CADENCE}, f"{SPEED:g} m/s": {"speed_m_s": SPEED}}
OFF = 0.05  # a foot that carries less than this share of the weight is off (ours)


@dataclass(frozen=True)
class Row:
    """One walk, per step where not said otherwise; NaN if it was not completed.

    `rule`, `blow` and `ground` [J] are means over the landings of both feet: what rigid legs would lose, negative work
    of the landing leg until the other foot is off, and what the springs, dampers and friction under the feet keep.
    `knee`, `slope` [J/m]: taken by the prosthetic knee, given by gravity. `peak` [BW]: of the sound leg.
    """

    slope_deg: float
    pace: str
    step: float
    outcome: str
    speed: float = math.nan
    rule: float = math.nan
    blow: float = math.nan
    ground: float = math.nan
    knee: float = math.nan
    slope: float = math.nan
    peak: float = math.nan


def rigid_loss(mass: float, leg: float, step: float, speed: float) -> float:
    """Energy that a mass on rigid legs loses in one landing [J]: m v^2 / 2 sin^2(2 a), sin a = step / (2 leg)."""
    return 0.5 * mass * speed**2 * math.sin(2.0 * math.asin(0.5 * step / leg)) ** 2


def blow(result: WalkResult, leg: int, landing: float) -> float:
    """Negative work of a leg's ground force on the mass centre from its landing until the other foot is off [J]."""
    series, weight = result.series, result.scenario.person.weight
    first = int(np.searchsorted(series.time, landing))
    other = series.load[first:, 1 - leg] < OFF * weight
    last = first + (int(np.argmax(other)) if other.any() else len(other) - 1)
    part = slice(first, last + 1)
    power = (series.ground_force[part, leg] * series.mass_centre_velocity[part]).sum(axis=1)
    return power_in_and_out(power, np.ones(len(power)), series.interval)[1]


def row_of(slope_deg: float, pace: str, step: float) -> Row:
    """Walk once and measure."""
    result = walk(Scenario(slope_deg=slope_deg, step_length_m=step, **PACES[pace]))
    record = record_of_walk(result) if result.outcome == "walked" else None
    if record is None:
        return Row(slope_deg, pace, step, result.outcome)
    body, series, metrics = result.body, result.series, result.metrics
    leg_length = body.thigh_length + body.shank_length + body.sole_height
    table, speeds = result.step_records, np.hypot(*series.mass_centre_velocity.T)
    measured = sorted(index for strides in record.strides for stride in strides for index in stride.rows)
    measured = [index for index in dict.fromkeys(measured) if index < len(table) - 1]  # the last landing ends the run
    at = np.searchsorted(series.time, table["time"][measured])
    pairs = zip(table["length"][measured], speeds[at], strict=True)
    rules = [rigid_loss(body.total_mass, leg_length, *pair) for pair in pairs]
    blows = [blow(result, int(table["leg"][index]), float(table["time"][index])) for index in measured]
    travelled = float(metrics["slope_energy_per_step_j"]) / record.slope_energy(1.0)
    return Row(
        slope_deg, pace, step, result.outcome,
        speed=float(np.mean(speeds[at])),
        rule=float(np.mean(rules)),
        blow=float(np.mean(blows)),
        ground=_ground_taken(result, record) / 2.0,
        knee=float(metrics["knee_energy_per_step_j"]) / (2.0 * travelled),
        slope=float(record.slope_energy(1.0)),
        peak=float(metrics["sound_peak_force_bw"]),
    )  # fmt: skip


def _ground_taken(result: WalkResult, record: Record) -> float:
    """Energy that the ground under both feet keeps in a mean sound stride [J]."""
    strides = record.strides[1]
    part = slice(strides[0].first, min(strides[-1].last, len(result.frames) - 1) + 1)
    power = power_by_source(result)
    total = sum(power[f"ground {side}"][part] for side in SIDES)
    return -float(total.sum() * result.series.interval) / len(strides)


@cache
def rows() -> tuple[Row, ...]:
    """All walks."""
    return tuple(row_of(slope, pace, step) for slope in SLOPES for pace in PACES for step in STEPS)


# -------------------------------------------------------------------------------- the page's part
BEGIN, END = "<!-- our walker, generated by experiments/shorter_steps/run.py -->", "<!-- end of our walker -->"
HEAD = (
    "step length [m]",
    "speed at landing [m/s]",
    "rigid legs would lose [J]",
    "negative work of the landing leg [J]",
    "kept by the ground [J]",
    "taken by the prosthetic knee [J/m]",
    "to be braked [J/m]",
    "sound leg: peak force [BW]",
)


def gains_mark() -> str:
    """Line that says which gains the numbers are from."""
    return f"<!-- gains {hashlib.sha256(GAINS_FILE.read_bytes()).hexdigest()[:16]} -->"


def power_of_step(group: Sequence[Row], name: str) -> float:
    """Exponent of the step length in a quantity, least squares on logarithms; NaN of fewer than three walks."""
    walked = [row for row in group if row.outcome == "walked"]
    if len(walked) < 3:
        return math.nan
    return float(np.polyfit(np.log([row.step for row in walked]), np.log([getattr(row, name) for row in walked]), 1)[0])


def table_of(group: Sequence[Row]) -> str:
    """Markdown table of the walks of one slope and pace."""
    lines = [HEAD, ["---:"] * len(HEAD)]
    for row in group:
        cells = [f"{row.speed:.2f}", f"{row.rule:.1f}", f"{row.blow:.1f}", f"{row.ground:.1f}"]
        cells += [f"{row.knee:.1f}", f"{row.slope:.1f}", f"{row.peak:.2f}"]
        ended = [f"*{row.outcome}*", *[""] * (len(cells) - 1)]
        lines.append([f"{row.step:.2f}", *(cells if row.outcome == "walked" else ended)])
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def powers_table(groups: Mapping[tuple[float, str], Sequence[Row]]) -> str:
    """Powers of the step length, rule and walker."""
    lines = [
        ["slope, pace", "rigid legs would lose", "negative work of the landing leg", "taken by the knee per metre"],
        ["---", "---:", "---:", "---:"],
    ]
    for (slope, pace), group in groups.items():
        powers = [power_of_step(group, name) for name in ("rule", "blow", "knee")]
        told = ["–" if math.isnan(power) else f"{power:.1f}" for power in powers]
        lines.append([f"{slope:g} degrees, {pace}", *told])
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def generated(found: Sequence[Row]) -> str:
    """The page's part about our walker."""
    groups: dict[tuple[float, str], list[Row]] = {}
    for row in found:
        groups.setdefault((row.slope_deg, row.pace), []).append(row)
    parts = [f"{BEGIN}\n{gains_mark()}"]
    for (slope, pace), group in groups.items():
        parts += [f"Slope {slope:g} degrees, {pace}:", table_of(group)]
    return "\n\n".join([*parts, "Power of the step length in these walks:", powers_table(groups), END])


def renewed(page: str, found: Sequence[Row]) -> str:
    """Page with the part about our walker made anew."""
    before, _, rest = page.partition(BEGIN)
    _, there, after = rest.partition(END)
    if not there:
        raise RampwalkError(f"the page lacks its marks {BEGIN!r} and {END!r}; put them where the tables belong.")
    return before + generated(found) + after
