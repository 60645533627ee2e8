"""How numbers, times, columns and units are written for people."""

import math
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.site import labels
from schemas.marts import marts
from schemas.properties import registry


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.98765432, 4, "0.9877"),
        (45.0, 4, "45"),
        (45, 4, "45"),
        (1234.5, 4, "1234"),
        (12345.6, 4, "12\u202f346"),
        (1234567, 4, "1\u202f234\u202f567"),
        (-0.5, 4, "−0.5000"),
        (-12345, 4, "−12\u202f345"),
        (0.0, 4, "0"),
        (0, 4, "0"),
        (2.0, 3, "2"),
        (0.000012345, 4, "0.00001234"),
        (1.5e-12, 3, "1.50e-12"),
        (None, 4, "–"),
        (math.nan, 4, "–"),
        (math.inf, 4, "–"),
    ],
)
def test_numbers(value, digits, text):
    assert labels.number(value, digits) == text


@given(st.floats(min_value=1e-4, max_value=1e9), st.integers(2, 6))
def test_rounding_error_is_at_most_half_of_the_last_digit(value, digits):
    read = float(labels.number(value, digits).replace("\u202f", ""))
    assert abs(read - value) <= 0.5 * 10 ** (math.floor(math.log10(value)) - digits + 1) * (1 + 1e-9) or (
        abs(read - value) <= 0.5
    )


@pytest.mark.parametrize(
    ("ucum", "text"),
    [
        ("N.m/g", "N·m/g"),
        ("kN.m/g", "kN·m/g"),
        ("g/m2", "g/m²"),
        ("cm3/g", "cm³/g"),
        ("um", "µm"),
        ("Cel", "°C"),
        ("{SR}", "°SR"),
        ("%", "%"),
        ("1", ""),
        (None, ""),
    ],
)
def test_units(ucum, text):
    assert labels.unit_text(ucum) == text


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("tensile_index_md", "Tensile index MD"),
        ("tensile_index_md_cd_ratio", "Tensile index MD/CD"),
        ("tea_index", "Tensile energy absorption index"),
        ("sheet_id", "Sheet"),
        ("layer_no", "Layer number"),
        ("specimen_no", "Test piece number"),
        ("schopper_riegler", "Schopper-Riegler"),
        ("n_sheets", "Number of sheets"),
        ("trial", "Trial"),
    ],
)
def test_words(name, text):
    assert labels.words(name) == text


def test_headings_of_published_columns_begin_with_a_capital_and_have_no_underscore():
    for mart, model in marts().items():
        for column in model.to_schema().columns:
            heading = labels.column_label(mart, column)
            assert heading
            assert "_" not in heading, heading
            assert heading[0] == heading[0].upper(), heading


@pytest.mark.parametrize("quantity", registry().values(), ids=lambda quantity: quantity.name)
def test_the_heading_of_a_property_has_the_unit_of_its_model(quantity):
    assert labels.property_label(quantity.name).endswith(labels.unit_text(quantity.unit))
    assert labels.property_label(quantity.name, "MD/CD") == f"{labels.words(quantity.name)}, MD/CD"


def test_headings_contain_the_direction():
    assert labels.property_label("stretch", "MD") == "Stretch MD, %"
    assert labels.property_label("stretch", "GM") == "Stretch geometric mean of MD and CD, %"


def test_an_unknown_property_has_no_unit():
    assert labels.property_unit("colour_of_the_sky") is None
    assert labels.property_label("colour_of_the_sky") == "Colour of the sky"


def test_times_are_shown_to_the_minute():
    assert labels.moment(datetime(2026, 10, 1, 6, 5, 59)) == "2026-10-01 06:05"
    assert labels.moment(None) == "–"


@pytest.mark.parametrize(("count", "text"), [(0, "0 sheets"), (1, "1 sheet"), (12000, "12\u202f000 sheets")])
def test_counts(count, text):
    assert labels.counted(count, "sheet") == text
    assert labels.counted(2, "furnish", "furnishes") == "2 furnishes"


@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [
        (69.817, 1.63, "69.8"),
        (69.817, 0.996, "69.8"),
        (1.02548, 0.00912, "1.0255"),
        (12345.6, 1234.0, "12\u202f300"),
        (-0.00004, 0.012, "0.000"),
        (2.0, None, "2.00"),
        (0.0, 0.0, "0"),
        (None, 1.0, "–"),
    ],
)
def test_a_value_ends_where_its_uncertainty_has_two_digits(value, uncertainty, text):
    assert labels.rounded(value, uncertainty) == text


def test_values_of_a_column_have_the_same_decimals():
    assert [labels.fixed(value, 3) for value in (1.0, 0.9944, -12345.6789, None)] == [
        "1.000", "0.994", "−12\u202f345.679", "–",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("utc", "text"),
    [
        (datetime(2026, 3, 29, 0, 59), "2026-03-29 02:59"),
        (datetime(2026, 3, 29, 1, 0), "2026-03-29 04:00"),
        (datetime(2026, 10, 25, 0, 30), "2026-10-25 03:30 (UTC+0300)"),
        (datetime(2026, 10, 25, 1, 30), "2026-10-25 03:30 (UTC+0200)"),
        (datetime(2026, 10, 25, 2, 0), "2026-10-25 04:00"),
    ],
)
def test_times_are_local_also_at_a_clock_change(utc, text):
    zone = ZoneInfo("Europe/Helsinki")
    assert labels.moment(labels.local(utc, zone)) == text
    assert labels.localized(f"read at {utc:%Y-%m-%d %H:%M} UTC", zone) == f"read at {text}"


@pytest.mark.parametrize(
    ("values", "uncertainty", "count"),
    [
        ([0.8523, 1.149], None, 3),
        ([12.0, None, 7.0], None, 0),
        ([], None, 0),
        ([60.4], 1.63, 1),
        ([1234.5], 120.0, 0),
    ],
)
def test_the_decimals_of_a_column_follow_from_its_uncertainty(values, uncertainty, count):
    assert labels.decimals(values, uncertainty) == count
