"""The names and symbols of the units of columns."""

import re

MEANING_OF_UNIT = {
    "N": "newton",
    "N/mm": "newton per millimetre",
    "J": "joule",
    "mm": "millimetre",
    "mm2": "square millimetre",
    "um": "micrometre",
    "g": "gram",
    "g/m2": "gram per square metre",
    "kg/m3": "kilogram per cubic metre",
    "cm3/g": "cubic centimetre per gram",
    "kN/m": "kilonewton per metre",
    "N.m/g": "newton metre per gram",
    "kN.m/g": "kilonewton metre per gram",
    "km": "kilometre",
    "%": "percent",
    "J/m2": "joule per square metre",
    "J/g": "joule per gram",
    "GPa": "gigapascal",
    "kPa": "kilopascal",
    "L": "litre",
    "L/min": "litre per minute",
    "m/min": "metre per minute",
    "m/s2": "metre per second squared",
    "mm/min": "millimetre per minute",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "deg": "degree of angle",
    "Cel": "degree Celsius",
    "kW.h/t": "kilowatt hour per tonne",
    "kg/t": "kilogram per tonne",
    "mL": "millilitre",
    "mL/min": "millilitre per minute",
    "g/g": "gram per gram",
    "mg/m": "milligram per metre",
    "ueq/g": "microequivalent per gram",
    "mS/m": "millisiemens per metre",
    "mL/g": "millilitre per gram",
    "mN": "millinewton",
    "mN.m": "millinewton metre",
    "mN.m2/g": "millinewton square metre per gram",
    "kPa.m2/g": "kilopascal square metre per gram",
    "N.m7/kg3": "newton metre to the seventh power per cubed kilogram",
    "um/Pa/s": "micrometre per pascal and second",
    "m2/kg": "square metre per kilogram",
    "J/m": "joule per metre",
    "J.m/kg": "joule metre per kilogram",
    "1/m": "per metre",
    "{SR}": "degree Schopper-Riegler, an arbitrary unit",
    "[pH]": "pH, an arbitrary unit",
    "1": "a count, a number or a ratio: no unit",
    "UTC": "point in time in Coordinated Universal Time, without a zone of its own; no UCUM unit",
}
"""The UCUM code of each unit of schemas.columns.SUFFIX_OF_UNIT, with its name."""

_SYMBOLS = {
    "1": "",
    "UTC": "",
    "um": "µm",
    "um/Pa/s": "µm/(Pa·s)",
    "N.m7/kg3": "N·m⁷/kg³",
    "Cel": "°C",
    "deg": "°",
    "{SR}": "°SR",
    "ueq/g": "µeq/g",
    "[pH]": "",
}


def unit_text(ucum: str | None) -> str:
    """Return the symbol of a unit as people write it, for a UCUM code.

    >>> unit_text("N.m/g"), unit_text("kg/m3"), unit_text("Cel"), unit_text("1")
    ('N·m/g', 'kg/m³', '°C', '')
    """
    if not ucum:
        return ""
    if ucum in _SYMBOLS:
        return _SYMBOLS[ucum]
    return re.sub(r"(?<=[a-z])([23])", lambda power: "²³"[int(power[1]) - 2], ucum.replace(".", "·"))
