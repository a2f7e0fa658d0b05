"""Does a process that walks thousands of times grow, slow down or forget: `python -m experiments.soak [WALKS]`.

Walks a few different scenarios in turn, notes the memory held after every round, fits a line to the later part of it
(the first part fills caches), and compares the first with the last result of each scenario, bit for bit. Exit
status 1 if memory grows by more than `MOST_GROWTH` or a result differs.
"""

import gc
import sys
import time
from pathlib import Path
from typing import NamedTuple

import numpy as np

from sim.activities.walk import walk
from sim.scenario import Scenario, replace_by_name

WALKS = 5000
#: Largest slope of the memory [bytes per walk]: 5,000 walks would add 5 MB (ours; one result holds 2 MB or more).
MOST_GROWTH = 1000.0
#: Share of the rounds that fill caches and are left out of the fit.
SETTLING = 0.3
#: One that walks, an able-bodied one, one that falls, one whose physics breaks down; all short.
SCENARIOS = tuple(
    replace_by_name(Scenario(strides=1), changes)
    for changes in (
        {},
        {"limbs": "both-sound", "slope_deg": -3.0},
        {"flexion_resistance": 0.0},
        {"foot.ankle_damping": 20.0, "foot.ankle_stiffness": 1500.0, "time_step_s": 1e-3},
    )
)


class Soak(NamedTuple):
    """What came out: outcomes, whether first and last results agree, memory and speed."""

    walks: int
    outcomes: tuple[str, ...]
    same: bool
    start_bytes: int
    end_bytes: int
    bytes_per_walk: float
    error_bytes_per_walk: float
    seconds: float


def resident() -> int:
    """Memory held by this process [bytes]."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096


def soak(walks: int) -> Soak:
    """Walk so many times, at least four rounds."""
    rounds = max(4, walks // len(SCENARIOS))
    start_time = time.perf_counter()
    first = [fingerprint(scenario) for scenario in SCENARIOS]
    held = []
    for _ in range(rounds - 1):
        last = [fingerprint(scenario) for scenario in SCENARIOS]
        gc.collect()
        held.append(resident())
    kept = np.array(held[int(SETTLING * len(held)) :], float)
    count = len(SCENARIOS) * np.arange(len(kept))
    slope, error = 0.0, 0.0
    if len(kept) > 2:
        (slope, _), covariance = np.polyfit(count, kept, 1, cov=True)
        error = float(np.sqrt(covariance[0, 0]))
    return Soak(
        walks=rounds * len(SCENARIOS),
        outcomes=tuple(outcome for outcome, _ in first),
        same=first == last,
        start_bytes=held[0],
        end_bytes=held[-1],
        bytes_per_walk=float(slope),
        error_bytes_per_walk=error,
        seconds=time.perf_counter() - start_time,
    )


def fingerprint(scenario: Scenario) -> tuple[str, bytes]:
    """Outcome, and all of the result that a number is in."""
    result = walk(scenario)
    numbers = repr((result.metrics, result.energy, result.step_rows())).encode()
    return result.outcome, result.frames.tobytes() + numbers


def main() -> int:
    """Soak and say how it went."""
    done = soak(int(sys.argv[1]) if len(sys.argv) > 1 else WALKS)
    print(f"{done.walks} walks in {done.seconds:.0f} s, outcomes {', '.join(done.outcomes)}")
    print(f"first and last results {'are the same, bit for bit' if done.same else 'DIFFER'}")
    print(f"memory {done.start_bytes / 1e6:.1f} MB after the second round, {done.end_bytes / 1e6:.1f} MB at the end;")
    slope, error = done.bytes_per_walk, done.error_bytes_per_walk
    print(f"slope {slope:.0f} +- {error:.0f} bytes per walk (allowed {MOST_GROWTH:g})")
    return 0 if done.same and done.bytes_per_walk <= MOST_GROWTH else 1


if __name__ == "__main__":
    sys.exit(main())
