"""From models to plain values: checks become limits and allowed values, docstrings become grain and remark."""

import pandas as pd
import pandera.pandas as pa
import pytest

from pipelines.dictionary import declared
from pipelines.dictionary.declared import describe, published_tables, record_tables
from pipelines.warehouse.statements import formulas, names
from schemas.columns import Integer, Timestamp, column
from schemas.marts import marts
from schemas.records import STORED


class Thing(pa.DataFrameModel):
    """One row per thing.

    Things are made
    of paper.
    """

    name: str = column("Name.", str_length={"min_value": 1, "max_value": 8})
    side: str = column("Side.", isin=("top", "wire"), nullable=True)
    mass_g: float = column("Mass.", unit="g", source="ISO 536", gt=0, le=1000)
    share: float = column("Share.", unit="1", ge=0, lt=1)
    count: Integer = column("How many.", unit="1", nullable=True)
    made_at_utc: Timestamp = column("When.", unit="UTC")

    @pa.dataframe_check(error="a light thing must have a name")
    def named(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        return frame["name"].notna()


class More(pa.DataFrameModel):
    more: str = column("More.")


@pytest.fixture
def thing():
    return declared._table("main", "thing", 3, Thing, More)


def test_a_table_matches_its_models(thing):
    assert (thing.full_name, thing.grain, thing.remark) == (
        "thing",
        "One row per thing.",
        "Things are made of paper.",
    )
    assert thing.version == 3
    assert thing.rules == ("a light thing must have a name",)
    assert [each.name for each in thing.columns] == [
        "name", "side", "mass_g", "share", "count", "made_at_utc", "more",
    ]  # fmt: skip


def test_limits_of_a_column_come_from_its_checks(thing):
    held = {each.name: (each.allowed, each.limits) for each in thing.columns}
    assert held["name"] == ((), {"minLength": 1, "maxLength": 8})
    assert held["side"] == (("top", "wire"), {})
    assert held["mass_g"] == ((), {"exclusiveMinimum": 0, "maximum": 1000})
    assert held["share"] == ((), {"minimum": 0, "exclusiveMaximum": 1})
    assert held["count"] == ((), {})


def test_a_check_that_has_no_words_yet_is_not_passed_over():
    class Odd(pa.DataFrameModel):
        """One row per oddity."""

        name: str = pa.Field(description="Name.", str_contains="x")

    with pytest.raises(KeyError, match="str_contains"):
        declared._table("main", "odd", 1, Odd)


def test_the_declared_description_equals_the_comment(thing):
    assert [each.comment for each in thing.columns][2:4] == ["Mass. Unit: g. Source: ISO 536.", "Share."]
    assert describe(Thing.to_schema().columns["mass_g"]) == "Mass. Unit: g. Source: ISO 536."


def test_every_table_is_read_in_order():
    assert [table.full_name for table in published_tables()] == list(marts())
    assert [table.full_name for table in record_tables()] == [f"records.{kind}" for kind in STORED]
    assert all(table.version >= 1 for table in published_tables())
    assert {table.version for table in record_tables()} == {None}


def test_rules_of_whole_rows_are_listed():
    (climate,) = (table for table in record_tables() if table.name == "climate")
    assert any("wet bulb must not be warmer" in rule for rule in climate.rules)


def test_every_macro_is_a_formula_with_its_parameters_and_source():
    found = formulas()
    assert [f"macros/{formula.name}" for formula in found] == list(names("macros"))
    assert all(formula.text.endswith((".", "?")) and formula.source for formula in found)
    signatures = {formula.name: formula.signature for formula in found}
    assert signatures["tensile_index_nm_g"] == "tensile_index_nm_g(tensile_strength_kn_m, grammage_g_m2)"
    assert signatures["mean_and_spread"] == "mean_and_spread(value, counts := TRUE)"
