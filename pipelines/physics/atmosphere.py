"""The air of a test room: vapour pressure, relative humidity from a psychrometer, dew point, absolute humidity.

All functions take numbers or arrays that broadcast, and return float arrays of the broadcast shape. An
impossible reading (a wet bulb well above the dry bulb, a relative humidity outside 0 to 100 %, a temperature
outside the range of the formula) gives NaN, and so does NaN; other elements are not affected. An air pressure
that no room has means a wrong unit and raises ValueError.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

STANDARD_PRESSURE_KPA = 101.325
"""Exact by definition."""

WET_BULB_ROUNDING_C = 0.1
"""Tolerance of a wet bulb above the dry bulb in saturated air: both are read to 0.1 °C."""

_MAGNUS_KPA, _MAGNUS_FACTOR, _MAGNUS_C = 0.6112, 17.62, 243.12
_MAGNUS_RANGE_C = (-45.0, 60.0)
_PRESSURE_RANGE_KPA = (50.0, 110.0)
_WATER_VAPOUR_J_KG_K = 461.5
_ZERO_CELSIUS_K = 273.15


def saturation_vapour_pressure_kpa(temperature_c: npt.ArrayLike) -> FloatArray:
    """Return the saturation vapour pressure over water, kPa, at -45 to 60 °C; NaN outside.

    Magnus' formula with the constants of WMO-No. 8 (from memory). Up to 30 °C it agrees within 0.3 % with steam
    tables; in a relative humidity, a ratio of two such pressures, most of that error cancels.
    """
    temperature = _within(temperature_c, *_MAGNUS_RANGE_C)
    return _MAGNUS_KPA * np.exp(_MAGNUS_FACTOR * temperature / (_MAGNUS_C + temperature))


def vapour_pressure_kpa(temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike) -> FloatArray:
    """Return the vapour pressure of air, kPa, from temperature, °C, and relative humidity, %.

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
    "psychrometric formula"), for a wet bulb t' without ice. A wet bulb up to 0.1 °C above the dry bulb
    is a rounding error and gives 100 %; a higher one gives NaN, and so does one so low that the vapour pressure
    would be negative. Raises ValueError when a pressure is outside 50 to 110 kPa.
    """
    dry, wet = np.broadcast_arrays(
        np.asarray(dry_bulb_c, dtype=np.float64), np.asarray(wet_bulb_c, dtype=np.float64)
    )
    wet = np.where(wet - dry > WET_BULB_ROUNDING_C + 1e-9, np.nan, np.minimum(wet, dry))
    coefficient = 6.60e-4 * (1 + 0.00115 * wet)
    vapour_kpa = saturation_vapour_pressure_kpa(wet) - coefficient * _pressure(pressure_kpa) * (dry - wet)
    # In saturated air, rounding may give slightly more than 1.
    fraction = np.minimum(vapour_kpa / saturation_vapour_pressure_kpa(dry), 1.0)
    return 100 * _within(fraction, 0.0, 1.0)


def dew_point_c(temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike) -> FloatArray:
    """Return the dew point, °C, from temperature, °C, and relative humidity, %.

    Inverse of Magnus' formula. Air without vapour has no dew point: NaN.
    """
    vapour_kpa = vapour_pressure_kpa(temperature_c, relative_humidity_pct)
    logarithm = np.log(np.where(vapour_kpa > 0, vapour_kpa, np.nan) / _MAGNUS_KPA)
    return _MAGNUS_C * logarithm / (_MAGNUS_FACTOR - logarithm)


def absolute_humidity_g_m3(temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike) -> FloatArray:
    """Return the absolute humidity of air, g/m3, from temperature, °C, and relative humidity, %.

    Ideal gas: e / (R T), with R = 461.5 J/(kg K) for water vapour (from memory, any thermodynamics book).
    """
    vapour_pa = 1000 * vapour_pressure_kpa(temperature_c, relative_humidity_pct)
    temperature_k = np.asarray(temperature_c, dtype=np.float64) + _ZERO_CELSIUS_K
    return 1000 * vapour_pa / (_WATER_VAPOUR_J_KG_K * temperature_k)


def relative_humidity_at_pct(
    other_temperature_c: npt.ArrayLike, temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike
) -> FloatArray:
    """Return the relative humidity, %, of air that is warmed or cooled to another temperature, °C.

    The air has the given temperature, °C, and relative humidity, %, before. Its vapour pressure stays constant.
    Above 100 % water condenses.
    """
    vapour_kpa = vapour_pressure_kpa(temperature_c, relative_humidity_pct)
    return 100 * vapour_kpa / saturation_vapour_pressure_kpa(other_temperature_c)


def _within(values: npt.ArrayLike, lowest: float, highest: float) -> FloatArray:
    """Return the values as floats, NaN outside the limits."""
    array = np.asarray(values, dtype=np.float64)
    return np.where((array >= lowest) & (array <= highest), array, np.nan)


def _pressure(values: npt.ArrayLike) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    lowest, highest = _PRESSURE_RANGE_KPA
    invalid = (array < lowest) | (array > highest)
    if invalid.any():
        raise ValueError(
            f"barometric pressure must be from {lowest:g} to {highest:g} kPa, got {array[invalid].flat[0]:g}"
        )
    return array
