"""What holds for every SQL file: its header, its place in the build order, and that marts give what they declare."""

import re
from pathlib import Path

from pipelines.dictionary.declared import sql_type
from pipelines.warehouse.building import model_schemas
from pipelines.warehouse.statements import header, inputs, models, names, statement
from schemas.marts import marts
from schemas.names import NEVER_POOLED
from schemas.properties import registry
from schemas.records import STORED
from schemas.units import SUFFIX_OF_UNIT

MODELS = list(models())
CHECKS = list(names("checks"))
PAGES = list(names("pages"))

READ = re.compile(r"(?<!DISTINCT )\b(?:FROM|JOIN)\s+(\w+)\.(\w+)")


def inputs_of(text: str) -> set[tuple[str, str]]:
    code = "\n".join(line for line in text.splitlines() if not line.lstrip().startswith("--"))
    return set(READ.findall(code))


def test_a_model_is_built_after_all_that_it_reads() -> None:
    place = {name.replace("marts/", "main/").replace("/", "."): order for order, name in enumerate(MODELS)}
    too_early = [
        f"{name} before {schema}.{table}"
        for order, name in enumerate(MODELS)
        for schema, table in inputs_of(statement(name))
        if place.get(f"{schema}.{table}", -1) >= order
    ]
    assert too_early == []


def test_every_folder_of_models_is_built() -> None:
    assert {name.partition("/")[0] for name in MODELS} == {*model_schemas(), "marts"}
    built = {*model_schemas(), "marts", "macros", "records", "fitted", "checks", "pages"}
    assert {path.parent.name for path in Path("sql").glob("*/*.sql")} == built


def test_a_header_states_purpose_grain_and_exactly_the_inputs() -> None:
    faults = []
    for name in MODELS + CHECKS + PAGES:
        head = header(statement(name))
        if not re.match(r"(Purpose|Must hold): ", head):
            faults.append(f"{name}: no purpose")
        if not re.search(r"^Grain: One row ", head, re.MULTILINE):
            faults.append(f"{name}: no grain")
        read = {f"{schema}.{table}" for schema, table in inputs_of(statement(name))}
        if "every kind of record" in head:
            assert read.issuperset({f"records.{kind}" for kind in STORED})
            read -= {f"records.{kind}" for kind in STORED}
        if read != inputs(name):
            faults.append(f"{name}: states other inputs than it reads: {sorted(read ^ inputs(name))}")
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
    listed = {(row["property"], row["unit"]) for row in warehouse.rows("FROM value.property")}
    assert listed == {(entry.name, entry.unit) for entry in registry().values()}


def test_what_may_never_be_pooled_stands_in_readings_and_in_means() -> None:
    for mart in ("reading", "sheet_property", "trial_point_property"):
        assert set(NEVER_POOLED) <= set(marts()[mart].to_schema().columns), mart


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
