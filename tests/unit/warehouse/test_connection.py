"""How databases are opened: what a reader of a snapshot can reach, and where a large query puts what memory lacks."""

import tempfile
from pathlib import Path

import duckdb
import pytest

from pipelines.warehouse import connection
from pipelines.warehouse.connection import reading, working

LARGE = (
    "SELECT count(*), max(text) FROM "
    "(SELECT range::VARCHAR || 'a text of some length' AS text FROM range(3000000) ORDER BY hash(range))"
)


def test_spilled_data_goes_to_temporary_files_and_is_removed(demo_night, monkeypatch, tmp_path):
    published = demo_night.snapshot.parent
    before = {path.name for path in published.iterdir()}
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setitem(connection.OFFLINE, "memory_limit", "100MB")
    with reading(demo_night.snapshot) as opened:
        spilled = Path(opened.execute("SELECT current_setting('temp_directory')").fetchall()[0][0])
        result = opened.execute(LARGE)
        assert spilled.is_dir(), "the query is large enough to need it"
        assert {path.name for path in published.iterdir()} == before
        assert result.fetchall() == [(3000000, "9a text of some length")]
    assert spilled.parent == tmp_path
    assert not spilled.exists()


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE mine (n INTEGER)",
        "DELETE FROM sheet",
        "SET enable_external_access = true",
        "SET temp_directory = 'elsewhere'",
        "COPY sheet TO 'sheets.csv'",
        "SELECT * FROM read_csv('/etc/hosts')",
        "ATTACH 'other.duckdb'",
        "INSTALL httpfs",
        "LOAD httpfs",
    ],
)
def test_a_reader_changes_nothing_and_reaches_nothing_else(demo_night, statement):
    with reading(demo_night.snapshot) as opened, pytest.raises(duckdb.Error):
        opened.execute(statement)


def test_a_run_keeps_memory_within_two_gigabytes_and_spills_outside_the_laboratory(tmp_path):
    with working(tmp_path / "warehouse.duckdb") as connection:
        settings = dict(
            connection.execute(
                "SELECT name, value FROM duckdb_settings() WHERE name IN ('memory_limit', 'temp_directory')"
            ).fetchall()
        )
    assert settings["memory_limit"] == "1.3 GiB"
    assert not settings["temp_directory"].startswith(str(tmp_path))
