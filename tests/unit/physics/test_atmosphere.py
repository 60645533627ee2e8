"""Room climate: round trips, limits and what faulty readings do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.physics import atmosphere

temperatures = st.floats(-20, 60)
humidities = st.floats(1, 100)


@given(temperatures, humidities)
def test_at_its_dew_point_air_is_saturated(temperature_c, humidity_pct) -> None:
    dew_c = atmosphere.dew_point_c(temperature_c, humidity_pct)
    if dew_c >= -45:
        assert dew_c <= temperature_c + 1e-9
        at_dew_point = atmosphere.relative_humidity_at_pct(dew_c, temperature_c, humidity_pct)
        assert at_dew_point == pytest.approx(100, rel=1e-9)


@given(temperatures, temperatures, humidities)
def test_warming_and_cooling_back_changes_nothing(temperature_c, other_c, humidity_pct) -> None:
    there = atmosphere.relative_humidity_at_pct(other_c, temperature_c, humidity_pct)
    if there <= 100:
        back = atmosphere.relative_humidity_at_pct(temperature_c, other_c, there)
        assert back == pytest.approx(humidity_pct, rel=1e-9)


@given(st.floats(5, 40), st.floats(0, 8), st.floats(0.2, 2))
def test_a_lower_wet_bulb_means_drier_air(dry_c, depression_c, further_c) -> None:
    wet_c = np.array([dry_c - depression_c, dry_c - depression_c - further_c])
    moister, drier = atmosphere.relative_humidity_from_wet_bulb_pct(dry_c, wet_c)
    assert np.isnan(drier) or moister > drier


def test_equal_bulbs_mean_saturated_air() -> None:
    bulbs_c = np.arange(5.0, 40.0, 0.1)
    assert atmosphere.relative_humidity_from_wet_bulb_pct(bulbs_c, bulbs_c) == pytest.approx(100, rel=1e-12)


def test_a_wet_bulb_above_the_dry_one_is_rounding_up_to_a_tenth_and_then_a_fault() -> None:
    humidity_pct = atmosphere.relative_humidity_from_wet_bulb_pct(23.0, [23.1, 23.2])
    assert humidity_pct[0] == pytest.approx(100)
    assert np.isnan(humidity_pct[1])


def test_a_wet_bulb_below_what_dry_air_would_give_is_a_fault() -> None:
    assert np.isnan(atmosphere.relative_humidity_from_wet_bulb_pct(23, 5))


@pytest.mark.parametrize(
    "function, readings",
    [
        (atmosphere.vapour_pressure_kpa, (23, 100.5)),
        (atmosphere.vapour_pressure_kpa, (23, -1)),
        (atmosphere.vapour_pressure_kpa, (23, np.inf)),
        (atmosphere.dew_point_c, (23, 0)),
        (atmosphere.absolute_humidity_g_m3, (np.nan, 50)),
        (atmosphere.absolute_humidity_g_m3, (61, 50)),
        (atmosphere.saturation_vapour_pressure_kpa, (-46,)),
        (atmosphere.relative_humidity_from_wet_bulb_pct, (np.nan, 16)),
        (atmosphere.relative_humidity_from_wet_bulb_pct, (23, np.inf)),
        (atmosphere.relative_humidity_from_wet_bulb_pct, (23, 16, np.nan)),
        (atmosphere.relative_humidity_at_pct, (np.nan, 23, 50)),
    ],
)
def test_impossible_readings_give_nan(function, readings) -> None:
    assert np.isnan(function(*readings))


@pytest.mark.parametrize("pressure_kpa", [1013.25, 1.01325, 0, -101, np.inf])
def test_a_pressure_in_another_unit_is_refused(pressure_kpa) -> None:
    with pytest.raises(ValueError, match="barometric pressure"):
        atmosphere.relative_humidity_from_wet_bulb_pct([23, 24], [16, 17], [101.3, pressure_kpa])


def test_a_faulty_reading_spoils_itself_alone_and_shapes_broadcast() -> None:
    humidity_pct = atmosphere.relative_humidity_from_wet_bulb_pct([[23.0], [np.nan]], [16.0, 30.0], 101.325)
    assert humidity_pct.shape == (2, 2)
    assert np.isnan(humidity_pct).tolist() == [[False, True], [True, True]]
