"""Walks that are made up, so that the answer of a window is known."""

import math

from sim.scenario import Scenario
from sim.window import RESISTANCE
from sim.window_criteria import Criteria, wanted_yield_deg

BASE = Scenario()
GOOD = {
    "outcome": "walked",
    "knee_loaded_peak_rate_deg_s": 100.0,
    "knee_loaded_peak_flexion_deg": 40.0,
    "sound_peak_force_bw": 1.1,
    "sound_loading_rate_bw_s": 10.0,
    "prosthetic_com_ahead_at_other_landing_m": 0.2,
    "speed_m_s": BASE.speed,
    "sound_step_time_s": BASE.step_time,
    "prosthetic_step_time_s": BASE.step_time,
    "prosthetic_hip_work_in_j_per_m": 40.0,
    "sound_impulse_share": 0.5,
    "positive_work_j_per_m": 100.0,
    "sound_margin_of_stability_m": 0.1,
    "prosthetic_margin_of_stability_m": 0.12,
}
BASE_CELL = {"slope_deg": BASE.slope_deg}
FELL = dict.fromkeys(GOOD, math.nan) | {"outcome": "fell"}
STALLED = FELL | {"outcome": "stalled"}


def walker(*changes):
    """Walk function: each change is a function of resistance that returns what differs from GOOD."""

    def walk(cells):
        walk.cells += list(cells)
        rows = []
        for cell in cells:
            row = dict(GOOD)
            for change in changes:
                row |= change(cell.get(RESISTANCE, BASE.knee.flexion_resistance))
            rows.append(row)
        return rows

    walk.cells = []
    return walk


def rate(resistance):
    """Falls below 20, knee rate 5700 / resistance: the limit of 190 deg/s is at 30."""
    return FELL if resistance < 20.0 else {"knee_loaded_peak_rate_deg_s": 5700.0 / resistance}


def stiff(at):
    """Knee that bends just as far as the slope asks at a resistance."""
    needed = Criteria().yield_share * wanted_yield_deg(BASE)

    def change(resistance):
        return {"knee_loaded_peak_flexion_deg": needed * at / resistance}

    return change
