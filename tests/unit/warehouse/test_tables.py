"""From models to tables: types, comments, changed declarations, and statements read from files."""

import math

import pandas as pd
import pandera.pandas as pa
import pytest

from pipelines.dictionary.declared import columns_of, describe
from pipelines.warehouse import building, statements
from pipelines.warehouse.connection import reading, transaction, working
from pipelines.warehouse.loading import ensure_tables, store
from pipelines.warehouse.tables import (
    comment_on_columns,
    create_table,
    ensure_table,
    fingerprint,
    literal,
    quoted,
)
from schemas.columns import Flag, Integer, Timestamp, column
from schemas.records import KINDS


class Before(pa.DataFrameModel):
    """One row per thing: it's said "so".

    More words.
    """

    name: str = column("What it's called.")
    mass_g: float = column("Mass.", unit="g", source="ISO 536", nullable=True)


class After(Before):
    count: Integer = column("How many.", unit="1", nullable=True)
    whole: Flag = column("Whether.", nullable=True)
    made_at_utc: Timestamp = column("When.", unit="UTC", nullable=True)


class Fewer(pa.DataFrameModel):
    """One row per thing."""

    name: str = column("What it's called.")


@pytest.fixture
def connection():
    with working() as opened:
        yield opened


def test_a_table_is_made_as_declared(connection):
    create_table(connection, "main.things", After)
    comment_on_columns(connection, "main.things", After)
    assert connection.execute(
        "SELECT column_name, data_type, is_nullable, comment FROM duckdb_columns() WHERE table_name = 'things'"
    ).fetchall() == [
        ("name", "VARCHAR", False, "What it's called."),
        ("mass_g", "DOUBLE", True, "Mass. Unit: g. Source: ISO 536."),
        ("count", "BIGINT", True, "How many."),
        ("whole", "BOOLEAN", True, "Whether."),
        ("made_at_utc", "TIMESTAMP", True, "When."),
    ]


def test_the_comment_of_a_table_is_the_first_line_of_its_docstring(connection):
    create_table(connection, "main.things", Before)
    assert connection.execute("SELECT comment FROM duckdb_tables()").fetchall() == [
        ("""One row per thing: it's said "so".""",)
    ]


def test_a_table_declared_otherwise_keeps_its_rows(connection):
    ensure_table(connection, "kept.things", Before)
    connection.execute("INSERT INTO kept.things VALUES ('A', 1.5)")
    ensure_table(connection, "kept.things", After)
    assert connection.execute("FROM kept.things").fetchall() == [("A", 1.5, None, None, None)]
    ensure_table(connection, "kept.things", Fewer)
    assert connection.execute("FROM kept.things").fetchall() == [("A",)]


def test_a_table_that_matches_its_model_is_unchanged(connection):
    ensure_table(connection, "kept.things", Before)
    connection.execute("COMMENT ON TABLE kept.things IS 'left alone'")
    ensure_table(connection, "kept.things", Before)
    assert connection.execute("SELECT comment FROM duckdb_tables()").fetchall() == [("left alone",)]


def test_the_fingerprint_of_a_table_changes_with_its_checks():
    class Checked(Before):
        mass_g: float = column("Mass.", unit="g", source="ISO 536", nullable=True, gt=0)

    class Reworded(Before):
        mass_g: float = column("The mass.", unit="g", nullable=True)

    assert len({fingerprint(Before), fingerprint(After), fingerprint(Checked)}) == 3
    assert fingerprint(Reworded) == fingerprint(Before), "words alone are no reason to read files again"


def test_a_type_without_a_place_in_sql_is_refused(connection):
    class Odd(pa.DataFrameModel):
        """One row per oddity."""

        value: pa.typing.Series[complex] = pa.Field(description="Odd.")

    with pytest.raises(TypeError, match="value: no SQL type"):
        create_table(connection, "main.odd", Odd)


def test_a_dimensionless_number_and_a_time_need_no_unit_in_their_comment():
    declared = columns_of(After)
    assert describe(declared["count"]) == "How many."
    assert describe(declared["made_at_utc"]) == "When."


@pytest.mark.parametrize("text", ["plain", "it's", "''", 'say "no"', "a\nb", "", "; DROP TABLE x; --"])
def test_texts_and_names_are_quoted(connection, text):
    assert connection.execute(f"SELECT {literal(text)}").fetchone() == (text,)
    if text:
        assert connection.execute(f"SELECT 1 AS {quoted(text)}").description[0][0] == text


# Connections


def test_a_transaction_is_done_whole_or_not_at_all(connection):
    connection.execute("CREATE TABLE things (name VARCHAR)")
    with transaction(connection):
        connection.execute("INSERT INTO things VALUES ('kept')")
    with pytest.raises(KeyboardInterrupt), transaction(connection):
        connection.execute("INSERT INTO things VALUES ('lost')")
        raise KeyboardInterrupt
    assert connection.execute("FROM things").fetchall() == [("kept",)]


def test_a_snapshot_is_never_made_by_looking_for_it(tmp_path):
    with pytest.raises(Exception, match="does not exist"), reading(tmp_path / "none.duckdb"):
        pass
    assert list(tmp_path.iterdir()) == []


# Statements


def test_the_head_of_a_statement_is_its_first_comment():
    assert statements.header("-- Purpose: a\n--     b\nSELECT 1\n-- not this\n") == "Purpose: a\nb"
    assert statements.header("SELECT 1") == ""


def test_every_statement_is_found_by_name_and_begins_with_words():
    folders = {"macros", "marts", "records", "checks", *building.model_schemas()}
    for folder in folders:
        assert statements.names(folder)
        assert list(statements.names(folder)) == sorted(statements.names(folder))
        for name in statements.names(folder):
            assert statements.header(statements.statement(name)), name


def test_the_fingerprint_of_the_statements_changes_with_any(monkeypatch):
    before = statements.fingerprint.__wrapped__()
    real = statements.statement
    monkeypatch.setattr(
        statements, "statement", lambda name: real(name) + (" " if name == "checks/values_are_finite" else "")
    )
    assert statements.fingerprint.__wrapped__() != before


# Keys and digests of records


@pytest.fixture
def stored(connection):
    """Store moisture records, each given as tester and sheet, and return their keys and digests."""
    ensure_tables(connection)
    columns = list(columns_of(KINDS["moisture"]))

    def store_all(*rows):
        frame = pd.DataFrame(
            [
                dict.fromkeys(columns)
                | {
                    "file_hash": "f",
                    "line_number": line,
                    "specimen_no": 1,
                    "mass_before_g": 2.0,
                    "mass_after_g": 1.9,
                }
                | row
                for line, row in enumerate(rows, start=1)
            ]
        )
        store(connection, "moisture", frame)
        return connection.execute(
            "SELECT record_key, record_digest FROM records.moisture ORDER BY line_number"
        ).fetchall()

    return store_all


def test_records_of_different_things_have_different_keys(stored):
    found = stored(
        {"tester": "a | b", "sheet_id": "c"},
        {"tester": "a", "sheet_id": "b | c"},
        {"tester": "a || b", "sheet_id": "c"},
        {"tester": "a |", "sheet_id": "| c"},
        {"tester": "a", "sheet_id": "c"},
        {"tester": "A", "sheet_id": "c"},
    )
    assert len({key for key, _ in found}) == len(found)


def test_records_with_the_same_values_have_the_same_digest_and_others_not(stored):
    same = {"tester": "a", "sheet_id": "b"}
    found = stored(
        same,
        same,
        same | {"mass_after_g": math.nextafter(1.9, 2)},
        same | {"operator": ""},
        same | {"operator": "x"},
    )
    digests = [digest for _, digest in found]
    assert digests[0] == digests[1]
    assert len(set(digests)) == 4
    assert len({key for key, _ in found}) == 1
