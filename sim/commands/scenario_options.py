"""Options that name settings of a scenario; shared by the commands."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from sim.scenario import Scenario, from_toml, replace_by_name
from sim.settings import Setting, described

#: Option -> setting.
SETTING_OF = {
    "--slope-deg": "slope_deg",
    "--step-length-m": "step_length_m",
    "--flexion-resistance": "knee.flexion_resistance",
    "--law": "knee.law",
    "--prosthetic-step-length-m": "prosthetic_step_length_m",
    "--sound-step-length-m": "sound_step_length_m",
    "--prosthetic-step-time-s": "prosthetic_step_time_s",
    "--sound-step-time-s": "sound_step_time_s",
    "--speed-m-s": "speed_m_s",
    "--mass-kg": "person.mass_kg",
    "--stature-m": "person.stature_m",
    "--limbs": "person.limbs",
    "--strides": "strides",
}


def add_scenario_options(parser: argparse.ArgumentParser) -> None:
    """Add `--scenario FILE` and one option per setting of `SETTING_OF`, read as text."""
    parser.add_argument("--scenario", metavar="FILE.toml", help="settings from a file; the other options override it")
    add_settings(parser, Scenario, SETTING_OF)


def add_settings(parser: argparse.ArgumentParser, kind: type[Any], names: Mapping[str, str]) -> None:
    """Add an option for each named setting of a class, read as text; option -> full name of the setting."""
    known = {setting.name: setting for setting in described(kind)}
    for option, name in names.items():
        setting = known[name]
        metavar = "|".join(setting.choices) if setting.choices else "VALUE"
        parser.add_argument(option, metavar=metavar, dest=name, help=_help(setting))


def _help(setting: Setting) -> str:
    if setting.choices:
        return f"default {setting.default}"
    unit = f" {setting.unit}" if setting.unit else ""
    default = "by the rule of the scenario" if setting.default is None else f"{setting.default:g}{unit}"
    return f"default {default}; {setting.low:g} to {setting.high:g}{unit}".replace("%", "%%")


def given_settings(options: argparse.Namespace, kind: type[Any], names: Mapping[str, str]) -> dict[str, object]:
    """Full setting name -> value of the options of `add_settings` that were given."""
    words = {setting.name for setting in described(kind) if setting.choices}
    given = {name: getattr(options, name) for name in names.values()}
    return {
        name: text if name in words else number_or_text(text) for name, text in given.items() if text is not None
    }


def number_or_text(text: str) -> float | str:
    """The number that a text is, or the text, which the scenario's own check then refuses by name."""
    try:
        return float(text)
    except ValueError:
        return text


def scenario_from(options: argparse.Namespace) -> Scenario:
    """Scenario of a file, or the default one, with the given options laid over it.

    Raises
    ------
    RampwalkError
        If the file cannot be used or a value is not allowed.
    """
    start = Scenario() if options.scenario is None else from_toml(options.scenario)
    return replace_by_name(start, given_settings(options, Scenario, SETTING_OF))
