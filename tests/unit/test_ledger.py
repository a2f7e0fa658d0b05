import numpy as np
import pytest

from sim.law.records import LEDGER, SOURCES
from sim.ledger import JOINTS, energy_book, knee_share, net, positive_work


def book(**work_and_through):
    record = np.zeros(1, LEDGER)[0]
    for name, (work, through) in work_and_through.items():
        source = SOURCES.index(name.replace("_", " "))
        record["work"][source], record["through"][source] = work, through
    return record


def test_work_is_split_into_given_and_taken():
    energy = energy_book(book(hip_sound=(2.0, 10.0), contact_damping=(-3.0, 3.0)))
    assert (energy["hip_sound_in_j"], energy["hip_sound_out_j"]) == (6.0, 4.0)
    assert (energy["contact_damping_in_j"], energy["contact_damping_out_j"]) == (0.0, 3.0)
    assert net(energy, "hip_sound") == 2.0


def test_every_source_has_two_names_and_no_more():
    energy = energy_book(book())
    assert len([name for name in energy if name.endswith(("_in_j", "_out_j"))]) == 2 * len(SOURCES)
    assert all(name.endswith("_j") for name in energy if name not in {"residual_fraction", "knee_share_of_slope"})


def test_the_residual_is_the_kinetic_energy_that_no_source_explains():
    record = book(gravity=(100.0, 140.0), knee_prosthetic=(-40.0, 40.0), hip_sound=(-10.0, 30.0))
    record["start"], record["now"] = [20.0, 500.0], [71.5, 400.0]
    energy = energy_book(record)
    assert energy["kinetic_change_j"] == 51.5
    assert energy["potential_change_j"] == -100.0
    assert energy["passed_through_j"] == 120.0 + 10.0
    assert energy["residual_j"] == pytest.approx(1.5)
    assert energy["residual_fraction"] == pytest.approx(1.5 / 130.0)


def test_an_empty_book_has_no_ratios():
    energy = energy_book(book())
    assert energy["residual_fraction"] is None
    assert energy["knee_share_of_slope"] is None


def test_the_knees_share_counts_its_net_work_against_gravity():
    energy = energy_book(book(gravity=(200.0, 300.0), knee_prosthetic=(-50.0, 60.0)))
    assert energy["knee_share_of_slope"] == knee_share(energy) == 0.25
    assert energy_book(book(gravity=(-200.0, 300.0)))["knee_share_of_slope"] is None


def test_positive_work_is_listed_for_every_joint():
    energy = energy_book(book(hip_prosthetic=(4.0, 4.0), ankle_sound=(-2.0, 8.0)))
    work = positive_work(energy)
    assert set(work) == set(JOINTS)
    assert len(JOINTS) == 6
    assert (work["hip_prosthetic"], work["ankle_sound"], work["knee_sound"]) == (4.0, 3.0, 0.0)
