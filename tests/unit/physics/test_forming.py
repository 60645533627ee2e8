"""The former's settings, against values computed from the definitions and worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.physics import forming

REASONABLE = {"allow_nan": False, "allow_infinity": False}


def test_flow_rate_through_one_bore_of_1_2_mm():
    # Computed from continuity: 1.5 L/min through one 1.20 mm bore leaves at 22.10 m/s = 1326 m/min.
    assert forming.flow_rate_for_jet_speed_l_min(22.10 * 60, 1.20) == pytest.approx(1.5, rel=5e-4)


def test_a_contracted_jet_needs_less_flow_and_two_nozzles_twice_as_much():
    full = forming.flow_rate_for_jet_speed_l_min(1326, 1.2)
    assert forming.flow_rate_for_jet_speed_l_min(1326, 1.2, 1, 0.8) == pytest.approx(0.8 * full)
    assert forming.flow_rate_for_jet_speed_l_min(1326, 1.2, 2) == pytest.approx(2 * full)


def test_stock_for_60_g_m2():
    # Computed from the mass balance: 60 g/m2 oven dry on 0.22 x 0.90 m at 0.30 % and 95 % retention.
    volume_l = forming.stock_volume_for_grammage_l(60, 0.22 * 0.90, 0.30, 0.95)
    assert volume_l == pytest.approx(4.168, abs=5e-4)


def test_drum_at_1000_m_min():
    # Computed from circular motion: 1000 m/min at R = 0.15 m is 1852 m/s2 and 1061 rpm.
    assert forming.wire_speed_for_acceleration_m_min(1852, 150) == pytest.approx(1000, rel=1e-3)
    assert forming.drum_speed_rpm(1000, 150) == pytest.approx(1061, abs=0.5)


def test_an_inclined_jet_must_be_faster_by_one_over_its_cosine():
    # cos 60 degrees is one half.
    assert forming.jet_speed_for_ratio_m_min(1.1, 1000, 60) == pytest.approx(2200)


def test_arrays_broadcast():
    speeds = forming.jet_speed_for_ratio_m_min(np.array([[0.9], [1.1]]), np.array([1000.0, 1200.0, 1400.0]))
    assert speeds.shape == (2, 3)
    assert speeds[1, 2] == pytest.approx(1540)


@given(
    ratio=st.floats(0.5, 3, **REASONABLE),
    speed=st.floats(100, 3000, **REASONABLE),
    angle=st.floats(0, 80, **REASONABLE),
)
def test_jet_and_wire_speed_undo_each_other(ratio, speed, angle):
    jet = forming.jet_speed_for_ratio_m_min(ratio, speed, angle)
    assert forming.wire_speed_for_ratio_m_min(ratio, jet, angle) == pytest.approx(speed)


@given(speed=st.floats(100, 3000, **REASONABLE), radius=st.floats(50, 1000, **REASONABLE))
def test_drum_and_wire_speed_undo_each_other(speed, radius):
    rpm = forming.drum_speed_rpm(speed, radius)
    assert forming.wire_speed_for_drum_speed_m_min(rpm, radius) == pytest.approx(speed)


@pytest.mark.parametrize(
    ("call", "complaint"),
    [
        (lambda: forming.stock_volume_for_grammage_l(60, 0.2, 0.0), "consistency must be greater than 0"),
        (
            lambda: forming.jet_speed_for_ratio_m_min([1.0, -1.0], 1000),
            "jet-to-wire ratio must be greater than 0",
        ),
        (lambda: forming.jet_speed_for_ratio_m_min(1.0, float("nan")), "wire speed must be greater than 0"),
        (lambda: forming.jet_speed_for_ratio_m_min(1.0, 1000, 90), "below 90 degrees"),
    ],
)
def test_impossible_values_are_refused(call, complaint):
    with pytest.raises(ValueError, match=complaint):
        call()
