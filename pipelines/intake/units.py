"""Units: parse the unit of a profile or a units row, and convert a whole column with one factor.

Units are written as on a report: ``N``, ``kN/m``, ``N/15 mm``, ``lbf/in``, ``g/m2``, ``kW.h/t``, ``mil``,
``lb/ream(24x36 in, 500)``. The text between a slash and the next one is a denominator. pint does the
arithmetic; schemas/trade_units.txt defines the trade's own units.
"""

import math
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from typing import Any

import numpy as np
import numpy.typing as npt
import pint

_SYMBOLS = {
    "mil": "caliper_mil",
    "mils": "caliper_mil",
    "point": "caliper_mil",
    "points": "caliper_mil",
    "%": "percent",
    "{SR}": "schopper_riegler",
    "SR": "schopper_riegler",
    "°SR": "schopper_riegler",
    "[pH]": "acidity",
    "pH": "acidity",
    "°": "degree",
    "°C": "Cel",
    "degC": "Cel",
    "°F": "degF",
    "l": "liter",
    "L": "liter",
    "ml": "milliliter",
    "mL": "milliliter",
    "dl": "deciliter",
    "dL": "deciliter",
    "µm": "micrometer",
    "μm": "micrometer",
}
"""Symbols that pint does not know, or knows as another unit."""

_AMBIGUOUS = {
    "ream": "a ream needs its sheet size and count; write for example lb/ream(24x36 in, 500)",
    "ton": "a ton may be long, short or metric; write t for 1000 kg, or short_ton or long_ton",
    "tons": "a ton may be long, short or metric; write t for 1000 kg, or short_ton or long_ton",
    "pt": "pt may be a point or a pint; write point or mil",
    "pts": "pts may be points or pints; write point or mil",
    "C": "C is the coulomb; write degC for degrees Celsius",
    "F": "F is the farad; write degF for degrees Fahrenheit",
}

_REAM = re.compile(
    r"ream\s*\(\s*(?P<width>\d+(?:\.\d+)?)\s*[x×]\s*(?P<length>\d+(?:\.\d+)?)\s*"
    r"(?P<unit>in|cm|mm|m)\s*,\s*(?P<count>\d+)\s*\)"
)
_FACTOR = re.compile(
    r"(?P<number>\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)"
    r"|(?P<symbol>%|\{SR\}|\[pH\]|°|[^\W\d]\w*?|°[A-Za-z]+)(?:\^|\*\*)?(?P<exponent>-?\d+)?(?![\w])"
)
_BETWEEN = re.compile(r"^\s*[.·*]?\s*")
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")


class UnitError(ValueError):
    """The unit is unknown, ambiguous or of another dimension than the column."""


@dataclass(frozen=True)
class Conversion:
    """A linear conversion: value in the model's unit = factor × value in the export's unit + offset."""

    factor: float
    offset: float = 0.0

    def __call__(self, values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Convert an array of any shape."""
        return values * self.factor + self.offset if self.offset else values * self.factor


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return pint's registry with the trade's units added."""
    units: pint.UnitRegistry[Any] = pint.UnitRegistry(
        on_redefinition="ignore", autoconvert_offset_to_baseunit=True, cache_folder=None
    )
    with as_file(files("schemas") / "trade_units.txt") as path:
        units.load_definitions(path)
    return units


@cache
def conversion(text: str, target: str) -> Conversion:
    """Return the conversion from the unit ``text`` to ``target``, a UCUM code of schemas.columns.

    Raises UnitError with what is wrong with the unit and what to write instead.

    >>> conversion("lbf/in", "kN/m").factor
    0.1751268352464764
    >>> conversion("degF", "Cel")(np.array([73.4])).round(9)
    array([23.])
    """
    given_scale, given = _parse(text)
    target_scale, wanted = _parse(target)
    try:
        at_zero, at_one, at_thousand = (
            float(registry().Quantity(given_scale * value, given).to(wanted).magnitude) / target_scale
            for value in (0.0, 1.0, 1000.0)
        )
    except pint.DimensionalityError:
        raise UnitError(
            f"{text!r} cannot be converted to {target!r} ({given.dimensionality} to {wanted.dimensionality})"
        ) from None
    if not math.isclose(at_thousand - at_zero, 1000 * (at_one - at_zero), rel_tol=1e-9):
        raise UnitError(f"{text!r} is not a linear scale; such units are not supported")
    # Without an offset, the value at one is the exact factor; a difference would lose its last digit. With an
    # offset, a difference over a wide range loses fewer digits.
    return Conversion(at_one) if at_zero == 0 else Conversion((at_thousand - at_zero) / 1000, at_zero)


def same_unit(text: str, other: str) -> bool:
    """Return whether two texts mean the same unit; an unknown unit equals no other."""
    try:
        found = conversion(text, other)
    except UnitError:
        return False
    return abs(found.factor - 1) < 1e-12 and found.offset == 0


def is_unit(text: str) -> bool:
    """Return whether a text is a unit that Sheetlore knows."""
    try:
        conversion(text, text)
    except UnitError:
        return False
    return True


def _parse(text: str) -> tuple[float, Any]:
    scale, expression = 1.0, ""
    readable = _REAM.sub(_ream_as_area, text.strip().translate(_SUPERSCRIPTS))
    for position, product in enumerate(readable.split("/")):
        sign = 1 if position == 0 else -1
        factors = _factors(product, text)
        if not factors:
            raise UnitError(
                f"{text!r} is not a unit: there is nothing {'before' if sign == 1 else 'after'} a slash"
            )
        for number, symbol, exponent in factors:
            if number is not None:
                scale *= number**sign
            else:
                expression += f" * {symbol} ** {sign * exponent}"
    try:
        return scale, registry().parse_units(expression.removeprefix(" * ") or "dimensionless")
    except (pint.UndefinedUnitError, pint.DefinitionSyntaxError, ValueError, AttributeError) as error:
        raise UnitError(f"{text!r} is not a known unit ({error})") from None


def _factors(product: str, text: str) -> list[tuple[float | None, str, int]]:
    found: list[tuple[float | None, str, int]] = []
    rest = product.strip()
    while rest:
        match = _FACTOR.match(rest)
        if not match:
            raise UnitError(f"{text!r} is not a unit: {rest!r} cannot be parsed")
        if match["number"]:
            number = float(match["number"])
            if found or not 0 < number < math.inf:
                raise UnitError(f"{text!r} is not a unit: the number {match['number']} is not allowed there")
            found.append((number, "", 1))
        else:
            symbol = match["symbol"]
            if symbol in _AMBIGUOUS:
                raise UnitError(f"{text!r}: {_AMBIGUOUS[symbol]}")
            found.append((None, _SYMBOLS.get(symbol, symbol), int(match["exponent"] or 1)))
        rest = _BETWEEN.sub("", rest[match.end() :], count=1)
    return found


def _ream_as_area(match: re.Match[str]) -> str:
    area = float(match["width"]) * float(match["length"]) * int(match["count"])
    return f"{area!r} {match['unit']}2"
