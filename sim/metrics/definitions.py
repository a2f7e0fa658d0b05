"""What every metric means: the one list behind `measure` and `docs/metrics.md`."""

# ruff: noqa: E501  a table reads best with one row on a line
from __future__ import annotations

from typing import NamedTuple

from sim.series import SIDES


class Definition(NamedTuple):
    """One metric: unit, and what it is."""

    name: str
    unit: str
    meaning: str


#: Group -> rows of name, unit, meaning. A name that starts with `*_` exists for both legs.
_GROUPS: dict[str, tuple[tuple[str, str, str], ...]] = {
    "How steady": (
        ("measured_strides", "1", "Number of strides of each leg over which all metrics are taken."),
        ("steady", "1 or 0", "1 if `stride_variation` is below 0.02."),
        ("stride_variation", "1", "Largest of the six variations below."),
        ("*_step_length_variation", "1", "Standard deviation (n - 1) / mean over the measured strides."),
        ("*_step_time_variation", "1", "The same of the step time."),
        ("*_peak_force_variation", "1", "The same of the low-passed peak force of each stance."),
    ),
    "Steps": (
        ("*_step_length_m", "m", "Heel contact to heel contact along the surface, of the steps that end with this foot."),
        ("*_step_time_s", "s", "From the other foot's landing to this one's."),
        ("step_length_asymmetry", "1", "(Sound - prosthetic step length) / their mean."),
        ("speed_m_s", "m/s", "Mean speed of the mass centre along the surface."),
        ("cadence_steps_per_min", "steps/min", "120 / (sum of both mean step times)."),
        ("*_stance_share", "1", "Contact time (low-passed load above 20 N) / stride time."),
        ("double_support_share", "1", "Share of the stride in which both feet have more than 20 N."),
    ),
    "Ground force (perpendicular to the surface unless said otherwise)": (
        ("*_peak_force_bw", "BW", "Highest low-passed force of a stance, mean over stances."),
        ("*_peak_force_raw_bw", "BW", "Highest force of a stance at any time step, no low-pass, mean over stances."),
        ("*_peak_vertical_force_bw", "BW", "Highest low-passed vertical force of a stance, mean over stances."),
        ("*_first_peak_bw", "BW", "Highest low-passed force in the first half of stance."),
        ("*_mid_stance_force_bw", "BW", "Lowest low-passed force between first and second peak."),
        ("*_second_peak_bw", "BW", "Highest low-passed force in the second half of stance."),
        ("*_braking_peak_bw", "BW", "Lowest low-passed force along the surface, forward positive, without the first 3 % of stance."),
        ("*_propulsion_peak_bw", "BW", "Highest low-passed force along the surface, same part of stance."),
        ("*_loading_rate_bw_s", "BW/s", "Mean rate from 20 % to 80 % of the first peak, low-passed."),
        ("*_impulse_share", "1", "Time integral of this leg's force / of both legs' over its strides."),
        ("*_spike_bw", "BW", "Height above the low-passed peak of the highest raw peak that is shorter than 20 ms (width halfway down its flanks, which end where they fall at less than a third of their steepest rate, ours); 0 if there is none."),
        ("mean_force_along_to_across", "1", "Mean force of both feet along the surface, uphill positive for a downhill walk, / across it; tan of the slope angle downhill (row M01)."),
        ("mean_vertical_force_bw", "BW", "Mean vertical force of both feet; 1 in a steady walk (row M02)."),
    ),
    "Mass centre, balance, trunk, feet": (
        ("com_forward_travel_m", "m", "Travel of the mass centre over a prosthetic stance, along the surface, from touch to lift-off."),
        ("sound_com_forward_travel_m", "m", "The same over a sound stance."),
        ("*_com_from_m", "m", "Where that travel begins, ahead of the standing ankle, both dropped plumb onto the surface; 0 = balanced over the ankle."),
        ("*_com_to_m", "m", "Where it ends."),
        ("*_com_over_foot_after_s", "s", "Time from touch until the mass centre is plumb over the ankle; null if it never is."),
        ("*_com_over_foot_share", "1", "Share of stance in which the mass centre is plumb over the sole."),
        ("*_com_ahead_at_other_landing_m", "m", "Mass centre ahead of the standing ankle when the other foot lands."),
        ("com_across_slope_excursion_m", "m", "Highest less lowest place of the mass centre in a stride, perpendicular to the surface."),
        ("*_margin_of_stability_m", "m", "When this foot lands: its toe ahead of the extrapolated mass centre, level distance (Hof, Gazendam, Sinke 2005, doi 10.1016/j.jbiomech.2004.03.025)."),
        ("*_pressure_travel_share", "1", "Travel of the centre of pressure under the foot / foot length, while it carries more than 5 % of the weight."),
        ("trunk_lean_deg", "deg", "Mean lean of the trunk from upright, forward positive."),
        ("trunk_lean_range_deg", "deg", "Greatest less least lean in a stride."),
        ("*_toe_clearance_m", "m", "Least height of ball and toe above the surface from 25 % to 85 % of the swing."),
        ("toe_clearance_m", "m", "The smaller of the two."),
        ("scuffs", "1", "How often a swinging foot touched the ground in the measured strides."),
    ),
    "Joint angles": (
        ("*_knee_flexion_at_landing_deg", "deg", "Knee flexion in the first frame with more than 20 N on the foot."),
        ("*_knee_early_stance_peak_deg", "deg", "Greatest knee flexion from 5 % to 35 % of the stride."),
        ("*_knee_flexion_at_half_stride_deg", "deg", "Knee flexion half a stride after touch."),
        ("*_knee_swing_peak_deg", "deg", "Greatest knee flexion while the foot is off the ground."),
        ("*_ankle_dorsiflexion_peak_deg", "deg", "Greatest dorsiflexion from 20 % to 62 % of the stride; 0 = foot square to the shank."),
        ("*_thigh_range_deg", "deg", "Greatest less least thigh angle in a stride."),
        ("*_knee_extending_moment_early_nm_per_kg", "N m/kg", "Greatest extending (flexion-resisting) knee moment in the first 35 % of the stride."),
    ),
    "Prosthetic knee": (
        ("knee_flexion_at_sound_landing_deg", "deg", "Its flexion when the sound foot lands."),
        ("knee_reextension_deg", "deg", "Largest fall of its flexion between mid-stance and the sound foot's landing (row P09)."),
        ("knee_flexion_onset_percent_of_stance", "%", "When it has yielded by 5 deg from its least flexion of the stance; null if it does not."),
        ("knee_loaded_peak_flexion_deg", "deg", "Greatest flexion while the loaded resistance acts."),
        ("knee_loaded_peak_rate_deg_s", "deg/s", "Greatest flexion rate while the loaded resistance acts, double support included."),
        ("knee_single_support_peak_rate_deg_s", "deg/s", "The same until the sound foot lands."),
        ("knee_peak_moment_nm_per_kg", "N m/kg", "Greatest moment of its resistance against flexion while loaded / body mass."),
        ("knee_energy_per_step_j", "J", "Energy that its loaded resistance takes from flexion in one prosthetic stance."),
        ("knee_energy_share_of_slope", "1", "The same / what gravity gives in a whole stride; null unless downhill."),
    ),
    "Work (per metre along the surface)": (
        *(
            (f"*_{joint}_work_{way}_j_per_m", "J/m", f"Work that the {joint} {verb} the bodies, end stops apart.")
            for joint in ("hip", "knee", "ankle")
            for way, verb in (("in", "gives"), ("out", "takes from"))
        ),
        ("*_leg_work_out_j_per_m", "J/m", "Work taken by hip, knee and ankle of a leg."),
        ("*_knee_stop_work_out_j_per_m", "J/m", "Work taken by the end stops of the knee."),
        ("*_knee_stop_share_of_slope", "1", "The same / what gravity gives; null unless downhill."),
        ("positive_work_j_per_m", "J/m", "Work given by all joints of the person: both hips, sound knees and ankles."),
        ("positive_work_share_of_gravity", "1", "The same / what gravity gives; null unless downhill."),
        ("slope_energy_per_step_j", "J", "What gravity gives in a mean step, m g s sin(slope) (row M03); null unless downhill."),
    ),
}  # fmt: skip


def _expanded(name: str, unit: str, meaning: str) -> tuple[Definition, ...]:
    if not name.startswith("*_"):
        return (Definition(name, unit, meaning),)
    return tuple(Definition(f"{side}_{name[2:]}", unit, meaning) for side in SIDES)


METRICS: dict[str, Definition] = {
    row.name: row for rows in _GROUPS.values() for given in rows for row in _expanded(*given)
}
"""Every metric by name, in the order of the tables."""

_INTRODUCTION = """\
# Metrics

Made from `sim/metrics/definitions.py`, and a test holds both equal. To write it anew:

    python -c 'from sim.metrics.definitions import as_markdown; print(as_markdown(), end="")' > docs/metrics.md

**Which strides.** A walk begins on the level and goes over a blend onto the slope. It ends when at least the asked
number of strides (two steps each) lies wholly on the straight slope: it is given the landings that the wanted steps
need to pass lead-in and blend, two more, and two per stride, and goes on if steps come out so short that this is not
enough. Measured is the later half of the strides on the straight slope, 6 or 7 of 12. If the walk fell or stalled, its
last two steps are left out first, because they are the fall. A walk that ended before one whole stride could be
measured has null everywhere. `steady` says whether the measured strides vary by less than 2 %.

**Names.** `*` stands for `prosthetic` and `sound`, the leg. For a person with two sound legs `prosthetic` is the
first leg, and what only a prosthetic knee has is null. BW is the weight of the whole person with prosthesis.
A step is named after the foot that lands.

**Signals.** One frame every 2.5 ms. "Low-passed" is a second-order Butterworth filter of 25 Hz, run forward and
backward, and contact is more than 20 N on the low-passed force, both as in the open treadmill data of Fukuchi,
Fukuchi and Duarte (2018, doi 10.7717/peerj.4640); a foot off the ground for less than 60 ms (ours) has bounced, not
lifted. Angles at touch use the raw force, because a low-pass smears the beginning of contact.
"""


def as_markdown() -> str:
    """The whole page `docs/metrics.md`."""
    lines = [_INTRODUCTION]
    for group, rows in _GROUPS.items():
        lines += [f"## {group}", "", "| name | unit | meaning |", "|---|---|---|"]
        lines += [f"| `{name}` | {unit} | {meaning} |" for name, unit, meaning in rows]
        lines.append("")
    return "\n".join(lines)

