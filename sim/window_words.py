"""A flexion resistance as something a person can picture, and a window in plain lines."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sim.scenario import HYDRAULIC_EXPONENT, HYDRAULIC_REFERENCE_RATE, Scenario
from sim.window_criteria import CRITERIA
from sim.window_found import Limit, Window

BEND_FROM_DEG, BEND_TO_DEG = 5.0, 40.0
"""Bend in place: from a knee just unlocked (ours: a straight one carries any load) to 40 deg."""
BEND_LOAD_BW = 0.5
"""Load on the prosthetic foot while the knee bends in place: half the body weight, as on two feet."""
_BEND_POINTS = 400
#: Seconds to bend in place up to which a word holds (ours: half and twice the 0.4 s and 0.8 s of a stance, rounded).
_WORDS = ((0.4, "gives way at once"), (0.8, "bends fast"), (1.6, "bends steadily"), (3.2, "bends slowly"))
_SLOWEST = "hardly bends"


def bend_rate(torque: float, resistance: float, law: str) -> float:
    """Flexion rate at which the knee's resistance balances a torque [rad/s].

    Parameters
    ----------
    torque : float
        Flexing [N m], 0 or more.
    resistance : float
        [N m s/rad], above 0; of the hydraulic law the linear equivalent at its reference rate.
    law : str
        "linear" or "hydraulic".
    """
    if law == "hydraulic":
        scale = resistance * HYDRAULIC_REFERENCE_RATE ** (1.0 - HYDRAULIC_EXPONENT)
        return float((torque / scale) ** (1.0 / HYDRAULIC_EXPONENT))
    return torque / resistance


def seconds_to_bend(scenario: Scenario, resistance: float) -> float:
    """Time that the loaded knee takes from `BEND_FROM_DEG` to `BEND_TO_DEG` in place [s].

    The hip stays plumb over the ankle and carries `BEND_LOAD_BW`; the ankle and the speed of the body are left out.
    Two equal segments: the knee is half a leg length x sin(flexion / 2) from the line of the load.
    """
    if resistance <= 0.0:
        return 0.0
    arm = 0.5 * scenario.person.leg_length
    flexion = np.radians(np.linspace(BEND_FROM_DEG, BEND_TO_DEG, _BEND_POINTS))
    torque = BEND_LOAD_BW * scenario.person.weight * arm * np.sin(flexion / 2.0)
    slowness = [1.0 / bend_rate(float(each), resistance, scenario.knee.law) for each in torque]
    return float(np.trapezoid(slowness, flexion))


def in_words(seconds: float) -> str:
    """Word for a knee that takes this long to bend in place."""
    return next((word for limit, word in _WORDS if seconds < limit), _SLOWEST)


def resistance_text(scenario: Scenario, resistance: float) -> str:
    """A resistance in N m s/rad, per kg, in seconds and in words."""
    seconds = seconds_to_bend(scenario, resistance)
    per_kg = resistance / scenario.person.mass_kg
    return (
        f"{resistance:.3g} N m s/rad ({per_kg:.2g} per kg; {seconds:.2g} s to bend to {BEND_TO_DEG:.0f} deg in place: "
        f"{in_words(seconds)})"
    )


def window_lines(window: Window) -> list[str]:
    """What was found, in plain lines: ends, who closes them, first trial value, each criterion's limits."""
    scenario = window.scenario
    lines = [
        (f"Slope {scenario.slope_deg:g} deg, steps of {scenario.mean_step_length:.3g} m at {scenario.speed:.3g} m/s, "
        f"{scenario.person.mass_kg:g} kg.")
    ]
    tried = sorted(window.rows)
    if not window.pieces:
        scanned = f"{tried[0]:g} to {tried[-1]:g} N m s/rad"
        lines.append(f"There is no window: from {scanned} some criterion is always broken.")
        always = window.always_broken()
        if always:
            lines.append(f"Broken in every walk that tells: {'; '.join(CRITERIA[name][1] for name in always)}.")
        else:
            lines.append("No single criterion is broken throughout: what is too low for one is too high for another.")
        at, names = window.nearest()
        if names:
            lines.append(f"Fewest are broken at {at:.3g} N m s/rad: {'; '.join(CRITERIA[name][1] for name in names)}.")
        return [*lines, *limit_lines(window.limits)]
    for piece in window.pieces:
        note = " (the widest part)" if len(window.pieces) > 1 and piece == window.main else ""
        lines.append(f"Window{note}: {piece.low:.3g} to {piece.high:.3g} N m s/rad.")
        ends = (("Lower", piece.low, piece.closed_low), ("Upper", piece.high, piece.closed_high))
        for name, value, closed in ends:
            why = f"{'beyond it ' if closed else ''}{closed_words(closed)}"
            lines.append(f"  {name} limit {resistance_text(scenario, value)}: {why}.")
    if len(window.pieces) > 1:
        lines.append(f"The window splits into {len(window.pieces)} parts: between them a criterion is broken.")
    if window.first_trial is not None:
        lines.append(f"First trial value: {resistance_text(scenario, window.first_trial)}.")
        lines.append("It is a first trial value only, to be adjusted with the person by licensed practice.")
    return [*lines, *limit_lines(window.limits)]


def closed_words(names: Sequence[str]) -> str:
    """Who closes an end of a window, as half a sentence."""
    if not names:
        return "no criterion closes this end inside the scanned range"
    return " and ".join(CRITERIA[name][1] for name in names)


def limit_lines(limits: Sequence[Limit]) -> list[str]:
    """Every criterion's own limits, and those that have none."""
    lines = ["Limit of each criterion [N m s/rad]:"]
    for name in CRITERIA:
        own = [limit for limit in limits if limit.criterion == name]
        told = ", ".join(f"{'above' if each.kept > each.broken else 'below'} {each.value:.3g}" for each in own)
        lines += [f"  {name}: kept {told}"] if own else []
    none = [name for name in CRITERIA if all(limit.criterion != name for limit in limits)]
    return [*lines, f"  no limit inside the scanned range: {', '.join(none)}"]


def table_row(window: Window, what: str) -> dict[str, object]:
    """One window as a row of a table."""
    piece = window.main
    nothing = math.nan
    values = (nothing, nothing, nothing) if piece is None else (piece.low, piece.high, window.first_trial)
    row: dict[str, object] = {
        "what": what,
        "slope_deg": window.scenario.slope_deg,
        "step_length_m": window.scenario.mean_step_length,
        "wanted_speed_m_s": window.scenario.speed,
        "mass_kg": window.scenario.person.mass_kg,
        "parts": len(window.pieces),
    }
    for name, value in zip(("lower", "upper", "first_trial"), values, strict=True):
        number = math.nan if value is None else value
        row[f"{name}_nm_s_per_rad"] = number
        row[f"{name}_nm_s_per_rad_per_kg"] = number / window.scenario.person.mass_kg
        row[f"{name}_bend_s"] = seconds_to_bend(window.scenario, number) if number == number else math.nan  # noqa: PLR0124
    row["closed_low"] = " ".join(piece.closed_low) if piece else ""
    row["closed_high"] = " ".join(piece.closed_high) if piece else " ".join(window.always_broken())
    return row
