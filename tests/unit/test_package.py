"""What users install: built, installed where nothing else is, and run; and the versions that development is held to."""

import json
import re
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


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["wheel", "sdist"])
def test_what_is_built_walks_in_an_empty_environment(tmp_path, kind):
    """From the package registry; about a minute each."""
    source = copy_of_sources(tmp_path / "source")
    builder = made(tmp_path / "builder", sys.executable)
    install(builder, "hatchling")
    subprocess.run([builder, "-m", "hatchling", "build", "-t", kind, "-d", tmp_path / "dist"], cwd=source, check=True)
    (built,) = (tmp_path / "dist").iterdir()
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
