"""The map in DEVELOPERS.md names every module once, and each file imports only from those above it."""

import ast
import re
from fnmatch import fnmatch
from pathlib import Path

ROOT = Path(__file__).parents[2]
#: Path below sim/ -> file.
MODULES = {
    path.relative_to(ROOT / "sim").as_posix(): path
    for path in sorted((ROOT / "sim").rglob("*.py"))
    if path.name != "__init__.py"
}
#: Folders whose files the map lists; of the others it names the folder.
LISTED = ("law/", "drivers/", "activities/")


def patterns():
    """Names of the map in their order, as paths below sim/; indented lines belong to the folder above them."""
    block = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("```")[1]
    found, folder = [], ""
    for line in block.splitlines():
        names = re.match(r"\s*((?:[\w*/]+(?:\.py|/)\s?)+)", line)
        if names is None or line.startswith("experiments/"):
            continue
        for word in names[1].split():
            path = word.removeprefix("sim/")
            if path == word:
                path = folder + word
            folder = path[: path.rfind("/") + 1]
            if path not in LISTED:
                found.append(f"{path}*" if path.endswith("/") else path)
    return found


def places():
    """Module -> its places in the map."""
    found = {module: [] for module in MODULES}
    for place, pattern in enumerate(patterns()):
        hits = [module for module in MODULES if fnmatch(module, pattern) and module.count("/") == pattern.count("/")]
        assert hits, pattern
        for module in hits:
            found[module].append(place)
    return found


def imported(path):
    """Modules of the package that a file imports, at its top or where they are needed; not for types alone."""
    found, skipped = set(), set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            skipped |= {id(inner) for inner in ast.walk(node)}
        if isinstance(node, ast.ImportFrom) and id(node) not in skipped and (node.module or "").startswith("sim"):
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return {f"{name.removeprefix('sim.').replace('.', '/')}.py" for name in found}


def test_every_module_is_in_the_map_once():
    assert {module: where for module, where in places().items() if len(where) != 1} == {}


def test_each_file_imports_only_from_those_above_it():
    place = {module: where[0] for module, where in places().items() if where}
    upward = [
        f"{module} imports {other}"
        for module, path in MODULES.items()
        for other in sorted(imported(path))
        if place.get(other, -1) > place.get(module, len(MODULES))
    ]
    assert upward == []
