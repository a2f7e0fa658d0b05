"""The quick tests with the lowest and the newest versions of what we depend on, for every Python found here.

`python -m tests.matrix.run [--only 3.12-newest] [--tests PATH ...]`; exit status 1 if one of them fails. Every line
says what was installed and how it went; a combination that the registry has no wheels for is said, not counted.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.matrix.environments import ROOT, copy_of_sources, install, lowest, made, project, pythons

#: What must hold everywhere: both loops bit-equal, a walk from the command line, tables, settings, guards.
TESTS = (
    "tests/regression/test_loops_equal.py",
    "tests/unit/test_cli_walk.py",
    "tests/unit/test_walk.py",
    "tests/unit/test_guards.py",
    "tests/unit/test_settings_file.py",
    "tests/unit/test_files.py",
    "tests/unit/test_hostile.py",
    "tests/unit/test_demo.py",
)
SHOWN = ("numpy", "numba", "llvmlite", "scipy", "pandas", "matplotlib", "pymunk")


def main():
    """Run every combination."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", help="one combination, as 3.12-lowest")
    parser.add_argument("--tests", nargs="+", default=TESTS)
    options = parser.parse_args()
    status = 0
    for version, python in pythons().items():
        for kind in ("lowest", "newest"):
            if options.only in {None, f"{version}-{kind}"}:
                told = try_out(python, kind, options.tests)
                print(f"{version} {kind}: {told}", flush=True)
                status |= told.startswith("FAILED")
    return status


def try_out(python, kind, tests):
    """One combination, in a sentence."""
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        inside = made(folder / "venv", python)
        source = copy_of_sources(folder / "source")
        pins = lowest(project()["dependencies"]) if kind == "lowest" else []
        try:
            install(inside, "--only-binary", ":all:", *(pins or project()["dependencies"]))
        except subprocess.CalledProcessError:
            return "no wheels of these versions for this Python"
        install(inside, *pins, source, "pytest", "hypothesis", "pytest-xdist")
        versions = "; ".join(f"{name} {_version(inside, name)}" for name in SHOWN)
        # an old library may use what a newer one that it stands on calls deprecated; that is between the two
        mild = ["-W", "ignore::DeprecationWarning"] if kind == "lowest" else []
        command = [inside, "-m", "pytest", "-q", "-n", "0", "-m", "not slow", *mild, *tests]
        done = subprocess.run(command, cwd=source, capture_output=True, text=True, check=False)
    last = done.stdout.strip().splitlines()[-1] if done.stdout.strip() else done.stderr.strip()[-500:]
    if done.returncode:
        print(done.stdout[-6000:], done.stderr[-2000:], file=sys.stderr)
    word = "FAILED" if done.returncode else "passed"
    return f"{word} ({last}; {time.monotonic() - start:.0f} s; {versions})"


def _version(python, name):
    code = f"import importlib.metadata as m; print(m.version({name!r}))"
    return subprocess.run([python, "-c", code], capture_output=True, text=True, check=True).stdout.strip()


if __name__ == "__main__":
    assert ROOT.is_dir()
    sys.exit(main())
