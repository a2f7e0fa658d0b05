"""How a walk ended, in a word and in a sentence that says what to try."""

from __future__ import annotations

import math
from typing import Any

from sim.activities.guards import Breach
from sim.law.records import FOOT, PROSTHETIC, SHANK, THIGH, TRUNK
from sim.law.walker import HIP_LOW, NOT_FINITE, STALLED, TRUNK_OVER
from sim.scenario import Scenario, settings

#: A prosthetic knee bent further than this under a fallen hip has given way [rad] (ours; 70 degrees).
GAVE_WAY = math.radians(70.0)
#: Deviations from what was wanted that a reason mentions (the owner's limit for an obedient walk).
DEVIATION = 0.10

#: Finest time step that a scenario allows [s].
FINEST_STEP = next(setting.low for setting in settings() if setting.name == "numerics.time_step_s")

Metrics = dict[str, float | None]


def outcome_of(run: Any, landings: int, on_slope: bool, breach: Breach | None = None) -> str:
    """Walked, fell, stalled or invalid.

    Parameters
    ----------
    run : Run
    landings : int
        How many the walk was to make.
    on_slope : bool
        Enough of them lie on the slope.
    breach : Breach, optional
        What went wrong with the physics; the run then is no result, however it ended.
    """
    if breach or run.status == NOT_FINITE:
        return "invalid"
    if run.status in (HIP_LOW, TRUNK_OVER):
        return "fell"
    if run.status == STALLED or len(run.steps) < landings or not on_slope:
        return "stalled"
    return "walked"


def reason_for(outcome: str, run: Any, scenario: Scenario, metrics: Metrics, breach: Breach | None = None) -> str:
    """What happened and what to try."""
    if outcome == "walked":
        return _walked(run, scenario, metrics)
    where = f"after {len(run.steps)} steps and {run.time:.1f} s"
    if outcome == "invalid":
        return _invalid(breach or Breach(run.time, "a number left the finite range"), scenario)
    if outcome == "stalled":
        return _stalled(run, where, scenario)
    return _fell(run, where, scenario)


def _invalid(breach: Breach, scenario: Scenario) -> str:
    numerics = scenario.numerics
    half = max(0.5 * numerics.time_step_s, FINEST_STEP)
    finer = f"numerics.time_step_s = {half:.3g}, " if half < numerics.time_step_s else ""
    return (
        f"No result: after {breach.time:.2f} s {breach.cause}; the time step is too coarse for this stiffness and "
        f"damping: try {finer}less resistance or damping, or softer contact."
    )


def _walked(run: Any, scenario: Scenario, metrics: Metrics) -> str:
    told = f"Walked {len(run.steps)} steps in {run.time:.1f} s, at least {2 * scenario.strides} of them on the slope"
    spread, count = metrics["stride_variation"], metrics["measured_strides"]
    if count is None:
        return f"{told}; nothing was measured because a foot did not lift between its landings: try longer steps."
    if spread is None:
        return f"{told}; one stride was measured: try more strides to see how steady it is."
    how = "steady" if metrics["steady"] else "not steady: try more strides, or other steps"
    told = f"{told}; {count:.0f} measured strides vary by {100 * spread:.1f} %, {how}."
    wanted = {
        "prosthetic step": ("prosthetic_step_length_m", scenario.step_lengths[0]),
        "sound step": ("sound_step_length_m", scenario.step_lengths[1]),
        "speed": ("speed_m_s", scenario.speed),
    }
    off = []
    for what, (name, value) in wanted.items():
        got = metrics[name]
        assert got is not None  # measured with the strides
        share = got / value - 1.0
        if abs(share) > DEVIATION:
            off.append(f"{what} {100 * abs(share):.0f} % {'above' if share > 0 else 'below'} the wanted one")
    return f"{told} {', '.join(off).capitalize()}." if off else told


def _stalled(run: Any, where: str, scenario: Scenario) -> str:
    if run.status == STALLED and len(run.frames):
        leg = _leg_name(int(run.frames[-1]["stance"]), scenario)
        remedy = "a lower flexion resistance, " if scenario.person.has_prosthesis else ""
        return (
            f"Stalled {where}: no further landing while the {leg} leg carried; "
            f"try {remedy}a longer step or more speed."
        )
    return f"Stalled {where}: steps came out much slower or shorter than wanted; try a shorter step or less speed."


def _leg_name(leg: int, scenario: Scenario) -> str:
    return "prosthetic" if leg == PROSTHETIC and scenario.person.has_prosthesis else "sound"


def _fell(run: Any, where: str, scenario: Scenario) -> str:
    if not len(run.frames):
        return f"Fell {where}, at the start; try a smaller slope or a shorter step."
    frame = run.frames[-1]
    angle, leg = frame["body"][:, 2], int(frame["stance"])
    name = _leg_name(leg, scenario)
    if run.status == TRUNK_OVER:
        side = "backward" if angle[TRUNK] > 0.0 else "forward"
        return f"Fell {where}: the trunk went over {side} above the {name} leg; try a shorter step or another speed."
    bent = float(angle[THIGH + 3 * leg] - angle[SHANK + 3 * leg])
    if name == "prosthetic" and bent > GAVE_WAY:
        return (
            f"Fell {where}: the prosthetic knee gave way under load ({math.degrees(bent):.0f} deg); "
            "try a higher flexion resistance or a shorter step."
        )
    foot_ahead = frame["body"][FOOT + 3 * leg, 0] > frame["body"][TRUNK, 0]
    side = "backward, behind" if foot_ahead else "forward, beyond"
    return f"Fell {where}: the hip sank {side} the {name} foot; try a shorter step, another speed or a smaller slope."
