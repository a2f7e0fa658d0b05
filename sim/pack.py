"""From a scenario to the records that the compiled laws read."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sim.body import Body, build_body
from sim.gains import gain_scales, gain_table, read_gains, time_unit
from sim.law.records import GRAVITY, PLANT, SETTINGS
from sim.scenario import HYDRAULIC_REFERENCE_RATE, Scenario
from sim.support import Helper, Rail

Records = np.ndarray[Any, Any]


def pack_settings(scenario: Scenario) -> Records:
    """Everything that the law may know of a scenario, one record of `SETTINGS`."""
    body = build_body(scenario.person, scenario.components, scenario.foot)
    record = np.zeros(1, SETTINGS)
    row = record[0]
    _pack_person(row["person"], scenario, body)
    _pack_ground(row["ground"], scenario)
    _pack_contact(row["contact"], scenario, body)
    _pack_knee(row["knee"], scenario)
    row["ankle"]["stiffness"] = scenario.foot.ankle_stiffness
    row["ankle"]["damping"] = scenario.foot.ankle_damping
    task = row["task"]
    task["step_length"] = scenario.step_lengths
    task["speed"] = scenario.speed
    task["step_time"] = scenario.step_times
    task["trunk_lean"] = math.radians(scenario.trunk_lean_deg)
    task["lean_moment"] = row["person"]["trunk_moment"] * math.sin(task["trunk_lean"])
    task["hip_hold_back"] = scenario.hip_hold_back_nm
    task["hip_shift"] = scenario.mass_centre_shift_m
    task["early_unloading"] = scenario.early_unloading_share
    task["yield_felt"] = scenario.yield_felt_share
    task["late_hold"] = scenario.late_hold_back_nm
    task["swing_start_hip"] = scenario.swing_start_hip_flexion_nm
    _pack_support(row["support"], scenario.rail, scenario.helper, body.total_mass * GRAVITY)
    row["gain_scale"] = gain_scales(read_gains(), body.total_mass, body.leg_length)
    return record


def pack_gains() -> Records:
    """The person's gains as stored, one record of `GAIN_TABLE`."""
    return gain_table(read_gains())


def pack_plant(body: Body) -> Records:
    """Masses, inertias and mass centres, one record of `PLANT`."""
    record = np.zeros(1, PLANT)
    record[0]["mass"], record[0]["inertia"], record[0]["centre"] = body.mass, body.inertia, body.centre
    return record


def _pack_person(row: Any, scenario: Scenario, body: Body) -> None:
    person = scenario.person
    row["thigh_length"], row["shank_length"] = body.thigh_length, body.shank_length
    row["leg_length"], row["time_unit"] = body.leg_length, time_unit(body.leg_length)
    row["trunk_centre"] = body.centre[0, 1]
    row["trunk_moment"] = GRAVITY * body.mass[0] * body.centre[0, 1]
    row["foot_centre"] = body.centre[[3, 6]]
    row["sole"], row["sole_height"] = body.sole_points, body.sole_height
    row["mass"], row["weight"] = body.total_mass, body.total_mass * GRAVITY
    prosthetic = person.has_prosthesis
    row["passive"] = [int(prosthetic), 0]
    hip = person.hip_strength_nm_per_kg * person.mass_kg
    row["hip_strength"] = [hip * (person.residual_hip_strength_fraction if prosthetic else 1.0), hip]
    row["knee_extension_strength"] = person.knee_extensor_strength_nm_per_kg * person.mass_kg
    row["knee_flexion_strength"] = person.knee_flexor_strength_nm_per_kg * person.mass_kg
    row["ankle_strength"] = person.ankle_plantarflexor_strength_nm_per_kg * person.mass_kg


def _pack_ground(row: Any, scenario: Scenario) -> None:
    """Level, then a blend in which the slope grows evenly, then the slope."""
    ground, slope = scenario.ground, math.tan(math.radians(scenario.slope_deg))
    row["knots"] = 2
    row["x"][:2] = ground.lead_in_m, ground.lead_in_m + ground.blend_m
    row["slope"][:2] = 0.0, slope
    row["height"][:2] = 0.0, 0.5 * slope * ground.blend_m


def _pack_contact(row: Any, scenario: Scenario, body: Body) -> None:
    contact, weight = scenario.contact, body.total_mass * GRAVITY
    sound = contact.sound_stiffness_bw_per_leg_length / body.leg_length  # 1/m: depth under one body weight
    other = contact.prosthetic_stiffness_bw_per_leg_length / body.leg_length
    row["stiffness"] = weight * np.array([other if scenario.person.has_prosthesis else sound, sound]) ** 1.5
    row["dissipation"] = contact.dissipation_s_per_m
    row["friction"] = contact.friction
    row["anchor_stiffness"] = contact.anchor_share * weight * sound
    row["anchor_damping"] = contact.anchor_damping


def _pack_knee(row: Any, scenario: Scenario) -> None:
    knee = scenario.knee
    row["quadratic"] = int(knee.law == "hydraulic")
    row["flexion_resistance"] = knee.flexion_resistance
    if knee.law == "hydraulic":
        row["flexion_resistance"] = knee.flexion_resistance / HYDRAULIC_REFERENCE_RATE
    row["extension_resistance"] = knee.extension_resistance
    row["swing_flexion_resistance"] = knee.swing_flexion_resistance
    row["swing_extension_resistance"] = knee.swing_extension_resistance
    row["extension_assist"] = knee.extension_assist_nm
    row["load_on"], row["load_off"] = knee.load_on_n, knee.load_off_n
    row["stop_stiffness"], row["stop_damping"] = knee.stop_stiffness, knee.stop_damping
    row["maximum_flexion"] = math.radians(knee.maximum_flexion_deg)


def _pack_support(row: Any, rail: Rail, helper: Helper, weight: float) -> None:
    """Rail and helper; weight of the whole person [N]."""
    row["rail_on"], row["helper_on"] = int(rail.on), int(helper.on)
    row["rail_height"], row["rail_reach"] = rail.height_m, rail.reach_m
    row["rail_lift"], row["rail_brake"] = rail.carried_share * weight, rail.braking_share * weight
    row["rail_stiffness"], row["rail_damping"] = rail.grip_stiffness_n_per_m, rail.grip_damping_n_s_per_m
    row["rail_settle"], row["rail_strongest"] = rail.slide_time_s, rail.strongest_grip_share * weight
    row["helper_lift"] = helper.lifted_share * weight
    row["helper_stiffness"], row["helper_damping"] = helper.hold_stiffness_n_per_m, helper.hold_damping_n_s_per_m
    row["helper_settle"], row["helper_strongest"] = helper.follow_time_s, helper.strongest_hold_share * weight
    row["helper_fade_steps"] = helper.fade_steps if helper.support == "fading" else 0
