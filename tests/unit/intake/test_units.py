"""Units: the trade's factors against exact definitions and published conversions, and the traps."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.intake.units import UnitError, conversion, registry, same_unit
from schemas.units import SUFFIX_OF_UNIT

# Exact by definition: the international pound and inch (agreement of 1959) and standard gravity (3rd General
# Conference on Weights and Measures, 1901).
POUND = Fraction("0.45359237")
INCH = Fraction("0.0254")
GRAVITY = Fraction("9.80665")
FOOT = 12 * INCH
POUND_FORCE = POUND * GRAVITY


def ream(width, length, count=500):
    """Grammage in g/m2 of one pound per ream of sheets of width × length inches."""
    return 1000 * POUND / (width * INCH * length * INCH * count)


EXACT = [
    ("lbf", "N", POUND_FORCE),
    ("gf", "N", GRAVITY / 1000),
    ("kgf", "N", GRAVITY),
    ("mN", "N", Fraction(1, 1000)),
    ("lbf/in", "kN/m", POUND_FORCE / INCH / 1000),
    ("kgf/15 mm", "kN/m", GRAVITY / 15),
    ("lbf/15 mm", "kN/m", POUND_FORCE / 15),
    ("N/15 mm", "kN/m", Fraction(1, 15)),
    ("N/25.4 mm", "kN/m", Fraction(10, 254)),
    ("kgf/in", "kN/m", GRAVITY / INCH / 1000),
    ("N/m", "kN/m", Fraction(1, 1000)),
    ("mil", "um", INCH * 1000),
    ("mils", "um", INCH * 1000),
    ("point", "um", INCH * 1000),
    ("points", "um", INCH * 1000),
    ("µm", "um", Fraction(1)),  # micro sign
    ("μm", "um", Fraction(1)),  # Greek letter
    ("in", "mm", INCH * 1000),
    ("in2", "mm2", (INCH * 1000) ** 2),
    ("in²", "mm2", (INCH * 1000) ** 2),
    ("cm²", "mm2", Fraction(100)),
    ("lb/ream(24x36 in, 500)", "g/m2", ream(24, 36)),
    ("lb/ream(25x38 in, 500)", "g/m2", ream(25, 38)),
    ("lb/ream(17x22 in, 500)", "g/m2", ream(17, 22)),
    ("lb/ream(20x26 in, 500)", "g/m2", ream(20, 26)),
    ("lb/ream(24 × 36 in, 480)", "g/m2", ream(24, 36, 480)),
    ("kg/ream(70x100 cm, 500)", "g/m2", Fraction(1000, 350)),
    ("lb/3000 ft2", "g/m2", 1000 * POUND / (3000 * FOOT**2)),
    ("lb/1000 ft2", "g/m2", POUND / FOOT**2),
    ("gsm", "g/m2", Fraction(1)),
    ("g/m^2", "g/m2", Fraction(1)),
    ("g/m**2", "g/m2", Fraction(1)),
    ("g.m-2", "g/m2", Fraction(1)),
    ("g·m⁻²", "g/m2", Fraction(1)),
    ("ft.lbf/ft2", "J/m2", FOOT * POUND_FORCE / FOOT**2),
    ("in.lbf/in2", "J/m2", INCH * POUND_FORCE / INCH**2),
    ("in.lbf", "J", INCH * POUND_FORCE),
    ("kgf.m/m2", "J/m2", GRAVITY),
    ("kgf.cm/cm2", "J/m2", GRAVITY * 100),
    ("psi", "kPa", POUND_FORCE / INCH**2 / 1000),
    ("kgf/cm2", "kPa", GRAVITY * 10),
    ("bar", "kPa", Fraction(100)),
    ("Nm/g", "N.m/g", Fraction(1)),
    ("kNm/kg", "N.m/g", Fraction(1)),
    ("m/s", "m/min", Fraction(60)),
    ("ft/min", "m/min", FOOT),
    ("kW.h/t", "kW.h/t", Fraction(1)),
    ("t", "g", Fraction(10**6)),
    ("short_ton", "g", 2000 * POUND * 1000),
    ("lb/short_ton", "kg/t", Fraction(1000, 2000)),
    ("%", "1", Fraction(1, 100)),
]


@pytest.mark.parametrize(
    ("text", "target", "factor"), EXACT, ids=[f"{case[0]} as {case[1]}" for case in EXACT]
)
def test_trade_units_have_their_exact_size(text, target, factor):
    found = conversion(text, target)
    assert found.factor == pytest.approx(float(factor), rel=1e-14)
    assert found.offset == 0


@pytest.mark.parametrize(
    ("value", "text", "target", "published", "rounded_to"),
    [
        # Common conversions of the paper trade, as tables for printers give them.
        (28, "lb/ream(17x22 in, 500)", "g/m2", 105.3, 0.1),
        (20, "lb/ream(17x22 in, 500)", "g/m2", 75.2, 0.1),
        (42, "lb/1000 ft2", "g/m2", 205, 1),
        # A government's purchase specification for kraft paper: 24x36 basis weight to the nearest 5, burst to the
        # nearest 10, tear cut to tens.
        (40, "lb/ream(24x36 in, 500)", "g/m2", 65, 5),
        (60, "lb/ream(24x36 in, 500)", "g/m2", 100, 5),
        (80, "lb/ream(24x36 in, 500)", "g/m2", 130, 5),
        (28, "psi", "kPa", 190, 10),
        (38, "psi", "kPa", 260, 10),
        (47, "psi", "kPa", 320, 10),
        (70, "gf", "mN", 680, 20),
        (110, "gf", "mN", 1070, 20),
        (150, "gf", "mN", 1470, 20),
    ],
)  # fmt: skip
def test_published_conversions_are_met_within_their_rounding(value, text, target, published, rounded_to):
    assert abs(value * conversion(text, target).factor - published) <= rounded_to / 2


def test_breaking_length_in_metres_follows_from_trade_units():
    """(lbf/in) / (lb/1000 ft2) × 3657.6 is the breaking length in m; exact from the definitions."""
    strength = conversion("lbf/in", "kN/m").factor * 1000  # N/m
    grammage = conversion("lb/1000 ft2", "g/m2").factor / 1000  # kg/m2
    assert strength / grammage / 9.80665 == pytest.approx(3657.6, rel=1e-14)


@pytest.mark.parametrize(("text", "celsius"), [("degF", [-40, 0, 23, 100]), ("°F", [-40, 0, 23, 100])])
def test_fahrenheit(text, celsius):
    """Exact by definition: 9/5 of the degree Celsius, with 32 at its zero."""
    fahrenheit = np.array([-40, 32, 73.4, 212])
    assert conversion(text, "Cel")(fahrenheit) == pytest.approx(celsius, abs=1e-9)


def test_kelvin_has_an_offset():
    assert conversion("K", "Cel")(np.array([273.15, 296.15])) == pytest.approx([0, 23], abs=1e-9)


@pytest.mark.parametrize(
    ("text", "target", "message"),
    [
        ("lb/ream", "g/m2", "a ream needs its sheet size and count"),
        ("ream", "g/m2", "a ream needs its sheet size"),
        ("ton", "g", "a ton may be long, short or metric"),
        ("kW.h/ton", "kW.h/t", "a ton may be long, short or metric"),
        ("pt", "um", "pt may be a point or a pint"),
        ("C", "Cel", "C is the coulomb; write degC"),
        ("F", "Cel", "F is the farad; write degF"),
        ("", "N", "there is nothing before a slash"),
        ("N/", "kN/m", "there is nothing after a slash"),
        ("N//m", "kN/m", "there is nothing after a slash"),
        ("furlongz", "mm", "is not a known unit"),
        ("N$", "N", "cannot be parsed"),
        ("N ** 2", "N", "cannot be parsed"),
        ("N 2", "N", "the number 2 is not allowed there"),
        ("0 N", "N", "the number 0 is not allowed there"),
        ("N/0 mm", "kN/m", "the number 0 is not allowed there"),
        ("1e400 N", "N", "the number 1e400 is not allowed there"),
        ("lb", "N", "cannot be converted to 'N'"),
        ("lb/in", "kN/m", "cannot be converted to 'kN/m'"),
        ("gf", "g", "cannot be converted to 'g'"),
        ("g/m2", "um", "cannot be converted to 'um'"),
        ("mil", "deg", "cannot be converted to 'deg'"),
        ("%", "{SR}", "cannot be converted to '{SR}'"),
        ("mL", "{SR}", "cannot be converted to '{SR}'"),
        ("%", "[pH]", "cannot be converted to '[pH]'"),
        ("dB", "1", "is not a linear scale"),
    ],
)  # fmt: skip
def test_unclear_units_are_refused_with_what_to_write(text, target, message):
    with pytest.raises(UnitError) as error:
        conversion(text, target)
    assert message in str(error.value)
    assert repr(text) in str(error.value)


@pytest.mark.parametrize("unit", sorted(SUFFIX_OF_UNIT.keys() - {"UTC"}))
def test_every_unit_of_a_column_is_itself(unit):
    assert conversion(unit, unit).factor == pytest.approx(1, rel=1e-15)
    assert same_unit(unit, unit)


@pytest.mark.parametrize(
    ("one", "other", "equal"),
    [
        ("N", "newton", True), ("mm²", "mm2", True), ("µm", "um", True), ("kN/m", "N/mm", True), ("mN", "N", False),
        ("N", "mm", False), ("whatever", "N", False), ("°F", "degC", False), ("K", "degC", False),
    ],
)  # fmt: skip
def test_same(one, other, equal):
    assert same_unit(one, other) is equal
    assert same_unit(other, one) is equal


LINEAR = [(text, target, factor) for text, target, factor in EXACT if factor != 1]


@given(case=st.sampled_from(LINEAR), value=st.floats(1e-6, 1e9))
def test_values_agree_with_independent_arithmetic_and_come_back(case, value):
    text, target, factor = case
    converted = conversion(text, target)(np.array([value]))
    assert converted == pytest.approx([float(Fraction(value) * factor)], rel=1e-13)
    if "ream" not in text:  # a ream is no target
        assert conversion(target, text)(converted) == pytest.approx([value], rel=1e-13)


@given(st.floats(-100, 1000))
def test_temperatures_come_back(celsius):
    there = conversion("Cel", "degF")(np.array([celsius]))
    assert there == pytest.approx([float(Fraction(celsius) * 9 / 5 + 32)], abs=1e-9)
    assert conversion("degF", "Cel")(there) == pytest.approx([celsius], abs=1e-9)


@given(width=st.integers(1, 200), length=st.integers(1, 200), count=st.integers(1, 1000))
def test_any_ream_is_its_area(width, length, count):
    found = conversion(f"lb/ream({width}x{length} in, {count})", "g/m2").factor
    assert found == pytest.approx(float(ream(width, length, count)), rel=1e-13)


@given(st.text(max_size=12))
def test_any_text_gives_a_unit_or_a_unit_error(text):
    try:
        found = conversion(text, "kN/m")
    except UnitError as error:
        assert repr(text) in str(error)
    else:
        assert np.isfinite(found.factor)
        assert found.factor > 0


def test_pint_reads_mil_and_point_otherwise_which_is_why_they_are_mapped():
    """The trap this project steps around: to pint a mil is an angle and a point a typographer's."""
    assert not registry().mil.is_compatible_with("micrometer")
    assert registry().Quantity(1, "point").to("micrometer").magnitude == pytest.approx(25400 / 72)
