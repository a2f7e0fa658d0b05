"""Posture on a slope: trunk lean, and where the mass centre is over the foot; what they do to knee, loads and falls."""

from __future__ import annotations

from collections.abc import Sequence

from sim.activities.walk import walk
from sim.scenario import Scenario, replace_by_name
from sim.study import Study, Value, walk_row

#: Leans [deg] and shifts of the mass centre [m] that are walked, beside the scenario's own (ours).
LEANS = (-10.0, -5.0, -2.5, 0.0, 2.5, 5.0, 10.0)
SHIFTS = (-0.06, -0.04, -0.02, 0.0, 0.02, 0.04, 0.06)
#: What is compared.
ASKED = (
    "knee_loaded_peak_rate_deg_s",
    "sound_peak_force_bw",
    "prosthetic_peak_force_bw",
    "sound_com_ahead_at_other_landing_m",
    "prosthetic_com_ahead_at_other_landing_m",
)


def posture_study(
    scenario: Scenario, leans: Sequence[float] = LEANS, shifts: Sequence[float] = SHIFTS
) -> Study:
    """Walk with the trunk leaning back and forward, and with the mass centre further back and ahead over the foot.

    Parameters
    ----------
    scenario : Scenario
        One of the two is varied while the other stays as it is here.
    leans : sequence of float
        Wanted leans, forward positive [deg].
    shifts : sequence of float
        `mass_centre_shift_m` [m].

    Returns
    -------
    Study
        A row per walk; `varied` says which of the two. `found` has, for each and every number asked, its change per
        degree or per centimetre, a straight line through the completed walks; None with fewer than three.
    """
    rows: list[dict[str, Value]] = []
    software: dict[str, str | float | int] = {}
    for varied, name, values in (
        ("trunk lean", "trunk_lean_deg", leans),
        ("mass centre", "mass_centre_shift_m", shifts),
    ):
        for value in values:
            one = replace_by_name(scenario, {name: value})
            result = walk(one)
            software = result.software
            row: dict[str, Value] = {"varied": varied, "trunk_lean_wanted_deg": one.trunk_lean_deg}
            rows.append({**row, "mass_centre_shift_m": one.mass_centre_shift_m, **walk_row(result)})
    found: dict[str, Value] = {}
    for name in ASKED:
        found[f"{name}_per_deg_lean"] = trend(rows, "trunk lean", "trunk_lean_wanted_deg", name)
        per_metre = trend(rows, "mass centre", "mass_centre_shift_m", name)
        found[f"{name}_per_cm_ahead"] = None if per_metre is None else 0.01 * per_metre
    return Study("posture", scenario, _told(rows, found), found, tuple(rows), software)


def trend(rows: Sequence[dict[str, Value]], varied: str, over: str, name: str) -> float | None:
    """Slope of a straight line through the completed walks, least squares; None with fewer than three."""
    points = [
        (float(str(row[over])), float(str(row[name])))
        for row in rows
        if row["varied"] == varied and row["outcome"] == "walked" and row[name] is not None
    ]
    if len(points) < 3:
        return None
    x, y = (sum(column) / len(points) for column in zip(*points, strict=True))
    across = sum((a - x) ** 2 for a, _ in points)
    return sum((a - x) * (b - y) for a, b in points) / across if across > 0.0 else None


def _told(rows: Sequence[dict[str, Value]], found: dict[str, Value]) -> str:
    said = []
    for varied, over, unit, scale in (
        ("trunk lean", "trunk_lean_wanted_deg", "deg", 1.0),
        ("mass centre", "mass_centre_shift_m", "cm", 100.0),
    ):
        own = [row for row in rows if row["varied"] == varied]
        good = [scale * float(str(row[over])) for row in own if row["outcome"] == "walked"]
        if not good:
            said.append(f"No walk with another {varied} was completed.")
            continue
        said.append(
            f"{varied.capitalize()}: {len(good)} of {len(own)} walks completed, between {min(good):g} and "
            f"{max(good):g} {unit}{_rate(found, varied)}."
        )
    return " ".join(said)


def _rate(found: dict[str, Value], varied: str) -> str:
    ending, unit = ("per_deg_lean", "degree forward") if varied == "trunk lean" else ("per_cm_ahead", "cm ahead")
    rate = found[f"{ASKED[0]}_{ending}"]
    peak = found[f"{ASKED[1]}_{ending}"]
    if not isinstance(rate, float) or not isinstance(peak, float):
        return ""
    moved = [found[f"{name}_{ending}"] for name in ASKED[3:]]
    centre = [f"{100.0 * value:+.2f}" for value in moved if isinstance(value, float)]
    return (
        f"; per {unit}: knee rate {rate:+.1f} deg/s, sound peak {peak:+.3f} BW, mass centre {' and '.join(centre)} cm "
        "over the sound and the prosthetic foot when the other one lands"
    )
