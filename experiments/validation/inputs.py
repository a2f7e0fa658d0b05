"""Rows that may set a default: our default beside them. What was put in is no evidence."""

from __future__ import annotations

from experiments.validation.targets import Finding, Row, not_applicable
from experiments.validation.walks import Walks, prosthetic
from sim.body import FOOT, SHANK, THIGH, build_body
from sim.parameters import lengths_drillis1966, ramps_ada
from sim.scenario import HYDRAULIC_EXPONENT, Components, Knee, Person, Scenario


def given(value: float, how: str) -> Row:
    return lambda _walks: Finding(value, how, "input")


def reextension(walks: Walks) -> Finding:
    result = walks.of(prosthetic(-10.0, step=0.5, speed=0.75))
    fallen = result.metrics["knee_reextension_deg"]
    how = "the knee re-extended by less than 2 deg" if result.outcome == "walked" else f"the walk {result.outcome}"
    met = result.outcome == "walked" and fallen is not None and fallen < 2.0
    return Finding(1.0 if met else -1.0, f"{how} (1 = yes); an acceptance limit of the gain search", "input")


def rows() -> dict[str, Row]:
    """All rows of use `tune`."""
    knee, parts, lengths, ramps = Knee(), Components(), lengths_drillis1966.parameters(), ramps_ada.parameters()
    body = build_body(Person(limbs="both-sound"))
    leg = float(body.mass[[THIGH, SHANK, FOOT]].sum()) / body.total_mass
    hip = sum(lengths[name].value for name in ("thigh_length", "shank_length", "ankle_height"))
    ramp = "sim/parameters/ramps_ada.py"
    return {
        "S01": given(Scenario().step_length_m, "our start, for a slope, is shorter; level walks here take this row's"),
        "P09": reextension,
        "P11": given(Scenario().speed, "our start is slower, downhill; speed is a setting"),
        "Q01": given(parts.shank_mass_kg, "knee unit and pylon, sim/scenario.py"),
        "Q02": given(parts.knee_unit_mass_kg, "sim/parameters/prosthesis_parts_recalled.py"),
        "Q03": given(HYDRAULIC_EXPONENT, "hydraulic law; the other law is linear, exponent 1"),
        "Q04": given(knee.swing_flexion_resistance, "flexion; sim/parameters/prosthesis_sup2009.py"),
        "Q05": given(knee.flexion_resistance, "start on -8 deg, for which this row scales to 19 to 43"),
        "Q06": not_applicable("the sole is three points, not an arc"),
        "B01": given(leg, "sim/parameters/segments_winter2009.py"),
        "B02": given(hip, "thigh, shank and ankle height; sim/parameters/lengths_drillis1966.py"),
        "R01": given(ramps["steepest_path"].value, ramp),
        "R02": given(ramps["steepest_new_ramp"].value, ramp),
        "R03": given(ramps["steep_existing_ramp"].value, ramp),
        "H01": given(ramps["rail_height"].value, f"{ramp}; no rail is simulated"),
    }
