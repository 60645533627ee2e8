"""Tests that wait for their sheet, and what is suggested for them."""

import pytest


def suggestion(warehouse, unknown: str, *known: str) -> tuple[str | None, str | None]:
    for sheet_id in known:
        warehouse.add("forming", sheet_id=sheet_id)
    warehouse.add("tensile", sheet_id=unknown)
    row = warehouse.row("FROM unmatched_test")
    assert row["sheet_id"] == unknown
    assert warehouse.rows("FROM test_piece") == [], "a suggestion is never applied"
    return row["suggested_sheet_id"], row["suggestion_reason"]


@pytest.mark.parametrize(
    ("unknown", "known"),
    [
        ("TP1-O7", "TP1-07"),
        ("TPl-07", "TP1-07"),
        ("tpi-o7", "TP1-07"),
        ("TP1–07", "TP1-07"),
        ("TP1−07", "TP1-07"),
        ("TP1_07", "TP1-07"),
        (" TP 1-07", "TP1-07"),
        ("TP1-07\u00a0", "TP1-07"),
    ],
)
def test_similar_numbers_are_suggested(warehouse, unknown, known) -> None:
    suggested, reason = suggestion(warehouse, unknown, known, "TP1-08")
    assert suggested == known
    assert reason.startswith("looks alike")


@pytest.mark.parametrize(
    "unknown",
    [
        "AB-1234",
        "B-12345",
        "AB-12435",
        "BA-12345",
        "AB-12346",
        "AB-123457",
        "AB-1234\u00e45",
        "\u00c4B-12345",
    ],
)
def test_one_edit_is_suggested(warehouse, unknown) -> None:
    suggested, reason = suggestion(warehouse, unknown, "AB-12345", "XY-99999")
    assert suggested == "AB-12345"
    assert reason.startswith("one character")


@pytest.mark.parametrize("unknown", ["AB-123", "AB-54321", "AC-12346", "AB-1234567", "Z"])
def test_two_edits_are_not(warehouse, unknown) -> None:
    assert suggestion(warehouse, unknown, "AB-12345") == (None, None)


def test_of_several_all_are_named(warehouse) -> None:
    suggested, reason = suggestion(warehouse, "S-19", "S-12", "S-11", "S-27")
    assert suggested == "S-11, S-12"
    assert reason.endswith("(one of 2 that fit)")


def test_looking_alike_goes_before_an_edit(warehouse) -> None:
    suggested, _ = suggestion(warehouse, "S-O1", "S-01", "S-P1")
    assert suggested == "S-01"


def test_nothing_is_known_nothing_is_suggested(warehouse) -> None:
    assert suggestion(warehouse, "S-01") == (None, None)


def test_every_kind_of_a_sheets_records_waits(warehouse) -> None:
    warehouse.add("forming", sheet_id="S1")
    for kind, values in {
        "basis_weight": {"grammage_g_m2": 63.0},
        "moisture": {"mass_before_g": 1.0, "mass_after_g": 0.93},
        "thickness": {"thickness_um": 90.0},
        "tensile": {"tested_at_utc": "2026-09-02 10:00:00"},
        "pressing": {"pressed_at_utc": "2026-09-01 10:00:00"},
        "drying": {},
    }.items():
        warehouse.add(kind, sheet_id="S9", **values)
        warehouse.add(kind, sheet_id="S1", **values)
    waiting = {row["kind"]: row for row in warehouse.rows("FROM unmatched_test")}
    assert set(waiting) == {"basis_weight", "moisture", "thickness", "tensile", "pressing", "drying"}
    assert {row["sheet_id"] for row in waiting.values()} == {"S9"}
    assert (waiting["tensile"]["tester"], waiting["pressing"]["tester"]) == ("tensile", None)
    assert str(waiting["pressing"]["tested_at_utc"]) == "2026-09-01 10:00:00"
    assert len({row["line_number"] for row in waiting.values()}) == 6
    assert warehouse.rows("FROM sheet WHERE sheet_id = 'S9'") == []
