"""The warehouse holds each record once; its status is set in place."""

import os

from pipelines.flows import steps
from pipelines.warehouse.connection import working
from schemas.records import STORED

STATUSES = "SELECT position_no, thickness_um, record_status FROM records.thickness ORDER BY ALL"


def written_later(path):
    """Date a file a minute later, because of two files of equal time none is newer."""
    written = path.stat().st_mtime + 60
    os.utime(path, (written, written))


def test_a_record_is_stored_once_whatever_its_status(small):
    small.log("log.csv", "S1,T,P,")
    small.readings("a.csv", "S1,1,100,AB", "S1,2,101,AB")
    steps.run(small)
    written_later(small.readings("b.csv", "S1,1,100,AB", "S1,2,102,AB"))
    steps.run(small)
    with working(small.warehouse) as connection:
        tables = connection.execute(
            "SELECT schema_name, table_name FROM duckdb_columns() WHERE column_name = 'record_digest'"
        ).fetchall()
        assert sorted(tables) == sorted([("ledger", "curve_result"), *(("records", kind) for kind in STORED)])
        assert connection.execute(STATUSES).fetchall() == [
            (1, 100, "loaded"), (1, 100, "repeated"), (2, 101, "superseded"), (2, 102, "loaded")
        ]  # fmt: skip


def test_the_second_copy_that_earlier_versions_stored_is_removed(small):
    small.readings("a.csv", "S1,1,100,AB")
    steps.run(small)
    with working(small.warehouse) as connection:
        connection.execute("CREATE SCHEMA received")
        connection.execute(
            "CREATE TABLE received.thickness AS SELECT * EXCLUDE (record_status, superseded_by) FROM records.thickness"
        )
    written_later(small.readings("b.csv", "S1,1,101,AB"))
    steps.run(small)
    with working(small.warehouse) as connection:
        schemas = {
            row[0] for row in connection.execute("SELECT schema_name FROM duckdb_schemas()").fetchall()
        }
        assert "received" not in schemas
        assert connection.execute(STATUSES).fetchall() == [(1, 100, "superseded"), (1, 101, "loaded")]
