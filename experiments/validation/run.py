"""Is the walker right? Answers every row of the outside numbers on docs/validation.md, with pictures.

The known misses also go to docs/limits.md.

    python -m experiments.validation.run [--docs docs]

What was found stands on those pages; `tests/published/test_targets.py` holds the same answers against their limits.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
from dataclasses import replace
from pathlib import Path

from experiments.validation import directions, inputs, mechanics, people
from experiments.validation.causes import cause
from experiments.validation.page import known_misses, renewed, validation_page
from experiments.validation.targets import Answer, Row, Target, targets
from experiments.validation.walks import Walks
from sim.gains import GAINS_FILE


def rows() -> dict[str, Row]:
    """Everything that answers a row of the table, by id; mechanics last, since it holds for all other walks."""
    return people.rows() | directions.rows() | inputs.rows() | mechanics.rows()


def answer(target: Target, row: Row, walks: Walks) -> Answer:
    """One row answered, with the likely cause if it is not met."""
    found = Answer(target, row(walks))
    if found.status in ("near", "miss", "warn"):
        return replace(found, cause=cause(target, found.finding, walks))
    return found


def answers(walks: Walks) -> list[Answer]:
    """Every row of the table answered, in the table's order.

    Parameters
    ----------
    walks : Walks
        Kept, so that pictures can use the same walks.
    """
    wanted = targets()
    found = {name: answer(wanted[name], row, walks) for name, row in rows().items()}
    return [found[name] for name in wanted]


def gains_hash() -> str:
    """Of the gains that the walks use."""
    return hashlib.sha256(GAINS_FILE.read_bytes()).hexdigest()[:12]


def main(arguments: list[str] | None = None) -> int:
    """Write pages and pictures."""
    from experiments.validation.figures import draw_all

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--docs", type=Path, default=Path("docs"), help="folder of the pages")
    docs = parser.parse_args(arguments).docs
    limits = docs / "limits.md"
    try:
        page = limits.read_text(encoding="utf-8")
        walks = Walks()
        found = answers(walks)
        limits.write_text(renewed(page, known_misses(found)), encoding="utf-8")
        (docs / "validation.md").write_text(validation_page(found, gains_hash()), encoding="utf-8")
        (docs / "images").mkdir(exist_ok=True)
        draw_all(walks, docs / "images")
    except (OSError, ValueError) as error:
        sys.stderr.write(f"{error}\n")
        return 2
    for one in found:
        sys.stdout.write(f"{one.target.id} {one.status}{' (gross)' if one.gross else ''}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
