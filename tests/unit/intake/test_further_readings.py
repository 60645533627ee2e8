"""Readings of further tests: what their property decides, and what a wrong profile or line is answered with."""

import pytest
from intake_cases import held, ingest_one, profile

from pipelines.errors import SettingsError
from schemas.properties import Property, Registry, in_force, shipped

TESTS = """
record = "further"
tester = "any"

[recognise]
header = ["Sheet", "Result"]

[dialect]
encoding = "utf-8"
delimiter = ";"
decimal = "."
preamble = 0

[columns]
sheet_id = "Sheet"
property = "Property"
direction = { from = "Dir", values = { MD = ["MD"], CD = ["CD"] } }
specimen_no = "No"
value = { from = "Result", unit = "mN" }
"""
HEADER = "Sheet;Property;Dir;No;Result\n"


def test_an_unknown_property_is_on_hold_with_the_nearest_name():
    outcome, records = ingest_one(HEADER + "S1;taer;MD;1;500\nS1;tear;MD;1;500\n", profile(TESTS))
    assert held(outcome) == [(2, "property")]
    (reason,) = outcome.rejections
    assert reason.what == "'taer' is not the name of a property of further records; the nearest is 'tear'."
    assert (reason.column, reason.cell) == ("Property", "taer")
    assert "columns.property.values of the profile thickness" in reason.remedy
    assert records["value"].tolist() == [500]


def test_a_property_of_test_pieces_is_no_property_of_further_tests():
    outcome, _ = ingest_one(HEADER + "S1;tensile_strength;MD;1;5\n", profile(TESTS))
    assert held(outcome) == [(2, "property")]


def test_a_value_beyond_the_limits_of_its_property_is_on_hold():
    outcome, _ = ingest_one(HEADER + "S1;tear;MD;1;30000\n", profile(TESTS))
    assert held(outcome) == [(2, "range")]
    (reason,) = outcome.rejections
    assert reason.what == "'30000' gives a value beyond the limits of tear, 5 to 20000 mN."


def test_a_direction_is_needed_or_dropped_as_the_property_says():
    lines = "S1;tear;;1;500\nS1;tear;X;2;500\nS1;burst;MD;1;500\n"
    outcome, records = ingest_one(HEADER + lines, profile(TESTS.replace('unit = "mN"', 'unit = "1"')))
    assert held(outcome) == [(2, "unit"), (2, "required"), (3, "code"), (3, "unit"), (4, "unit")]
    assert records.empty
    text = TESTS.replace('property = "Property"', 'property = { value = "burst" }').replace('"mN"', '"kPa"')
    outcome, records = ingest_one(HEADER + "S1;;MD;1;500\n", profile(text))
    assert held(outcome) == []
    assert records["direction"].isna().all()


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'property = "Property"',
            'property = { value = "teer" }',
            "columns.property: unknown property 'teer'; did you mean 'tear'?",
        ),
        (
            'property = "Property"',
            'property = { from = "Property", values = { brust = ["B"] } }',
            "columns.property: unknown property 'brust'; did you mean 'burst'?",
        ),
        (', unit = "mN"', "", "columns.value: give the unit of the export, or the column unit"),
        (
            'property = "Property"',
            'unit = "U"\nproperty = "Property"',
            "columns.value: give the unit of the export, or the column unit",
        ),
        (
            'property = "Property"',
            'property = { value = "burst" }',
            "columns.value: unit: burst: 'mN' cannot be converted to 'kPa'",
        ),
    ],
)  # fmt: skip
def test_a_mistake_in_a_profile_is_named(old, new, message):
    assert old in TESTS
    with pytest.raises(SettingsError) as raised:
        profile(TESTS.replace(old, new))
    assert message in str(raised.value)


def test_a_laboratorys_own_property_is_read():
    lint = Property(name="lint", unit="mg", description="Lint.", readings="further", limits=(0, 90))
    with in_force(Registry({**shipped(), "lint": lint})):
        own = profile(TESTS.replace('"mN"', '"g"'))
        outcome, records = ingest_one(HEADER + "S1;lint;;1;0.025\n", own)
    assert held(outcome) == []
    assert records["value"].tolist() == [25]
    assert records["unit"].tolist() == ["mg"]


def test_a_test_of_stock_has_a_furnish_and_properties_of_its_own():
    text = TESTS.replace('"further"', '"stock"').replace('sheet_id = "Sheet"', 'furnish = "Sheet"')
    stock = "\n".join(line for line in text.splitlines() if not line.startswith("direction"))
    lines = "Batch 1;water_retention;;1;1.9\nBatch 1;tear;;1;1.9\n"
    outcome, records = ingest_one(HEADER + lines, profile(stock.replace('"mN"', '"g/g"')))
    assert held(outcome) == [(3, "property")]
    assert records[["furnish", "property", "value", "unit"]].values.tolist() == [
        ["Batch 1", "water_retention", 1.9, "g/g"]
    ]
