"""Larger and smaller people walk alike when everything scales: an exact property of the equations (Froude scaling)."""

import numpy as np
import pytest

from sim.body import build_body
from sim.drivers.loops import run_walk
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.scenario import Contact, Ground, Knee, Numerics, Person, Scenario


def walked(mass, size):
    """Steps of an able-bodied walker whose mass and size are multiples of the default's."""
    time = size**0.5
    base, person, contact, knee = Scenario(), Person(), Contact(), Knee()
    scenario = Scenario(
        slope_deg=-6.0,
        step_length_m=0.5 * size,
        speed_m_s=0.75 * size / time,
        person=Person(
            limbs="both-sound",
            mass_kg=mass * person.mass_kg,
            stature_m=size * person.stature_m,
            hip_strength_nm_per_kg=size * person.hip_strength_nm_per_kg,
            knee_extensor_strength_nm_per_kg=size * person.knee_extensor_strength_nm_per_kg,
            knee_flexor_strength_nm_per_kg=size * person.knee_flexor_strength_nm_per_kg,
            ankle_plantarflexor_strength_nm_per_kg=size * person.ankle_plantarflexor_strength_nm_per_kg,
        ),
        knee=Knee(
            stop_stiffness=mass * size * knee.stop_stiffness, stop_damping=mass * size * time * knee.stop_damping
        ),
        contact=Contact(
            dissipation_s_per_m=contact.dissipation_s_per_m * time / size,
            anchor_damping=contact.anchor_damping * mass * time / size,
        ),
        ground=Ground(lead_in_m=size * base.ground.lead_in_m, blend_m=size * base.ground.blend_m),
        numerics=Numerics(time_step_s=2.5e-4 * time),
    )
    body = build_body(scenario.person, scenario.components, scenario.foot)
    run = run_walk(pack_settings(scenario), pack_gains(), pack_plant(body), 3, 4.0 * time, 2.5e-4 * time)
    return run.steps, time


@pytest.mark.parametrize(("mass", "size"), [(1.3, 1.0), (1.0, 0.88), (0.75, 1.1)])
def test_scaled_people_make_scaled_steps(mass, size):
    here, _ = walked(1.0, 1.0)
    there, time = walked(mass, size)
    assert len(here) == len(there) == 3
    assert np.allclose(there["length"], size * here["length"], rtol=1e-4)
    assert np.allclose(there["duration"], time * here["duration"], rtol=1e-4)
    assert np.allclose(there["raw_peak"], mass * here["raw_peak"], rtol=1e-3)
    assert np.allclose(there["knee_of_stance"], here["knee_of_stance"], atol=1e-3)
