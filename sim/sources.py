"""The publications behind the settings of a walk: which numbers of it come from where."""

from __future__ import annotations

from dataclasses import dataclass
from types import ModuleType
from typing import TYPE_CHECKING

from sim.parameters import (
    Sourced,
    foot_length_hansen2004,
    gravity,
    hydraulic_orifice,
    lengths_drillis1966,
    ours,
    prosthesis_parts_recalled,
    segments_winter2009,
    walk_ratio_sekiya1996,
)
from sim.scenario import PUBLISHED_WALK_RATIO, settings, to_dict

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sim.scenario import Scenario

#: The contact law, whose numbers are ours, and the low-pass and the contact threshold of the metrics.
CONTACT_LAW = "Hunt KH, Crossley FRE 1975 J Appl Mech 42:440-445 doi:10.1115/1.3423596"
FORCE_SIGNALS = "Fukuchi CA, Fukuchi RK, Duarte M 2018 PeerJ 6:e4640 doi:10.7717/peerj.4640"
#: Without a prosthesis these sections, and these settings, have no effect.
_PROSTHETIC_SECTIONS = ("components", "foot")
_PROSTHETIC_SETTINGS = ("person.residual_limb_fraction", "person.residual_hip_strength_fraction")
_STOPS_OF_EVERY_KNEE = ("knee.stop_stiffness", "knee.stop_damping", "knee.maximum_flexion_deg")


@dataclass(frozen=True)
class Source:
    """One publication (or guess) and what of a walk rests on it.

    Attributes
    ----------
    source : str
        Publication; for a guess the reasoning.
    how_known : str
        One of `sim.parameters.HOW_KNOWN`.
    used_for : tuple of str
        Names of settings, or of fixed numbers as `file: parameter`.
    """

    source: str
    how_known: str
    used_for: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.source} ({self.how_known}): {', '.join(self.used_for)}"


def sources_of(scenario: Scenario, guesses: bool = False) -> tuple[Source, ...]:
    """Publications behind the settings and fixed numbers that have an effect in a walk, sorted by name.

    A setting that was given another value than its default rests on whoever gave it and is not listed. Gains of the
    person are found by search, see `docs/validation.md`; no publication stands behind them.

    Parameters
    ----------
    scenario : Scenario
    guesses : bool
        List the guesses of the authors too.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for source, how_known, name in (*_from_settings(scenario), *_fixed(scenario)):
        if guesses or how_known != "ours":
            found.setdefault((source, how_known), []).append(name)
    rows = (Source(source, how_known, tuple(names)) for (source, how_known), names in found.items())
    return tuple(sorted(rows, key=lambda row: (row.source, row.how_known)))


def _from_settings(scenario: Scenario) -> Iterable[tuple[str, str, str]]:
    flat = _flat(to_dict(scenario))
    for setting in settings():
        if setting.source and flat.get(setting.name) == setting.default and _has_effect(setting.name, scenario):
            yield setting.source, setting.how_known, setting.name
    if scenario.walk_ratio_m_min == PUBLISHED_WALK_RATIO:
        row = walk_ratio_sekiya1996.parameters()["walk_ratio"]
        yield row.source, row.how_known, "walk_ratio_m_min"


def _flat(data: dict[str, object], prefix: str = "") -> dict[str, object]:
    flat: dict[str, object] = {}
    for name, value in data.items():
        flat |= _flat(value, f"{prefix}{name}.") if isinstance(value, dict) else {prefix + name: value}
    return flat


def _has_effect(name: str, scenario: Scenario) -> bool:
    if name == "step_length_m":
        return None in (scenario.sound_step_length_m, scenario.prosthetic_step_length_m)
    if name.startswith(("rail.", "helper.")):
        return scenario.rail.on if name.startswith("rail.") else scenario.helper.on
    if scenario.person.has_prosthesis or name in _STOPS_OF_EVERY_KNEE:
        return True
    return name.partition(".")[0] not in {*_PROSTHETIC_SECTIONS, "knee"} and name not in _PROSTHETIC_SETTINGS


def _fixed(scenario: Scenario) -> Iterable[tuple[str, str, str]]:
    """Numbers that no setting changes."""
    person = scenario.person
    used: list[tuple[ModuleType, tuple[str, ...]]] = [
        (gravity, tuple(gravity.parameters())),
        (segments_winter2009, tuple(segments_winter2009.parameters())),
        (lengths_drillis1966, tuple(lengths_drillis1966.parameters())),
        (foot_length_hansen2004, ("sound",)),
        (ours, ("ankle_from_heel", "ball_from_heel", "toe_spring")),
    ]
    if person.has_prosthesis:
        used.append((ours, ("socket_reach", "knee_unit_length")))
        if scenario.knee.law == "hydraulic":
            used += [(hydraulic_orifice, ("rate_exponent",)), (ours, ("hydraulic_reference_rate",))]
        if scenario.components.pylon_mass_kg == _default("components.pylon_mass_kg"):
            used.append((prosthesis_parts_recalled, ("knee_unit",)))  # taken off the seen mass of the whole shank
    if not any((scenario.speed_m_s, scenario.cadence_steps_per_min, scenario.walk_ratio_m_min)):
        used.append((ours, ("steps_per_second",)))
    for module, names in used:
        rows: dict[str, Sourced] = module.parameters()
        for name in names:
            yield rows[name].source, rows[name].how_known, f"{module.__name__.rpartition('.')[2]}: {name}"
    yield CONTACT_LAW, "from memory", "law of the foot on the ground"
    yield FORCE_SIGNALS, "seen", "low-pass and contact threshold of the metrics"


def _default(name: str) -> object:
    return next(setting.default for setting in settings() if setting.name == name)
