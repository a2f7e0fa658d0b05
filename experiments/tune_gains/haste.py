"""Terms for haste: gains of an earlier search for quick steps, laid over the present ones.

    python -m experiments.tune_gains.haste --start c.json --out gains.json

The walks of the main job take 0.67 s a step. At 0.53 s, able-bodied walkers at 1.25 m/s, the present gains fall; an
earlier search had found some that walk there, with landings that are too hard (`quick_steps.json`). `per_step_time` is
chosen so that at that step they act, and not at all at the step time of the main job. With `--quick gains.json` the
quick steps of any gains file are kept while the others came from a later polish.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np

from sim.gains import GAINS_FILE, time_unit

QUICK = Path(__file__).parent / "quick_steps.json"
#: Step at which the earlier gains act in full [m, s].
LENGTH, TIME = 0.66, 0.53
#: Below this step time haste begins, in time units; the main job's 0.667 s are 2.25. Tried: 2.05 (able-bodied walkers
#: fall at 1.0 m/s), 2.20 and 2.24 (all walk at 1.0 and 1.25 m/s; the second softer on the level).
BEGINS = 2.24


def with_haste(table: dict[str, Any], quick: dict[str, Any]) -> dict[str, Any]:
    """The gains file with `per_step_time` such that at the quick step the gains of `quick` act (in place)."""
    leg = table["reference_person"]["leg_length_m"]
    time = TIME / time_unit(leg)
    table["reference"]["step_time_units"] = BEGINS

    def rows(gain: dict[str, Any], term: str, knots: list[float]) -> np.ndarray[Any, Any]:
        return np.interp(table["knots_deg"], knots, np.broadcast_to(gain[term], len(knots)))

    def share(name: str, source: dict[str, Any], value: float) -> float:
        return float((value - source["reference"][name]) / source["span"][name])

    length = LENGTH / leg
    hurry = share("step_time_units", table, time)
    unknown = {"value": 0.0, "per_step": 0.0, "per_step_time": 0.0, "low": 0.0, "high": 0.0}
    for name, gain in table["gains"].items():
        old = quick["gains"].get(name, unknown)  # gains that came later act as 0 in those walks
        wanted = rows(old, "value", quick["knots_deg"])
        wanted = wanted + rows(old, "per_step", quick["knots_deg"]) * share("step_per_leg_length", quick, length)
        wanted = wanted + rows(old, "per_step_time", quick["knots_deg"]) * share("step_time_units", quick, time)
        wanted = np.clip(wanted, old["low"], old["high"])
        gain["low"], gain["high"] = min(gain["low"], old["low"]), max(gain["high"], old["high"])
        now = rows(gain, "value", table["knots_deg"])
        now = now + rows(gain, "per_step", table["knots_deg"]) * share("step_per_leg_length", table, length)
        found = [float(f"{value:.5g}") for value in (wanted - now) / hurry]
        gain["per_step_time"] = found[0] if len(set(found)) == 1 else found
    return table


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, default=GAINS_FILE)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--quick", type=Path, default=QUICK, help="gains file whose quick steps are kept")
    options = parser.parse_args()
    table = with_haste(json.loads(options.start.read_text()), json.loads(options.quick.read_text()))
    options.out.write_text(json.dumps(table, indent=1) + "\n")


if __name__ == "__main__":
    main()
