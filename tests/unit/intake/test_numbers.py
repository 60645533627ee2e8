"""Numbers and whole numbers from text: exactly the marks given, and no guess where none are given."""

import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipelines.intake.parsing import (
    NumberFormat,
    detect_number_format,
    parse_integers,
    parse_numbers,
    strip_cells,
)

DIALECTS = [
    NumberFormat(decimal, thousands)
    for decimal, thousands in [
        (".", None),
        (",", None),
        (".", ","),
        (",", "."),
        (",", " "),
        (".", " "),
        (".", "'"),
        (",", "'"),
    ]
]


def column(*cells: str) -> pd.Series:
    return pd.Series(list(cells), dtype="str")


def number(cell: str, number_format: NumberFormat) -> float | None:
    """The number in a cell, or None when it is refused."""
    values, wrong = parse_numbers(column(cell), number_format)
    assert np.isnan(values[0]) == (wrong[0] or cell == "")
    return None if wrong[0] else float(values[0])


def written(text: str, number_format: NumberFormat) -> str:
    """A number as Python writes it, in another dialect, with groups of thousands if there are any."""
    sign, digits, fraction, exponent = re.fullmatch(r"(-?)(\d+)(\.\d+)?(e.*)?", text).groups()
    if number_format.thousands:
        digits = f"{int(digits):,}".replace(",", number_format.thousands)
    return sign + digits + (fraction or "").replace(".", number_format.decimal) + (exponent or "")


@given(value=st.floats(allow_nan=False, allow_infinity=False), number_format=st.sampled_from(DIALECTS))
def test_any_number_reads_back_in_any_dialect(value, number_format):
    assert number(written(repr(value), number_format), number_format) == value


@given(
    value=st.decimals(-(10**12), 10**12, places=4, allow_nan=False), number_format=st.sampled_from(DIALECTS)
)
def test_numbers_with_groups_of_thousands_read_back(value, number_format):
    assert number(written(f"{value:f}", number_format), number_format) == float(value)


@given(st.text("0123456789.,-+eE '−_x ", max_size=10), st.sampled_from(DIALECTS))
def test_invalid_numbers_are_refused(cell, number_format):
    """Against an independent reading: taken apart by hand rather than by a pattern."""
    cell = cell.strip()
    assert (number(cell, number_format) is not None) == (cell == "" or well_formed(cell, number_format))


def well_formed(cell: str, number_format: NumberFormat) -> bool:
    body = cell.replace("−", "-")
    body = body[1:] if body[:1] in ("-", "+") else body
    mantissa, e, exponent = body.replace("E", "e").partition("e")
    if e:
        exponent = exponent[1:] if exponent[:1] in ("-", "+") else exponent
        if not exponent.isascii() or not exponent.isdigit():
            return False
    whole, _, fraction = mantissa.partition(number_format.decimal)
    if not (whole or fraction):
        return False
    if fraction and not fraction.isdigit():
        return False
    groups = whole.split(number_format.thousands) if number_format.thousands else [whole]
    if len(groups) > 1:
        first, *rest = groups
        if not (1 <= len(first) <= 3 and first[0] != "0" and all(len(group) == 3 for group in rest)):
            return False
    if whole and not all(group.isdigit() for group in groups):
        return False
    return bool(
        np.isfinite(
            float(
                f"{whole.replace(number_format.thousands or ' ', '') or '0'}.{fraction or '0'}e{exponent or 0}"
            )
        )
    )


@pytest.mark.parametrize(
    ("cell", "number_format", "value"),
    [
        ("1.234,5", NumberFormat(",", "."), 1234.5),
        ("1.234", NumberFormat(",", "."), 1234.0),
        ("1.234", NumberFormat(".", ","), 1.234),
        ("12.34", NumberFormat(",", "."), None),
        ("1.23.456", NumberFormat(",", "."), None),
        ("0.123", NumberFormat(",", "."), None),  # nobody writes groups of thousands after a zero
        ("1,234", NumberFormat(".", None), None),
        ("1 234,5", NumberFormat(",", None), None),
        ("1\u00a0234,5", NumberFormat(",", " "), 1234.5),
        ("1\u202f234,5", NumberFormat(",", " "), 1234.5),
        ("1'234.5", NumberFormat(".", "'"), 1234.5),
        ("−5", NumberFormat(".", None), -5.0),
        ("+5", NumberFormat(".", None), 5.0),
        (",5", NumberFormat(",", None), 0.5),
        ("5,", NumberFormat(",", None), 5.0),
        ("1e3", NumberFormat(".", None), 1000.0),
        ("1e999", NumberFormat(".", None), None),
        ("nan", NumberFormat(".", None), None),
        ("inf", NumberFormat(".", None), None),
        ("Infinity", NumberFormat(".", None), None),
        ("1_000", NumberFormat(".", None), None),
        ("0x10", NumberFormat(".", None), None),
        ("٣", NumberFormat(".", None), None),  # a digit, but of another script
        ("5 N", NumberFormat(".", None), None),
        ("<5", NumberFormat(".", None), None),
        ("--5", NumberFormat(".", None), None),
        (".", NumberFormat(".", None), None),
        ("-", NumberFormat(".", None), None),
    ],
)  # fmt: skip
def test_numbers(cell, number_format, value):
    assert number(cell, number_format) == value


def test_a_missing_number_is_missing_and_not_invalid():
    values, wrong = parse_numbers(column("", "5"), NumberFormat("."))
    assert np.isnan(values[0])
    assert not wrong.any()


@pytest.mark.parametrize(
    ("cell", "value", "is_wrong", "is_fraction"),
    [
        ("7", 7, False, False), ("7,0", 7, False, False), ("1.000", 1000, False, False), ("7,5", None, False, True),
        ("seven", None, True, False), ("", None, False, False), ("1e2", 100, False, False),
        ("9007199254740993", None, False, True),  # more digits than a float distinguishes
    ],
)  # fmt: skip
def test_whole_numbers(cell, value, is_wrong, is_fraction):
    values, wrong, fraction = parse_integers(column(cell), NumberFormat(",", "."))
    assert (None if values.isna()[0] else values[0], bool(wrong[0]), bool(fraction[0])) == (
        value,
        is_wrong,
        is_fraction,
    )


@pytest.mark.parametrize(
    ("cells", "decimal"),
    [
        (["12,5"], ","),
        (["12.5"], "."),
        (["1.234,5"], ","),
        (["1,234.5"], "."),
        (["1.234.567"], ","),
        (["1,234,567"], "."),
        (["1.234", "12,5"], ","),
        (["1.234", "12.5"], "."),
        (["0.123"], "."),  # no group of thousands begins with zero
        (["-0,123"], ","),
        (["1234.567"], "."),
        (["1.2345"], "."),
        (["−1,5"], ","),
        ([".5"], "."),
        (["1.5e3"], "."),
        (["12", "", "7"], "."),  # whole numbers need no mark
        (["n.a.", "1,5"], ","),  # text settles nothing
        (["n.a."], "."),
    ],
)  # fmt: skip
def test_the_number_format_is_detected_from_unambiguous_numbers(cells, decimal):
    found = detect_number_format(column(*cells))
    assert isinstance(found, NumberFormat)
    assert found.decimal == decimal


@pytest.mark.parametrize(
    "cells",
    [
        ["1.234"], ["23.824", "7"], ["1,234", "5,678"], ["-1.234"],
        ["1.234", "n.a."], ["1.234", "12.05.2026"], ["1.234", "1.2.3"],  # what is no number does not help
        ["12,5", "12.5"], ["1.234,5", "1,234.5"],
    ],
)  # fmt: skip
def test_ambiguous_number_formats_are_never_guessed(cells):
    found = detect_number_format(column(*cells))
    assert isinstance(found, str)
    assert found in cells


@given(
    st.lists(st.floats(0.001, 1e7).map(lambda value: f"{value:.2f}"), min_size=1),
    st.sampled_from(DIALECTS[2:4]),
)
def test_two_decimal_places_always_decide_the_number_format(values, number_format):
    cells = column(*(written(value, number_format) for value in values))
    assert detect_number_format(cells) == number_format


@given(st.integers(1, 999), st.integers(0, 999), st.sampled_from(".,"))
def test_three_digits_after_one_mark_never_decide_it(whole, rest, mark):
    assume(whole > 0)
    assert detect_number_format(column(f"{whole}{mark}{rest:03d}")) == f"{whole}{mark}{rest:03d}"


def test_cells_are_stripped_and_codes_for_no_value_emptied():
    cells = column("  5 ", "\u00a05\u00a0", " - ", "n/a", "N/A", "")
    assert strip_cells(cells, ("", "-", "n/a")).tolist() == ["5", "5", "", "", "N/A", ""]
    assert strip_cells(column("-"), ("",)).tolist() == ["-"]
