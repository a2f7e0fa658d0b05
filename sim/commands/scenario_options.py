"""Options that name settings of a scenario; shared by the commands."""

from __future__ import annotations

import argparse

from sim.scenario import Scenario, from_toml, replace_by_name, settings
from sim.settings import Setting

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
    known = {setting.name: setting for setting in settings()}
    for option, name in SETTING_OF.items():
        setting = known[name]
        metavar = "|".join(setting.choices) if setting.choices else "VALUE"
        parser.add_argument(option, metavar=metavar, dest=name, help=_help(setting))


def _help(setting: Setting) -> str:
    if setting.choices:
        return f"default {setting.default}"
    unit = f" {setting.unit}" if setting.unit else ""
    default = "by the rule of the scenario" if setting.default is None else f"{setting.default:g}{unit}"
    return f"default {default}; {setting.low:g} to {setting.high:g}{unit}".replace("%", "%%")


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
    asked = {name: getattr(options, name) for name in SETTING_OF.values()}
    given: dict[str, str] = {name: text for name, text in asked.items() if text is not None}
    words = {setting.name for setting in settings() if setting.choices}
    return replace_by_name(
        start, {name: text if name in words else number_or_text(text) for name, text in given.items()}
    )
