"""Step-to descent: who leads, where the feet end, one knee law, energy accounted for."""

import numpy as np
import pytest

from sim.activities.step_to import METRICS, StepTo, step_to
from sim.law.knee import knee_torque
from sim.posture_pack import pack_posture
from sim.scenario import Knee, Person


@pytest.fixture(scope="module")
def runs():
    return {leads: step_to(StepTo(leads=leads)) for leads in ("prosthetic", "sound")}


@pytest.mark.parametrize("leads", ["prosthetic", "sound"])
def test_the_foot_that_leads_goes_first_and_the_other_closes_up(runs, leads):
    result = runs[leads]
    assert result.outcome == "closed up"
    assert tuple(result.metrics) == METRICS
    series, k = result.series, int(float(result.memory["stepped"]) / result.series.interval) + 1
    lead = 0 if leads == "prosthetic" else 1
    at_landing = series.ankle[k, lead, 0] - series.ankle[k, 1 - lead, 0]
    assert at_landing == pytest.approx(result.settings.step_m, abs=0.07)
    assert abs(result.metrics["feet_apart_at_end_m"]) < 0.1
    moved = series.ankle[-1, :, 0] - series.ankle[0, :, 0]
    assert moved.min() > 0.2  # both feet went down
    assert abs(result.metrics["mass_centre_speed_at_end_m_s"]) < 0.25


@pytest.mark.parametrize("leads", ["prosthetic", "sound"])
def test_the_energy_book_closes(runs, leads):
    energy, series, body = runs[leads].energy, runs[leads].series, runs[leads].body
    assert energy["residual_fraction"] < 1e-4
    drop = series.mass_centre[0, 1] - series.mass_centre[-1, 1]
    assert energy["gravity_in_j"] - energy["gravity_out_j"] == pytest.approx(body.total_mass * 9.81 * drop, abs=2.0)


def test_the_prosthetic_knee_yields_far_more_when_the_sound_foot_leads(runs):
    first, second = (runs[leads].metrics["knee_peak_flexion_deg"] for leads in ("prosthetic", "sound"))
    assert first < 25.0
    assert second > 35.0


@pytest.mark.parametrize("leads", ["prosthetic", "sound"])
def test_a_swinging_prosthetic_knee_is_left_to_itself(runs, leads):
    """Its torque is that of the unloaded law at its angle and rate, to the last digit."""
    result = runs[leads]
    series, knee = result.series, pack_posture(result.settings)[0]["base"]["knee"]
    free = series.load[:, 0] == 0.0
    assert free.sum() > 40
    wanted = [
        knee_torque(f, r, 0, knee)
        for f, r in zip(series.knee_flexion[free, 0], series.knee_rate[free, 0], strict=True)
    ]
    assert series.knee_torque[free, 0] == pytest.approx(np.array(wanted), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("slope", [-5.0, -8.0])
def test_with_the_prosthetic_foot_leading_other_slopes_serve_as_well(slope):
    assert step_to(StepTo(slope_deg=slope)).outcome == "closed up"


def test_a_knee_that_hardly_yields_does_not_let_the_sound_foot_lead():
    assert step_to(StepTo(leads="sound", knee=Knee(flexion_resistance=200.0))).outcome in {"fell", "stuck"}


@pytest.mark.parametrize("leads", ["prosthetic", "sound"])
def test_a_heavy_person_with_a_resistance_of_their_own_closes_up_too(leads):
    heavy = Person(mass_kg=112.0, stature_m=1.8)
    result = step_to(StepTo(leads=leads, person=heavy, knee=Knee(flexion_resistance=61.0)))
    assert result.outcome == "closed up"
