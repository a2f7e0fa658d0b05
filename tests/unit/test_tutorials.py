"""Every block of code of the tutorials runs, in order, in an empty folder."""

import re
import shlex
from pathlib import Path

import pytest

from sim.cli import main

DOCS = Path(__file__).parents[2] / "docs"
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
MADE = {
    "engineer": ["sweep-out", "sweep.png", "walk.csv", "walk.json", "walk.png"],
    "teacher": ["firm.csv", "firm.png", "gentle.csv", "gentle.png", "soft.csv", "soft.png", "steps-45-cm.png",
                "steps-60-cm.png"],
    "researcher": ["forces.pdf", "peak.csv", "peak.pdf", "peak.png", "peak.svg", "walk-columns.csv", "walk.csv",
                   "walk.nc"],
}  # fmt: skip


def page(name):
    return (DOCS / f"tutorial-{name}.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", MADE)
def test_the_tutorial_runs(name, tmp_path, monkeypatch):
    if name == "researcher":
        pytest.importorskip("xarray")
    import matplotlib as mpl

    mpl.use("agg")
    monkeypatch.chdir(tmp_path)
    blocks = BLOCK.findall(page(name))
    assert len(blocks) >= 4
    space = {"__name__": "tutorial"}
    for language, code in blocks:
        if language == "python":
            exec(compile(code, f"tutorial-{name}.md", "exec"), space)
            continue
        assert language == "sh"
        for line in code.splitlines():
            program, *arguments = shlex.split(line)
            assert program == "rampwalk"
            assert main(arguments) == 0, line
    import matplotlib.pyplot as plt

    plt.close("all")
    assert sorted(path.name for path in tmp_path.iterdir()) == MADE[name]


@pytest.mark.parametrize("name", MADE)
def test_the_caution_and_the_links_hold(name):
    assert "no device setting follows from it" in page(name)
    for target in re.findall(r"\]\(([\w.-]+)\)", page(name)):
        assert (DOCS / target).exists(), target
