"""Write `requirements-dev.txt`: the newest versions that the ranges allow, as a fresh environment gets them."""

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.matrix.environments import ROOT, copy_of_sources, install, made


def main():
    """Make an environment, install everything, write what is in it."""
    path = ROOT / "requirements-dev.txt"
    head = [line for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    with tempfile.TemporaryDirectory() as place:
        python = made(Path(place) / "venv", sys.executable)
        install(python, f"{copy_of_sources(Path(place) / 'source')}[dev]", "hatchling")
        command = [str(python), "-m", "pip", "--disable-pip-version-check", "freeze", "--exclude", "rampwalk"]
        frozen = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    path.write_text("\n".join([*head, *(line for line in frozen if "==" in line)]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
