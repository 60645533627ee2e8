"""Queries to a snapshot: nothing is changed by them, nothing outside is reached, and mistakes are explained."""

import hashlib

import pytest

from pipelines.errors import UsageError
from pipelines.warehouse.asking import ask


@pytest.mark.parametrize(
    "query",
    [
        "SELECT * FROM read_csv('{file}')",
        "SELECT * FROM read_text('{file}')",
        "SELECT * FROM read_blob('{file}')",
        "SELECT * FROM read_parquet('{file}')",
        "SELECT * FROM glob('{folder}/*')",
        "SELECT * FROM '{file}'",
        "COPY sheet TO '{folder}/out.csv'",
        "COPY sheet FROM '{file}'",
        "EXPORT DATABASE '{folder}/out'",
        "ATTACH '{folder}/other.duckdb' AS other",
        "ATTACH ':memory:' AS other",
        "INSTALL httpfs",
        "LOAD httpfs",
        "SET enable_external_access = true",
        "SET threads = 1",
        "SET GLOBAL memory_limit = '1TB'",
        "RESET enable_external_access",
        "PRAGMA threads = 1",
        "SET profiling_output = '{folder}/out.json'",
        "SET temp_directory = '{folder}'",
    ],
)
def test_nothing_outside_is_reached(demo_night, tmp_path, query):
    (tmp_path / "secret.csv").write_text("secret\n42\n")
    with pytest.raises(UsageError) as refused:
        ask(demo_night.snapshot, query.format(file=tmp_path / "secret.csv", folder=tmp_path))
    assert "42" not in str(refused.value)
    assert [path.name for path in tmp_path.iterdir()] == ["secret.csv"]


@pytest.mark.parametrize(
    "query",
    [
        "DELETE FROM sheet",
        "UPDATE sheet SET grammage_g_m2 = 80",
        "INSERT INTO night SELECT * FROM night",
        "DROP TABLE sheet",
        "DROP SCHEMA records CASCADE",
        "CREATE TABLE mine AS SELECT 1",
        "CREATE OR REPLACE MACRO tensile_index_nm_g(a, b) AS 0",
        "ALTER TABLE sheet ADD COLUMN mine INTEGER",
        "COMMENT ON TABLE sheet IS 'mine'",
        "TRUNCATE sheet",
    ],
)
def test_nothing_is_changed(demo_night, query):
    before = hashlib.sha256(demo_night.snapshot.read_bytes()).hexdigest()
    with pytest.raises(UsageError) as refused:
        ask(demo_night.snapshot, query)
    assert refused.value.remedy == "The snapshot is read-only: what it says can be asked, not changed."
    assert hashlib.sha256(demo_night.snapshot.read_bytes()).hexdigest() == before


@pytest.mark.parametrize(
    "query", ["", " ;", "-- nothing", "SELECT 1; SELECT 2", "SELECT 1; DROP TABLE sheet;", "BEGIN; SELECT 1"]
)
def test_one_statement_is_asked_at_a_time(demo_night, query):
    with pytest.raises(UsageError, match="one SQL statement"):
        ask(demo_night.snapshot, query)


@pytest.mark.parametrize("query", ["SELECT 1;", "-- why\nSELECT 1 -- that is why", "FROM (SELECT ';')"])
def test_a_comment_or_a_semicolon_is_no_second_statement(demo_night, query):
    assert ask(demo_night.snapshot, query).num_rows == 1


@pytest.mark.parametrize(
    ("query", "meant"),
    [
        ("SELECT tensile_indx_md_nm_g FROM sheet", "tensile_index_md_nm_g"),
        ("SELECT TENSILE_INDX_MD_NM_G FROM sheet", "tensile_index_md_nm_g"),
        ("SELECT s.grammage FROM sheet AS s", "grammage_g_m2"),
        ("FROM sheet ORDER BY formd_at_utc", "formed_at_utc"),
        ("FROM sheets", "sheet"),
        ("FROM records.tensil", "tensile"),
        ("SELECT tensile_indx_nm_g(1, 2)", "tensile_index_nm_g"),
        ("SELECT sheet_id FROM sheet GROUP BY sheet_id HAVING count(trail) > 1", "trial"),
    ],
)
def test_the_nearest_right_name_is_suggested(demo_night, query, meant):
    with pytest.raises(UsageError) as refused:
        ask(demo_night.snapshot, query)
    assert refused.value.remedy.startswith("Did you mean ")
    assert meant in refused.value.remedy.removeprefix("Did you mean ").removesuffix("?").split(" or ")
    assert "Candidate" not in refused.value.what
    assert "Did you mean" not in refused.value.what


def test_a_name_that_is_near_none_leads_to_the_list(demo_night):
    with pytest.raises(UsageError) as refused:
        ask(demo_night.snapshot, "FROM zzzzqqqq")
    assert "SHOW ALL TABLES" in refused.value.remedy
    assert ask(demo_night.snapshot, "SHOW ALL TABLES").num_rows > 20


def test_a_mistake_in_the_grammar_is_shown_where_it_stands(demo_night):
    with pytest.raises(UsageError, match=r'syntax error at or near "SELEC"[\s\S]*\n *\^'):
        ask(demo_night.snapshot, "SELEC 1")


def test_a_mistake_within_the_answer_is_a_wrong_query_too(demo_night):
    """Some faults come only when rows are fetched."""
    with pytest.raises(UsageError, match="Could not convert"):
        ask(demo_night.snapshot, "SELECT sheet_id::INTEGER FROM sheet")


def test_times_are_answered_in_utc(demo_night):
    """A snapshot has times without a zone; a query that asks for the zone of the session must find UTC."""
    assert ask(demo_night.snapshot, "SELECT current_setting('TimeZone') AS zone").to_pylist() == [
        {"zone": "UTC"}
    ]
