"""Water in paper: moisture content, regain, oven-dry grammage, and the plausible range of moisture.

Moisture content is on the wet basis (water over water and fibre), regain on the dry basis (water over fibre);
both are in percent. All functions take numbers or arrays that broadcast, and return arrays of the broadcast
shape. NaN and impossible values (a moisture of 100 %, negative masses, a relative humidity above 100 %) give
NaN; other elements are not affected, and no function raises.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

PAPER_TO_WOOD = (0.4, 1.2)
"""Lowest and highest regain of a paper as a fraction of the regain of wood in the same air. Common practice, no
source: sheets of bleached chemical pulp have about 0.7 to 0.9; filler lowers the fraction, and conditioning from
the wet side raises it by about 0.15. Outside these limits the reading is probably wrong."""

_WOOD_RANGE_C = (-2.0, 133.0)


def moisture_content_pct(mass_before_g: npt.ArrayLike, mass_after_g: npt.ArrayLike) -> FloatArray:
    """Return the moisture content, % wet basis, from the masses before and after oven drying, g.

    Follows from the definition: (m0 - m1) / m0. NaN where the piece gained mass or its oven-dry mass is not positive.
    """
    before, after = np.asarray(mass_before_g, dtype=np.float64), np.asarray(mass_after_g, dtype=np.float64)
    possible = (after > 0) & (after <= before) & np.isfinite(before)
    return 100 * (1 - after / np.where(possible, before, np.nan))


def regain_from_moisture_pct(moisture_pct: npt.ArrayLike) -> FloatArray:
    """Return the regain, % dry basis, from the moisture content, % wet basis: M / (1 - M)."""
    moisture = _moisture(moisture_pct)
    return 100 * moisture / (100 - moisture)


def moisture_from_regain_pct(regain_pct: npt.ArrayLike) -> FloatArray:
    """Return the moisture content, % wet basis, from the regain, % dry basis: u / (1 + u)."""
    regain = np.asarray(regain_pct, dtype=np.float64)
    regain = np.where((regain >= 0) & np.isfinite(regain), regain, np.nan)
    return 100 * regain / (100 + regain)


def oven_dry_grammage_g_m2(grammage_g_m2: npt.ArrayLike, moisture_pct: npt.ArrayLike) -> FloatArray:
    """Return the oven-dry grammage, g/m2, from the grammage, g/m2, and its moisture content, % wet basis.

    Follows from the definitions: g (1 - M); the shrinkage in drying is neglected.
    """
    return np.asarray(grammage_g_m2, dtype=np.float64) * (1 - _moisture(moisture_pct) / 100)


def wood_equilibrium_regain_pct(
    temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike
) -> FloatArray:
    """Return the equilibrium regain of wood, % dry basis, in air of a temperature, °C, and relative humidity, %.

    Two-hydrate sorption equation with the constants of USDA FPL-RN-0268, for -2 to 133 °C (range from memory
    of its table); NaN outside. Paper has less: use it as a bound, never as an estimate of a paper's moisture.
    """
    t, h = np.broadcast_arrays(
        np.asarray(temperature_c, dtype=np.float64), np.asarray(relative_humidity_pct, dtype=np.float64) / 100
    )
    lowest, highest = _WOOD_RANGE_C
    possible = (t >= lowest) & (t <= highest) & (h >= 0) & (h <= 1)
    t, h = np.where(possible, t, np.nan), np.where(possible, h, np.nan)
    molar_mass = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 2.73e-6 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    dissolved = k * h / (1 - k * h)
    hydrated = (k1 * k * h + 2 * k1 * k2 * (k * h) ** 2) / (1 + k1 * k * h + k1 * k2 * (k * h) ** 2)
    return np.asarray(1800 / molar_mass * (dissolved + hydrated))


def is_implausible(
    moisture_pct: npt.ArrayLike, temperature_c: npt.ArrayLike, relative_humidity_pct: npt.ArrayLike
) -> BoolArray:
    """Return whether a moisture content, % wet basis, is implausible for conditioned paper in this air.

    True where the regain is outside PAPER_TO_WOOD times the regain of wood, and where the moisture content is not
    a number from 0 to below 100. False where temperature or humidity is missing.
    """
    regain = regain_from_moisture_pct(moisture_pct)
    wood = wood_equilibrium_regain_pct(temperature_c, relative_humidity_pct)
    lowest, highest = PAPER_TO_WOOD
    return np.isnan(regain) | (regain < lowest * wood) | (regain > highest * wood)


def _moisture(values: npt.ArrayLike) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    return np.where((array >= 0) & (array < 100), array, np.nan)
