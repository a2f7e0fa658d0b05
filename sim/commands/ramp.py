"""`rampwalk ramp`: a whole way with ends: level, down, landing, down, level, or up, or a profile from a file."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sim.caution import CAUTION
from sim.commands.outputs import add_output_options, deliver, outputs_from
from sim.commands.scenario_options import add_settings, number_or_text
from sim.commands.study_options import SUPPORT_OPTIONS, cell, study_scenario, table_lines
from sim.commands.study_options import add_parser as add_study_parser
from sim.errors import RampwalkError, check_range, shown
from sim.scenario import Scenario, replace_by_name

if TYPE_CHECKING:
    from sim.activities.ramp import RampResult
    from sim.profile import Profile

#: Options of a way in metres: what they are, least, most.
LENGTHS = {
    "--run-m": ("length of each slope; default: the longest that the rule of the preset allows", 0.5, 100.0),
    "--landing-m": ("length of a landing; default: that of the rule", 0.5, 20.0),
    "--level-m": ("level way before and after", 0.5, 20.0),
    "--bend-m": ("length in which one slope turns into the next", 0.05, 5.0),
    "--spacing-m": ("with --profile: distance of knots and width of the mean slope", 0.1, 5.0),
}
COLUMNS = (
    ("part", 0, "part"),
    ("", 0, "which"),
    ("steps", 0, "steps"),
    ("step length|[m]", 2, "step_length_m"),
    ("speed|[m/s]", 2, "speed_m_s"),
    ("sound peak|[BW]", 2, "sound_peak_force_bw"),
    ("prosth. peak|[BW]", 2, "prosthetic_peak_force_bw"),
    ("knee rate|[deg/s]", 0, "knee_peak_rate_deg_s"),
    ("knee at sound|landing [deg]", 0, "knee_flexion_at_sound_landing_deg"),
    ("toe clearance|[mm]", 0, "prosthetic_toe_clearance_mm"),
    ("scuffs", 0, "scuffs"),
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.ramps import PRESETS

    parser = add_study_parser(
        subparsers,
        "ramp",
        "a whole way with ends: level, down, landing, down, level, or up",
        "Walk a whole way: level, down, landing, down, level. A fall is a result: the exit status is 0.",
    )
    add_settings(parser, Scenario, SUPPORT_OPTIONS)
    way = "|".join(PRESETS).replace("%", "%%")
    parser.add_argument("--preset", metavar=way, help="slope, longest run and landing of building rules; default 1:12")
    parser.add_argument("--runs", metavar="N", help="how many slopes, with landings between; default 2")
    parser.add_argument("--up", action="store_true", help="up instead of down")
    parser.add_argument("--start-on-slope", action="store_true", help="begin on the first slope, as after a stop there")
    for option, (what, low, high) in LENGTHS.items():
        parser.add_argument(option, metavar="VALUE", help=f"{what}; {low:g} to {high:g} m")
    parser.add_argument(
        "--profile", metavar="FILE.csv", help="free way instead: a table with the columns distance_m,height_m"
    )
    add_output_options(parser, "the way with poses, force peaks and knee rate of each step")


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    outputs = outputs_from(options)
    scenario, profile, remark = way_from(options)
    from sim.activities.ramp import ramp

    result = ramp(scenario, profile)

    def draw() -> Any:
        from sim.plots.ways import way_figure

        return way_figure(result), result.to_dataframe()

    deliver(outputs, result, draw, summary(result, remark))
    return 0


def way_from(options: argparse.Namespace) -> tuple[Scenario, Profile, str]:
    """Scenario and profile of the options, and what to say about the way. Raises RampwalkError."""
    if options.strides is not None:
        raise RampwalkError("--strides has no effect: a way is walked to its end; leave it out.", "--strides")
    lengths = {option: _length(options, option) for option in LENGTHS}
    if options.profile is not None:
        return _from_file(options, lengths)
    if lengths["--spacing-m"] is not None:
        raise RampwalkError("--spacing-m goes only with --profile; leave it out or give a profile.", "--spacing-m")
    from sim.parameters import ours_support
    from sim.profile import profile_of
    from sim.ramps import PRESETS, preset, ramp_parts

    ours = ours_support.ramp()
    given = options.slope_deg
    if options.preset is not None and given is not None:
        raise RampwalkError("--preset and --slope-deg both give the slope; leave one of them out.", "--preset")
    if given is not None and options.up:
        raise RampwalkError("--up goes with --preset; with --slope-deg write a slope above 0.", "--up")
    scenario = study_scenario(options, SUPPORT_OPTIONS)
    rule = preset("1:12" if options.preset is None else options.preset)
    slope = scenario.slope_deg if given is not None else rule.slope.value * (1.0 if options.up else -1.0)
    if given is not None:
        rule = PRESETS["1:20"]._replace(longest_run=ours["free_run"].value)
    longest = rule.longest_run
    length = lengths["--run-m"] if lengths["--run-m"] is not None else longest
    remark = ""
    if given is None:
        remark = f"Rule: {rule.slope.source} ({rule.slope.how_known}); longest run {longest:.2f} m: {rule.run_source}."
        if length > longest + 1e-9:
            remark += f" This run of {length:g} m is longer than that rule allows."
    bend = _or(lengths["--bend-m"], ours["bend"].value)
    parts = ramp_parts(
        slope,
        length,
        _or(lengths["--landing-m"], rule.landing.value),
        _or(lengths["--level-m"], ours["level_way"].value),
        _runs(options.runs),
        options.start_on_slope,
    )
    return replace_by_name(scenario, {"slope_deg": slope}), profile_of(parts, bend), remark


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def _length(options: argparse.Namespace, option: str) -> float | None:
    text = getattr(options, option.removeprefix("--").replace("-", "_"))
    if text is None:
        return None
    what, low, high = LENGTHS[option]
    return check_range(option, number_or_text(text), low, high, "m", what.partition(";")[0])


def _runs(text: str | None) -> int:
    if text is None:
        return 2
    if not (text.isascii() and text.isdecimal() and 1 <= int(text[:3]) <= 10 and len(text) < 3):
        raise RampwalkError(f"--runs = {shown(text)} is not a whole number of 1 to 10; give one.", "--runs", text)
    return int(text)


def _from_file(options: argparse.Namespace, lengths: dict[str, float | None]) -> tuple[Scenario, Profile, str]:
    from sim.parameters import ours_support
    from sim.profile import read_profile

    others = {option: value for option, value in lengths.items() if option != "--spacing-m"}
    others |= {"--preset": options.preset, "--runs": options.runs, "--up": options.up or None}
    others["--start-on-slope"] = options.start_on_slope or None
    others |= {"--slope-deg": options.slope_deg}
    for option, value in others.items():
        if value is not None:
            raise RampwalkError(f"{option} has no effect with --profile; leave one of them out.", option, value)
    profile = read_profile(options.profile, _or(lengths["--spacing-m"], ours_support.ramp()["spacing"].value))
    return study_scenario(options, SUPPORT_OPTIONS), profile, ""


def summary(result: RampResult, remark: str) -> str:
    """Outcome, the way, a row for the first steps on each part and for the rest."""
    rows = [row for row in result.rows if row["steps"]]
    lines = [f"ramp: {result.outcome}", result.told, *([remark] if remark else [])]
    lines += [f"Ground: {result.profile.note}.", ""]
    cells = [[cell(row[name], digits) for _, digits, name in COLUMNS] for row in rows]
    return "\n".join([*lines, *table_lines([label for label, _, _ in COLUMNS], cells), "", CAUTION])
