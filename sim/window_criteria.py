"""When is flexion resistance too low or too high: one named, changeable limit per criterion.

A criterion turns a walk into an excess: below 0 it is kept, above 0 it is broken, and the size says by which share of
the limit. A walk without a number for it has NaN.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sim.errors import is_number
from sim.parameters import Sourced
from sim.scenario import Scenario
from sim.settings import Settings, check, choice, number

COLUMNS = (
    "outcome",
    "knee_loaded_peak_rate_deg_s",
    "knee_loaded_peak_flexion_deg",
    "sound_peak_force_bw",
    "sound_loading_rate_bw_s",
    "prosthetic_com_ahead_at_other_landing_m",
    "speed_m_s",
    "sound_step_time_s",
    "prosthetic_step_time_s",
    "prosthetic_hip_work_in_j_per_m",
    "sound_impulse_share",
)
"""Columns of a sweep's table that the criteria and the first trial value need."""
BESTS = ("sound_peak_force_bw", "sound_loading_rate_bw_s", "prosthetic_hip_work_in_j_per_m")
"""Columns that are judged against their least value over the walks of one window."""
RULES = ("even-impulse", "least-sound-peak", "middle")
Row = Mapping[str, Any]


def _ours(value: float, unit: str, low: float, high: float, why: str) -> Sourced:
    return Sourced(value, unit, f"ours: {why}", "ours", low, high)


_SHARE_OF_BEST = "a share above the best value, 0.1 for ten per cent"


@dataclass(frozen=True)
class Criteria(Settings):
    """Limits of the window of flexion resistance, and the rule for the first trial value.

    None of them is a limit of safety for a person; each is a place at which a model walk begins to look wrong.
    """

    loaded_knee_rate_deg_s: float = number(
        _ours(190, "deg/s", 130, 260, "half again the mean rate of 50 deg of yield in 0.4 s (row Q05), as its peak"),
        10,
        1000,
        "highest flexion rate of the loaded knee that does not count as giving way",
    )
    sound_peak_share: float = number(
        _ours(0.10, "1", 0.05, 0.20, "five times what the time step may change (2 %)"), 0.01, 2, _SHARE_OF_BEST
    )
    loading_rate_share: float = number(
        _ours(0.50, "1", 0.25, 1.0, "a rate is a slope and varies far more than a peak"), 0.01, 10, _SHARE_OF_BEST
    )
    loading_rate_floor_bw_s: float = number(
        _ours(20, "BW/s", 10, 40, "slower loading than this is no overload, whatever its share above the best"),
        0,
        200,
        "loading rate below which the share does not count",
    )
    yield_share: float = number(
        _ours(0.25, "1", 0.1, 0.5, "hip, trunk and sound leg can lower the body by the rest"),
        0.01,
        1,
        "share of the knee bend that would lower the hip by the fall of one step",
    )
    mass_centre_ahead_m: float = number(
        _ours(0.0, "m", -0.05, 0.1, "behind the ankle the body would have to be pulled over it"),
        -0.5,
        0.5,
        "mass centre ahead of the prosthetic ankle when the sound foot lands",
    )
    speed_share: float = number(
        _ours(0.10, "1", 0.05, 0.2, "the limit within which a walk counts as doing what was wanted"),
        0.01,
        1,
        "share by which the speed may differ from the wanted one",
    )
    step_time_share: float = number(
        _ours(0.10, "1", 0.05, 0.2, "as for the speed"), 0.01, 1, "share by which the mean step time may differ"
    )
    rhythm_share: float = number(
        _ours(0.25, "1", 0.1, 0.4, "above-knee walkers on the level differ by 0.1 to 0.2 between sides, from memory"),
        0.01,
        2,
        "difference of the two step times over their mean",
    )
    hip_effort_share: float = number(
        _ours(0.25, "1", 0.1, 0.5, "a quarter more work of the hip than the easiest setting needs"),
        0.01,
        5,
        _SHARE_OF_BEST,
    )
    first_trial_rule: str = choice(*RULES)
    even_enough_share: float = number(
        _ours(0.005, "1", 0.002, 0.02, "impulse shares this close are alike; the lower sound peak decides"),
        0,
        0.2,
        "difference of impulse share that counts as a tie",
    )
    keep_from_ends_share: float = number(
        _ours(0.10, "1", 0.0, 0.25, "a start at the very end of a window has no room"),
        0,
        0.4,
        "share of the window, by ratio, that the first trial value keeps from each end",
    )

    def __post_init__(self) -> None:
        check(self)


CRITERIA = {
    "fall": ("low", "the walk ends in a fall"),
    "knee_rate": ("low", "the loaded knee bends too fast"),
    "sound_peak": ("low", "the peak force of the sound leg is high"),
    "loading_rate": ("low", "the sound leg is loaded too fast"),
    "knee_hardly_bends": ("high", "the knee hardly bends under load although the slope asks for it"),
    "mass_centre_behind": ("high", "the mass centre is still behind the prosthetic foot when the sound foot lands"),
    "speed": ("high", "the speed is off"),
    "step_time": ("high", "the step time is off"),
    "rhythm": ("high", "the rhythm is uneven"),
    "hip_effort": ("high", "the hip on the prosthetic side works hard"),
    "stall": ("high", "the walk stalls"),
    "no_result": ("either", "the computation gave no result"),
}
"""Name -> end of the window that it is meant for, what it says. A criterion may be broken at the other end too."""


def wanted_yield_deg(scenario: Scenario) -> float:
    """Knee bend that shortens the leg by the fall of one step [deg]; 0 on level and uphill.

    Two equal segments bent by an angle reach cos(angle / 2) of their length.
    """
    fall = -scenario.mean_step_length * math.sin(math.radians(scenario.slope_deg))
    if fall <= 0.0:
        return 0.0
    return 2.0 * math.degrees(math.acos(max(-1.0, 1.0 - fall / scenario.person.leg_length)))


def excess_of(row: Row, scenario: Scenario, criteria: Criteria, best: Mapping[str, float]) -> dict[str, float]:
    """How far a walk is beyond each limit, as a share of it.

    Parameters
    ----------
    row : mapping
        `COLUMNS` of a walk; NaN or None for what was not measured.
    scenario : Scenario
        What was wanted.
    criteria : Criteria
    best : mapping of str to float
        Least values of `BESTS`.

    Returns
    -------
    dict of str to float
        Name of `CRITERIA` -> below 0 kept, above 0 broken (fall, stall, no result: -1 or 1), NaN unknown.
    """
    outcome = row["outcome"]
    ends = {"fall": "fell", "stall": "stalled"}
    excess = dict.fromkeys(CRITERIA, math.nan)
    excess |= {name: 1.0 if outcome == word else -1.0 for name, word in ends.items()}
    excess["no_result"] = -1.0 if outcome in ("walked", "fell", "stalled") else 1.0
    if outcome != "walked":
        return excess
    value = {name: _number(row[name]) for name in COLUMNS if name != "outcome"}

    def over_best(name: str, share: float, floor: float = 0.0) -> float:
        limit = max(best.get(name, math.nan) * (1.0 + share), floor)
        return value[name] / limit - 1.0 if limit > 0.0 else math.nan

    times = value["prosthetic_step_time_s"], value["sound_step_time_s"]
    mean_time = 0.5 * sum(times)
    needed = criteria.yield_share * wanted_yield_deg(scenario)
    ahead = value["prosthetic_com_ahead_at_other_landing_m"]
    return excess | {
        "knee_rate": value["knee_loaded_peak_rate_deg_s"] / criteria.loaded_knee_rate_deg_s - 1.0,
        "sound_peak": over_best(BESTS[0], criteria.sound_peak_share),
        "loading_rate": over_best(BESTS[1], criteria.loading_rate_share, criteria.loading_rate_floor_bw_s),
        "hip_effort": over_best(BESTS[2], criteria.hip_effort_share),
        "knee_hardly_bends": 1.0 - value["knee_loaded_peak_flexion_deg"] / needed if needed else -1.0,
        "mass_centre_behind": (criteria.mass_centre_ahead_m - ahead) / scenario.mean_step_length,
        "speed": abs(value["speed_m_s"] / scenario.speed - 1.0) / criteria.speed_share - 1.0,
        "step_time": abs(mean_time / scenario.step_time - 1.0) / criteria.step_time_share - 1.0,
        "rhythm": abs(times[0] - times[1]) / mean_time / criteria.rhythm_share - 1.0,
    }


def _number(value: Any) -> float:
    return float(value) if is_number(value) else math.nan
