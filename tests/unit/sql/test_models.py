"""What holds for every SQL file: its header, its place in the build order, and that marts give what they declare."""

import re

from pipelines.dictionary.declared import sql_type
from pipelines.warehouse.building import LAYERS
from pipelines.warehouse.statements import header, names, statement
from schemas.marts import marts
from schemas.properties import registry
from schemas.units import SUFFIX_OF_UNIT

FOLDERS = (*LAYERS, "marts")
MODELS = [name for folder in FOLDERS for name in names(folder)]
CHECKS = list(names("checks"))
PAGES = list(names("pages"))
BEFORE = {folder: {"records", "ledger", *FOLDERS[:place]} for place, folder in enumerate(FOLDERS)}

SETTINGS = {"main.setting", "main.tester_accuracy", "main.property"}

READ = re.compile(r"(?<!DISTINCT )\b(?:FROM|JOIN)\s+(\w+)\.(\w+)")


def inputs_of(text: str) -> set[tuple[str, str]]:
    code = "\n".join(line for line in text.splitlines() if not line.lstrip().startswith("--"))
    return set(READ.findall(code))


def test_a_model_reads_only_from_layers_before_its_own() -> None:
    astray = [
        f"{name} reads {schema}.{table}"
        for name in MODELS
        for schema, table in inputs_of(statement(name))
        if schema not in BEFORE[name.partition("/")[0]] and f"{schema}.{table}" not in SETTINGS
    ]
    assert astray == []


def test_a_header_states_purpose_grain_and_every_input() -> None:
    faults = []
    for name in MODELS + CHECKS + PAGES:
        head = header(statement(name))
        if not re.match(r"(Purpose|Must hold): ", head):
            faults.append(f"{name}: no purpose")
        if not re.search(r"^Grain: One row ", head, re.MULTILINE):
            faults.append(f"{name}: no grain")
        stated = " ".join(head.partition("Inputs:")[2].split())
        for schema, table in inputs_of(statement(name)):
            of_every_kind = schema == "records" and "every kind of record" in stated
            if f"{schema}.{table}" not in stated and not of_every_kind:
                faults.append(f"{name}: reads {schema}.{table} and does not state it")
    assert faults == []


def test_a_file_is_one_statement_that_selects() -> None:
    faults = []
    for name in MODELS + CHECKS + PAGES:
        code = "\n".join(line for line in statement(name).splitlines() if not line.startswith("--"))
        if ";" in re.sub(r"'[^']*'", "", code) or code.split()[0] not in ("SELECT", "WITH"):
            faults.append(name)
    assert faults == []


def test_a_macro_has_the_name_of_its_file_and_states_its_source() -> None:
    faults = [
        name
        for name in names("macros")
        if f"CREATE OR REPLACE MACRO {name.removeprefix('macros/')}(" not in statement(name)
        or "Source: " not in header(statement(name)).replace("\n", " ")
    ]
    assert names("macros")
    assert faults == []


def test_every_mart_with_a_statement_is_declared() -> None:
    assert {name.removeprefix("marts/") for name in names("marts")} <= set(marts())


def test_a_mart_has_exactly_its_declared_columns(warehouse) -> None:
    given, declared = {}, {}
    for name in names("marts"):
        mart = name.removeprefix("marts/")
        given[mart] = {
            row["column_name"]: row["column_type"] for row in warehouse.rows(f"DESCRIBE {statement(name)}")
        }
        declared[mart] = {
            column: sql_type(each) for column, each in marts()[mart].to_schema().columns.items()
        }
    assert given == declared


def test_a_marts_columns_end_in_their_unit_and_are_described() -> None:
    faults = []
    for mart, model in marts().items():
        for name, declared in model.to_schema().columns.items():
            unit = declared.metadata["unit"]
            suffix = SUFFIX_OF_UNIT[unit] if unit else ""
            if not declared.description:
                faults.append(f"{mart}.{name} has no description")
            if not name.endswith(suffix):
                faults.append(f"{mart}.{name} does not end in the suffix of {unit}")
    assert faults == []


def test_the_models_have_every_property_of_the_registry(warehouse) -> None:
    warehouse.build()
    listed = {
        (row["property"], row["unit"], row["suffix"]) for row in warehouse.rows("FROM staging.property")
    }
    assert listed == {(entry.name, entry.unit, entry.suffix) for entry in registry().values()}


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
    first = warehouse.rows("FROM sheet_property ORDER BY ALL")
    warehouse.build()
    assert warehouse.rows("FROM sheet_property ORDER BY ALL") == first
    assert len(first) > 0
