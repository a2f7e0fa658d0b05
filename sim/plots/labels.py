"""Names of settings and metrics as labels of axes: words and a unit."""

from __future__ import annotations

from sim.table import with_unit

#: Unit that a name ends with -> how a label writes it; longest first, since one may end with another.
_ENDINGS = {
    "_bw_per_leg_length": "BW / leg length",
    "_steps_per_min": "steps/min",
    "_j_per_m": "J/m",
    "_nm_per_kg": "N m/kg",
    "_deg_s": "deg/s",
    "_bw_s": "BW/s",
    "_m_s": "m/s",
    "_deg": "deg",
    "_bw": "BW",
    "_nm": "N m",
    "_kg": "kg",
    "_n": "N",
    "_m": "m",
    "_s": "s",
    "_j": "J",
}


def axis_label(column: str) -> str:
    """`sound_peak_force_bw` as "sound peak force [BW]", `knee.flexion_resistance` with the unit of the setting."""
    name, _, unit = with_unit(column).partition(" [")
    unit = unit.rstrip("]")
    if not unit:
        ending = next((ending for ending in _ENDINGS if name.endswith(ending)), "")
        name, unit = name.removesuffix(ending), _ENDINGS.get(ending, "")
    words = name.replace(".", " ").replace("_", " ")
    return f"{words} [{unit}]" if unit else words
