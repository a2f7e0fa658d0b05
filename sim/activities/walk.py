"""Scenario -> walk -> result."""

from __future__ import annotations

import math
from typing import Any

from sim.activities.guards import Breach, breach_of, energy_residual
from sim.activities.verdict import outcome_of, reason_for
from sim.body import build_body
from sim.drivers.landing import Landing
from sim.drivers.loops import Run, run_walk, walker_pivots
from sim.errors import RampwalkError, shown
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


def walk(scenario: Scenario, start: WalkResult | None = None) -> WalkResult:
    """Walk once. Nothing is random: the same scenario gives the same result, bit for bit, on one machine.

    The walk ends well when `scenario.strides` strides (two steps each) lie wholly on the straight slope behind
    lead-in and blend: it is given the landings that steps of the wanted length need to get there, two more, and two
    per stride, and if the steps come out so short that this is not enough, as many as are missing.

    Parameters
    ----------
    scenario : Scenario
    start : WalkResult, optional
        A completed walk of a neighbour (another slope, step, knee, person): begin after its last landing, on the
        straight slope, instead of from the standing pose; see `sim.drivers.landing`.

    Returns
    -------
    WalkResult
        A fall is a result, not an error.

    Raises
    ------
    RampwalkError
        If it is no scenario, or `start` is no completed walk of the same kind of walker.
    """
    if not isinstance(scenario, Scenario):
        raise RampwalkError(f"{shown(scenario)} is not a Scenario; give one, for example Scenario().", "", scenario)
    landing = None if start is None else _landing_of(start, scenario)
    settings = pack_settings(scenario)
    body = build_body(scenario.person, scenario.components, scenario.foot)
    plant = pack_plant(body)
    run, landings = _run(scenario, settings, plant, landing)
    breach = breach_in(run, scenario, settings, plant, landing)
    slope_start = scenario.ground.lead_in_m + scenario.ground.blend_m
    outcome = outcome_of(run, landings, _steps_on_slope(run, scenario) >= 2 * scenario.strides, breach)
    record = None
    if outcome != "invalid" and len(run.frames) > 1:
        record = record_of(settings[0], body, series_of(run.frames, body), run.steps, outcome != "walked")
    metrics = measure(record)
    return WalkResult(
        scenario=scenario,
        outcome=outcome,
        reason=reason_for(outcome, run, scenario, metrics, breach),
        metrics=metrics,
        energy=energy_book(run.book),
        software=software_of(scenario.numerics.time_step_s, scenario.numerics.iterations, run.loop),
        frames=run.frames,
        step_records=run.steps,
        slope_start_x=slope_start,
        body=body,
        landing=run.landing if outcome == "walked" else None,
        started_from=() if start is None else (*start.started_from, start.scenario),
    )


def _landing_of(start: WalkResult, scenario: Scenario) -> Landing:
    """The landing to begin after. Raises RampwalkError."""
    if not isinstance(start, WalkResult):
        raise RampwalkError(f"start = {shown(start)} is not the result of a walk; give what walk() returned.", "start")
    if start.landing is None:
        raise RampwalkError(
            f"start is a walk with the outcome {start.outcome!r}, which no other can go on from; give one that walked.",
            "start",
            start.outcome,
        )
    if start.scenario.person.limbs != scenario.person.limbs:
        raise RampwalkError(
            f"start walks with person.limbs = {shown(start.scenario.person.limbs)}, this walk with "
            f"{shown(scenario.person.limbs)}; give a walk of the same kind of walker.",
            "start",
        )
    return start.landing


def _run(scenario: Scenario, settings: Any, plant: Any, start: Landing | None) -> tuple[Run, int]:
    """The run, and how many landings it was given."""
    landings = wanted_landings(scenario, start is not None)
    for extension in range(MOST_EXTENSIONS + 1):
        seconds = LONGEST * landings * scenario.step_time + SPARE_SECONDS
        run = run_until(seconds, landings, scenario, settings, plant, start)
        missing = 2 * scenario.strides - _steps_on_slope(run, scenario)
        if run.status or len(run.steps) < landings or missing <= 0 or extension == MOST_EXTENSIONS:
            break
        landings += missing  # the same walk again, which is the same to the last bit, and longer
    return run, landings


def run_until(
    seconds: float, landings: int, scenario: Scenario, settings: Any, plant: Any, start: Landing | None = None
) -> Run:
    """A run that ends after some time [s] or landings; settings and plant as packed."""
    numerics = scenario.numerics
    return run_walk(
        settings,
        pack_gains(),
        plant,
        landings,
        seconds,
        numerics.time_step_s,
        numerics.iterations,
        numerics.loop,
        start=start,
    )


def breach_in(run: Run, scenario: Scenario, settings: Any, plant: Any, start: Landing | None = None) -> Breach | None:
    """What went wrong with the physics of a run, if anything."""

    def residual_at(moment: float) -> float:
        """Energy residual of the walk up to this moment [s], as a share."""
        book = run.book
        if moment < run.time:  # the same walk again, which is the same to the last bit, and shorter
            book = run_until(moment, max(1, len(run.steps) + 1), scenario, settings, plant, start).book
        return energy_residual(book, energy_book)

    return breach_of(run.frames, walker_pivots(plant[0], settings[0]["person"]), run.time, residual_at)


def wanted_landings(scenario: Scenario, continued: bool) -> int:
    """Landings that a walk is given at first; one that begins on the slope needs none to get there."""
    return SPARE_LANDINGS + 2 * scenario.strides if continued else first_landings(scenario)


def first_landings(scenario: Scenario) -> int:
    """Landings that a walk with steps of the wanted length needs, and `SPARE_LANDINGS`."""
    ground = scenario.ground
    approach = math.ceil((ground.lead_in_m + ground.blend_m) / scenario.mean_step_length)
    return approach + SPARE_LANDINGS + 2 * scenario.strides


def _steps_on_slope(run: Run, scenario: Scenario) -> int:
    return int(on_slope(run.steps, scenario.ground.lead_in_m + scenario.ground.blend_m).sum())
