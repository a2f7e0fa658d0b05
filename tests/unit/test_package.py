"""What users install: built, installed where nothing else is, and run; and the versions that development is held to."""

import json
import os
import re
import shutil
import subprocess
import sys
import zipfile

import pytest

from tests.matrix.environments import ROOT, copy_of_sources, install, lowest, made, project

LOCK = ROOT / "requirements-dev.txt"


def number(text):
    return tuple(int(part) for part in re.findall(r"\d+", text)[:3])


def locked():
    lines = [line for line in LOCK.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return {name.lower().replace("_", "-"): version for name, version in (line.split("==") for line in lines)}


def test_every_requirement_is_locked_inside_its_range():
    table, pins = project(), locked()
    groups = table["optional-dependencies"]
    wanted = [*table["dependencies"], *groups["dev"], *groups["test"], *groups["dask"], *groups["export"]]
    for text in wanted:
        name, low, high = re.fullmatch(r"([\w-]+)(?:\[[\w,]+\])?(?:>=([\d.]+))?(?:,<([\d.]+))?", text).groups()
        if name == "rampwalk":
            continue
        assert name.lower() in pins, name
        version = number(pins[name.lower()])
        assert low is None or version >= number(low), name
        assert high is None or version < number(high), name


def test_users_are_not_pinned_and_every_dependency_has_two_ends():
    for text in project()["dependencies"]:
        assert re.fullmatch(r"[\w-]+>=[\d.]+,<\d+", text), text
    assert lowest(["numpy>=1.26,<3", "other"]) == ["numpy==1.26.*", "other"]


def built_in(folder, kind):
    """What users install, built from a copy of the sources."""
    source = copy_of_sources(folder / "source")
    builder = made(folder / "builder", sys.executable)
    install(builder, "hatchling")
    subprocess.run([builder, "-m", "hatchling", "build", "-t", kind, "-d", folder / "dist"], cwd=source, check=True)
    (built,) = (folder / "dist").iterdir()
    return built


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["wheel", "sdist"])
def test_what_is_built_walks_in_an_empty_environment(tmp_path, kind):
    """From the package registry; about a minute each."""
    built = built_in(tmp_path, kind)
    if kind == "wheel":
        names = zipfile.ZipFile(built).namelist()
        assert {"sim/py.typed", "sim/data/gains.json", "sim/pages/demo.html"} <= set(names)
        assert not [name for name in names if name.startswith(("tests", "experiments", ".git"))]
    python = made(tmp_path / "empty", sys.executable)
    install(python, built)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    command = [python.with_name("rampwalk"), "walk", "--strides", "1", "--json", "-", "--figure", "walk.png"]
    done = subprocess.run(command, cwd=elsewhere, capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert json.loads(done.stdout)["software"]["loop"] == "compiled"
    assert (elsewhere / "walk.png").read_bytes().startswith(b"\x89PNG")
    where = [python, "-c", "import sim; print(sim.__file__)"]
    place = subprocess.run(where, cwd=elsewhere, capture_output=True, text=True, check=True).stdout
    assert str(tmp_path / "empty") in place


def held_to_permissions():
    """Beginning of a command that may write only where the permission bits say so; root may write anywhere."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("root writes anywhere; needs setpriv to give that up")
    powers = "-dac_override,-dac_read_search,-fowner"
    return ["setpriv", f"--bounding-set={powers}", f"--inh-caps={powers}", "--"]


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="permission bits")
def test_installed_read_only_without_any_folder_for_caches_it_walks(tmp_path):
    """Site-packages, home and working folder cannot be written; what is compiled stays in memory."""
    held = held_to_permissions()
    python = made(tmp_path / "installed", sys.executable)
    install(python, built_in(tmp_path, "wheel"))
    home = tmp_path / "home"
    home.mkdir()
    closed = [tmp_path / "installed", home]
    for path in (*closed, *closed[0].rglob("*")):
        if not path.is_symlink():
            path.chmod(path.stat().st_mode & ~0o222)
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("XDG_", "PYTHON", "RAMPWALK"))}
    variables = kept | {"HOME": str(home), "NUMBA_CACHE_DIR": str(home / "numba")}
    where = "import sim, pathlib; print(pathlib.Path(sim.__file__).parent)"

    def run(*command):
        return subprocess.run(
            [*held, *map(str, command)], cwd=home, env=variables, capture_output=True, text=True, check=False
        )

    package = run(python, "-c", where).stdout.strip()
    assert package.startswith(str(closed[0]))
    for folder in (package, home):
        assert "PermissionError" in run(python, "-c", f"open({str(folder)!r} + '/new', 'w')").stderr  # they are closed
    done = run(python.with_name("rampwalk"), "walk", "--strides", "1", "--json", "-")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["software"]["loop"] == "compiled"
    assert not list(home.iterdir())
    assert not [path for path in closed[0].rglob("*") if path.suffix in {".nbi", ".nbc"}]
