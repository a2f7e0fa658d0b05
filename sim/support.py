"""What may support a person: a handrail in one hand, a helper's hands at the pelvis. Off by default.

Shares are of body weight with prosthesis. How the forces act: `sim/law/outside.py`.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.parameters import ours_support, ramps_ada
from sim.settings import Settings, check, choice, number, whole

_RAIL, _HELPER, _RULES = ours_support.rail(), ours_support.helper(), ramps_ada.parameters()
#: Lateral sign of a side: positive towards the prosthesis.
RAIL_SIDES = {"none": 0.0, "prosthetic": 1.0, "sound": -1.0}


@dataclass(frozen=True)
class Rail(Settings):
    """A handrail: the hand carries a share of the weight and may brake, and its grip damps what deviates.

    `side` other than `none` puts the hand on the rail. In the plane both sides act alike; what differs is across the
    way, see `sim.frontal`. The hand slides along at the wanted speed, `reach_m` ahead of the hip and `height_m` above
    the ground; the grip's stretch is forgotten within `slide_time_s`, so that on average the hand carries
    `carried_share` and holds back `braking_share`.
    """

    side: str = choice(*RAIL_SIDES)
    carried_share: float = number(_RAIL["rail_carried"], 0, 0.15, "a hand on a rail carries 0 to 0.15 of body weight")
    braking_share: float = number(_RAIL["rail_braking"], 0, 0.15, "a sliding hand brakes 0 to 0.15 of body weight")
    height_m: float = number(_RULES["rail_height"], 0.5, 1.3, "rails are 0.85 to 1.0 m high, for children 0.7 m")
    reach_m: float = number(_RAIL["rail_reach"], -0.3, 0.6, "a hand reaches 0.6 m ahead of the hip")
    grip_stiffness_n_per_m: float = number(_RAIL["grip_stiffness"], 0, 5000, "0 for a hand that only leans")
    grip_damping_n_s_per_m: float = number(_RAIL["grip_damping"], 0, 1000, "0 for a hand that only leans")
    slide_time_s: float = number(_RAIL["rail_settle"], 0.05, 20, "a hand slides on within 0.2 to 2 s")
    strongest_grip_share: float = number(_RAIL["rail_strongest"], 0.02, 1.0, "an arm bears 0.2 to 0.5 body weights")

    def __post_init__(self) -> None:
        check(self, "rail.")

    @property
    def on(self) -> bool:
        """Whether a hand is on the rail."""
        return self.side != "none"


@dataclass(frozen=True)
class Helper(Settings):
    """Hands at the pelvis: they carry a share of the weight and hold the pelvis along the ground, going along.

    `support` is `none`, `constant`, or `fading`: all of it falls evenly to nothing over `fade_steps` steps. The helper
    takes up the person's pace within `follow_time_s`, so that no mean force along the ground remains.
    """

    support: str = choice("none", "constant", "fading")
    lifted_share: float = number(_HELPER["helper_carried"], 0, 0.6, "a helper carries 0 to 0.4 of body weight")
    hold_stiffness_n_per_m: float = number(_HELPER["helper_stiffness"], 0, 10000, "0 for hands that only carry")
    hold_damping_n_s_per_m: float = number(_HELPER["helper_damping"], 0, 2000, "0 for hands that only carry")
    follow_time_s: float = number(_HELPER["helper_settle"], 0.05, 60, "a helper follows within 0.3 to 5 s")
    strongest_hold_share: float = number(_HELPER["helper_strongest"], 0, 1.0, "hands push with 0.1 to 0.5 body weights")
    fade_steps: int = whole(_HELPER["helper_fade_steps"], 1, 1000, "two steps are a stride")

    def __post_init__(self) -> None:
        check(self, "helper.")

    @property
    def on(self) -> bool:
        """Whether somebody helps."""
        return self.support != "none"
