"""Scenario -> walk -> result."""

from __future__ import annotations

import math
from typing import Any

from sim.activities.verdict import outcome_of, reason_for
from sim.body import build_body
from sim.drivers.loops import Run, run_walk
from sim.ledger import energy_book
from sim.metrics import measure, on_slope, record_of
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.result import WalkResult, software_of
from sim.scenario import Scenario
from sim.series import series_of

#: Landings beyond those that the wanted steps need to pass the lead-in (ours: the first step is short).
SPARE_LANDINGS = 2
#: A walk may take this many times the wanted time, and `SPARE_SECONDS` more (ours); then it has stalled.
LONGEST, SPARE_SECONDS = 2.0, 3.0
#: How often a walk with short steps is given more landings (ours; each time what is missing).
MOST_EXTENSIONS = 4


def walk(scenario: Scenario) -> WalkResult:
    """Walk once. Nothing is random: the same scenario gives the same result, bit for bit, on one machine.

    The walk ends well when `scenario.strides` strides (two steps each) lie wholly on the straight slope behind
    lead-in and blend: it is given the landings that steps of the wanted length need to get there, two more, and two
    per stride, and if the steps come out so short that this is not enough, as many as are missing.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    WalkResult
        A fall is a result, not an error.
    """
    settings = pack_settings(scenario)
    body = build_body(scenario.person, scenario.components, scenario.foot)
    run, landings = _run(scenario, settings, pack_plant(body))
    slope_start = scenario.ground.lead_in_m + scenario.ground.blend_m
    outcome = outcome_of(run, landings, _steps_on_slope(run, scenario) >= 2 * scenario.strides)
    record = None
    if outcome != "invalid" and len(run.frames) > 1:
        record = record_of(settings[0], body, series_of(run.frames, body), run.steps, outcome != "walked")
    metrics = measure(record)
    return WalkResult(
        scenario=scenario,
        outcome=outcome,
        reason=reason_for(outcome, run, scenario, metrics),
        metrics=metrics,
        energy=energy_book(run.book),
        software=software_of(scenario.numerics.time_step_s, scenario.numerics.iterations, run.loop),
        frames=run.frames,
        step_records=run.steps,
        slope_start_x=slope_start,
        body=body,
    )


def _run(scenario: Scenario, settings: Any, plant: Any) -> tuple[Run, int]:
    """The run, and how many landings it was given."""
    numerics, gains = scenario.numerics, pack_gains()
    landings = first_landings(scenario)
    for extension in range(MOST_EXTENSIONS + 1):
        run = run_walk(
            settings,
            gains,
            plant,
            landings,
            LONGEST * landings * scenario.step_time + SPARE_SECONDS,
            numerics.time_step_s,
            numerics.iterations,
            numerics.loop,
        )
        missing = 2 * scenario.strides - _steps_on_slope(run, scenario)
        if run.status or len(run.steps) < landings or missing <= 0 or extension == MOST_EXTENSIONS:
            break
        landings += missing  # the same walk again, which is the same to the last bit, and longer
    return run, landings


def first_landings(scenario: Scenario) -> int:
    """Landings that a walk with steps of the wanted length needs, and `SPARE_LANDINGS`."""
    ground = scenario.ground
    approach = math.ceil((ground.lead_in_m + ground.blend_m) / scenario.mean_step_length)
    return approach + SPARE_LANDINGS + 2 * scenario.strides


def _steps_on_slope(run: Run, scenario: Scenario) -> int:
    return int(on_slope(run.steps, scenario.ground.lead_in_m + scenario.ground.blend_m).sum())
