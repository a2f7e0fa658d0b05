"""Join gains files: a weighted mean, knots of another one, or its answer to a leg that hardly gives way.

    python -m experiments.tune_gains.join --start a.json --other b.json --share 0.3 --out mean.json
    python -m experiments.tune_gains.join --start a.json --other b.json --share 1 --knots=-12,-6 --out joined.json
    python -m experiments.tune_gains.join --start a.json --other b.json --stiff 1.5 --out sturdy.json

A search that bends the knee farther in the window may lose the walks on stiff knees, or a knot at the edge; other gains
still have them. A mean of gains that come from one another is a gait again, and a smoother one.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from experiments.tune_gains.encode import BEFORE_ANY_YIELD, HABITS, LITTLE_YIELD, VALUE, YIELD, as_file, read
from experiments.tune_gains.search import knot_at
from sim.gains import GAINS_FILE
from sim.law.records import GAIN_NAMES

#: Gains that answer what is felt of the leg.
ANSWERS = np.array([name not in BEFORE_ANY_YIELD + HABITS for name in GAIN_NAMES])


def knots_at(row: Any, slopes_deg: Sequence[float] | None) -> list[int]:
    """Which knots these are; all without slopes."""
    knots = np.degrees(row["slope"])
    if slopes_deg is None:
        return list(range(len(knots)))
    found = [knot_at(row, slope) for slope in slopes_deg]
    far = [slope for slope, knot in zip(slopes_deg, found, strict=True) if abs(knots[knot] - slope) > 0.01]
    if far:
        raise SystemExit(f"no knot at {far[0]:g} deg; there are {', '.join(f'{k:g}' for k in knots)}")
    return found


def mean(row: Any, other: Any, share: float, knots: Sequence[int]) -> Any:
    """Gains with this share of the other ones at these knots."""
    out = row.copy()
    numbers = row["coefficients"].copy()
    numbers[:, knots] = (1.0 - share) * numbers[:, knots] + share * other["coefficients"][:, knots]
    out["coefficients"] = numbers
    return out


def stiff_like(row: Any, other: Any, reach: float, knots: Sequence[int]) -> Any:
    """Gains that, at `reach` of little yield, answer as the other ones do to the least yield that those feel.

    Up to a felt yield of -1 nothing changes.
    """
    out = row.copy()
    numbers, others = row["coefficients"].copy(), other["coefficients"]
    for knot in knots:
        least = [c[VALUE, knot] - c[YIELD, knot] for c in (numbers, others)]
        numbers[LITTLE_YIELD, knot] = np.where(ANSWERS, (least[0] - least[1]) / reach, 0.0)
    out["coefficients"] = numbers
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--other", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--share", type=float, help="of the other gains")
    parser.add_argument("--stiff", type=float, help="little yield at which the other gains act")
    parser.add_argument("--knots", type=lambda text: [float(part) for part in text.split(",")], help="slopes [deg]")
    options = parser.parse_args()
    template = json.loads(options.start.read_text())
    row, other = read(template), read(json.loads(options.other.read_text()))
    knots = knots_at(row, options.knots)
    if options.stiff is not None:
        row = stiff_like(row, other, options.stiff, knots)
    if options.share is not None:
        row = mean(row, other, options.share, knots)
    options.out.write_text(json.dumps(as_file(row, template), indent=1) + "\n")


if __name__ == "__main__":
    main()
