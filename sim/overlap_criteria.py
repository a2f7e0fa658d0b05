"""What each activity asks of the flexion resistance: named criteria, each a limit of its own.

A criterion turns the row of a run into an excess: above 0 it is broken, the size says by which share of the limit; NaN
where a fall leaves it unknown. Those of walking are `sim.window_criteria`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from sim.parameters import ours, ours_practice, stairs_and_seats_ada
from sim.posture_scenario import InPlace
from sim.scenario import Ground, Scenario, replace_by_name
from sim.settings import check, number, section, whole
from sim.window_criteria import BESTS, CRITERIA, Criteria, excess_of

_OURS, _STEPS, _WALK = ours_practice.overlap(), stairs_and_seats_ada.parameters(), ours.walk()
Row = Mapping[str, Any]
Excess = dict[str, float]


@dataclass(frozen=True, kw_only=True)
class Overlap(InPlace):
    """The same person and knee in every activity, over a range of flexion resistance.

    `slope_deg`, `step_length_m`, `strides` are those of the walk; seat and riser those of sitting and of the stair;
    everything else of an activity is its default. `walk` holds the criteria of the walk, the rest of the limits are
    here: shares of the load, times as multiples of the wanted one. `knee.flexion_resistance` has no effect.
    """

    slope_deg: float = number(_WALK["slope"], -20, 0, "downhill is negative")
    step_length_m: float = number(_WALK["step_length"], 0.15, 1.2, "people take steps of 0.3 to 0.9 m")
    strides: int = whole(_WALK["strides"], 1, 100, "12 strides settle and give a mean")
    seat_height_m: float = number(_STEPS["seat_height"], 0.25, 0.75, "chairs are 0.4 to 0.5 m high")
    riser_m: float = number(_STEPS["riser"], 0.02, 0.3, "building rules allow 0.1 to 0.18 m")
    bend_least_share: float = number(_OURS["bend_least_share"], 0, 0.9, "share of the load, half is wanted")
    bend_longest: float = number(_OURS["bend_longest"], 1, 4, "times the wanted time")
    sit_least_share: float = number(_OURS["sit_least_share"], 0, 0.9, "share of the load, 0.5 is even")
    sit_most_share: float = number(_OURS["sit_most_share"], 0.1, 1, "share of the load, 0.5 is even")
    sit_longest: float = number(_OURS["sit_longest"], 1, 4, "times the wanted time")
    sit_seat_speed_m_s: float = number(_OURS["sit_seat_speed"], 0.01, 3, "sitting down meets a seat at 0.1 to 0.4 m/s")
    stair_knee_rate_deg_s: float = number(_OURS["stair_knee_rate"], 10, 1000, "the walk allows 190 deg/s")
    stair_peak_share: float = number(_OURS["stair_peak_share"], 0.01, 2, "share above the best landing")
    stair_longest: float = number(_OURS["stair_longest"], 1, 4, "times the wanted time of the swing")
    stand_creep_deg_per_min: float = number(_OURS["stand_creep"], 0.01, 60, "a knee that holds does not creep")
    walk: Criteria = section(Criteria)

    def __post_init__(self) -> None:
        check(self)

    def walking(self) -> Scenario:
        """The walk down."""
        changes = {"step_length_m": self.step_length_m, "strides": self.strides}
        return replace_by_name(replace(self.walk_scenario(self.slope_deg), ground=Ground()), changes)


@dataclass(frozen=True)
class Activity:
    """One activity: how it is run at a resistance, and what it asks for.

    Attributes
    ----------
    title : str
    criteria : dict
        Name -> end of the window that it is meant for ("low", "high", "either"), what it says when broken.
    run : callable
        Settings, resistance [N m s/rad] -> row: the outcome and the metrics.
    judge : callable
        Settings, row, best values of the rows -> excess of each criterion.
    best : tuple of str
        Metrics that are judged against their least value over all runs that went well.
    """

    title: str
    criteria: Mapping[str, tuple[str, str]]
    run: Callable[[Overlap, float], Row]
    judge: Callable[[Overlap, Row, Mapping[str, float]], Excess]
    best: tuple[str, ...] = ()


def _at(settings: Overlap, resistance: float) -> dict[str, Any]:
    return settings.shared_sections() | {"knee": replace(settings.knee, flexion_resistance=resistance)}


def _run_walk(settings: Overlap, resistance: float) -> Row:
    from sim.activities.walk import walk

    result = walk(replace_by_name(settings.walking(), {"knee.flexion_resistance": resistance}))
    return {"outcome": result.outcome, **result.metrics}


def _run_sit(settings: Overlap, resistance: float) -> Row:
    from sim.activities.sit import Sit, sit

    given = Sit(**_at(settings, resistance), seat_height_m=settings.seat_height_m)
    result = sit(given)
    return {"outcome": result.outcome, "wanted_s": given.down_s, **result.metrics}


def _run_stair(settings: Overlap, resistance: float) -> Row:
    from sim.activities.stair import Stair, stair

    given = Stair(**_at(settings, resistance), riser_m=settings.riser_m)
    result = stair(given)
    return {"outcome": result.outcome, "wanted_s": given.swing_s, **result.metrics}


def _run_bend(settings: Overlap, resistance: float) -> Row:
    from sim.activities.bend import Bend, bend

    given = Bend(**_at(settings, resistance), repeats=1)
    result = bend(given)
    return {"outcome": result.outcome, "wanted_s": given.down_s, **result.metrics}


def _run_stand(settings: Overlap, resistance: float) -> Row:
    from sim.activities.stand import Stand, stand

    result = stand(Stand(**_at(settings, resistance), slope_deg=settings.slope_deg))
    return {"outcome": result.outcome, **result.metrics}


def _over(value: Any, limit: float) -> float:
    """Share by which a value is above its limit; NaN if it was not measured."""
    return math.nan if value is None else float(value) / limit - 1.0


def _under(value: Any, limit: float) -> float:
    return math.nan if value is None else 1.0 - float(value) / limit if limit > 0.0 else -1.0


def _ended(row: Row, **criteria: str) -> Excess:
    """1 for the criterion whose outcome it was, -1 for the others."""
    return {name: 1.0 if row["outcome"] == word else -1.0 for name, word in criteria.items()}


def _judge_walk(settings: Overlap, row: Row, best: Mapping[str, float]) -> Excess:
    return excess_of(row, settings.walking(), settings.walk, best)


def _judge_sit(settings: Overlap, row: Row, best: Mapping[str, float]) -> Excess:
    del best
    excess = _ended(row, falls="fell", stuck="stuck", no_result="invalid")
    done = row["outcome"] == "sat"
    share, time = (row["prosthetic_load_share"], row["move_time_s"]) if done else (None, None)
    return excess | {
        "sound_leg_does_most": _under(share, settings.sit_least_share),
        "drops": _over(row["seat_contact_speed_m_s"] if done else None, settings.sit_seat_speed_m_s),
        "prosthesis_props": _over(share, settings.sit_most_share),
        "too_slow": _over(time, settings.sit_longest * row["wanted_s"]),
    }


def _judge_stair(settings: Overlap, row: Row, best: Mapping[str, float]) -> Excess:
    excess = _ended(row, falls="fell", gives_way="gave way", stuck="stuck", no_result="invalid")
    landed = row["outcome"] == "landed"
    limit = best.get("landing_peak_bw", math.nan) * (1.0 + settings.stair_peak_share)
    return excess | {
        "knee_rate": _over(row["knee_peak_rate_deg_s"] if landed else None, settings.stair_knee_rate_deg_s),
        "lands_hard": _over(row["landing_peak_bw"] if landed else None, limit),
        "too_slow": _over(row["landing_time_s"] if landed else None, settings.stair_longest * row["wanted_s"]),
    }


def _judge_bend(settings: Overlap, row: Row, best: Mapping[str, float]) -> Excess:
    del best
    bent = row["outcome"] == "bent"
    return _ended(row, falls="fell", stuck="stuck", no_result="invalid") | {
        "sound_leg_does_most": _under(row["prosthetic_load_share_down"] if bent else None, settings.bend_least_share),
        "too_slow": _over(row["down_time_s"] if bent else None, settings.bend_longest * row["wanted_s"]),
    }


def _judge_stand(settings: Overlap, row: Row, best: Mapping[str, float]) -> Excess:
    del best
    creep = row["knee_creep_deg_per_min"] if row["outcome"] == "stood" else None
    crept = None if creep is None else abs(creep)
    return _ended(row, falls="fell", no_result="invalid") | {"creeps": _over(crept, settings.stand_creep_deg_per_min)}


_FALLS, _STUCK = ("low", "the move ends in a fall"), ("high", "the move is not finished within four times its time")
_NO_RESULT = ("either", "the computation gave no result")
ACTIVITIES: dict[str, Activity] = {
    "walk": Activity("walking down", CRITERIA, _run_walk, _judge_walk, BESTS),
    "sit": Activity(
        "sitting down",
        {
            "falls": _FALLS,
            "sound_leg_does_most": ("low", "the prosthetic leg takes too little of the load"),
            "drops": ("low", "the body drops onto the seat"),
            "prosthesis_props": ("high", "the prosthetic leg takes too much of the load"),
            "too_slow": ("high", "it takes too long"),
            "stuck": _STUCK,
            "no_result": _NO_RESULT,
        },
        _run_sit,
        _judge_sit,
    ),
    "stair": Activity(
        "one stair down",
        {
            "falls": _FALLS,
            "knee_rate": ("low", "the loaded knee bends too fast"),
            "lands_hard": ("low", "the sound foot lands hard"),
            "gives_way": ("high", "the sound leg does not stop the body: it lands late and low"),
            "too_slow": ("high", "the sound foot lands too late"),
            "stuck": ("high", "the sound foot does not land"),
            "no_result": _NO_RESULT,
        },
        _run_stair,
        _judge_stair,
        ("landing_peak_bw",),
    ),
    "bend": Activity(
        "bending in place",
        {
            "falls": _FALLS,
            "sound_leg_does_most": ("low", "the prosthetic leg takes too little of the load"),
            "too_slow": ("high", "the way down takes too long"),
            "stuck": _STUCK,
            "no_result": _NO_RESULT,
        },
        _run_bend,
        _judge_bend,
    ),
    "stand": Activity(
        "standing on the slope",
        {"falls": ("either", "the person falls"), "creeps": ("low", "the knee creeps"), "no_result": _NO_RESULT},
        _run_stand,
        _judge_stand,
    ),
}
"""Name -> activity, in the order of the table."""
#: Outcome of a run that went well.
WELL = {"walk": "walked", "sit": "sat", "stair": "landed", "bend": "bent", "stand": "stood"}
