"""Across the way: what the side of a rail changes. Statics only; nothing of it is in the walk or in its energy book.

The body is cut at the hips. Lateral places count from the middle, positive towards the prosthesis: hip joints at
half of `hip_distance_m`, feet at half of `foot_distance_m`, the hand at `hand_distance_m`, head-arms-trunk at
`trunk_shift_m`, a swinging leg below its own hip. Nothing accelerates to the side, and a foot presses below its middle.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.body import Body
from sim.parameters import ours_support
from sim.scenario import GRAVITY
from sim.settings import Settings, check, number
from sim.support import RAIL_SIDES

_OURS = ours_support.frontal()


@dataclass(frozen=True)
class Frontal(Settings):
    """Lateral distances. `trunk_shift_m` moves head, arms and trunk towards the prosthesis (negative: away from it)."""

    hip_distance_m: float = number(_OURS["hip_distance"], 0.1, 0.3, "hip joints of adults are 0.15 to 0.20 m apart")
    foot_distance_m: float = number(_OURS["foot_distance"], 0.02, 0.5, "feet are 0.08 to 0.25 m apart in walking")
    hand_distance_m: float = number(_OURS["hand_distance"], 0.2, 0.9, "a hand on a rail is 0.3 to 0.6 m from mid-line")
    trunk_shift_m: float = number(_OURS["shift"], -0.25, 0.25, "people lean a few centimetres to a side")

    def __post_init__(self) -> None:
        check(self, "frontal.")


def hip_moment(leg: int, carried_n: float, side: str, body: Body, frontal: Frontal, effort: float = 1.0) -> float:
    """Moment that the muscles beside the standing hip must give so that the pelvis does not drop [N m].

    Parameters
    ----------
    leg : int
        That stands: 0 prosthetic, 1 sound.
    carried_n : float
        Vertical force of the hand on the rail [N].
    side : one of `RAIL_SIDES`
        Where the rail is.
    body : Body
    frontal : Frontal
    effort : float
        Force under the foot / static force: a body that is braked downward presses harder.

    Notes
    -----
    Moment about the standing hip of the weights of head-arms-trunk and of the hanging leg, less that of the rail.
    """
    toward = 1.0 if leg == 0 else -1.0
    hip = 0.5 * frontal.hip_distance_m
    trunk, hanging = float(body.mass[0]), float(body.mass[4:7].sum() if leg == 0 else body.mass[1:4].sum())
    weight = trunk * (hip - toward * frontal.trunk_shift_m) + hanging * 2.0 * hip
    hand = toward * RAIL_SIDES[side] * frontal.hand_distance_m
    return effort * GRAVITY * weight - carried_n * (hip - hand)


def share_on_prosthetic(carried_n: float, side: str, body: Body, frontal: Frontal) -> float:
    """Share of the force under both feet that is on the prosthetic one when both stand [1]; may leave 0 to 1.

    Moments about the middle: the two feet against head-arms-trunk beside the middle, the legs below their hips, and
    the hand. The mass of the two legs is not the same, which shifts the mass centre a little to the sound side.
    """
    hip, foot = 0.5 * frontal.hip_distance_m, 0.5 * frontal.foot_distance_m
    legs = float(body.mass[1:4].sum() - body.mass[4:7].sum())
    moment = GRAVITY * (float(body.mass[0]) * frontal.trunk_shift_m + legs * hip)
    moment -= carried_n * RAIL_SIDES[side] * frontal.hand_distance_m
    under_feet = float(body.mass.sum()) * GRAVITY - carried_n
    return 0.5 + 0.5 * moment / (foot * under_feet)


def shift_that_evens(carried_n: float, body: Body, frontal: Frontal) -> float:
    """How far head, arms and trunk must lean to the rail's side so that the feet share as they do without it [m].

    Leaning further, the foot on the rail's side carries a larger share than without a rail; leaning less, a smaller
    one. From `share_on_prosthetic` with the rail on the prosthetic side, set equal to that without.
    """
    legs = float(body.mass[1:4].sum() - body.mass[4:7].sum())
    arm = frontal.hand_distance_m - legs * 0.5 * frontal.hip_distance_m / float(body.mass.sum())
    return carried_n * arm / (float(body.mass[0]) * GRAVITY)
