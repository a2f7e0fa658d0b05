"""Rail, helper, posture, uphill and ramps with ends, for the default person and the invented ones.

    python -m experiments.on_the_way.run

Writes its tables between the marks in docs/activities.md; some minutes on one processor. Run it again when gains or
laws change.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sim.activities.helper import helper_study
from sim.activities.posture import posture_study
from sim.activities.rail import rail_study
from sim.activities.ramp import ramp
from sim.activities.uphill import step_difference_study, swing_study, uphill_study
from sim.parameters import ours_support
from sim.profile import profile_of
from sim.ramps import PRESETS, ramp_parts
from sim.scenario import Scenario, from_toml, replace_by_name
from sim.study import Study

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "activities.md"
BEGIN, END = "<!-- made by experiments.on_the_way.run, do not edit: begin -->\n", "<!-- end of the way -->\n"
STRIDES = 6
#: Shortest run of a preset here [m]: on those of 0.6 m no step is steady.
SHORTEST_RUN = 3.0
OURS = ours_support.ramp()
#: Slope of uneven steps and swing habits [deg]: one that is walked.
GENTLE = 1.0


def people() -> dict[str, Scenario]:
    """Default and invented people, with fewer strides."""
    found = {"default": Scenario()}
    for path in sorted((ROOT / "experiments" / "people").glob("*.toml")):
        found[path.stem.replace("_", " ")] = from_toml(path)
    return {name: replace_by_name(scenario, {"strides": STRIDES}) for name, scenario in found.items()}


def text(value: object, digits: int) -> str:
    """Number of a table, or a dash."""
    return f"{value:.{digits}f}" if isinstance(value, float) else "-"


def ramp_word(scenario: Scenario, name: str, sign: float) -> tuple[str, float]:
    """How a preset went: arrived, or in which part it ended; and the energy residual."""
    rule = PRESETS[name]
    parts = ramp_parts(
        sign * rule.slope.value,
        max(rule.longest_run, SHORTEST_RUN),
        rule.landing.value,
        OURS["level_way"].value,
        2,
    )
    result = ramp(scenario, profile_of(parts, OURS["bend"].value))
    if result.outcome == "arrived":
        return "arrived", result.energy["residual_fraction"] or 0.0
    part = result.profile.part_at(float(result.series.hip[-1, 0]))
    return f"{result.outcome} on {part}", result.energy["residual_fraction"] or 0.0


def person_row(name: str, scenario: Scenario) -> tuple[list[str], list[str], list[str]]:
    """Rows of the three tables for one person."""
    rail, posture, uphill = rail_study(scenario), posture_study(scenario), uphill_study(scenario)
    helpers = {
        slope: helper_study(replace_by_name(scenario, {"slope_deg": slope})) for slope in (-12.0, 3.0, 5.0)
    }
    worst = max(worst_residual(study) for study in (rail, posture, uphill, *helpers.values()))
    first, last = rail.rows[0], rail.rows[-2]
    loads = [name, f"{scenario.slope_deg:g}"]
    loads += [
        f"{text(first[column], digits)}, {text(last[column], digits)}"
        for column, digits in (
            ("sound_peak_force_bw", 2),
            ("prosthetic_peak_force_bw", 2),
            ("knee_loaded_peak_rate_deg_s", 0),
        )
    ]
    loads.append(text(rail.found["prosthetic_hip_frontal_nm_rail_there_less_other_side"], 0))
    loads += [help_word(study) for study in helpers.values()]
    lean = [row for row in posture.rows if row["varied"] == "trunk lean" and row["outcome"] == "walked"]
    leans = [float(str(row["trunk_lean_wanted_deg"])) for row in lean]
    moves = [name, f"{min(leans):g} to {max(leans):g}" if leans else "none"]
    moves += [text(posture.found[f"{column}_per_deg_lean"], digits) for column, digits in LEAN_COLUMNS]
    moves.append(text(posture.found["sound_com_ahead_at_other_landing_m_per_cm_ahead"], 4))
    moves.append(text(uphill.found["steepest_walked_deg"], 2))
    ways = [name]
    for sign in (-1.0, 1.0):
        for preset in PRESETS:
            word, residual = ramp_word(scenario, preset, sign)
            worst = max(worst, residual)
            if sign < 0.0 or preset in {"1:20", "1:12"}:
                ways.append(word)
    ways.append(f"{worst:.0e}")
    return loads, moves, ways


LEAN_COLUMNS = (("knee_loaded_peak_rate_deg_s", 1), ("sound_peak_force_bw", 3))


def worst_residual(study: Study) -> float:
    """Largest energy residual of a study."""
    return max(float(str(row["residual_fraction"] or 0.0)) for row in study.rows)


def help_word(study: Study) -> str:
    """Least help, in short."""
    if study.found["walks_without_help"]:
        return "none"
    least, hold = study.found["least_lifted_share"], study.found["least_hold_share"]
    if isinstance(hold, float):
        return f"{hold * study.scenario.helper.hold_stiffness_n_per_m:.0f} N/m"
    return f"{100 * least:.1f} %" if isinstance(least, float) else "not with 60 %"


def table(head: Sequence[str], rows: Sequence[Sequence[Any]]) -> list[str]:
    """Lines of a table."""
    lines = [f"| {' | '.join(head)} |", "|" + "---|" * len(head)]
    return [*lines, *(f"| {' | '.join(map(str, row))} |" for row in rows), ""]


def uphill_lines() -> list[str]:
    """What the default person does uphill."""
    base = replace_by_name(Scenario(), {"strides": STRIDES})
    study = uphill_study(base)
    rows = [row for row in study.rows if row["outcome"] == "walked"]
    columns = (
        ("slope_deg", 2),
        ("effort_j_per_m_kg", 2),
        ("lifting_j_per_m_kg", 2),
        ("prosthetic_hip_extension_mean_nm_per_kg", 2),
        ("barrier_j_per_kg", 2),
        ("barrier_over_motion", 2),
        ("prosthetic_toe_clearance_mm", 0),
        ("scuffs", 0),
    )
    lines = [f"Default person, `rampwalk uphill`: {study.told}", ""]
    lines += table([f"`{name}`" for name, _ in columns], [[text(row[name], d) for name, d in columns] for row in rows])
    gentle = replace_by_name(base, {"slope_deg": GENTLE})
    swing, uneven = swing_study(gentle), step_difference_study(gentle)
    level = swing_study(replace_by_name(base, {"slope_deg": 0.0}))
    return [*lines, f"`--swing`: {swing.told} {level.told}", "", f"`--step-difference`: {uneven.told}", ""]


def start_line() -> str:
    """How ways end for the default person: begun on the slope, and with a rail or a helper."""
    base = replace_by_name(Scenario(), {"strides": STRIDES})
    said = []
    for slope in (-3.0, -6.0, -8.0, -10.0):
        parts = ramp_parts(slope, OURS["free_run"].value, 1.5, OURS["level_way"].value, 1, on_slope=True)
        result = ramp(base, profile_of(parts, OURS["bend"].value))
        part = result.profile.part_at(float(result.series.hip[-1, 0]))
        said.append(f"{slope:g} deg {result.outcome}" + ("" if result.outcome == "arrived" else f" on {part}"))
    rail = ramp_word(replace_by_name(base, {"rail.side": "sound", "rail.carried_share": 0.1}), "1:12", -1.0)[0]
    hands = {"helper.support": "constant", "helper.lifted_share": 0.2}
    helped = ramp_word(replace_by_name(base, hands), "1:20", 1.0)[0]
    return (
        f"Default person, `--start-on-slope --runs 1`: {', '.join(said)}. With a hand on a rail that carries 0.1 of "
        f"the weight, 1:12 down: {rail}; with a helper who lifts 0.2, 1:20 up: {helped}."
    )


def main() -> None:
    """Measure, and write the tables."""
    rows = [person_row(name, scenario) for name, scenario in people().items()]
    lines = [
        f"With the gains of this version, {STRIDES} strides each; a dash where too few walks were completed.",
        "",
        "Rail: nothing carried, then 0.15 of the weight. Helper: least lifted share; N/m where holding is enough.",
        "",
        *table(
            (
                "person", "slope", "sound peak [BW]", "prosthetic peak [BW]", "knee rate [deg/s]",
                "hip across, rail there - other side [N m]", "help on -12", "on +3", "on +5 deg",
            ),
            [row[0] for row in rows],
        ),
        "Posture and uphill:",
        "",
        *table(
            (
                "person", "leans walked [deg]", "knee rate per deg forward", "sound peak per deg forward [BW]",
                "mass centre over sound foot per asked cm [m]", "steepest up [deg]",
            ),
            [row[1] for row in rows],
        ),
        f"Ramps with two runs, of the longest length by the rule, at least {SHORTEST_RUN:g} m:",
        "",
        *table(
            ("person", *(f"{name} down" for name in PRESETS), "1:20 up", "1:12 up", "largest energy residual"),
            [row[2] for row in rows],
        ),
        start_line(),
        "",
        *uphill_lines(),
    ]  # fmt: skip
    page = PAGE.read_text(encoding="utf-8")
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    PAGE.write_text(before + BEGIN + "\n".join(lines) + "\n" + END + after, encoding="utf-8")


if __name__ == "__main__":
    main()
