"""Thousands of inputs at random: allowed ones give a whole result, others one sentence and never a traceback."""

import json
import math

import numpy as np
import pytest

from sim.activities.bend import Bend
from sim.activities.guards import MOST_RESIDUAL
from sim.activities.sit import Sit
from sim.activities.stair import Stair
from sim.activities.stand import Stand
from sim.activities.step_to import StepTo
from sim.activities.stop import Stop
from sim.activities.walk import walk
from sim.cli import main
from sim.commands.helper import HELPER_OPTIONS
from sim.commands.posture import POSTURE_OPTIONS
from sim.commands.posture_options import option_names
from sim.commands.rail import RAIL_OPTIONS
from sim.commands.scenario_options import SETTING_OF
from sim.commands.study_options import SUPPORT_OPTIONS
from sim.errors import RampwalkError
from sim.ladder_situations import Ladder
from sim.metrics import METRICS
from sim.overlap_criteria import Overlap
from sim.result import OUTCOMES
from sim.scenario import Scenario, from_dict, from_toml, replace_by_name, to_toml
from sim.settings import described
from tests.properties.random_scenarios import SETTINGS, allowed_scenario, sensible_scenario

#: Seeds of the runs; an example that fails is found again with its number.
SEED_OF_SENSIBLE, SEED_OF_ALLOWED, SEED_OF_INVALID = 2026, 2027, 2028


def checked_result(scenario):
    """Result of a walk in which nothing is missing or not a number."""
    result = walk(scenario)
    assert result.outcome in OUTCOMES
    assert list(result.metrics) == list(METRICS)
    for value in result.metrics.values():
        assert value is None or math.isfinite(value)
    assert json.loads(json.dumps(result.to_json_dict(), allow_nan=False))["outcome"] == result.outcome
    if result.outcome != "invalid":
        assert all(value is None or math.isfinite(value) for value in result.energy.values())
        assert result.energy["residual_fraction"] <= MOST_RESIDUAL
        for column in result.step_rows().values():
            assert all(isinstance(value, str) or math.isfinite(value) for value in column)
    return result


def outcomes_of(draw, seed, count):
    rng, ended = np.random.default_rng(seed), dict.fromkeys(OUTCOMES, 0)
    for number in range(count):
        scenario = draw(rng)
        try:
            ended[checked_result(scenario).outcome] += 1
        except Exception as err:
            err.add_note(f"number {number} of seed {seed}: {scenario}")
            raise
    print(f"seed {seed}: {count} walks, {ended}")
    return ended


@pytest.mark.parametrize(
    "count", [pytest.param(40, id="some"), pytest.param(1000, id="thousand", marks=pytest.mark.slow)]
)
def test_sensible_walks_are_never_invalid(count):
    assert outcomes_of(sensible_scenario, SEED_OF_SENSIBLE, count)["invalid"] == 0


@pytest.mark.parametrize(
    "count", [pytest.param(40, id="some"), pytest.param(1000, id="thousand", marks=pytest.mark.slow)]
)
def test_allowed_walks_have_a_whole_result(count):
    ended = outcomes_of(allowed_scenario, SEED_OF_ALLOWED, count)
    assert ended["invalid"] <= 0.05 * count  # settings at their stiff ends with a coarse time step


# -------------------------------------------------------------------------------- inputs that are not allowed
WRONG_TYPES = ("text", "", None, True, [1.0], {"a": 1}, b"5", 3 + 4j, object(), math.nan, math.inf, -math.inf, 10**400)


def wrong_value(rng, setting):
    """Value that the setting never allows."""
    kinds = ["type", "below", "above"] if setting.kind in {"number", "whole", "optional"} else ["type"]
    kind = rng.choice(kinds)
    if kind == "below":
        return float(setting.low - 10.0 ** rng.uniform(-6, 300))
    if kind == "above":
        return float(setting.high + 10.0 ** rng.uniform(-6, 300))
    value = WRONG_TYPES[rng.integers(len(WRONG_TYPES))]
    if setting.kind == "text":
        return 3 if isinstance(value, str) else value
    return "text" if value is None and setting.kind == "optional" else value


def wrong_name(rng, name):
    """Name with a letter exchanged, lost or doubled."""
    at, letter = int(rng.integers(len(name))), "q"
    return [name[:at] + letter + name[at + 1 :], name[:at] + letter + name[at:], name + letter][rng.integers(3)]


CONTRADICTIONS = (
    {"speed_m_s": 1.0, "cadence_steps_per_min": 100.0},
    {"knee.load_off_n": 200.0, "knee.load_on_n": 199.0},
    {"step_length_m": 1.19, "person.stature_m": 1.3},
    {"speed_m_s": 0.1, "step_length_m": 0.6},
    {"speed_m_s": 2.5, "step_length_m": 0.3},
    {"hip_hold_back_nm": 10.0, "person.limbs": "both-sound"},
    {"hip_hold_back_nm": 200.0, "person.hip_strength_nm_per_kg": 1.0},
    {"person.mass_kg": 30.0, "components.socket_mass_kg": 5.0, "components.foot_mass_kg": 2.5},
)


def wrong_changes(rng):
    """Changes by name of which at least one is not allowed."""
    names = [str(name) for name in rng.choice(list(SETTINGS), int(rng.integers(1, 5)), replace=False)]
    kind = int(rng.integers(3))
    if kind == 0:
        return {name: wrong_value(rng, SETTINGS[name]) for name in names}
    if kind == 1:
        return {wrong_name(rng, name): 1 for name in names}
    return dict(CONTRADICTIONS[rng.integers(len(CONTRADICTIONS))])


def nested(changes):
    data = {}
    for name, value in changes.items():
        place = data
        *sections, last = name.split(".")
        for section in sections:
            place = place.setdefault(section, {}) if isinstance(place.setdefault(section, {}), dict) else {}
        place[last] = value
    return data


def damaged(rng, raw):
    """Content of a file with some bytes exchanged, lost or put in."""
    raw = bytearray(raw)
    for _ in range(int(rng.integers(1, 8))):
        at, kind = int(rng.integers(len(raw))), int(rng.integers(3))
        piece = bytes(rng.integers(0, 256, int(rng.integers(1, 6)), dtype=np.uint8))
        raw[at : at + (len(piece) if kind == 0 else 0)] = piece if kind < 2 else b""
        if kind == 2:
            del raw[at : at + len(piece)]
    return bytes(raw)


def one_sentence(err):
    lines = str(err).splitlines()
    assert 1 <= len(lines) <= 25
    assert all(line.strip() and line.isprintable() for line in lines)
    assert len(str(err)) < 6000


def refused_in_python(rng, folder):
    del folder
    changes = wrong_changes(rng)
    way = rng.choice(["names", "dict"])
    with pytest.raises(RampwalkError) as caught:
        replace_by_name(Scenario(), changes) if way == "names" else from_dict(nested(changes))
    one_sentence(caught.value)


def refused_as_file(rng, folder):
    """A damaged file may by chance still be one; then it is read."""
    path = folder / "walk.toml"
    path.write_bytes(damaged(rng, to_toml(Scenario(name="walk")).encode()))
    fault = None
    try:
        scenario = from_toml(path)
    except RampwalkError as err:
        fault = err
    if fault is None:
        assert isinstance(scenario, Scenario)
    else:
        one_sentence(fault)
        assert "walk.toml" in str(fault)


def options_of_commands():
    """Command -> option -> its setting, for every command whose options are settings."""
    more = {
        "walk": {}, "descent": {}, "uneven": {}, "helper": HELPER_OPTIONS, "uphill": SUPPORT_OPTIONS,
        "ramp": SUPPORT_OPTIONS, "posture": SUPPORT_OPTIONS | POSTURE_OPTIONS, "rail": RAIL_OPTIONS,
    }  # fmt: skip
    found = {
        command: {option: SETTINGS[name] for option, name in (SETTING_OF | names).items()}
        for command, names in more.items()
    }
    kinds = {"stand": Stand, "bend": Bend, "sit": Sit, "stair": Stair, "step-to": StepTo, "stop": Stop}
    for command, kind in (kinds | {"overlap": Overlap, "ladder": Ladder}).items():
        known = {setting.name: setting for setting in described(kind)}
        found[command] = {option: known[name] for option, name in option_names(kind).items()}
    return found


OPTIONS = options_of_commands()


def refused_on_the_command_line(rng, folder):
    command = str(rng.choice(list(OPTIONS)))
    option = str(rng.choice(list(OPTIONS[command])))
    value = wrong_value(rng, OPTIONS[command][option])
    text = "wrong" if isinstance(value, str | bytes | type(None)) else str(value)[:50].replace("\n", " ")
    arguments = [
        [command, f"{option}={text}"],
        [command, wrong_name(rng, option), "1"],
        [wrong_name(rng, "walk")],
        ["walk", f"--scenario={folder / 'missing.toml'}"],
        ["walk", f"--json={folder / 'missing' / 'walk.json'}"],
        ["walk", f"--figure={folder / 'walk.doc'}"],
        [command, option],
    ][rng.integers(7)]
    assert main(arguments) == 2


WAYS = (refused_in_python, refused_as_file, refused_on_the_command_line)


@pytest.mark.parametrize(
    "count", [pytest.param(300, id="some"), pytest.param(12_000, id="twelve-thousand", marks=pytest.mark.slow)]
)
def test_what_is_not_allowed_is_one_sentence(tmp_path, capsys, monkeypatch, count):
    monkeypatch.chdir(tmp_path)
    rng = np.random.default_rng(SEED_OF_INVALID)
    for number in range(count):
        way = WAYS[number % len(WAYS)]
        try:
            way(rng, tmp_path)
        except BaseException as err:
            err.add_note(f"number {number} of seed {SEED_OF_INVALID}, {way.__name__}")
            raise
        said = capsys.readouterr()
        assert said.out == ""
        assert said.err.count("\n") == (way is refused_on_the_command_line)
        assert "Traceback" not in said.err
    assert [path.name for path in tmp_path.iterdir()] == ["walk.toml"]
