"""Signal pieces against scipy, against closed forms, and against events that others took from open force data."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import butter, filtfilt

from sim.metrics.forces import stance_shape
from sim.metrics.signals import (
    highest_short_peak,
    intervals_above,
    low_pass,
    power_in_and_out,
    rise_rate,
    variation,
)

TREADMILL = Path(__file__).parent.parent / "data" / "treadmill-grf"
SAMPLE = 1 / 300


def columns(name):
    with (TREADMILL / name).open() as file:
        rows = list(csv.DictReader(file))
    return {key: [row[key] for row in rows] for key in rows[0]}


def measured_force(side):
    return np.array(columns("vertical_forces_T05_5s.csv")[f"{side}_Fy_N"], float)


@pytest.mark.parametrize("side", ["left", "right"])
def test_low_pass_is_the_two_way_butterworth_filter(side):
    force = measured_force(side)
    expected = filtfilt(*butter(2, 25, fs=300), force)
    # the recursive filter starts up from another guess of what was before, which matters for a few samples only
    assert np.abs(low_pass(force, SAMPLE) - expected)[20:-20].max() < 0.1
    assert np.abs(force - expected)[20:-20].max() > 50.0


def test_two_passes_halve_the_amplitude_at_the_cut_off_and_keep_the_phase():
    time = np.arange(4000) * 2.5e-3
    wave = np.sin(2 * np.pi * 25.0 * time)
    middle = slice(1000, 3000)
    assert low_pass(wave, 2.5e-3)[middle] == pytest.approx(0.5 * wave[middle], abs=1e-3)
    assert low_pass(np.full(50, 7.0), 2.5e-3) == pytest.approx(7.0)
    ramp = np.linspace(0.0, 3.0, 500)
    assert low_pass(ramp, 2.5e-3) == pytest.approx(ramp, abs=1e-9)


def test_columns_are_filtered_apart_and_a_single_sample_stays():
    both = np.stack([measured_force("left"), measured_force("right")], axis=1)
    assert low_pass(both, SAMPLE)[:, 1] == pytest.approx(low_pass(both[:, 1], SAMPLE))
    assert low_pass(np.array([4.0]), SAMPLE) == pytest.approx([4.0])


@pytest.mark.parametrize("side", ["left", "right"])
def test_stances_and_peaks_of_the_open_treadmill_data(side):
    """Fukuchi, Fukuchi, Duarte 2018, doi 10.7717/peerj.4640; events as kept in tests/data/treadmill-grf."""
    filtered = low_pass(measured_force(side), SAMPLE)
    events = columns("stance_events_T05_5s.csv")
    own = [k for k, name in enumerate(events["side"]) if name == side]
    known = {round(float(events["contact_time_s"][k]) / SAMPLE): k for k in own}
    found = {first: last for first, last in intervals_above(filtered, 20.0, 18) if first in known}
    assert len(found) == len(known) == 4
    for first, last in found.items():
        row = known[first]
        # the table ends a stance with its last sample, we with the first one after it
        assert (last - 1 - first) * SAMPLE == pytest.approx(float(events["stance_time_s"][row]), abs=1e-4)
        shape = stance_shape(filtered[first:last] / 560.3)
        # the table's peaks lie on whole per cents of stance, up to 2 samples from the true ones
        for value, name in zip(shape, ("peak1_BW", "midmin_BW", "peak2_BW"), strict=True):
            assert value == pytest.approx(float(events[name][row]), abs=2e-3)


def test_intervals_close_only_short_gaps():
    values = np.array([0, 9, 9, 0, 9, 0, 0, 0, 9.0])
    assert intervals_above(values, 5.0) == [(1, 3), (4, 5), (8, 9)]
    assert intervals_above(values, 5.0, 2) == [(1, 5), (8, 9)]
    assert intervals_above(np.zeros(4), 5.0) == []


def bump(samples, width, height):
    """Half a sine of a width in samples, in the middle."""
    index = np.arange(samples) - samples / 2
    return np.where(np.abs(index) < width / 2, height * np.cos(np.pi * index / width), 0.0)


def test_a_short_peak_counts_and_a_long_one_does_not():
    # half a sine is as high as half its top over 2/3 of its width
    assert highest_short_peak(bump(200, 11, 1.5), 1.2, 8.0) == pytest.approx(0.3, abs=0.02)
    assert highest_short_peak(bump(200, 13, 1.5), 1.2, 8.0) == 0.0
    assert highest_short_peak(bump(200, 11, 1.1), 1.2, 8.0) == 0.0


def test_a_short_peak_on_a_long_one_is_found():
    force = bump(200, 150, 1.0) + bump(200, 6, 0.4)
    assert highest_short_peak(force, 1.05, 8.0) == pytest.approx(0.35, abs=0.01)
    assert highest_short_peak(bump(200, 150, 1.4), 1.05, 8.0) == 0.0


def test_variation_is_the_share_of_the_mean():
    assert variation(np.array([9.0, 11.0])) == pytest.approx(np.sqrt(2.0) / 10.0)
    assert variation(np.array([5.0])) is None


def test_rise_rate_of_a_straight_rise_is_its_slope():
    rise = np.concatenate([[0.0], np.linspace(0.0, 1.2, 13)])
    assert rise_rate(rise, 0.01) == pytest.approx(1.2 / 12 / 0.01)
    assert rise_rate(np.array([1.0, 1.1, 1.2]), 0.01) is None


def test_work_in_and_out_of_a_swing():
    time = np.linspace(0.0, 2.0 * np.pi, 2001)
    given, taken = power_in_and_out(np.cos(time), np.ones_like(time), time[1])
    assert (given, taken) == pytest.approx((2.0, 2.0), abs=1e-5)
    given, taken = power_in_and_out(np.full(5, -3.0), np.full(5, 2.0), 0.1)
    assert (given, taken) == pytest.approx((0.0, 2.4))
