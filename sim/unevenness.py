"""What uneven steps and an uneven rhythm cost: the same mean step and pace, shared unevenly between the feet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim.errors import RampwalkError
from sim.grid import Cell, rounded
from sim.scenario import Scenario, replace_by_name

if TYPE_CHECKING:
    import pandas as pd

    from sim.window import Walk

LENGTH_DIFFERENCES_M = (0.05, 0.10)
"""Prosthetic less sound step, tried both ways [m] (ours: seen by eye, and a limp)."""
TIME_DIFFERENCES = (0.1, 0.2)
"""Prosthetic less sound step time, tried both ways, as a share of their mean (ours: above-knee walkers on the level
differ by 0.1 to 0.2, from memory)."""
FOLLOWED = 0.7
"""Below this share of the wanted difference the walker does not do what was wanted (ours)."""
UNEVEN_COLUMNS = (
    "outcome",
    "steady",
    "prosthetic_step_length_m",
    "sound_step_length_m",
    "prosthetic_step_time_s",
    "sound_step_time_s",
    "sound_peak_force_bw",
    "sound_first_peak_bw",
    "prosthetic_peak_force_bw",
    "prosthetic_first_peak_bw",
    "sound_leg_work_out_j_per_m",
    "positive_work_j_per_m",
    "knee_loaded_peak_rate_deg_s",
    "prosthetic_margin_of_stability_m",
    "sound_margin_of_stability_m",
)
"""Columns of a sweep's table that are compared; see docs/metrics.md."""
COSTS = {
    "sound_peak_force_bw": ("sound-leg peak [BW]", 2),
    "larger_first_peak_bw": ("larger first peak [BW]", 2),
    "sound_leg_work_out_j_per_m": ("taken by sound leg [J/m]", 0),
    "positive_work_j_per_m": ("effort [J/m]", 0),
    "knee_loaded_peak_rate_deg_s": ("knee rate [deg/s]", 0),
    "least_margin_of_stability_m": ("margin [m]", 3),
}
"""Compared column -> how a table calls it, digits."""


@dataclass(frozen=True)
class Share:
    """One way to share the steps, as settings laid over the base."""

    what: str
    settings: Mapping[str, object]


def even_settings(base: Scenario) -> Cell:
    """Both steps equal in length and time, at the base's mean step and pace."""
    return shared(base, 0.0, 0.0)


def shared(base: Scenario, length_difference: float, time_difference: float) -> Cell:
    """Settings that share the steps.

    Parameters
    ----------
    base : Scenario
        Gives mean step length and mean step time.
    length_difference : float
        Prosthetic less sound step [m].
    time_difference : float
        Prosthetic less sound step time [s].
    """
    length, time = base.mean_step_length, base.step_time
    return {
        "speed_m_s": None,
        "cadence_steps_per_min": None,
        "walk_ratio_m_min": None,
        "step_length_m": rounded(length),
        "prosthetic_step_length_m": rounded(length + 0.5 * length_difference),
        "sound_step_length_m": rounded(length - 0.5 * length_difference),
        "prosthetic_step_time_s": rounded(time + 0.5 * time_difference),
        "sound_step_time_s": rounded(time - 0.5 * time_difference),
    }


def shares(base: Scenario) -> list[Share]:
    """Even steps first, then uneven ones that the scenario allows; the base's own share if it is uneven."""
    found = [Share("even", even_settings(base))]
    (prosthetic, sound), (slow, quick) = base.step_lengths, base.step_times
    if abs(prosthetic - sound) > 1e-6 or abs(slow - quick) > 1e-6:
        found.append(Share("as given", {}))
    for size in LENGTH_DIFFERENCES_M:
        for sign, which in ((1.0, "longer"), (-1.0, "shorter")):
            found.append(Share(f"prosthetic step {100.0 * size:.0f} cm {which}", shared(base, sign * size, 0.0)))
    for share in TIME_DIFFERENCES:
        for sign, which in ((1.0, "longer"), (-1.0, "shorter")):
            settings = shared(base, 0.0, sign * share * base.step_time)
            found.append(Share(f"prosthetic step takes {100.0 * share:.0f} % {which}", settings))
    return [each for each in found if _allowed(base, each)]


def _allowed(base: Scenario, share: Share) -> bool:
    try:
        replace_by_name(base, share.settings)
    except RampwalkError:
        return False
    return True


def compare(base: Scenario, walk: Walk) -> pd.DataFrame:
    """Walk all shares and compare them with the even one.

    Parameters
    ----------
    base : Scenario
    walk : callable
        See `sim.window.Walk`; its rows have `UNEVEN_COLUMNS`.

    Returns
    -------
    DataFrame
        `what`, `outcome`, `wanted_length_difference_m`, `wanted_time_difference_s` (prosthetic less sound), `steady`,
        measured step lengths [m] and times [s], each of `COSTS`, and its difference from the even steps as
        `<name>_difference` (NaN where either was not completed).
    """
    import pandas as pd

    ways = shares(base)
    rows = walk([dict(each.settings) for each in ways])
    table = [_line(base, each, row) for each, row in zip(ways, rows, strict=True)]
    for line in table:
        for name in COSTS:
            line[f"{name}_difference"] = line[name] - table[0][name]
    return pd.DataFrame(table)


def _line(base: Scenario, share: Share, row: Mapping[str, Any]) -> dict[str, Any]:
    walked = row["outcome"] == "walked"
    wanted = replace_by_name(base, share.settings)

    def value(name: str) -> float:
        return float(row[name]) if walked and row[name] is not None else math.nan

    line: dict[str, Any] = {"what": share.what, "outcome": row["outcome"]}
    line["wanted_length_difference_m"] = wanted.step_lengths[0] - wanted.step_lengths[1]
    line["wanted_time_difference_s"] = wanted.step_times[0] - wanted.step_times[1]
    line["steady"] = value("steady")
    line |= {name: value(name) for name in UNEVEN_COLUMNS[2:6]}
    line |= {name: value(name) for name in COSTS if name in UNEVEN_COLUMNS}
    line["larger_first_peak_bw"] = max(value("sound_first_peak_bw"), value("prosthetic_first_peak_bw"))
    line["least_margin_of_stability_m"] = min(
        value("sound_margin_of_stability_m"), value("prosthetic_margin_of_stability_m")
    )
    return line


def uneven_lines(table: pd.DataFrame) -> list[str]:
    """The comparison in plain lines; of the even steps the values, of the others the differences."""
    heads = [title for title, _ in COSTS.values()]
    width = max(len(what) for what in table["what"]) + 2
    lines = [" " * width + "  ".join(["steps measured [m], [s]: prosthetic, sound", *heads])]
    for row in table.to_dict("records"):
        if row["outcome"] != "walked":
            lines.append(f"{row['what']:{width}}the walk is not completed ({row['outcome']})")
            continue
        measured = (
            f"{row['prosthetic_step_length_m']:.2f}, {row['sound_step_length_m']:.2f}; "
            f"{row['prosthetic_step_time_s']:.2f}, {row['sound_step_time_s']:.2f}"
        )
        cells = [f"{measured:>42}"]
        for name, (title, digits) in COSTS.items():
            even = row["what"] == "even"
            value = row[name] if even else row[f"{name}_difference"]
            text = "-" if math.isnan(value) else f"{value:.{digits}f}" if even else f"{value:+.{digits}f}"
            cells.append(f"{text:>{len(title)}}")
        lines.append(f"{row['what']!s:{width}}" + "  ".join(cells))
    return [*lines, *cost_words(table)]


def cost_words(table: pd.DataFrame) -> Sequence[str]:
    """What the table says of uneven steps, in sentences made from its numbers."""
    if table["outcome"].iloc[0] != "walked":
        return [f"With even steps the walk {table['outcome'].iloc[0]}, so there is nothing to compare with."]
    found = []
    for word, kind, wanted, measured in (
        ("step lengths", "cm", "wanted_length_difference_m", "step_length_m"),
        ("rhythm", "takes", "wanted_time_difference_s", "step_time_s"),
    ):
        rows = table[table["what"].str.contains(kind, regex=False)]
        walked = rows[rows["outcome"] == "walked"]
        counts = {
            title: int((walked[f"{name}_difference"] > 0.0).sum())
            for name, title in (("larger_first_peak_bw", "larger first peak"), ("positive_work_j_per_m", "effort"))
        }
        told = " and ".join(f"the {title} is higher in {count}" for title, count in counts.items())
        found.append(f"Uneven {word}: {len(walked)} of {len(rows)} walks completed; {told}.")
        taken = table[f"prosthetic_{measured}"] - table[f"sound_{measured}"]
        followed = ((taken - taken.iloc[0])[walked.index] / walked[wanted]).mean()
        if followed < FOLLOWED:
            found.append(
                f"  The walker does not follow the wanted {word} ({100.0 * followed:.0f} % of the wanted difference is "
                "walked), so these are costs of wanting, not of doing."
            )
    return found
