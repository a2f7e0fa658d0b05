"""Statics across the way: against the whole body in balance, and row C04."""

import dataclasses
import math

import pytest

from sim.body import build_body
from sim.errors import RampwalkError
from sim.frontal import Frontal, hip_moment, share_on_prosthetic, shift_that_evens
from sim.scenario import GRAVITY, Components, Person, ProstheticFoot
from sim.support import RAIL_SIDES

BODY = build_body()
RAIL = 0.1 * BODY.total_mass * GRAVITY


def legs_and_trunk(frontal):
    """(mass, lateral place) of trunk, prosthetic leg, sound leg: each leg plumb below its hip."""
    hip = 0.5 * frontal.hip_distance_m
    masses = BODY.mass[0], BODY.mass[1:4].sum(), BODY.mass[4:7].sum()
    return list(zip(masses, (frontal.trunk_shift_m, hip, -hip), strict=True))


@pytest.mark.parametrize("side", RAIL_SIDES)
@pytest.mark.parametrize("leg", [0, 1])
def test_the_hip_moment_balances_all_that_hangs_on_the_standing_leg(leg, side):
    """Moments about the standing hip: everything but that leg, and the hand."""
    frontal = Frontal(trunk_shift_m=0.03)
    sign = 1.0 if leg == 0 else -1.0
    hip = sign * 0.5 * frontal.hip_distance_m
    drop = 0.0
    for k, (mass, place) in enumerate(legs_and_trunk(frontal)):
        if k != 1 + leg:
            drop += sign * GRAVITY * mass * (hip - place)
    carried = 0.0 if side == "none" else RAIL
    drop -= sign * carried * (hip - RAIL_SIDES[side] * frontal.hand_distance_m)
    assert hip_moment(leg, carried, side, BODY, frontal) == pytest.approx(drop)


@pytest.mark.parametrize("side", RAIL_SIDES)
def test_both_feet_and_the_hand_carry_the_body_in_balance(side):
    """Force and moment about the sound foot: nothing is left over."""
    frontal = Frontal(trunk_shift_m=-0.02, foot_distance_m=0.2)
    carried = 0.0 if side == "none" else RAIL
    under = BODY.total_mass * GRAVITY - carried
    prosthetic = share_on_prosthetic(carried, side, BODY, frontal) * under
    sound_foot = -0.5 * frontal.foot_distance_m
    weight = sum(GRAVITY * mass * (place - sound_foot) for mass, place in legs_and_trunk(frontal))
    hand = carried * (RAIL_SIDES[side] * frontal.hand_distance_m - sound_foot)
    assert prosthetic * frontal.foot_distance_m + hand == pytest.approx(weight)


def test_a_rail_beside_the_standing_hip_loads_it_and_one_across_unloads_it():
    """Row C04, the part about the frontal hip moment: prosthetic less sound side is above 0, whatever the widths."""
    for hips in (0.12, 0.17, 0.22):
        for hand in (0.3, 0.4, 0.6):
            frontal = Frontal(hip_distance_m=hips, hand_distance_m=hand)
            here, there = (hip_moment(0, RAIL, side, BODY, frontal) for side in ("prosthetic", "sound"))
            free = hip_moment(0, 0.0, "none", BODY, frontal)
            assert there < free < here
            assert here - there == pytest.approx(2.0 * RAIL * hand)


def test_with_an_upright_trunk_the_foot_beside_the_rail_carries_less():
    """The other part of row C04 does not hold without a lean to the rail; it does beyond the lean that is told."""
    frontal = Frontal()
    here, there = (share_on_prosthetic(RAIL, side, BODY, frontal) for side in ("prosthetic", "sound"))
    assert here < there
    free = share_on_prosthetic(0.0, "none", BODY, frontal)
    even = shift_that_evens(RAIL, BODY, frontal)
    assert 0.0 < even < 0.1

    def leaning(shift):
        return share_on_prosthetic(RAIL, "prosthetic", BODY, dataclasses.replace(frontal, trunk_shift_m=shift))

    assert leaning(even) == pytest.approx(free)
    assert leaning(even + 0.01) > free > leaning(even - 0.01)


def test_even_legs_share_evenly_and_both_sides_mirror_each_other():
    body = build_body(Person(limbs="both-sound"), Components(), ProstheticFoot())
    frontal = Frontal()
    assert share_on_prosthetic(0.0, "none", body, frontal) == pytest.approx(0.5)
    here, there = (share_on_prosthetic(RAIL, side, body, frontal) for side in ("prosthetic", "sound"))
    assert here + there == pytest.approx(1.0)
    moments = [hip_moment(leg, RAIL, side, body, frontal) for leg, side in enumerate(("prosthetic", "sound"))]
    assert moments[0] == pytest.approx(moments[1])


def test_effort_scales_the_weights_but_not_the_rail():
    frontal = Frontal()
    still, pressed = (hip_moment(0, RAIL, "sound", BODY, frontal, effort) for effort in (1.0, 1.2))
    assert pressed - still == pytest.approx(0.2 * hip_moment(0, 0.0, "none", BODY, frontal))


def test_distances_are_checked():
    with pytest.raises(RampwalkError, match=r"frontal\.hand_distance_m"):
        Frontal(hand_distance_m=4.0)
    assert math.isfinite(hip_moment(0, 0.0, "none", BODY, Frontal()))
