import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.body import (
    BALL,
    FOOT,
    HEEL,
    PROSTHETIC,
    SEGMENTS,
    SHANK,
    SOUND,
    THIGH,
    TOE,
    TRUNK,
    build_body,
    residual_share,
)
from sim.errors import RampwalkError
from sim.scenario import Components, Person, ProstheticFoot

SOUND_LEG = slice(3 + THIGH, 3 + FOOT + 1)
PROSTHETIC_LEG = slice(THIGH, FOOT + 1)


@st.composite
def people(draw):
    person = Person(
        mass_kg=draw(st.floats(40, 150)),
        stature_m=draw(st.floats(1.3, 2.1)),
        residual_limb_fraction=draw(st.floats(0.4, 1.0)),
        limbs=draw(st.sampled_from(["one-prosthetic", "both-sound"])),
    )
    components = Components(
        socket_mass_kg=draw(st.floats(0.5, 2.5)),
        knee_unit_mass_kg=draw(st.floats(0.5, 1.8)),
        pylon_mass_kg=draw(st.floats(0.1, 2.0)),
        foot_mass_kg=draw(st.floats(0.5, 1.5)),
    )
    return person, components


@given(people())
def test_whole_mass_is_the_persons_and_every_segment_is_a_real_body(pair):
    person, components = pair
    body = build_body(person, components)
    assert body.total_mass == pytest.approx(person.mass_kg, rel=1e-13)
    assert (body.mass > 0).all()
    assert (body.inertia > 0).all()
    assert body.mass.shape == body.inertia.shape == (len(SEGMENTS),)
    assert body.centre.shape == (len(SEGMENTS), 2)
    assert body.centre[TRUNK, 1] > 0
    assert (body.centre[1:, 1] < 0).all()


def test_sound_leg_follows_the_table():
    """Dempster via Winter 2009, Table 4.1, for a person of 80 kg and 1.80 m with two sound legs."""
    body = build_body(Person(mass_kg=80, stature_m=1.8, limbs="both-sound"))
    thigh, shank = 0.245 * 1.8, 0.246 * 1.8
    assert body.mass[SOUND_LEG] == pytest.approx([8.0, 3.72, 1.16])
    assert body.centre[SOUND_LEG][:2, 1] == pytest.approx([-0.433 * thigh, -0.433 * shank])
    assert body.inertia[SOUND_LEG][:2] == pytest.approx([8.0 * (0.323 * thigh) ** 2, 3.72 * (0.302 * shank) ** 2])
    assert body.mass[TRUNK] == pytest.approx(0.678 * 80)
    assert body.centre[TRUNK] == pytest.approx([0, 0.626 * 0.288 * 1.8])
    assert body.inertia[TRUNK] == pytest.approx(0.678 * 80 * (0.496 * 0.288 * 1.8) ** 2)


def test_straight_leg_agrees_with_the_whole_leg_row():
    """Total-leg row of the same table: mass centre 0.447, gyration about the hip 0.560 of hip to ankle.

    Tolerance 4 %: the table rounds, and its foot points down, ours forward.
    """
    body = build_body(Person(limbs="both-sound"))
    mass, centre = body.mass[SOUND_LEG], body.centre[SOUND_LEG].copy()
    centre[:, 1] -= [0, body.thigh_length, body.leg_length]
    down = -(mass @ centre[:, 1]) / mass.sum() / body.leg_length
    about_hip = (body.inertia[SOUND_LEG] + mass * (centre**2).sum(axis=1)).sum()
    assert down == pytest.approx(0.447, rel=0.04)
    assert np.sqrt(about_hip / mass.sum()) / body.leg_length == pytest.approx(0.560, rel=0.04)


def test_two_sound_legs_are_exactly_alike_and_know_no_prosthesis():
    body = build_body(Person(limbs="both-sound"))
    other = build_body(Person(limbs="both-sound"), Components(foot_mass_kg=2.0), ProstheticFoot(effective_length=0.6))
    for array in (body.mass, body.inertia, body.centre):
        assert (array[PROSTHETIC_LEG] == array[SOUND_LEG]).all()
    assert (body.sole_points[PROSTHETIC] == body.sole_points[SOUND]).all()
    assert body.intact_mass == 75.0
    assert (body.mass == other.mass).all()
    assert (body.sole_points == other.sole_points).all()


def test_a_residual_limb_as_long_as_the_thigh_is_the_thigh():
    assert residual_share(1.0) == pytest.approx((1.0, 0.433, 0.323**2), rel=1e-12)


@pytest.mark.parametrize("cut", [0.4, 0.55, 0.7, 0.9])
def test_residual_limb_is_the_upper_part_of_the_same_line(cut):
    """Mass, mass centre and spread of the line 1.402 - 0.804 s, summed over thin slices."""
    s = (np.arange(200_000) + 0.5) * cut / 200_000
    line = 1.402 - 0.804 * s
    mass = line.mean() * cut
    centre = (line @ s) / line.sum()
    spread = (line @ (s - centre) ** 2) / line.sum()
    whole_line = 0.433**2 + 0.323**2 - (1.402 / 3 - 0.804 / 4)  # table less line, about the hip
    share = residual_share(cut)
    assert share == pytest.approx((mass, centre, spread + whole_line), rel=1e-8)


def test_shorter_residual_limb_is_lighter_and_its_centre_higher():
    bodies = [build_body(Person(residual_limb_fraction=f)) for f in (0.5, 0.7, 0.9)]
    assert np.all(np.diff([body.mass[THIGH] for body in bodies]) > 0)
    assert np.all(np.diff([body.centre[THIGH, 1] for body in bodies]) < 0)


def test_prosthetic_parts_carry_their_component_masses():
    components = Components(socket_mass_kg=2.0, knee_unit_mass_kg=1.2, pylon_mass_kg=0.4, foot_mass_kg=0.9)
    body = build_body(Person(), components)
    assert body.mass[SHANK] == pytest.approx(1.6)
    assert body.mass[FOOT] == pytest.approx(0.9)
    without = build_body(Person(), dataclasses.replace(components, socket_mass_kg=1.0))
    tissue = 0.1 * residual_share(0.7)[0]
    assert body.mass[THIGH] - tissue * body.intact_mass == pytest.approx(2.0)
    assert without.intact_mass > body.intact_mass  # same whole mass, so more of it is the person


def test_prosthetic_shank_against_the_sound_one():
    """Hale 1990: an unloaded prosthetic shank weighs 39.1 % of the sound one, and its mass sits higher.

    Tolerance 0.03: six users of unknown mass, the sound shank from another table.
    """
    body = build_body()
    assert body.mass[SHANK] / body.mass[3 + SHANK] == pytest.approx(0.391, abs=0.03)
    assert body.centre[SHANK, 1] > body.centre[3 + SHANK, 1]


def test_prosthetic_shank_inertia_by_slices():
    """Even knee unit in the upper 0.15 m and even pylon below it, summed over thin slices."""
    body = build_body()
    y = -(np.arange(430_500) + 0.5) * 1e-6
    line = np.where(y > -0.15, 1.1 / 0.15, 0.23 / (0.4305 - 0.15)) * 1e-6
    centre = (line @ y) / line.sum()
    assert body.centre[SHANK, 1] == pytest.approx(centre, rel=1e-5)
    assert body.inertia[SHANK] == pytest.approx(line @ (y - centre) ** 2, rel=1e-4)


def test_sole_points():
    """Foot length 0.152 and ankle height 0.039 of stature (Drillis and Contini 1966)."""
    body = build_body(Person(stature_m=1.75))
    assert body.foot_length == pytest.approx(0.266)
    assert body.sole_height == pytest.approx(0.06825)
    for leg, share in ((SOUND, 0.83), (PROSTHETIC, 0.72)):
        heel, ball, toe = body.sole_points[leg]
        assert heel == pytest.approx([-0.207 * 0.266, -0.06825])
        assert toe[0] - heel[0] == pytest.approx(share * 0.266)
        assert heel[0] < 0 < ball[0] < toe[0]
        assert ball[1] == heel[1] < toe[1]
    assert body.sole_points[PROSTHETIC, HEEL] == pytest.approx(body.sole_points[SOUND, HEEL])
    for point in (BALL, TOE):
        assert body.sole_points[PROSTHETIC, point, 0] < body.sole_points[SOUND, point, 0]


def test_lengths_scale_with_stature_and_inertias_with_mass():
    small, tall = (build_body(Person(stature_m=h, limbs="both-sound")) for h in (1.5, 1.8))
    assert tall.leg_length / small.leg_length == pytest.approx(1.2)
    assert tall.inertia / small.inertia == pytest.approx(np.full(7, 1.44))
    heavy = build_body(Person(mass_kg=150, stature_m=1.5, limbs="both-sound"))
    assert heavy.inertia / small.inertia == pytest.approx(np.full(7, 2.0))
    assert small.leg_length == pytest.approx(Person(stature_m=1.5).leg_length)


def test_arrays_cannot_be_changed_and_building_again_gives_the_same_numbers():
    body = build_body()
    with pytest.raises(ValueError, match="read-only"):
        body.mass[0] = 1.0
    assert (build_body().inertia == body.inertia).all()


def test_a_prosthesis_heavier_than_the_person_is_refused():
    heavy = Components(socket_mass_kg=5, knee_unit_mass_kg=4, pylon_mass_kg=3, foot_mass_kg=2.5)
    assert build_body(Person(mass_kg=30), heavy).total_mass == pytest.approx(30)
    person = Person(mass_kg=30)
    object.__setattr__(person, "mass_kg", 14.0)
    with pytest.raises(RampwalkError, match="leaves nothing"):
        build_body(person, heavy)
