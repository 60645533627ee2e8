"""Dictionary and contract beside a snapshot: they have the same texts as the snapshot's comments."""

import os

import pytest
import yaml

from pipelines.dictionary import documents
from pipelines.dictionary.declared import published_tables, record_tables
from pipelines.warehouse.connection import reading
from pipelines.warehouse.statements import formulas

DECLARED = {(table.schema, table.name): table for table in (*published_tables(), *record_tables())}


@pytest.fixture(scope="module")
def published(demo_night):
    return demo_night.laboratory.published


@pytest.fixture(scope="module")
def snapshot(demo_night):
    with reading(demo_night.snapshot) as connection:
        yield connection


def test_a_run_writes_both_documents(published):
    assert (published / "dictionary.md").read_text(encoding="utf-8").startswith("# Data dictionary\n")
    assert (
        yaml.safe_load((published / "contract.odcs.yaml").read_text(encoding="utf-8"))["kind"]
        == "DataContract"
    )


def test_both_documents_have_every_table_of_the_snapshot(published, snapshot):
    found = snapshot.execute("SELECT schema_name, table_name FROM duckdb_tables()").fetchall()
    assert set(found) == set(DECLARED)
    contract = yaml.safe_load((published / "contract.odcs.yaml").read_text(encoding="utf-8"))
    assert {table["physicalName"] for table in contract["schema"]} == {".".join(key) for key in found}
    lines = (published / "dictionary.md").read_text(encoding="utf-8").splitlines()
    for table in DECLARED.values():
        assert f"### {table.full_name}" in lines


def test_comments_in_the_snapshot_equal_the_dictionary(snapshot):
    columns = snapshot.execute(
        "SELECT schema_name, table_name, column_name, data_type, is_nullable, comment FROM duckdb_columns() "
        "WHERE NOT internal ORDER BY ALL"
    ).fetchall()
    assert columns == sorted(
        (*key, column.name, column.sql_type, column.nullable, column.comment)
        for key, table in DECLARED.items()
        for column in table.columns
    )
    tables = snapshot.execute("SELECT schema_name, table_name, comment FROM duckdb_tables()").fetchall()
    assert {(schema, name): comment for schema, name, comment in tables} == {
        key: table.grain for key, table in DECLARED.items()
    }


def test_every_formula_has_in_the_snapshot_the_parameters_it_has_here(snapshot):
    found = snapshot.execute(
        "SELECT function_name, parameters FROM duckdb_functions() WHERE NOT internal"
    ).fetchall()
    assert dict(found) == {
        formula.name: [parameter.split(" := ")[0] for parameter in formula.parameters]
        for formula in formulas()
    }


def test_files_named_in_the_contract_exist(published):
    contract = yaml.safe_load((published / "contract.odcs.yaml").read_text(encoding="utf-8"))
    servers = {server["type"]: server for server in contract["servers"]}
    assert (published / servers["duckdb"]["database"]).is_file()
    files = {path.stem for path in published.glob(servers["local"]["path"])}
    assert files == {table.name for table in published_tables()}


def test_an_unchanged_file_is_not_rewritten(tmp_path):
    documents.write(tmp_path, formulas())
    contract = tmp_path / "contract.odcs.yaml"
    os.utime(contract, (0, 0))
    (tmp_path / "dictionary.md").write_text("changed")
    documents.write(tmp_path, formulas())
    assert contract.stat().st_mtime_ns == 0
    assert (tmp_path / "dictionary.md").read_text(encoding="utf-8").startswith("# Data dictionary\n")
