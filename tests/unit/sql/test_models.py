"""What holds of every SQL file: its head, its place in the order, and that marts give what they declare."""

import re

import pytest

from pipelines.dictionary.declared import sql_type
from pipelines.warehouse.building import LAYERS
from pipelines.warehouse.statements import header, names, statement
from schemas.columns import SUFFIX_OF_UNIT
from schemas.marts import MARTS, quantities

FOLDERS = (*LAYERS, "marts")
MODELS = [name for folder in FOLDERS for name in names(folder)]
CHECKS = list(names("checks"))
PAGES = list(names("pages"))
BEFORE = {folder: {"records", "ledger", *FOLDERS[:place]} for place, folder in enumerate(FOLDERS)}

SETTINGS = {"main.setting", "main.tester_accuracy"}

READ = re.compile(r"(?<!DISTINCT )\b(?:FROM|JOIN)\s+(\w+)\.(\w+)")


def inputs_of(text: str) -> set[tuple[str, str]]:
    code = "\n".join(line for line in text.splitlines() if not line.lstrip().startswith("--"))
    return set(READ.findall(code))


@pytest.mark.parametrize("name", MODELS)
def test_a_model_reads_only_from_before_its_layer(name: str) -> None:
    layer = name.partition("/")[0]
    for schema, table in inputs_of(statement(name)):
        assert schema in BEFORE[layer] or f"{schema}.{table}" in SETTINGS, f"{schema}.{table}"


@pytest.mark.parametrize("name", MODELS + CHECKS + PAGES)
def test_a_head_says_purpose_grain_and_every_input(name: str) -> None:
    head = header(statement(name))
    assert re.match(r"(Purpose|Must hold): ", head)
    assert re.search(r"^Grain: One row ", head, re.MULTILINE)
    stated = " ".join(head.partition("Inputs:")[2].split())
    for schema, table in inputs_of(statement(name)):
        assert f"{schema}.{table}" in stated, f"{schema}.{table} is read but not stated"


@pytest.mark.parametrize("name", MODELS + CHECKS + PAGES)
def test_a_file_is_one_statement_that_selects(name: str) -> None:
    code = "\n".join(line for line in statement(name).splitlines() if not line.startswith("--"))
    assert ";" not in re.sub(r"'[^']*'", "", code), "outside texts"
    assert code.split()[0] in ("SELECT", "WITH")


@pytest.mark.parametrize("name", names("macros"))
def test_a_macro_is_named_as_its_file_and_says_its_source(name: str) -> None:
    text = statement(name)
    assert f"CREATE OR REPLACE MACRO {name.removeprefix('macros/')}(" in text
    assert "Source: " in header(text).replace("\n", " ")


def test_every_mart_with_a_statement_is_declared() -> None:
    assert {name.removeprefix("marts/") for name in names("marts")} <= set(MARTS)


@pytest.mark.parametrize("name", names("marts"))
def test_a_mart_gives_exactly_what_it_declares(warehouse, name: str) -> None:
    warehouse.build()
    given = {row["column_name"]: row["column_type"] for row in warehouse.rows(f"DESCRIBE {statement(name)}")}
    columns = MARTS[name.removeprefix("marts/")].to_schema().columns
    assert set(given) == set(columns)
    for column, declared in columns.items():
        assert given[column] == sql_type(declared), column


@pytest.mark.parametrize("mart", MARTS)
def test_a_marts_columns_end_in_their_unit_and_are_described(mart: str) -> None:
    for name, declared in MARTS[mart].to_schema().columns.items():
        assert declared.description, name
        unit = declared.metadata["unit"]
        suffix = SUFFIX_OF_UNIT[unit] if unit else ""
        assert name.endswith(suffix), f"{name} in {unit}"


def test_quantities_of_sql_are_those_of_the_models(warehouse) -> None:
    warehouse.build()
    listed = {
        (row["piece_column"], row["property"], row["basis"], row["unit"], row["suffix"])
        for row in warehouse.rows("FROM staging.quantity")
    }
    declared = set()
    for quantity in quantities.TENSILE:
        suffix = SUFFIX_OF_UNIT[quantity.unit]
        if quantity in quantities.PER_GRAMMAGE:
            for basis in quantities.BASES:
                declared.add((quantity.column_name(basis), quantity.name, basis, quantity.unit, suffix))
        else:
            declared.add((quantity.column_name(), quantity.name, None, quantity.unit, suffix))
    assert listed == declared


def test_macros_and_models_carry_their_heads_as_comments(warehouse) -> None:
    warehouse.build()
    (macro,) = warehouse.rows(
        "SELECT comment FROM duckdb_functions() WHERE function_name = 'breaking_length_km'"
    )
    assert "9.80665" in macro["comment"]
    uncommented = warehouse.rows(
        "SELECT schema_name, table_name FROM duckdb_tables() "
        "WHERE comment IS NULL AND schema_name NOT IN ('ledger', 'received')"
    )
    assert uncommented == []


def test_building_again_gives_the_same(warehouse) -> None:
    warehouse.add("forming", stock_volume_l=4.0, consistency_pct=0.3)
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    warehouse.add("tensile")
    warehouse.build()
    first = warehouse.rows("FROM sheet_property ORDER BY ALL")
    warehouse.build()
    assert warehouse.rows("FROM sheet_property ORDER BY ALL") == first
    assert len(first) > 0
