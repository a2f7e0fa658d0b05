"""Would the tests notice a wrong law? Breaks one law at a time in a copy and writes which tests fail.

    python -m experiments.broken_laws.run [--only knee-sign ...] [--page docs/broken-laws.md] [-- tests/unit ...]

The same tests run once in an unbroken copy first: what fails there too is not counted as catching anything.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from experiments.broken_laws.laws import BREAKS, Break, break_in

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("sim", "tests", "experiments", "docs", "figures")
#: Tests of laws, engine, body and papers, the quickest first. Left out: comparisons of whole walks with people, which
#: take minutes and fail on any change, and tests of files, commands and pictures, which say nothing about a law.
TESTS = (
    "tests/unit/test_law_contact.py", "tests/unit/test_law_knee.py", "tests/unit/test_law_person.py",
    "tests/unit/test_knee_lock.py", "tests/unit/test_body.py", "tests/unit/test_ledger.py",
    "tests/unit/test_parameters.py", "tests/physics", "tests/properties/test_scaling.py",
    "tests/regression/test_loops_equal.py", "tests/regression/test_posture_loops.py",
    "tests/published/test_passive.py",
)  # fmt: skip
MOST, NAMED, LONGEST = 25, 4, 1200  # failures after which a run ends; names on the page; seconds of one run
_FAILED = re.compile(r"^(?:FAILED|ERROR) (\S+?::.*?)(?: - .*)?$", re.MULTILINE)
_SUMMARY = re.compile(r"\d+ (?:passed|failed|errors?)\b.* in [\d.]+s")
_PAGE = """\
# Laws broken on purpose

Made by `python -m experiments.broken_laws.run`; do not edit. One law at a time is made wrong in a copy of the
repository, and these tests run: {tests} (not those marked `slow`; a run ends after {most} new failures). \
Tests that fail
without any break ({baseline}) count for nothing. Gains with the hash {gains}.

{counted}

| broken law | what is wrong | caught by | first of them |
|---|---|---:|---|
{rows}

Comparisons of whole walks with people (`tests/published/test_targets.py`) are left out: they take minutes, and may fail
on any change. A law that no test noticed would stand here with a 0.
"""


@dataclass(frozen=True)
class Outcome:
    """Names of the tests that failed, and whether there may be more of them."""

    failed: tuple[str, ...]
    more: bool
    seconds: float


def copy_of_repository(folder: Path) -> None:
    """Copy what the tests need, once: the checkout may change while they run."""
    for name in COPIED:
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    for file in (*ROOT.glob("*.md"), ROOT / "pyproject.toml"):
        shutil.copy(file, folder)


def run_tests(folder: Path, tests: list[str], most: int) -> Outcome:
    """Run tests in a copy, with machine code kept there too, so that no other law is ever run by mistake.

    Raises
    ------
    RuntimeError
        If the tests could not run at all, or ran on another copy.
    """
    environment = os.environ | {"RAMPWALK_CACHE_DIR": str(folder / "cache"), "PYTHONDONTWRITEBYTECODE": "1"}
    where = subprocess.run(
        [sys.executable, "-c", "import sys; sys.path.insert(0, '.'); import sim; print(sim.__file__)"],
        cwd=folder, env=environment, capture_output=True, text=True, check=True,
    ).stdout.strip()  # fmt: skip
    if not Path(where).resolve().is_relative_to(folder.resolve()):
        raise RuntimeError(f"the tests would run on {where} and not on the copy in {folder}")
    command = [sys.executable, "-m", "pytest", "-q", "-n", "2", f"--maxfail={most}", "--tb=no", "-m", "not slow"]
    command += ["-p", "no:cacheprovider", *tests]
    began = time.monotonic()
    done = subprocess.run(  # noqa: S603  our own program
        command, cwd=folder, env=environment, capture_output=True, text=True, check=False, timeout=LONGEST
    )
    if not _SUMMARY.search(done.stdout):
        raise RuntimeError(f"the tests did not run in {folder}:\n{done.stdout[-2000:]}{done.stderr[-2000:]}")
    failed = tuple(sorted(set(_FAILED.findall(done.stdout))))
    if done.returncode and not failed:
        raise RuntimeError(f"tests failed that could not be read in {folder}:\n{done.stdout[-2000:]}")
    return Outcome(failed, len(failed) >= most, time.monotonic() - began)


def tried(clean: Path, law: Break | None, tests: list[str], most: int) -> Outcome:
    """Outcome of the tests with one law broken, or with none, in a copy of the clean copy."""
    with tempfile.TemporaryDirectory(prefix="rampwalk-broken-") as name:
        folder = Path(name) / "copy"
        shutil.copytree(clean, folder)
        if law is not None:
            break_in(folder, law)
        return run_tests(folder, tests, most)


def line(law: Break, outcome: Outcome, baseline: Outcome) -> str:
    """One row of the page; tests of laws and mechanics are named first."""
    caught = sorted(set(outcome.failed) - set(baseline.failed), key=rank)
    count = f"{len(caught)}{' or more' if outcome.more else ''}"
    names = "<br>".join(f"`{name.removeprefix('tests/')}`".replace("|", "/") for name in caught[:NAMED])
    return f"| {law.name} | {law.what} | {count} | {names or '**nothing**'} |"


def rank(name: str) -> tuple[int, str]:
    folders = ("tests/unit", "tests/physics", "tests/properties", "tests/regression", "tests/published")
    return next((k for k, folder in enumerate(folders) if name.startswith(folder)), len(folders)), name


def page(found: dict[str, Outcome], baseline: Outcome, tests: list[str], gains: str) -> str:
    """The whole page, of the laws tried; `gains` is the hash of those in the copy."""
    laws = [law for law in BREAKS if law.name in found]
    noticed = sum(bool(set(found[law.name].failed) - set(baseline.failed)) for law in laws)
    return _PAGE.format(
        tests=", ".join(f"`{name}`" for name in tests),
        most=MOST,
        baseline=f"{len(baseline.failed)} when this page was made",
        gains=gains,
        counted=f"**{noticed} of {len(laws)} broken laws noticed.**",
        rows="\n".join(line(law, found[law.name], baseline) for law in laws),
    )


def survey(clean: Path, laws: list[Break], given: argparse.Namespace) -> tuple[Outcome, dict[str, Outcome]]:
    """Try every law on one copy; the page is written anew after each, so that a run cut short leaves one."""
    copy_of_repository(clean)
    gains = hashlib.sha256((clean / "sim" / "data" / "gains.json").read_bytes()).hexdigest()[:12]
    baseline = tried(clean, None, given.tests, 10 * MOST)
    sys.stdout.write(f"nothing broken: {len(baseline.failed)} fail, {baseline.seconds:.0f} s {baseline.failed}\n")
    found: dict[str, Outcome] = {}
    for law in laws:
        sys.stdout.flush()
        found[law.name] = tried(clean, law, given.tests, MOST + len(baseline.failed))
        sys.stdout.write(f"{line(law, found[law.name], baseline)} {found[law.name].seconds:.0f} s\n")
        given.page.write_text(page(found, baseline, given.tests, gains), encoding="utf-8")
    return baseline, found


def main(arguments: list[str] | None = None) -> int:
    """Break, test, write the page; status 1 if a broken law went unnoticed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", nargs="+", choices=[law.name for law in BREAKS], help="break these laws only")
    parser.add_argument("--page", type=Path, default=ROOT / "docs" / "broken-laws.md", help="where the page goes")
    parser.add_argument("tests", nargs="*", default=list(TESTS), help="test files or folders")
    given = parser.parse_args(arguments)
    laws = [law for law in BREAKS if given.only is None or law.name in given.only]
    try:
        with tempfile.TemporaryDirectory(prefix="rampwalk-clean-") as name:
            baseline, found = survey(Path(name), laws, given)
    except (OSError, ValueError, RuntimeError, subprocess.SubprocessError) as error:
        sys.stderr.write(f"{error}\n")
        return 2
    return int(any(not set(found[law.name].failed) - set(baseline.failed) for law in laws))


if __name__ == "__main__":
    sys.exit(main())
