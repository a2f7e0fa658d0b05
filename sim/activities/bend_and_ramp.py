"""What a bend in place asks of the prosthetic knee, beside what the ramp will ask."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from sim.activities.bend import Bend, bend
from sim.activities.walk import walk
from sim.scenario import Ground

#: What is compared: label, metric of the bend, metric of the walk.
COMPARED = (
    ("knee rate, peak [deg/s]", "knee_peak_rate_deg_s", "knee_loaded_peak_rate_deg_s"),
    ("knee, deepest [deg]", "depth_reached_deg", "knee_loaded_peak_flexion_deg"),
    ("energy taken by the knee, bend and step [J]", "knee_energy_per_bend_j", "knee_energy_per_step_j"),
    ("load on the prosthetic leg, peak [BW]", "prosthetic_peak_load_bw", "prosthetic_peak_force_bw"),
    ("load on the sound leg, peak [BW]", "sound_peak_load_bw", "sound_peak_force_bw"),
)


class Beside(NamedTuple):
    """One quantity of the bend, of the walk, and their ratio; None where it was not measured."""

    label: str
    bend: float | None
    ramp: float | None
    ratio: float | None


def beside_the_ramp(settings: Bend, slope_deg: float) -> tuple[str, list[Beside]]:
    """Bend, walk down a slope with the same person and knee, and compare.

    Parameters
    ----------
    settings : Bend
    slope_deg : float
        Of the walk, with its default steps; downhill is negative.

    Returns
    -------
    (str, list of Beside)
        Both outcomes in words, and the quantities.
    """
    bent = bend(settings)
    walked = walk(replace(settings.walk_scenario(slope_deg), ground=Ground()))
    rows = []
    for label, of_bend, of_walk in COMPARED:
        one, other = bent.metrics[of_bend], walked.metrics[of_walk]
        rows.append(Beside(label, one, other, None if one is None or not other else one / other))
    return f"bend: {bent.outcome}, walk down: {walked.outcome}", rows
