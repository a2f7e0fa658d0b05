"""The documentation builds without a warning: every page, and the API pages of every module."""

import pickle
import re
import shutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

pytest.importorskip("sphinx", reason="the documentation tool comes with the extra `dev`")
pytest.importorskip("myst_parser", reason="comes with the extra `dev`")

ROOT = Path(__file__).parents[2]


def copied(folder):
    """A copy of the pages, so that nothing is written beside them and nothing old is read."""
    shutil.copytree(ROOT / "docs", folder / "docs", ignore=shutil.ignore_patterns("_build", "modules"))
    (folder / "sim").symlink_to(ROOT / "sim")
    return folder / "docs"


def build(folder):
    """All but writing HTML, in which nothing is checked any more."""
    command = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "dummy", "docs", "built"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def pages(folder):
    """Names of the pages that were read."""
    with (folder / "built" / ".doctrees" / "environment.pickle").open("rb") as file:
        return set(pickle.load(file).all_docs)


def module_name(path):
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def test_the_documentation_builds_without_warnings(tmp_path):
    copied(tmp_path)
    done = build(tmp_path)
    assert done.returncode == 0, done.stderr[-4000:]
    found = pages(tmp_path)
    modules = {module_name(path) for path in (ROOT / "sim").rglob("*.py")}
    assert {f"api/modules/{name}" for name in modules} <= found
    written = [path.relative_to(tmp_path / "docs") for path in (tmp_path / "docs").rglob("*.md")]
    assert {str(path.with_suffix("")) for path in written} <= found


def test_what_the_api_page_names_is_there():
    """The documentation tool keeps silent about a name that it does not find."""
    named = re.findall(r"\{py:(\w+)\}`([\w.]+)`", (ROOT / "docs" / "api" / "index.md").read_text(encoding="utf-8"))
    assert len(named) > 10
    for kind, name in named:
        module, _, last = name.rpartition(".")
        assert import_module(name) if kind == "mod" else hasattr(import_module(module), last), name


@pytest.mark.slow
def test_a_link_to_nowhere_stops_the_build(tmp_path):
    page = copied(tmp_path) / "glossary.md"
    page.write_text(page.read_text(encoding="utf-8") + "\n[here](nowhere.md)\n", encoding="utf-8")
    done = build(tmp_path)
    assert done.returncode != 0
    assert "nowhere" in done.stderr
