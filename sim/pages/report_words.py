"""What the report says: plain words first, numbers second, units always."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from sim.plain_words import person_words, ramp_words, steps_words
from sim.report import WATCH, Report, changed_settings, is_narrow
from sim.window_band_words import spread_of_ends, users_of
from sim.window_criteria import CRITERIA
from sim.window_words import closed_words, in_words, seconds_to_bend

if TYPE_CHECKING:
    from sim.result import WalkResult
    from sim.scenario import Scenario
    from sim.window_criteria import Row
    from sim.window_found import Window

COLUMNS = ("", "N m s/rad", "per kg body mass", "seconds to bend in place", "in words", "beyond it")
LIMITS = (
    "It is a model in one plane: no sideways falls, no turning, no drop of the pelvis, no cross slope.",
    "The walker is no measured person. It never tires, fears, hurts or hesitates, and it knows its knee.",
    "The walker works harder than people do, and its force peaks have known errors.",
    "The limits of the window are the authors' choice. Other limits, as good, move it.",
    "No device is modelled: the knee is one damped law, and N m s/rad is no step of any dial.",
    "Body segments are averages of able-bodied adults; nobody was measured.",
    "All that is known to be wrong or missing stands in docs/limits.md, all criteria in docs/window.md.",
)
_ALIKE = 0.01
"""Differences below this share count as none (ours: half of what the time step may change)."""
_ALIKE_MARGIN_M = 0.002


def title_of(scenario: Scenario) -> str:
    """Heading of the page."""
    name = f": {scenario.name}" if scenario.name else ""
    return f"Flexion resistance for a ramp{name}"


def who_words(scenario: Scenario) -> list[str]:
    """Person, ramp and steps, a paragraph each."""
    name = [f"{scenario.name[:1].upper()}{scenario.name[1:]}."] if scenario.name else []
    return [" ".join([*name, person_words(scenario)]), f"{ramp_words(scenario)} {steps_words(scenario)}"]


def _resistance(window: Window, value: float) -> str:
    return f"{value:.3g} N m s/rad ({seconds_to_bend(window.scenario, value):.2g} s)"


def short_words(report: Report) -> tuple[list[str], str]:
    """The answer, and the one thing to watch (empty if there is none)."""
    window, place = report.window, report.place
    piece, start = window.main, window.first_trial
    if piece is None or start is None:
        lines = ["No resistance keeps all criteria in the model. There is no first trial value to suggest."]
        if place is None:
            return [*lines, "No walk was completed at any resistance: look at slope, step length and speed first."], ""
        broken = window.nearest()[1]
        why = " and ".join(CRITERIA[name][1] for name in broken)
        lines.append(f"Fewest criteria are broken at {_resistance(window, place)}: there {why}.")
    else:
        seconds = seconds_to_bend(window.scenario, start)
        word = in_words(seconds)
        lines = [
            (
                f"A first trial value is {start:.3g} N m s/rad. Standing on both feet, the loaded knee then {word}: it "
                f"takes {seconds:.2g} s from 5 to 40 degrees. It is a place to begin with the person, not a "
                "recommendation."
            ),
            (
                f"Below {_resistance(window, piece.low)} it is too low: {closed_words(piece.closed_low)}. "
                f"Above {_resistance(window, piece.high)} it is too high: {closed_words(piece.closed_high)}."
            ),
        ]
        if is_narrow(window):
            share = 100.0 * (piece.high / piece.low - 1.0)
            lines.append(
                f"The window is narrow: its upper end is only {share:.0f} % above its lower one, so small differences "
                "between model and person matter more than the number."
            )
    lines += _own_words(report)
    return lines, _watch_words(report)


def _own_words(report: Report) -> list[str]:
    """Where the scenario's own resistance lies, if it is another."""
    window, own = report.window, report.scenario.knee.flexion_resistance
    if not window.pieces:
        return []
    inside = any(piece.low <= own <= piece.high for piece in window.pieces)
    where = "inside the window" if inside else "outside the window"
    return [f"The scenario itself is set to {_resistance(window, own)}, which is {where}."]


def _watch_words(report: Report) -> str:
    if report.watch is None:
        return ""
    watch, room = report.watch, 100.0 * report.watch.room
    how = f"{room:.0f} % of room is left" if room >= 0.0 else f"{-room:.0f} % beyond"
    return (
        f"The one thing to watch: {WATCH[watch.criterion]}. Of all criteria this one is nearest to its limit there "
        f"({how})."
    )


def end_rows(report: Report) -> list[list[str]]:
    """Rows of the table of lower limit, first trial value and upper limit."""
    window = report.window
    piece, start = window.main, window.first_trial
    assert piece is not None  # asked for only then
    rows = [("lower limit", piece.low, closed_words(piece.closed_low))]
    if start is not None:
        rows.append(("first trial value", start, ""))
    rows.append(("upper limit", piece.high, closed_words(piece.closed_high)))
    found = []
    for name, value, why in rows:
        seconds = seconds_to_bend(window.scenario, value)
        per_kg = value / window.scenario.person.mass_kg
        found.append([name, f"{value:.3g}", f"{per_kg:.2f}", f"{seconds:.2g}", in_words(seconds), why])
    return found


def dial_words(window: Window) -> str:
    """The drawing in words."""
    piece = window.main
    if piece is None:
        return "Scale of flexion resistance without a window: at every resistance some criterion is broken."
    start = "" if window.first_trial is None else f", first trial value {window.first_trial:.3g}"
    return (
        f"Flexion resistance: too low below {piece.low:.3g}, window to {piece.high:.3g}, too high above{start}, "
        "in N m s/rad."
    )


def split_words(window: Window) -> list[str]:
    """A window in parts, and what the seconds are."""
    lines = []
    if len(window.pieces) > 1:
        parts = ", ".join(f"{piece.low:.3g} to {piece.high:.3g}" for piece in window.pieces)
        lines.append(f"The window comes in {len(window.pieces)} parts ({parts} N m s/rad); the widest is told here.")
    if window.pieces:
        lines.append(
            "The seconds are those in which the loaded knee bends from 5 to 40 degrees in place, with half the body "
            "weight on the prosthetic foot. No other scale is used."
        )
    return lines


def band_words(report: Report, command: str) -> list[str]:
    """What is known of uncertainty; `command` makes a band."""
    band = report.band
    if band is None:
        lines = ["People differ and the model guesses: a single window says nothing of either, so take it as a sketch."]
        if report.band_missing:
            return [*lines, f"The band that is kept is not shown: {report.band_missing}"]
        return [*lines, f"No band has been made for this scenario; {command} makes one in some minutes."]
    people, guesses = band.groups["people"], band.groups["model"]
    lines = []
    if band.start is not None:
        own, same = users_of(people, band.start, band.mass), users_of(people, band.start)
        lines.append(
            f"Of {len(people)} virtual people on the same ramp, {own} can use the first trial value if each takes it "
            f"in proportion to body mass ({band.start / band.mass:.2g} N m s/rad per kg), and {same} the same number "
            f"({band.start:.3g} N m s/rad)."
        )
        told = users_of(guesses, band.start)
        lines.append(f"For this person it is usable in {told} of {len(guesses)} draws of what the model only guesses.")
    for members, what in ((people, "virtual people"), (guesses, "draws of the guesses")):
        ends = spread_of_ends(members)
        having = sum(bool(member.pieces) for member in members)
        if not ends:
            lines.append(f"None of the {what} has a window.")
            continue
        (low_least, _, low_most), (high_least, _, high_most) = ends["lower"], ends["upper"]
        lines.append(
            f"{having} of the {what} have a window; its lower limit is {low_least:.3g} to {low_most:.3g}, its upper "
            f"one {high_least:.3g} to {high_most:.3g} N m s/rad."
        )
    return [*lines, f"Computed in {band.seconds:.0f} s. It remains a first trial value, whatever the share."]


def strip_words(what: str, result: WalkResult) -> tuple[str, str]:
    """Heading and caption of one walk."""
    value = result.scenario.knee.flexion_resistance
    heading = f"{what[:1].upper()}{what[1:]}, {value:.3g} N m s/rad."
    metrics = result.metrics
    peak, bend = metrics["sound_peak_force_bw"], metrics["knee_loaded_peak_flexion_deg"]
    rate, landing = metrics["knee_loaded_peak_rate_deg_s"], metrics["knee_flexion_at_sound_landing_deg"]
    if result.outcome != "walked" or peak is None or bend is None or rate is None or landing is None:
        return heading, f"The model does not complete this walk. {result.reason}"
    return heading, (
        f"The loaded knee bends to {bend:.0f} degrees, at up to {rate:.0f} deg/s; when the sound foot lands it is "
        f"bent by {landing:.0f} degrees. The sound leg carries up to {peak:.2f} body weights."
    )


def helps_head(report: Report) -> list[str]:
    """What the table of changes begins from, and how to read it."""
    row = report.start_row
    where = "the first trial value" if report.window.first_trial is not None else "the middle walk above"
    margin = min(float(row["sound_margin_of_stability_m"]), float(row["prosthetic_margin_of_stability_m"]))
    return [
        (
            f"From {where}, one thing changed at a time. There the sound leg's peak is "
            f"{row['sound_peak_force_bw']:.2f} body weights (BW), the knee rate "
            f"{row['knee_loaded_peak_rate_deg_s']:.0f} deg/s, the effort of all joints "
            f"{row['positive_work_j_per_m']:.0f} J per metre, the smaller margin of stability {100.0 * margin:.0f} cm."
        ),
        "Less peak, rate and effort are better, and more margin. The order is a way to sort, not a measure of benefit.",
    ]


def nothing_to_compare(report: Report) -> str:
    """Instead of the table."""
    outcome = report.start_row["outcome"]
    return f"The walk from which changes would be counted {outcome}: there is nothing to compare with."


def change_cells(row: Mapping[Any, Any], start: Row) -> list[str]:
    """One change: differences, then the same in words."""
    if row["outcome"] != "walked":
        return [str(row["change"]), "-", "-", "-", "-", f"the walk is not completed ({row['outcome']})"]
    peak, rate = row["sound_peak_force_bw_difference"], row["knee_loaded_peak_rate_deg_s_difference"]
    effort, margin = row["positive_work_j_per_m_difference"], row["least_margin_of_stability_m_difference"]
    words = []
    for value, name, less, more in (
        (peak, "sound_peak_force_bw", "lighter landing", "harder landing"),
        (rate, "knee_loaded_peak_rate_deg_s", "slower knee", "faster knee"),
        (effort, "positive_work_j_per_m", "less effort", "more effort"),
    ):
        if abs(value) > _ALIKE * abs(float(start[name])):
            words.append(less if value < 0.0 else more)
    if abs(margin) > _ALIKE_MARGIN_M:
        words.append("less margin" if margin < 0.0 else "more margin")
    cells = [signed(peak, 2), signed(rate, 0), signed(effort, 1), signed(100.0 * margin, 1)]
    return [str(row["change"]), *cells, ", ".join(words) or "hardly anything"]


def signed(value: float, digits: int) -> str:
    """Difference with its sign; nothing has none."""
    text = f"{value:+.{digits}f}"
    return text if text.strip("+-0.") else text[1:]


def settings_text(scenario: Scenario) -> str:
    """Settings that differ from the defaults, a line each."""
    return "\n".join(f"{name} = {value}" for name, value in changed_settings(scenario).items())


