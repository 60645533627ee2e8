"""Room climate against published values and an independent implementation of other formulas.

Each value's origin stands beside it: *published* with the place, *from memory* with the place it is remembered
from, *computed* where it follows from the formula alone.
"""

import numpy as np
import psychrolib
import pytest

from pipelines.physics import atmosphere

psychrolib.SetUnitSystem(psychrolib.SI)

ROOM = [
    (temperature_c, humidity_pct, pressure_kpa)
    for temperature_c in np.arange(18.0, 31.0)
    for humidity_pct in np.arange(40.0, 81.0, 5.0)
    for pressure_kpa in (90.0, 101.325, 105.0)
]
"""Air of test rooms, standard and tropical, and well around them."""


@pytest.mark.parametrize("temperature_c, es_kpa", [(15, 1.7056), (20, 2.3388), (25, 3.1690), (30, 4.2455)])
def test_saturation_pressure_of_an_open_steam_table(temperature_c, es_kpa) -> None:
    # Published in an open steam table. Magnus' formula lies 0.2 to 0.3 % low.
    assert atmosphere.saturation_vapour_pressure_kpa(temperature_c) == pytest.approx(es_kpa, rel=0.003)


def test_psychrometer_at_sea_level() -> None:
    # Computed from the psychrometric formula of the AMS Glossary (published) with the constants of Magnus'
    # formula in WMO-No. 8 (from memory), rounded to one decimal.
    dry_c = [20, 20, 23, 23, 23, 23, 25, 27]
    wet_c = [12, 15, 15, 16, 17, 18, 18, 22]
    expected_pct = [36.8, 58.4, 41.3, 47.7, 54.4, 61.3, 50.0, 64.5]
    humidity_pct = atmosphere.relative_humidity_from_wet_bulb_pct(dry_c, wet_c)
    assert humidity_pct == pytest.approx(expected_pct, abs=0.05)


def test_psychrometer_in_thinner_air() -> None:
    # Computed like the values at sea level, at 900 hPa.
    assert atmosphere.relative_humidity_from_wet_bulb_pct(23, 16, 90) == pytest.approx(49.6, abs=0.05)


def test_psychrometer_agrees_with_the_thermodynamic_wet_bulb() -> None:
    # psychrolib computes the thermodynamic wet bulb (ASHRAE formulation); a real aspirated one stands a little
    # off it, which its empirical coefficient allows for. The two stay within 0.85 % RH in the air of test rooms
    # and differ most where it is dry and cool (computed).
    for temperature_c, humidity_pct, pressure_kpa in ROOM:
        wet_c = psychrolib.GetTWetBulbFromRelHum(temperature_c, humidity_pct / 100, 1000 * pressure_kpa)
        got = atmosphere.relative_humidity_from_wet_bulb_pct(temperature_c, wet_c, pressure_kpa)
        assert got == pytest.approx(humidity_pct, abs=0.85), (temperature_c, humidity_pct, pressure_kpa)


def test_humidity_of_the_standard_atmosphere_a_degree_away() -> None:
    # Computed: 50 % RH at 23 °C is 47.1 % at 24 °C and 53.1 % at 22 °C when the vapour stays the same.
    assert atmosphere.relative_humidity_at_pct([24, 22], 23, 50) == pytest.approx([47.1, 53.1], abs=0.05)


def test_dew_point_of_the_standard_atmosphere() -> None:
    # Computed with psychrolib: 12.0284 °C.
    assert atmosphere.dew_point_c(23, 50) == pytest.approx(12.03, abs=0.02)


def test_dew_point_and_vapour_agree_with_psychrolib() -> None:
    for temperature_c, humidity_pct, pressure_kpa in ROOM:
        dew_c = psychrolib.GetTDewPointFromRelHum(temperature_c, humidity_pct / 100)
        assert atmosphere.dew_point_c(temperature_c, humidity_pct) == pytest.approx(dew_c, abs=0.05)
        vapour_pa = psychrolib.GetVapPresFromRelHum(temperature_c, humidity_pct / 100)
        vapour_kpa = atmosphere.vapour_pressure_kpa(temperature_c, humidity_pct)
        assert vapour_kpa == pytest.approx(vapour_pa / 1000, rel=0.003)
        ratio = psychrolib.GetHumRatioFromRelHum(temperature_c, humidity_pct / 100, 1000 * pressure_kpa)
        volume_m3_kg = psychrolib.GetMoistAirVolume(temperature_c, ratio, 1000 * pressure_kpa)
        water_g_m3 = 1000 * ratio / volume_m3_kg
        assert atmosphere.absolute_humidity_g_m3(temperature_c, humidity_pct) == pytest.approx(
            water_g_m3, rel=0.005
        )
