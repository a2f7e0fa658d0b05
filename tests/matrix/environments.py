"""Fresh environments, for the tests that need one."""

import os
import re
import subprocess
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PYTHONS = ("3.11", "3.12", "3.13", "3.14")


def project():
    """The project table of pyproject.toml."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def lowest(requirements):
    """`name>=x.y,<z` as `name==x.y.*`; a requirement without a lowest version stays as it is."""
    found = []
    for text in requirements:
        match = re.fullmatch(r"([A-Za-z0-9_-]+)>=([0-9.]+)(,.*)?", text)
        found.append(f"{match[1]}=={match[2]}.*" if match else text)
    return found


def pythons():
    """Version -> path of every Python found here."""
    paths = {}
    for version in PYTHONS:
        done = subprocess.run(
            [f"python{version}", "-c", "import sys; print(sys.executable)"],
            capture_output=True, text=True, check=False,
        ) if _there(version) else None  # fmt: skip
        if done and done.returncode == 0:
            paths[version] = done.stdout.strip()
    # several Pythons of one version manager hide each other
    for folder in sorted((Path.home() / ".pyenv" / "versions").glob("3.*")):
        version = ".".join(folder.name.split(".")[:2])
        if version in PYTHONS:
            paths.setdefault(version, str(folder / "bin" / "python"))
    return paths


def _there(version):
    return any((Path(place) / f"python{version}").exists() for place in os.environ.get("PATH", "").split(os.pathsep))


def made(folder, python):
    """Empty environment; returns its python."""
    subprocess.run([python, "-m", "venv", str(folder)], check=True)
    return folder / "bin" / "python"


def install(python, *what):
    """Install from the package registry, or raise."""
    command = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *map(str, what)]
    subprocess.run(command, check=True)


def copy_of_sources(folder):
    """The files that git knows or does not ignore, elsewhere, so that building writes nothing here."""
    listed = ["git", "ls-files", "-co", "--exclude-standard", "-z"]
    names = subprocess.run(listed, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split("\0")
    for name in filter(None, names):
        if (ROOT / name).is_file():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes((ROOT / name).read_bytes())
    return folder
