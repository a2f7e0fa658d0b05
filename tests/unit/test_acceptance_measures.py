"""What the acceptance report adds to the metrics of a walk."""

import numpy as np
import pytest

from experiments.acceptance.run import measure
from sim.activities.walk import walk
from sim.scenario import Scenario


def test_the_trunk_is_taken_at_its_farthest_moment_of_the_measured_strides():
    scenario = Scenario(slope_deg=-10.0)
    result = walk(scenario)
    landings = result.steps["landing_time_s"].to_numpy()
    since = landings[-1 - 2 * int(result.metrics["measured_strides"])]
    measured = (result.series.time > since) & (result.series.time <= landings[-1])
    lean = np.degrees(result.series.trunk[measured])
    furthest = measure(scenario)["trunk_furthest_deg"]
    assert furthest == pytest.approx(np.abs(lean).max(), abs=0.02)
    assert furthest > abs(lean.mean()) + 0.5  # no mean would do


def test_a_fall_has_no_farthest_moment():
    assert "trunk_furthest_deg" not in measure(Scenario(slope_deg=-8.0, step_length_m=0.9))
