"""The contract: right by the standard's own schema and model, whole, and the same for the same declarations."""

import json
from importlib.resources import files

import jsonschema
import pytest
import yaml
from open_data_contract_standard.model import OpenDataContractStandard

from pipelines.dictionary.contract import STANDARD, contract
from pipelines.dictionary.declared import published_tables, record_tables
from pipelines.dictionary.history import Change
from pipelines.dictionary.units import MEANING_OF_UNIT
from pipelines.intake.units import UnitError, conversion
from schemas.units import SUFFIX_OF_UNIT

TABLES = (*published_tables(), *record_tables())
STANDARDS_SCHEMA = json.loads(
    (files("open_data_contract_standard") / "schema.json").read_text(encoding="utf-8")
)


@pytest.fixture(scope="module")
def text():
    return contract(published_tables(), record_tables(), [])


@pytest.fixture(scope="module")
def document(text):
    return yaml.safe_load(text)


@pytest.fixture(scope="module")
def properties(document):
    return {
        (table["name"], column["name"]): column
        for table in document["schema"]
        for column in table["properties"]
    }


def custom(element):
    return {each["property"]: each["value"] for each in element.get("customProperties", [])}


def faults(document):
    return [
        error.message for error in jsonschema.Draft201909Validator(STANDARDS_SCHEMA).iter_errors(document)
    ]


def test_it_is_right_by_the_standards_own_schema(document):
    assert document["apiVersion"] == STANDARD == STANDARDS_SCHEMA["properties"]["apiVersion"]["default"]
    assert faults(document) == []


def test_the_schema_rejects_a_wrong_contract(document):
    document = document | {"schema": document["schema"][:1]}  # all tables would take seconds each time
    assert faults(document) == []
    assert faults(document | {"apiVersion": "v0"})
    assert faults(document | {"made_up": 1})
    assert faults(document | {"servers": [{"server": "snapshot", "type": "duckdb"}]})


def test_it_is_read_by_the_standards_own_model(text):
    read = OpenDataContractStandard.from_string(text)
    assert [table.name for table in read.schema_] == [table.full_name for table in TABLES]
    assert {server.type for server in read.servers} == {"duckdb", "local"}


def test_the_contract_has_every_column_as_declared(document, properties):
    assert len(properties) == sum(len(table.columns) for table in TABLES)
    for table in TABLES:
        for column in table.columns:
            found = properties[table.full_name, column.name]
            assert found["physicalType"] == column.sql_type
            assert found["required"] is not column.nullable
            assert found["description"] == column.description
            assert [each["value"] for each in found.get("enum", [])] == list(column.allowed)
            assert custom(found).get("source") == column.source
            unit = custom(found).get("ucumCode")
            assert unit == (None if column.unit == "UTC" else column.unit)
    for table, found in zip(TABLES, document["schema"], strict=True):
        assert custom(found).get("version") == table.version
        assert found["dataGranularityDescription"] == table.grain


def test_ranges_times_and_lists_are_in_the_standards_words(properties):
    thickness = properties["records.thickness", "thickness_um"]
    assert thickness["logicalTypeOptions"] == {"exclusiveMinimum": 0, "maximum": 50000}
    assert properties["sheet", "sheet_id"]["logicalTypeOptions"] == {"minLength": 1, "maxLength": 80}
    formed = properties["sheet", "formed_at_utc"]
    assert formed["logicalType"] == "timestamp"
    assert formed["logicalTypeOptions"] == {"timezone": False, "defaultTimezone": "Etc/UTC"}
    force = properties["records.tensile_curve", "force_n"]
    assert (force["logicalType"], force["items"]["logicalType"]) == ("array", "number")


def test_the_rules_of_whole_rows_are_quality_rules(document):
    (climate,) = (table for table in document["schema"] if table["name"] == "records.climate")
    assert {rule["type"] for rule in climate["quality"]} == {"text"}
    assert any("wet bulb" in rule["description"] for rule in climate["quality"])


def test_names_that_others_refer_to_are_unique_within_their_list(document):
    for table in document["schema"]:
        ids = [column["id"] for column in table["properties"]]
        assert len(set(ids)) == len(ids)
    ids = [table["id"] for table in document["schema"]]
    assert len(set(ids)) == len(ids)


def test_the_same_declarations_give_the_same_text(text):
    assert contract(published_tables(), record_tables(), []) == text
    changed = contract(published_tables(), record_tables(), [Change(7, "sheet", 2, "New column: a.")])
    assert yaml.safe_load(changed)["version"] == "7"


def test_nothing_in_it_points_to_another_place_of_it(text):
    tokens = {type(token).__name__ for token in yaml.scan(text, Loader=yaml.CSafeLoader)}
    assert "KeyToken" in tokens
    assert not tokens & {"AnchorToken", "AliasToken"}


def test_every_unit_has_a_name_and_every_name_its_unit():
    assert list(MEANING_OF_UNIT) == list(SUFFIX_OF_UNIT)


@pytest.mark.parametrize("unit", [unit for unit in SUFFIX_OF_UNIT if unit not in ("1", "UTC")])
def test_every_unit_is_one_that_exports_may_be_in(unit):
    assert conversion(unit, unit).factor == pytest.approx(1)
    with pytest.raises(UnitError):
        conversion(unit, "K" if unit != "Cel" else "N")
