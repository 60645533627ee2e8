"""The air of a test room: vapour pressure, relative humidity from a psychrometer, dew point, absolute humidity.

All functions take numbers or arrays that broadcast, and return float arrays of that shape. A reading that
cannot be (a wet bulb well above the dry one, a relative humidity beyond 0 to 100 %, a temperature where the
formula does not hold) gives NaN, as NaN does: one faulty reading spoils itself alone and proves nothing. A
barometric pressure that no room has is a wrong unit, not a faulty reading, and raises ValueError.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

STANDARD_PRESSURE_KPA = 101.325
"""Exact by definition."""

WET_BULB_ROUNDING_C = 0.1
"""How far a wet bulb may stand above the dry one: both are read to 0.1 °C, in air that is saturated."""

_MAGNUS_KPA, _MAGNUS_FACTOR, _MAGNUS_C = 0.6112, 17.62, 243.12
_MAGNUS_RANGE_C = (-45.0, 60.0)
_PRESSURE_RANGE_KPA = (50.0, 110.0)
_WATER_VAPOUR_J_KG_K = 461.5
_ZERO_CELSIUS_K = 273.15


def saturation_vapour_pressure_kpa(temperature_c: npt.ArrayLike) -> FloatArray:
    """Return the saturation vapour pressure over water, kPa, at -45 to 60 °C; NaN outside.

    Magnus' formula with the constants of WMO-No. 8 (from memory). Up to 30 °C it lies within 0.3 % of steam
    tables; in a relative humidity, a ratio of two such pressures, most of that error cancels.
    """
    temperature = _within(temperature_c, *_MAGNUS_RANGE_C)
    return _MAGNUS_KPA * np.exp(_MAGNUS_FACTOR * temperature / (_MAGNUS_C + temperature))


def vapour_pressure_kpa(temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike) -> FloatArray:
    """Return the pressure of the vapour in the air, kPa, from temperature, °C, and relative humidity, %.

    Follows from the definition of relative humidity.
    """
    saturation_kpa = saturation_vapour_pressure_kpa(temperature_c)
    return _within(relative_humidity_pct, 0.0, 100.0) / 100 * saturation_kpa


def relative_humidity_from_wet_bulb_pct(
    dry_bulb_c: npt.ArrayLike,
    wet_bulb_c: npt.ArrayLike,
    pressure_kpa: npt.ArrayLike = STANDARD_PRESSURE_KPA,
) -> FloatArray:
    """Return the relative humidity, %, from dry and wet bulb, °C, of an aspirated psychrometer.

    e = es(t') - A p (t - t'), A = 6.60e-4 (1 + 0.00115 t') per °C (AMS Glossary of Meteorology,
    "psychrometric formula"), with the wet bulb t' wetted, not iced. A wet bulb up to 0.1 °C above the dry one
    is rounding and gives 100 %; further above, or so low that no vapour would be left, it gives NaN.
    Raises ValueError when a pressure lies outside 50 to 110 kPa.
    """
    dry, wet = np.broadcast_arrays(
        np.asarray(dry_bulb_c, dtype=np.float64), np.asarray(wet_bulb_c, dtype=np.float64)
    )
    wet = np.where(wet - dry > WET_BULB_ROUNDING_C + 1e-9, np.nan, np.minimum(wet, dry))
    coefficient = 6.60e-4 * (1 + 0.00115 * wet)
    vapour_kpa = saturation_vapour_pressure_kpa(wet) - coefficient * _pressure(pressure_kpa) * (dry - wet)
    share = np.minimum(
        vapour_kpa / saturation_vapour_pressure_kpa(dry), 1.0
    )  # 1 but for rounding, if saturated
    return 100 * _within(share, 0.0, 1.0)


def dew_point_c(temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike) -> FloatArray:
    """Return the temperature, °C, at which the vapour in the air begins to condense.

    Magnus' formula turned round. Perfectly dry air has no dew point: NaN.
    """
    vapour_kpa = vapour_pressure_kpa(temperature_c, relative_humidity_pct)
    logarithm = np.log(np.where(vapour_kpa > 0, vapour_kpa, np.nan) / _MAGNUS_KPA)
    return _MAGNUS_C * logarithm / (_MAGNUS_FACTOR - logarithm)


def absolute_humidity_g_m3(temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike) -> FloatArray:
    """Return the mass of water in the air, g/m3, from temperature, °C, and relative humidity, %.

    Ideal gas: e / (R T), with R = 461.5 J/(kg K) for water vapour (from memory, any thermodynamics book).
    """
    vapour_pa = 1000 * vapour_pressure_kpa(temperature_c, relative_humidity_pct)
    temperature_k = np.asarray(temperature_c, dtype=np.float64) + _ZERO_CELSIUS_K
    return 1000 * vapour_pa / (_WATER_VAPOUR_J_KG_K * temperature_k)


def relative_humidity_at_pct(
    other_temperature_c: npt.ArrayLike, temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike
) -> FloatArray:
    """Return the relative humidity, %, that air of a temperature, °C, and humidity, %, has at another one.

    The air keeps its vapour and its pressure, so its vapour pressure stays. Above 100 % water condenses.
    """
    vapour_kpa = vapour_pressure_kpa(temperature_c, relative_humidity_pct)
    return 100 * vapour_kpa / saturation_vapour_pressure_kpa(other_temperature_c)


def _within(values: npt.ArrayLike, least: float, greatest: float) -> FloatArray:
    """Return the values as floats, with NaN for what lies outside the limits."""
    array = np.asarray(values, dtype=np.float64)
    return np.where((array >= least) & (array <= greatest), array, np.nan)


def _pressure(values: npt.ArrayLike) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    least, greatest = _PRESSURE_RANGE_KPA
    wrong = (array < least) | (array > greatest)
    if wrong.any():
        raise ValueError(
            f"barometric pressure must lie from {least:g} to {greatest:g} kPa, got {array[wrong].flat[0]:g}"
        )
    return array
