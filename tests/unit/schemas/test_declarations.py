"""What the declarations of tables promise: each column has a description, its unit is in its name, all are used."""

import ast
import re
from pathlib import Path

import pytest

import schemas.columns
import schemas.marts.shared
from pipelines.dictionary.declared import columns_of, sql_type
from pipelines.intake import profiles
from schemas.columns import SUFFIX_OF_UNIT, quantity_of
from schemas.ledger.reason import HeldReason
from schemas.ledger.received_file import ReceivedFile
from schemas.ledger.sighting import Sighting
from schemas.marts import marts
from schemas.properties import registry
from schemas.records import KINDS
from schemas.records.record import PROVENANCE, ResolvedRecord, grain_of, key_of, time_of, values_of

MODELS = {
    **{f"main.{name}": model for name, model in marts().items()},
    **{f"records.{name}": model for name, model in KINDS.items()},
    **{model.__name__: model for model in (ResolvedRecord, HeldReason, ReceivedFile, Sighting)},
}
COLUMNS = {
    f"{table}.{name}": (name, column)
    for table, model in MODELS.items()
    for name, column in columns_of(model).items()
}
SUFFIXES = {suffix for suffix in SUFFIX_OF_UNIT.values() if suffix}
OF_A_TIDY_TABLE = (
    "value",
    "instrument_uncertainty",
    "s",
    "standard_uncertainty",
    "systematic_uncertainty",
    "expanded_uncertainty",
    "interval_low",
    "interval_high",
    "plausible_low",
    "plausible_high",
)
SPREADS = re.compile(r"_s(_[a-z]|$)")


def unit_of(column):
    return column.metadata["unit"]


def test_there_are_columns_to_look_at():
    assert len(COLUMNS) > 500


def test_every_column_is_described_in_sentences():
    faults = {
        place: column.description
        for place, (_, column) in COLUMNS.items()
        if not re.search(r"\w.*\.$", column.description) or "  " in column.description
    }
    assert faults == {}


def wrong_unit(name, column):
    """Return what is wrong with a column's unit and the end of its name, or None."""
    unit = unit_of(column)
    if sql_type(column) in ("VARCHAR", "BOOLEAN"):
        return None if unit is None else f"{sql_type(column)} has the unit {unit}"
    if name in ("changed_ns", *OF_A_TIDY_TABLE):
        # a tidy table states the unit beside the value; nanoseconds are the file system's own
        return None if unit in (None, "1") else f"the unit is {unit}"
    if unit not in SUFFIX_OF_UNIT:
        return f"unknown unit {unit}"
    if suffix := SUFFIX_OF_UNIT[unit]:
        return None if name.endswith(f"_{suffix}") else f"does not end in _{suffix}"
    claimed = [f"_{other}" for other in SUFFIXES - {"s"} if name.endswith(f"_{other}")]
    return f"ends in {claimed[0]}, a unit it does not have" if claimed else None


def test_every_number_states_its_unit_and_its_name_ends_in_it():
    faults = {place: fault for place, column in COLUMNS.items() if (fault := wrong_unit(*column))}
    assert faults == {}


def test_every_time_is_in_utc_and_its_name_says_so():
    faults = []
    for place, (name, column) in COLUMNS.items():
        is_time = sql_type(column) == "TIMESTAMP"
        if not is_time == name.endswith("_utc") == (unit_of(column) == "UTC"):
            faults.append(f"{place}: {sql_type(column)}, unit {unit_of(column)}")
        elif is_time and column.dtype.tz is not None:
            faults.append(f"{place}: has a time zone")
    assert faults == []


def test_every_table_declares_its_grain():
    grains = {
        name: grain_of(model)
        for name, model in MODELS.items()
        if model is not ResolvedRecord  # columns that are added to a record's
    }
    faults = {
        name: grain
        for name, grain in grains.items()
        if not re.match(r"One row( per |: )", grain) or not grain.endswith((".", ","))
    }
    assert faults == {}


def test_every_model_has_the_name_of_its_table_and_admits_no_other_column():
    schemas_of_tables = {
        table: model.to_schema() for table, model in (marts() | KINDS).items() if table != "night"
    }
    faults = {
        table: (schema.name, schema.strict)
        for table, schema in schemas_of_tables.items()
        if schema.name != table or schema.strict is not True
    }
    assert faults == {}


@pytest.mark.parametrize("kind", KINDS)
def test_the_key_and_the_time_of_a_kind_are_columns_of_it(kind):
    model = KINDS[kind]
    columns = columns_of(model)
    key = key_of(model)
    assert key
    assert len(set(key)) == len(key)
    assert set(key) <= set(values_of(model))
    times = [name for name in columns if name.endswith("_utc")]
    assert time_of(model) in (times or [None])
    assert set(PROVENANCE) == set(columns) - set(values_of(model))


@pytest.mark.parametrize("kind", KINDS)
def test_two_columns_of_a_kind_are_never_one_quantity(kind):
    """A profile names quantities, so each must lead to one column."""
    quantities = [quantity_of(name, unit_of(column)) for name, column in columns_of(KINDS[kind]).items()]
    assert len(set(quantities)) == len(quantities)


@pytest.mark.parametrize("kind", KINDS)
def test_no_two_columns_of_a_kind_differ_in_case_alone(kind):
    names = [name.lower() for name in columns_of(KINDS[kind], ResolvedRecord)]
    assert len(set(names)) == len(names)


def test_every_kind_has_a_shipped_profile():
    assert {profile.text.record for profile in profiles.load_profiles(None)} == set(KINDS)


def test_every_unit_is_in_use_and_no_two_have_one_ending():
    used = {unit_of(column) for model in MODELS.values() for column in columns_of(model).values()}
    used |= {entry.unit for entry in registry().values()}
    assert set(SUFFIX_OF_UNIT) == used - {None}
    endings = [suffix for suffix in SUFFIX_OF_UNIT.values() if suffix]
    assert len(set(endings)) == len(endings)


@pytest.mark.parametrize(
    "module", [schemas.columns, schemas.marts.shared], ids=lambda module: module.__name__
)
def test_every_shared_column_is_used(module):
    path = Path(module.__file__)
    declared = [
        target.id
        for statement in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(statement, ast.Assign)
        for target in statement.targets
        if isinstance(target, ast.Name) and target.id.islower()
    ]
    assert declared
    others = "\n".join(
        other.read_text(encoding="utf-8")
        for other in path.parents[len(module.__name__.split(".")) - 2].rglob("*.py")
    )
    module_name = module.__name__.rpartition(".")[2]
    for name in declared:
        uses = len(re.findall(rf"\b{module_name}\.{name}\b", others))
        assert uses, f"no table has {name}"


def test_every_model_is_listed():
    """A file in records or marts that declares a table not listed would never be built."""
    for package, listed in (("records", KINDS), ("marts", marts())):
        folder = Path(schemas.columns.__file__).parent / package
        helpers = {"__init__", "record", "shared", "property_columns"}
        assert {path.stem for path in folder.glob("*.py")} - helpers == set(listed)


def test_a_quantity_means_the_same_wherever_it_stands():
    """The unit of a column is the same in every table that has it."""
    units = {}
    for table, model in MODELS.items():
        for name, column in columns_of(model).items():
            units.setdefault(name, {}).setdefault(unit_of(column), []).append(table)
    assert {name: found for name, found in units.items() if len(found) > 1} == {}


def test_every_quantity_is_a_property_of_the_wide_tables():
    wide = columns_of(marts()["trial_point"])
    for quantity in registry().undirected:
        assert unit_of(wide[quantity.column_name()]) == quantity.unit
        assert quantity.column_name("s") in wide
    for quantity in registry().directed:
        assert unit_of(wide[quantity.column_name("md")]) == quantity.unit
        assert SPREADS.search(quantity.column_name("md", "s"))


@pytest.mark.parametrize(
    ("name", "unit", "quantity"),
    [
        ("max_force_n", "N", "max_force"),
        ("sheet_id", None, "sheet_id"),
        ("layer_no", "1", "layer_no"),
        ("tested_at_utc", "UTC", "tested_at"),
        ("length_mm", "mm", "length"),
        ("mm", "mm", "mm"),
    ],
)
def test_a_quantity_is_a_name_without_its_unit(name, unit, quantity):
    assert quantity_of(name, unit) == quantity
