"""The walks that the checks look at. Speeds and steps are those of the sources where these name them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from statistics import mean
from typing import Any

from sim.activities.walk import walk
from sim.parameters import lengths_drillis1966
from sim.result import WalkResult
from sim.scenario import Knee, Person, Scenario

SOUND_PERSON = Person(limbs="both-sound")
ANGLE_SPEED = 1.0  # m/s, middle of the speeds of rows A01 to A11
AMPUTEE_SPEED, AMPUTEE_STEP = 1.0, 0.60  # m/s as in rows P02 to P06; step at 100 a minute (ours)


def angle_step() -> float:
    """Step of a stride of 1.3 leg lengths, hip to ground [m]."""
    share = lengths_drillis1966.parameters()
    leg = sum(share[name].value for name in ("thigh_length", "shank_length", "ankle_height"))
    return 0.5 * 1.3 * leg * SOUND_PERSON.stature_m


def able(slope_deg: float, step: float, speed: float) -> Scenario:
    """Person with two sound legs."""
    return Scenario(slope_deg=slope_deg, step_length_m=step, speed_m_s=speed, person=SOUND_PERSON)


def able_of_angles(slope_deg: float) -> Scenario:
    """The walk of rows A01 to A11 and W01."""
    return able(slope_deg, angle_step(), ANGLE_SPEED)


def prosthetic(slope_deg: float, step: float = AMPUTEE_STEP, speed: float = AMPUTEE_SPEED) -> Scenario:
    """Person with one prosthesis, start settings."""
    return Scenario(slope_deg=slope_deg, step_length_m=step, speed_m_s=speed)


def downhill(slope_deg: float, step: float = 0.5, speed: float = 0.75, **changes: Any) -> Scenario:
    """The program's own start scenario on a slope, for the rows that ask for a direction only."""
    resistance = changes.pop("resistance", Knee().flexion_resistance)
    knee = Knee(flexion_resistance=resistance)
    return Scenario(slope_deg=slope_deg, step_length_m=step, speed_m_s=speed, knee=knee, **changes)


@dataclass
class Walks:
    """Results by scenario; each scenario walks once."""

    done: dict[str, WalkResult] = field(default_factory=dict)

    def of(self, scenario: Scenario) -> WalkResult:
        key = repr(scenario)
        if key not in self.done:
            self.done[key] = walk(scenario)
        return self.done[key]

    def walked(self) -> list[WalkResult]:
        """All that did not fall so far."""
        return [result for result in self.done.values() if result.outcome == "walked"]


def metric(result: WalkResult, name: str) -> float:
    """A metric, or nan where it could not be taken."""
    value = result.metrics[name]
    return math.nan if value is None else float(value)


def both(result: WalkResult, name: str) -> float:
    """Mean of a metric of both legs."""
    return mean(metric(result, f"{side}_{name}") for side in ("prosthetic", "sound"))
