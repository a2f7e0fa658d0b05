"""A foot that still stands when its stride, or the walk, ends has made no stride."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.law.records import STEP
from sim.metrics.strides import strides_of

INTERVAL, FRAMES = 2.5e-3, 800


def strides_with(lift, end=FRAMES):
    """Stride of leg 0 from frame 200 to 600; the foot stands from there to `lift`, and again from 600."""
    rows = np.zeros(3, STEP)
    rows["time"], rows["leg"] = np.array([200, 400, 600]) * INTERVAL, [0, 1, 0]
    load = np.zeros((end, 2))
    load[200:lift, 0] = load[600:, 0] = 500.0
    series = SimpleNamespace(interval=INTERVAL, load=load)
    return strides_of(0, [0, 2], rows, series, np.stack([load, load], axis=-1))


def test_a_foot_that_lifts_makes_a_stride():
    (stride,) = strides_with(lift=450)
    assert (stride.touch, stride.lift, stride.next_contact, stride.last) == (200, 450, 600, 600)


@pytest.mark.parametrize(("lift", "end"), [(600, 800), (700, 800), (600, 600), (800, 601), (500, 500)])
def test_a_foot_that_does_not_lift_makes_none(lift, end):
    assert strides_with(lift, end) is None
