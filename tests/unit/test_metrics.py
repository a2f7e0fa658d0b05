"""Metrics of a made-up walk on the default slope whose every answer is known."""

import math
from pathlib import Path

import numpy as np
import pytest

from sim.body import build_body
from sim.law.records import STEP
from sim.metrics import METRICS, measure, on_slope, record_of
from sim.metrics.balance import balance_metrics
from sim.metrics.definitions import as_markdown
from sim.metrics.forces import force_metrics
from sim.metrics.gait import steadiness, step_metrics
from sim.metrics.joints import angle_metrics, loaded_frames, prosthetic_knee_metrics
from sim.metrics.strides import scuffs_per_step
from sim.metrics.work import work_metrics
from sim.pack import pack_settings
from sim.scenario import Person, Scenario
from sim.series import SIDES, Series, surface_of

DT = 2.5e-3
STRIDE, SPEED, STRIDES = 1.2, 0.8, 9
STEP_LENGTH = (0.46, 0.50)  # prosthetic, sound
LANDS = (0.60, 1.25)  # first landings; the sound step takes 0.65 s, the prosthetic one 0.55 s
STANCE = (0.72, 0.78)
PEAK = (1.1, 1.3)  # BW
HEIGHT, LEAN = 0.9, 2.0
RESISTANCE, WEIGHT = 40.0, 75.0 * 9.81
TORQUE = 10.0  # of every joint but the prosthetic knee [N m]
RATE = 0.5  # of hips, sound knee and ankles [rad/s]
KNEE_TIMES, KNEE_DEG = [0.0, 0.3, 0.7, 0.9, 1.15, 1.2], [3.0, 3.0, 43.0, 60.0, 3.0, 3.0]
BODY = build_body()


def settings(**changes):
    return pack_settings(Scenario(**changes))[0]


SURFACE = surface_of(settings()["ground"])


def on_surface(along, above):
    """Point at a distance along and above the straight slope, shape (..., 2)."""
    start = np.array([SURFACE.start_x, SURFACE.height])
    return start + np.multiply.outer(along, SURFACE.tangent) + np.multiply.outer(above, SURFACE.normal)


def since_landing(time, leg):
    """Time since the last landing and number of that landing (-1: before the first)."""
    number = np.floor((time - LANDS[leg]) / STRIDE + 1e-9)
    return time - LANDS[leg] - number * STRIDE, number


def made_up_series():
    """Feet that stand still and swing, half-sine loads, a mass centre at even speed, straight-line knee angles."""
    time = np.arange(round((LANDS[1] + STRIDES * STRIDE) / DT) + 1) * DT
    n = len(time)
    along = SPEED * time
    wave = np.sin(2.0 * np.pi * time / STRIDE)
    load, push, ankle, sole = np.zeros((n, 2)), np.zeros((n, 2)), np.zeros((n, 2, 2)), np.zeros((n, 2, 3, 2))
    pressure, flexion = np.zeros((n, 2)), np.zeros((n, 2))
    for leg in range(2):
        since, number = since_landing(time, leg)
        stands = since < STANCE[leg]
        load[:, leg] = np.where(stands, PEAK[leg] * WEIGHT * np.sin(np.pi * since / STANCE[leg]), 0.0)
        push[:, leg] = 0.1 * load[:, leg]
        place = SPEED * (LANDS[leg] + number * STRIDE) + 0.25
        swung = np.clip((since - STANCE[leg]) / (STRIDE - STANCE[leg]), 0.0, 1.0)
        lift = np.where(stands, 0.0, 0.03 + 0.05 * np.sin(np.pi * swung))
        ankle[:, leg] = on_surface(place + swung * SPEED * STRIDE, lift + BODY.sole_height)
        for point in range(3):
            reach = BODY.sole_points[leg, point, 0]
            sole[:, leg, point] = on_surface(place + swung * SPEED * STRIDE + reach, lift)
        pressure[:, leg] = np.where(stands, -0.04 + 0.1 * since / STANCE[leg], 0.0)
        flexion[:, leg] = np.radians(np.interp(since, KNEE_TIMES, KNEE_DEG)) if leg == 0 else np.radians(20.0)
    rate = np.gradient(flexion[:, 0], DT)
    velocity = np.broadcast_to(SPEED * SURFACE.tangent, (n, 2))
    force = load[..., None] * SURFACE.normal + push[..., None] * SURFACE.tangent
    steady = np.full((n, 2), RATE)
    zero = np.zeros((n, 2))
    return Series(
        time=time,
        interval=DT,
        standing=np.zeros(n, int),
        trunk=-np.radians(LEAN + wave),
        trunk_rate=np.zeros(n),
        thigh=zero + np.radians(10.0 * wave)[:, None],
        shank=np.radians(10.0 * wave)[:, None] - flexion,
        foot=np.radians(10.0 * wave)[:, None] - flexion + np.radians(5.0),
        thigh_rate=steady,
        shank_rate=np.stack([RATE - rate, np.zeros(n)], axis=1),
        foot_rate=np.stack([RATE - rate + RATE, steady[:, 0]], axis=1),
        hip=zero,
        knee=np.zeros((n, 2, 2)),
        ankle=ankle,
        sole=sole,
        mass_centre=on_surface(along, HEIGHT + 0.02 * wave),
        mass_centre_velocity=velocity,
        load=load,
        push=push,
        ground_force=force,
        pressure_centre=pressure,
        hip_torque=np.full((n, 2), TORQUE),
        knee_torque=np.stack([-RESISTANCE * rate, np.full(n, -TORQUE)], axis=1),
        knee_stop_torque=zero,
        ankle_torque=np.full((n, 2), TORQUE),
        ankle_stop_torque=zero,
    )


def made_up_rows():
    rows = np.zeros(2 * STRIDES + 1, STEP)
    for k, row in enumerate(rows):
        leg = k % 2
        row["leg"], row["time"] = leg, LANDS[leg] + (k // 2) * STRIDE
        row["length"], row["duration"] = STEP_LENGTH[leg], (0.55, 0.65)[leg]
        row["heel_x"] = 2.0 + 0.4 * k
        row["raw_peak"] = [1.2 * WEIGHT, 1.5 * WEIGHT] if leg else [1.15 * WEIGHT, 1.4 * WEIGHT]
        row["knee_absorbed"] = 4.0 if leg else 6.0
        row["stop_work"] = [0.5, 0.25]
    return rows


def record(rows=None, ended_early=False, series=None, **changes):
    rows = made_up_rows() if rows is None else rows
    return record_of(settings(**changes), BODY, series or made_up_series(), rows, ended_early)


@pytest.fixture(scope="module")
def metrics():
    return measure(record())


def test_every_metric_is_computed_and_documented():
    walk = record()
    parts = (steadiness, step_metrics, force_metrics, balance_metrics, angle_metrics)
    parts += (prosthetic_knee_metrics, work_metrics)
    computed = [name for part in parts for name in part(walk)]
    assert sorted(computed) == sorted(METRICS)
    assert list(measure(walk)) == list(METRICS)


def test_the_page_of_definitions_is_the_one_made_from_the_code():
    page = Path(__file__).parents[2] / "docs" / "metrics.md"
    assert page.read_text(encoding="utf-8") == as_markdown()


def test_names_carry_the_units_that_are_stated():
    endings = {"m": "_m", "s": "_s", "deg": "_deg", "deg/s": "_deg_s", "BW": "_bw", "BW/s": "_bw_s", "J": "_j"}
    endings |= {"m/s": "_m_s", "J/m": "_j_per_m", "N m/kg": "_nm_per_kg", "steps/min": "_steps_per_min"}
    for name, row in METRICS.items():
        if row.unit in endings:
            assert name.endswith(endings[row.unit]), name


def test_a_walk_too_short_to_measure_has_null_everywhere():
    assert record(made_up_rows()[:2]) is None
    nothing = measure(None)
    assert list(nothing) == list(METRICS)
    assert set(nothing.values()) == {None}


def test_the_later_half_of_the_strides_on_the_slope_is_measured(metrics):
    assert metrics["measured_strides"] == 4  # 9 landings of the sound leg bound 8 strides
    rows = made_up_rows()
    rows["heel_x"][:6] = 1.0  # still before the slope
    assert measure(record(rows))["measured_strides"] == 3
    assert on_slope(rows, 1.5).tolist() == [False] * 7 + [True] * 12


def test_the_last_two_steps_of_a_fall_are_not_measured():
    walk = record(ended_early=True)
    last = [strides[-1].rows[1] for strides in walk.strides]
    assert last == [2 * STRIDES - 2, 2 * STRIDES - 3]


def test_steps(metrics):
    for side, leg in (("prosthetic", 0), ("sound", 1)):
        assert metrics[f"{side}_step_length_m"] == pytest.approx(STEP_LENGTH[leg])
        assert metrics[f"{side}_step_time_s"] == pytest.approx((0.55, 0.65)[leg])
        # a frame at either end, and the low-pass that smears the corner of the half sine
        assert metrics[f"{side}_stance_share"] == pytest.approx(STANCE[leg] / STRIDE, abs=0.012)
    assert metrics["step_length_asymmetry"] == pytest.approx(0.04 / 0.48)
    assert metrics["cadence_steps_per_min"] == pytest.approx(100.0)
    assert metrics["speed_m_s"] == pytest.approx(SPEED, rel=1e-3)
    assert metrics["double_support_share"] == pytest.approx((sum(STANCE) - STRIDE) / STRIDE, abs=0.025)


def test_steadiness_finds_the_one_step_that_differs(metrics):
    assert metrics["stride_variation"] == pytest.approx(0.0, abs=1e-6)
    assert metrics["steady"] == 1.0
    rows = made_up_rows()
    rows["length"][-1] += 0.04  # the last prosthetic step, one of five measured
    uneven = measure(record(rows))
    measured = int(uneven["measured_strides"])
    expected = 0.04 / math.sqrt(measured) / (STEP_LENGTH[0] + 0.04 / measured)
    assert uneven["prosthetic_step_length_variation"] == pytest.approx(expected)
    assert uneven["stride_variation"] == pytest.approx(expected)
    assert uneven["steady"] == 0.0


def test_forces(metrics):
    for leg, side in enumerate(SIDES):
        assert metrics[f"{side}_peak_force_bw"] == pytest.approx(PEAK[leg], rel=2e-3)
        assert metrics[f"{side}_first_peak_bw"] == pytest.approx(PEAK[leg], rel=2e-3)
        vertical = PEAK[leg] * (math.cos(SURFACE.slope) + 0.1 * math.sin(SURFACE.slope))
        assert metrics[f"{side}_peak_vertical_force_bw"] == pytest.approx(vertical, rel=2e-3)
        assert metrics[f"{side}_propulsion_peak_bw"] == pytest.approx(0.1 * PEAK[leg], rel=2e-3)
        assert metrics[f"{side}_spike_bw"] == 0.0
        # half a sine of width T passes 20 % and 80 % of its height at T/pi asin(0.2) and T/pi asin(0.8)
        rise = STANCE[leg] / math.pi * (math.asin(0.8) - math.asin(0.2))
        assert metrics[f"{side}_loading_rate_bw_s"] == pytest.approx(0.6 * PEAK[leg] / rise, rel=0.01)
    assert metrics["prosthetic_peak_force_raw_bw"] == pytest.approx(1.2)
    assert metrics["sound_peak_force_raw_bw"] == pytest.approx(1.5)
    impulse = [PEAK[leg] * STANCE[leg] for leg in range(2)]
    assert metrics["prosthetic_impulse_share"] == pytest.approx(impulse[0] / sum(impulse), rel=1e-3)
    assert metrics["sound_impulse_share"] == pytest.approx(impulse[1] / sum(impulse), rel=1e-3)
    assert metrics["mean_force_along_to_across"] == pytest.approx(-0.1)
    mean = 2.0 / math.pi * sum(impulse) / STRIDE * (math.cos(SURFACE.slope) + 0.1 * math.sin(SURFACE.slope))
    assert metrics["mean_vertical_force_bw"] == pytest.approx(mean, rel=2e-3)


def test_a_blow_at_landing_is_a_spike():
    series = made_up_series()
    since, _ = since_landing(series.time, 1)
    series.load[:, 1] += np.where(since < 0.01, 2.0 * WEIGHT * np.sin(np.pi * since / 0.01), 0.0)
    hit = measure(record(series=series))
    assert hit["sound_spike_bw"] > 0.5
    assert hit["prosthetic_spike_bw"] == 0.0


def plumb_gap(time_in_stance):
    """Mass centre ahead of the ankle in a prosthetic stance, dropped plumb onto the surface."""
    height = HEIGHT + 0.02 * math.sin(2.0 * math.pi * (LANDS[0] + time_in_stance) / STRIDE) - BODY.sole_height
    return SPEED * time_in_stance - 0.25 - height * math.tan(SURFACE.slope)


def test_mass_centre_travel(metrics):
    # touch is counted from 20 N, up to three frames after the half sine begins
    begin, end = plumb_gap(0.0), plumb_gap(STANCE[0])
    assert metrics["prosthetic_com_from_m"] == pytest.approx(begin, abs=0.01)
    assert metrics["prosthetic_com_to_m"] == pytest.approx(end, abs=0.015)
    assert metrics["com_forward_travel_m"] == pytest.approx(end - begin, abs=0.02)
    over = next(t for t in np.arange(0.0, STANCE[0], DT) if plumb_gap(t) >= 0.0)
    assert metrics["prosthetic_com_over_foot_after_s"] == pytest.approx(over, abs=0.01)
    heel, toe = BODY.sole_points[0, [0, 2], 0]
    on_foot = np.mean([heel <= plumb_gap(t) <= toe for t in np.arange(0.0, STANCE[0], DT)])
    assert metrics["prosthetic_com_over_foot_share"] == pytest.approx(on_foot, abs=0.02)
    assert metrics["prosthetic_com_ahead_at_other_landing_m"] == pytest.approx(plumb_gap(0.65), abs=0.0025)
    assert metrics["com_across_slope_excursion_m"] == pytest.approx(0.04, rel=0.01)


def test_margin_of_stability_is_that_of_hof_gazendam_sinke(metrics):
    """Toe - (x + v / sqrt(g / l)), doi 10.1016/j.jbiomech.2004.03.025."""
    height = HEIGHT + 0.02 * math.sin(2.0 * math.pi * LANDS[0] / STRIDE)
    centre, ankle = on_surface(0.0, height), on_surface(0.25, BODY.sole_height)
    toe = on_surface(0.25 + BODY.sole_points[0, 2, 0], 0.0)
    omega = math.sqrt(9.81 / math.dist(centre, ankle))
    expected = toe[0] - (centre[0] + SPEED * math.cos(SURFACE.slope) / omega)
    assert metrics["prosthetic_margin_of_stability_m"] == pytest.approx(expected, abs=0.008)


def test_pressure_trunk_and_clearance(metrics):
    # the share of the half-sine stance with more than 5 % of the weight
    carried = 1.0 - 2.0 / math.pi * math.asin(0.05 / PEAK[1])
    assert metrics["sound_pressure_travel_share"] == pytest.approx(0.1 * carried / BODY.foot_length, rel=0.02)
    assert metrics["trunk_lean_deg"] == pytest.approx(LEAN, abs=1e-3)
    assert metrics["trunk_lean_range_deg"] == pytest.approx(2.0, rel=1e-3)
    lowest = 0.03 + 0.05 * math.sin(math.pi * 0.85)
    assert metrics["toe_clearance_m"] == pytest.approx(lowest, abs=0.004)
    assert metrics["scuffs"] == 0.0


def test_a_touch_in_swing_is_a_scuff_of_that_step():
    series = made_up_series()
    since, number = since_landing(series.time, 0)
    touch = (number == STRIDES - 2) & (since > 0.9) & (since < 0.92)
    series.load[touch, 0] = 60.0
    rows = made_up_rows()
    counts = scuffs_per_step(rows, series)
    assert counts.sum() == 1
    assert counts[2 * (STRIDES - 1)] == 1  # the prosthetic step that this swing ends
    assert measure(record(series=series))["scuffs"] == 1.0


def test_angles(metrics):
    assert metrics["prosthetic_knee_flexion_at_landing_deg"] == pytest.approx(3.0)
    assert metrics["prosthetic_knee_swing_peak_deg"] == pytest.approx(60.0, abs=0.3)
    # shares of the stride count from touch, up to three frames late: 0.75 deg at 100 deg/s
    at = np.interp([0.35 * STRIDE, 0.5 * STRIDE], KNEE_TIMES, KNEE_DEG)
    assert metrics["prosthetic_knee_early_stance_peak_deg"] == pytest.approx(at[0], abs=0.8)
    assert metrics["prosthetic_knee_flexion_at_half_stride_deg"] == pytest.approx(at[1], abs=0.8)
    assert metrics["sound_knee_early_stance_peak_deg"] == pytest.approx(20.0)
    assert metrics["sound_ankle_dorsiflexion_peak_deg"] == pytest.approx(5.0)
    assert metrics["sound_thigh_range_deg"] == pytest.approx(20.0, rel=1e-3)
    assert metrics["sound_knee_extending_moment_early_nm_per_kg"] == pytest.approx(TORQUE / 75.0)


def test_prosthetic_knee(metrics):
    assert metrics["knee_flexion_at_sound_landing_deg"] == pytest.approx(38.0, abs=0.3)
    assert metrics["knee_reextension_deg"] == pytest.approx(0.0)
    assert metrics["knee_flexion_onset_percent_of_stance"] == pytest.approx(100 * 0.35 / STANCE[0], abs=1.0)
    assert metrics["knee_loaded_peak_rate_deg_s"] == pytest.approx(100.0)
    assert metrics["knee_single_support_peak_rate_deg_s"] == pytest.approx(100.0)
    assert metrics["knee_peak_moment_nm_per_kg"] == pytest.approx(RESISTANCE * math.radians(100.0) / 75.0)
    off = settings()["knee"]["load_off"]
    released = STANCE[0] * (1.0 - math.asin(off / (PEAK[0] * WEIGHT)) / math.pi)
    expected = np.interp(released, KNEE_TIMES, KNEE_DEG)
    assert metrics["knee_loaded_peak_flexion_deg"] == pytest.approx(expected, abs=0.3)
    assert metrics["knee_energy_per_step_j"] == pytest.approx(10.0)
    given = WEIGHT * sum(STEP_LENGTH) * math.sin(math.radians(8.0))
    assert metrics["knee_energy_share_of_slope"] == pytest.approx(10.0 / given)


def test_reextension_before_the_sound_landing_is_seen():
    series = made_up_series()
    since, _ = since_landing(series.time, 0)
    dip = np.interp(since, [0.55, 0.6, 0.65], [0.0, 9.0, 0.0], left=0.0, right=0.0)
    series.shank[:, 0] += np.radians(dip)
    # from 28 deg at 0.55 s it falls by 9 deg less the 5 deg that it flexes meanwhile
    assert measure(record(series=series))["knee_reextension_deg"] == pytest.approx(4.0, abs=0.3)


def test_the_loaded_state_has_hysteresis():
    load = np.array([0.0, 130.0, 170.0, 130.0, 100.0, 130.0])
    assert loaded_frames(load, 160.0, 110.0).tolist() == [False, False, True, True, False, False]
    assert loaded_frames(np.array([130.0, 200.0]), 160.0, 110.0).tolist() == [False, True]


def test_two_sound_legs_have_no_prosthetic_knee():
    able = measure(record(person=Person(limbs="both-sound")))
    assert able["knee_energy_per_step_j"] is None
    assert able["knee_loaded_peak_rate_deg_s"] is None
    assert able["knee_flexion_at_sound_landing_deg"] == pytest.approx(38.0, abs=0.3)


def test_work(metrics):
    per_metre = TORQUE * RATE * STRIDE / sum(STEP_LENGTH)
    for side in SIDES:
        assert metrics[f"{side}_hip_work_in_j_per_m"] == pytest.approx(per_metre, rel=0.01)
        assert metrics[f"{side}_hip_work_out_j_per_m"] == 0.0
        assert metrics[f"{side}_ankle_work_in_j_per_m"] == pytest.approx(per_metre, rel=0.01)
    assert metrics["sound_knee_work_out_j_per_m"] == pytest.approx(per_metre, rel=0.01)
    assert metrics["sound_leg_work_out_j_per_m"] == pytest.approx(per_metre, rel=0.01)
    # the damper takes R times the rate squared: 100, 85 and 228 deg/s over 0.4, 0.2 and 0.25 s
    pieces = zip(np.diff(KNEE_TIMES), np.diff(KNEE_DEG), strict=True)
    taken = RESISTANCE * sum(np.radians(angle) ** 2 / time for time, angle in pieces)
    assert metrics["prosthetic_knee_work_out_j_per_m"] == pytest.approx(taken / sum(STEP_LENGTH), rel=0.02)
    # the prosthetic ankle is a spring: what it gives is not the person's work
    assert metrics["positive_work_j_per_m"] == pytest.approx(3 * per_metre, rel=0.01)
    slope = WEIGHT * math.sin(math.radians(8.0))
    assert metrics["positive_work_share_of_gravity"] == pytest.approx(3 * per_metre / slope, rel=0.01)
    assert metrics["sound_knee_stop_work_out_j_per_m"] == pytest.approx(0.5 / sum(STEP_LENGTH))
    assert metrics["sound_knee_stop_share_of_slope"] == pytest.approx(0.5 / sum(STEP_LENGTH) / slope)
    assert metrics["slope_energy_per_step_j"] == pytest.approx(slope * np.mean(STEP_LENGTH))


def test_shares_of_the_slope_are_null_on_the_level_and_uphill():
    for slope in (0.0, 5.0):
        level = measure(record(slope_deg=slope))
        assert level["knee_energy_share_of_slope"] is None
        assert level["positive_work_share_of_gravity"] is None
        assert level["slope_energy_per_step_j"] is None
