"""Other machines: no compiler, no cache folder, a full disk, a decimal comma, no display, no network."""

import errno
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from numba.core.caching import IndexDataCacheFile
from numba.core.errors import TypingError

from sim.activities.walk import walk
from sim.drivers import loops
from sim.law.compiled import entry
from sim.scenario import Scenario

ROOT = Path(__file__).parents[2]
WALK = ["walk", "--strides", "1", "--slope-deg=-7.5"]


def run(arguments, code="", **environment):
    """The command in a fresh process, after some lines of code, with variables set or (None) taken away."""
    variables = {**os.environ, **environment}
    variables = {name: value for name, value in variables.items() if value is not None}
    program = f"{code}\nimport sys; from sim.cli import main; sys.exit(main({[str(word) for word in arguments]!r}))"
    command = [sys.executable, "-c", program]
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, cwd=ROOT, env=variables, timeout=600, encoding="utf-8"
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def without_loop(result):
    return {name: value for name, value in result.to_json_dict()["software"].items() if name != "loop"}


@pytest.mark.parametrize("missing", ["compiler", "addresses"])
def test_where_the_compiled_loop_cannot_be_built_the_readable_one_walks(monkeypatch, missing):
    def fail(*_arguments, **_more):
        raise TypingError("no such intrinsic") if missing == "compiler" else AttributeError("no such function")

    compiled = walk(Scenario(strides=1))
    if missing == "compiler":
        monkeypatch.setattr(loops, "drive_compiled", fail)
    else:
        monkeypatch.setattr(loops.Engine, "addresses", fail)
    readable = walk(Scenario(strides=1))
    assert (compiled.software["loop"], readable.software["loop"]) == ("compiled", "batch")
    assert readable.frames.tobytes() == compiled.frames.tobytes()
    assert readable.metrics == compiled.metrics
    assert without_loop(readable) == without_loop(compiled)


def double(x):
    return 2.0 * x


def test_a_full_disk_costs_the_cache_and_not_the_walk(monkeypatch, tmp_path):
    def no_room(*_arguments, **_more):
        asked.append(1)
        raise OSError(errno.ENOSPC, "no space")

    asked = []
    monkeypatch.setenv("RAMPWALK_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(IndexDataCacheFile, "save", no_room)
    assert entry(double)(2.0) == 4.0
    assert asked


@pytest.mark.slow
@pytest.mark.parametrize("place", ["/proc/nothing", "a file", "read only"])
def test_without_a_cache_folder_everything_is_compiled_anew(tmp_path, place):
    """Nothing is written beside the installed files either: their folders could be read-only."""
    folder = tmp_path / "cache"
    if place == "a file":
        folder.write_text("")
    elif place == "read only":
        folder.mkdir(mode=0o555)
    before = {path for path in (ROOT / "sim").rglob("*") if path.suffix in {".nbi", ".nbc"}}
    told = run([*WALK, "--json", "-"], RAMPWALK_CACHE_DIR="/proc/nothing" if place.startswith("/") else str(folder))
    assert json.loads(told)["metrics"] == walk(Scenario(strides=1, slope_deg=-7.5)).to_json_dict()["metrics"]
    assert {path for path in (ROOT / "sim").rglob("*") if path.suffix in {".nbi", ".nbc"}} == before


@pytest.fixture(scope="module")
def comma_locale(tmp_path_factory):
    """Environment in which numbers are written with a comma."""
    if shutil.which("localedef") is None or not Path("/usr/share/i18n/locales/de_DE").exists():
        pytest.skip("needs localedef and its sources: apt-get install locales")
    place = tmp_path_factory.mktemp("locale")
    command = ["localedef", "-i", "de_DE", "-f", "UTF-8", str(place / "de_DE.UTF-8")]
    subprocess.run(command, check=True, capture_output=True)
    return {"LOCPATH": str(place), "LC_ALL": "de_DE.UTF-8"}


def test_a_decimal_comma_changes_nothing(tmp_path, comma_locale):
    scenario = tmp_path / "walk.toml"
    scenario.write_text("slope_deg = -7.5\nstrides = 1\n[knee]\nflexion_resistance = 41.5\n")
    code = (
        "import locale; locale.setlocale(locale.LC_ALL, '')\n"
        "assert locale.str(1.5) == '1,5'\n"
        "import matplotlib; matplotlib.rcParams['axes.formatter.use_locale'] = False\n"
    )
    for kind, setup, environment in (("plain", "", {}), ("comma", code, comma_locale)):
        folder = tmp_path / kind
        folder.mkdir()
        options = ["--json", folder / "walk.json", "--figure", folder / "walk.svg"]
        run(["walk", "--scenario", scenario, *options], setup, **environment)
    for name in ("walk.json", "walk.csv", "walk.svg"):
        assert (tmp_path / "comma" / name).read_bytes() == (tmp_path / "plain" / name).read_bytes()


@pytest.mark.parametrize("backend", [None, "TkAgg"])
def test_no_display_is_needed(tmp_path, backend):
    path = tmp_path / "walk.png"
    run([*WALK, "--figure", path], DISPLAY=None, WAYLAND_DISPLAY=None, MPLBACKEND=backend)
    assert path.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_any_encoding_of_the_terminal_will_do(encoding):
    assert "slope" in run(["walk", "--help"], PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert "7.5 deg" in run(WALK, PYTHONIOENCODING=encoding, PYTHONUTF8="0")


def test_no_network_is_used(tmp_path):
    """Any attempt to reach another machine, or to look up its name, would end the program."""
    code = (
        "import socket\n"
        "def refuse(*a, **k): raise SystemExit('network')\n"
        "socket.socket.connect = socket.socket.connect_ex = socket.getaddrinfo = socket.create_connection = refuse\n"
    )
    run([*WALK, "--figure", tmp_path / "walk.png", "--json", tmp_path / "walk.json"], code)
    sweep = ["sweep", "--strides", "1", "--workers", "1", "--slope-deg=-5,-6", "--out", tmp_path / "out"]
    run([*sweep], code)
    assert (tmp_path / "out" / "table.csv").is_file()
