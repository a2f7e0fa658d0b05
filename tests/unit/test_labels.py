"""Labels of axes: words instead of column names, and always the unit."""

import pytest

from sim.plots.labels import axis_label
from sim.table import columns


@pytest.mark.parametrize(
    ("column", "label"),
    [
        ("sound_peak_force_bw", "sound peak force [BW]"),
        ("sound_loading_rate_bw_s", "sound loading rate [BW/s]"),
        ("knee_loaded_peak_rate_deg_s", "knee loaded peak rate [deg/s]"),
        ("speed_m_s", "speed [m/s]"),
        ("step_length_m", "step length [m]"),
        ("knee.flexion_resistance", "knee flexion resistance [N m s/rad]"),
        ("contact.sound_stiffness_bw_per_leg_length", "contact sound stiffness [BW / leg length]"),
        ("person.residual_limb_fraction", "person residual limb fraction"),
    ],
)
def test_a_column_is_said_in_words_with_its_unit(column, label):
    assert axis_label(column) == label


def test_no_column_keeps_its_underscores():
    assert all("_" not in axis_label(name).partition(" [")[0] for name in columns())
