"""Which three things move the peak force on the sound leg most, on a slope of -8 degrees?

`python -m experiments.sensitivity.run [base points] [folder]`: Sobol' indices over the bands of the parameter tables
(`sim.influences`), walks kept in the folder, so that it may be stopped and run again; `--fresh` starts over. With 32
base points it takes some minutes on two processors and the intervals are wide: read them. 256 base points take an hour
and tell close ones apart. Writes indices.csv, tornado.csv, sensitivity.png and answer.md.
"""

from __future__ import annotations

import sys
from pathlib import Path

from sim.caution import CAUTION
from sim.commands.sensitivity import SHOWN, study_in
from sim.influences import default_influences
from sim.pool import usable_cpus, workers_in_environment
from sim.scenario import Scenario
from sim.sensitivity import NOT_COMPLETED, Sensitivity, strongest

SLOPE_DEG = -8.0
#: Base points by default (ours: enough to see the strongest of sixteen, not to rank the weak ones).
SAMPLES = 32
OUT = Path("sensitivity-out")


def answer(found: Sensitivity, samples: int) -> str:
    """The answer as a page, from the numbers alone."""
    rows = strongest(found, SHOWN).to_dict("records")
    lines = ["# Which three things move the sound-leg peak most on -8 degrees?", ""]
    if not rows:
        lines.append("No answer: in no part of the ranges that was tried did every walk come to its end.")
    else:
        part = rows[0]["part"]
        where = "over the whole ranges" if part == 1.0 else f"over {100 * part:.0f} % of every range, in which all walk"
        lines += [f"By total index, {where} ({samples} base points):", ""]
        lines += [
            f"{place}. `{row['setting']}`: {row['total']:.2f}, 95 % interval {row['total_low']:.2f} to "
            f"{row['total_high']:.2f} (alone {row['first']:.2f}); varied from {row['range_low']:.4g} to "
            f"{row['range_high']:.4g}"
            for place, row in enumerate(rows, start=1)
        ]
        lines += ["", doubt(found)]
    fall = strongest(found, NOT_COMPLETED).to_dict("records")
    lines += ["", f"Over the whole ranges {100 * found.completed:.0f} % of the walks were completed."]
    if fall:
        told = ", ".join(f"`{row['setting']}` {row['total']:.2f}" for row in fall)
        lines.append(f"Whether a walk is completed depends most on {told} (total indices).")
    return "\n".join([*lines, "", CAUTION, ""])


def doubt(found: Sensitivity) -> str:
    """Whether the third place is told apart from the fourth."""
    rows = strongest(found, SHOWN, 4).to_dict("records")
    if len(rows) < 4:
        return "There are no more than three settings."
    if rows[2]["total_low"] > rows[3]["total_high"]:
        return f"The next, `{rows[3]['setting']}` ({rows[3]['total']:.2f}), is clearly weaker."
    return (
        f"The interval of the third overlaps that of the fourth, `{rows[3]['setting']}` ({rows[3]['total']:.2f}): with "
        "so few base points the third place is not settled."
    )


def main(arguments: list[str]) -> None:
    words = [word for word in arguments if not word.startswith("--")]
    samples = int(words[0]) if words else SAMPLES
    folder = Path(words[1]) if len(words) > 1 else OUT
    workers = workers_in_environment() or usable_cpus()
    base = Scenario(slope_deg=SLOPE_DEG)
    found = study_in(folder, base, default_influences(), samples, 0, workers, "--fresh" in arguments)
    page = answer(found, samples)
    print(page)
    (folder / "answer.md").write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
