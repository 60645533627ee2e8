"""Means of tests of stock, one for each furnish, property and method."""

import pytest


def test_methods_and_superseded_readings_stay_apart(warehouse):
    for reading, (value, method) in enumerate(
        [(2.0, "by length"), (2.2, "by length"), (1.1, "by number")], start=1
    ):
        warehouse.add(
            "stock", property="fibre_length", value=value, unit="mm", method=method, specimen_no=reading
        )
    warehouse.add("stock", property="fibre_length", value=9.0, unit="mm", record_status="superseded")
    rows = warehouse.rows("FROM furnish_property ORDER BY method")
    assert [(row["furnish"], row["method"], row["n"], row["value"], row["unit"]) for row in rows] == [
        ("F1", "by length", 2, pytest.approx(2.1), "mm"),
        ("F1", "by number", 1, pytest.approx(1.1), "mm"),
    ]
    assert rows[0]["s"] == pytest.approx(0.2 / 2**0.5)
    assert rows[1]["s"] is None
