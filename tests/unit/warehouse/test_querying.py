"""Queries to a snapshot: they change nothing, reach nothing outside, and errors are explained."""

import hashlib
import os
import signal
from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime

import duckdb
import pytest

from pipelines.errors import UsageError
from pipelines.warehouse import querying
from pipelines.warehouse.connection import reading, working
from pipelines.warehouse.querying import answer, ask


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
    assert refused.value.remedy == "The snapshot is read-only: query it, but do not change it."
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
        ("FROM records.tensil", "records.tensile"),
        ("FROM tensil", "records.tensile"),
        ("SELECT medain(1)", "median"),
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


@pytest.mark.parametrize(
    ("query", "remedy"),
    [
        (
            "SELECT break_position_mm FROM sheet",
            "break_position_mm is a column of test_piece and of records.tensile.",
        ),
        ("SELECT break_positio_mm FROM night", "Did you mean break_position_mm of test_piece"),
        ("SELECT zzzzqqqq FROM night", "Its columns: DESCRIBE night"),
    ],
)
def test_a_column_of_another_table_is_suggested(demo_night, query, remedy):
    with pytest.raises(UsageError) as refused:
        ask(demo_night.snapshot, query)
    assert refused.value.remedy.startswith(remedy)


def test_names_of_the_tables_asked_come_before_those_of_others(demo_night):
    """test_piece has a column stretch_pct, which would be nearer."""
    with pytest.raises(UsageError) as refused:
        ask(demo_night.snapshot, "SELECT stretch_mpct FROM sheet")
    assert refused.value.remedy == "Did you mean stretch_md_pct or stretch_cd_pct or stretch_md_cd_ratio?"


@pytest.mark.parametrize(
    ("query", "caret"),
    [
        (
            "SELECT sheet_id, grammage FROM sheet",
            "LINE 1: SELECT sheet_id, grammage FROM sheet\n" + " " * 25 + "^",
        ),
        ("SELECT sheet_id,\n    'µ', grammage\nFROM sheet", "LINE 2:     'µ', grammage\n" + " " * 17 + "^"),
    ],
)
def test_a_mistake_is_pointed_at(demo_night, query, caret):
    with pytest.raises(UsageError) as refused:
        ask(demo_night.snapshot, query)
    assert refused.value.what.endswith(caret)


def test_a_query_that_needs_too_much_memory_gets_a_remedy():
    with working() as connection:
        connection.execute("SET memory_limit = '20MB'; SET temp_directory = ''")
        with (
            pytest.raises(UsageError, match=r"Out of Memory[\s\S]*GROUP BY"),
            answer(connection, "SELECT list(range::VARCHAR) FROM range(10000000)") as found,
        ):
            found.arrow().read_all()


def test_an_answer_that_is_given_up_frees_the_snapshot(demo_night):
    """DuckDB waits for a database that is still being read before it opens it again."""
    with reading(demo_night.snapshot) as connection, answer(connection, "FROM range(1000000)") as found:
        assert next(found.rows()) == (0,)
    assert ask(demo_night.snapshot, "SELECT 1 AS n").num_rows == 1


@pytest.fixture
def ctrl_c_is_heard():
    """Where tests are run in the background, their process ignores Ctrl-C."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


class InterruptedExecutor(ThreadPoolExecutor):
    """Sends Ctrl-C as soon as something waits for its work."""

    def submit(self, *work):
        future = super().submit(*work)
        result = future.result

        def interrupted():
            os.kill(os.getpid(), signal.SIGINT)
            return result()

        future.result = interrupted
        return future


def test_ctrl_c_interrupts_the_query_and_not_the_connection(demo_night, ctrl_c_is_heard, monkeypatch):
    query = "SELECT count(*) FROM range(10000000) AS a, range(10000000) AS b WHERE a.range * b.range = 7"
    with reading(demo_night.snapshot) as connection:
        with monkeypatch.context() as patched:
            patched.setattr(querying, "ThreadPoolExecutor", InterruptedExecutor)
            with pytest.raises(KeyboardInterrupt), answer(connection, query) as found:
                list(found.rows())
        with answer(connection, "SELECT 1 AS n") as found:
            assert found.arrow().read_all().to_pylist() == [{"n": 1}]


@pytest.mark.parametrize("value", ["infinity", "-infinity", "12026-10-01", "0044-03-15 (BC)"])
@pytest.mark.parametrize("kind", ["DATE", "TIMESTAMP", "TIMESTAMPTZ"])
def test_a_date_that_python_does_not_have_is_an_error(demo_night, kind, value):
    with (
        reading(demo_night.snapshot) as connection,
        answer(connection, f"SELECT 1, '{value}'::{kind} AS d FROM range(2000)") as found,
        pytest.raises(UsageError, match=r"column d cannot be shown[\s\S]*::VARCHAR"),
    ):
        list(found.rows())


@pytest.mark.parametrize(
    "value", ["[DATE 'infinity']", "{'a': [TIMESTAMP '-infinity']}", "map([1], [DATE 'infinity'])"]
)
def test_an_infinite_date_within_a_value_is_an_error(demo_night, value):
    with (
        reading(demo_night.snapshot) as connection,
        answer(connection, f"SELECT {value}") as found,
        pytest.raises(UsageError, match="::VARCHAR"),
    ):
        list(found.rows())


def test_other_dates_are_values(demo_night):
    query = "SELECT DATE '9999-12-30', TIMESTAMP '0001-01-01 00:00:01', NULL::DATE, '9999-12-31'"
    with reading(demo_night.snapshot) as connection, answer(connection, query) as found:
        assert list(found.rows()) == [
            (date(9999, 12, 30), datetime(1, 1, 1, 0, 0, 1), None, "9999-12-31"),
        ]


def test_the_first_rows_come_with_the_count_of_all(demo_night):
    with reading(demo_night.snapshot) as connection, answer(connection, "FROM range(250000)") as found:
        rows, total = found.first(3)
    assert (rows, total) == ([(0,), (1,), (2,)], 250_000)


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


@pytest.mark.parametrize("read", [lambda found: list(found.rows()), lambda found: found.arrow().read_all()])
def test_an_error_in_a_late_row_is_reported_like_one_in_the_first(demo_night, read):
    query = "SELECT if(range = 900000, 'x', '1')::INTEGER FROM range(1000000)"
    with (
        reading(demo_night.snapshot) as connection,
        answer(connection, query) as found,
        pytest.raises(UsageError, match=r"^Conversion Error: Could not convert string 'x' to INT32"),
    ):
        read(found)


def test_an_error_while_fetching_is_reported_even_if_duckdb_says_interrupted(demo_night, monkeypatch):
    first = iter([duckdb.InterruptException("INTERRUPT Error: Interrupted!")])

    def interrupted(connection, work):
        for error in first:
            raise error
        return work()

    monkeypatch.setattr(querying, "_interruptibly", interrupted)
    with pytest.raises(UsageError, match="too late"):
        ask(
            demo_night.snapshot,
            "SELECT if(range = 5, error($what), range) FROM range(9)",
            {"what": "too late"},
        )


def test_times_are_answered_in_utc(demo_night):
    """A snapshot has times without a zone; a query that asks for the zone of the session must find UTC."""
    assert ask(demo_night.snapshot, "SELECT current_setting('TimeZone') AS zone").to_pylist() == [
        {"zone": "UTC"}
    ]
