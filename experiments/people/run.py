"""Windows of invented people who differ, with a short finding note for each.

    python -m experiments.people.run

Reads every *.toml here, writes README.md here; about a minute on two processors. All numbers of the notes come from the
walks, so run it again when gains or laws change.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sim.caution import CAUTION
from sim.commands.design_options import executor_of
from sim.plain_words import person_words, ramp_words, steps_words
from sim.pool import usable_cpus, workers_in_environment
from sim.scenario import Scenario, from_toml
from sim.window import Walk, find_windows
from sim.window_criteria import CRITERIA
from sim.window_found import Window
from sim.window_help import help_lines
from sim.window_study import present_and_helps, walk_in_memory
from sim.window_words import closed_words, in_words, resistance_text, seconds_to_bend

if TYPE_CHECKING:
    import pandas as pd

    from sim.window_criteria import Row

FOLDER = Path(__file__).parent
PAGE = FOLDER / "README.md"
DEFAULT = "default person"
COLUMNS = (
    "who",
    "slope [deg]",
    "mass [kg]",
    "step [m]",
    "speed [m/s]",
    "window [N m s/rad]",
    "first trial [N m s/rad]",
    "per kg",
    "bends in place in [s]",
    "closed below / above by",
)
HEAD = """\
# Invented people

Nobody here exists. Each file is a scenario that differs from the default person where it says so; numbers in it
without a source are guesses. Use one with `rampwalk window --scenario experiments/people/heavy.toml`, or copy it and
change it.

This page is written by `python -m experiments.people.run`; do not edit it. What the criteria mean: docs/window.md.
"""


def found_for(base: Scenario, walk: Walk) -> tuple[Window, Row, pd.DataFrame]:
    """Window, the walk at its first trial value (without a window: where the fewest criteria break), what helps."""
    window = find_windows(base, [{}], walk)[0]
    at = window.first_trial if window.first_trial is not None else window.nearest()[0]
    present, helps = present_and_helps(base, walk, at if at == at else None)  # noqa: PLR0124
    return window, present, helps


def table_line(name: str, window: Window) -> str:
    """Row of the table at the top."""
    scenario, piece, start = window.scenario, window.main, window.first_trial
    mass = scenario.person.mass_kg
    gait = f"{scenario.slope_deg:g} | {mass:g} | {scenario.mean_step_length:.2f} | {scenario.speed:.2f}"
    if piece is None or start is None:
        at, names = window.nearest()
        why = "; ".join(CRITERIA[each][1] for each in names) or "no walk was completed"
        return f"| {name} | {gait} | none | - | - | - | fewest broken at {at:.3g}: {why} |"
    closed = f"{closed_words(piece.closed_low)} / {closed_words(piece.closed_high)}"
    ends = f"{piece.low:.3g} to {piece.high:.3g}"
    seconds = seconds_to_bend(scenario, start)
    return f"| {name} | {gait} | {ends} | {start:.3g} | {start / mass:.2f} | {seconds:.2g} | {closed} |"


def note(name: str, file: str, found: tuple[Window, Row, pd.DataFrame], usual: Window) -> list[str]:
    """The note of one person."""
    window, present, helps = found
    scenario = window.scenario
    lines = [f"## {name[:1].upper()}{name[1:]}", "", f"`{file}`: {person_words(scenario)}"]
    lines += [f"{ramp_words(scenario)} {steps_words(scenario)}", ""]
    piece, start = window.main, window.first_trial
    if piece is None or start is None:
        at, names = window.nearest()
        scanned = f"between {min(window.rows):g} and {max(window.rows):g} N m s/rad"
        lines.append(f"- No window: {scanned} some criterion is always broken.")
        if names:
            broken = "; ".join(CRITERIA[each][1] for each in names)
            lines.append(f"- Nearest to one at {resistance_text(scenario, at)}, where {broken}.")
    else:
        more = f" It is the widest of {len(window.pieces)} parts." if len(window.pieces) > 1 else ""
        lines.append(f"- Window {piece.low:.3g} to {piece.high:.3g} N m s/rad.{more}")
        lines.append(f"- Below it {closed_words(piece.closed_low)}; above it {closed_words(piece.closed_high)}.")
        lines.append(f"- First trial value {resistance_text(scenario, start)}. A first trial only.")
        lines += against(window, usual)
    if present["outcome"] == "walked":
        rate, bend = present["knee_loaded_peak_rate_deg_s"], present["knee_loaded_peak_flexion_deg"]
        lines.append(
            f"- There the sound leg peaks at {present['sound_peak_force_bw']:.2f} body weights, and the loaded knee "
            f"bends to {bend:.0f} deg, at up to {rate:.0f} deg/s."
        )
        listed = [line.strip() for line in help_lines(helps, present)[1:]]
        lines.append("- What helps more from there, most helpful first:")
        lines += [f"  {place}. {line}" for place, line in enumerate(listed, start=1)]
    return [*lines, ""]


def against(window: Window, usual: Window) -> list[str]:
    """The first trial value beside that of the default person."""
    if usual.first_trial is None or window.first_trial is None:
        return []
    own = window.first_trial / window.scenario.person.mass_kg
    other = usual.first_trial / usual.scenario.person.mass_kg
    how = "more" if own > other else "less"
    words = in_words(seconds_to_bend(window.scenario, window.first_trial))
    share, slope = 100.0 * abs(own / other - 1.0), usual.scenario.slope_deg
    line = (
        f"- Per kg that is {share:.0f} % {how} than for the default person on {slope:g} deg ({other:.2f} per kg); "
        f"in place the knee {words}."
    )
    return [line]


def page(found: dict[str, tuple[str, tuple[Window, Row, pd.DataFrame]]]) -> str:
    """The whole page; the first one found is the default person."""
    usual = next(iter(found.values()))[1][0]
    lines = [HEAD, f"> {CAUTION}", ""]
    lines.append(f"| {' | '.join(COLUMNS)} |")
    lines.append("|---|---:|---:|---:|---:|---|---:|---:|---:|---|")
    lines += [table_line(name, each[0]) for name, (_, each) in found.items()]
    lines.append("")
    for name, (file, each) in found.items():
        if file:
            lines += note(name, file, each, usual)
    return "\n".join(lines)


def main() -> None:
    scenarios = {DEFAULT: ("", Scenario())}
    for path in sorted(FOLDER.glob("*.toml")):
        base = from_toml(path)
        scenarios[base.name or path.stem] = (path.name, base)
    found = {}
    with executor_of(workers_in_environment() or usable_cpus()) as executor:
        for name, (file, base) in scenarios.items():
            found[name] = (file, found_for(base, walk_in_memory(base, executor)))
            print(table_line(name, found[name][1][0]), flush=True)
    PAGE.write_text(page(found), encoding="utf-8")


if __name__ == "__main__":
    main()
