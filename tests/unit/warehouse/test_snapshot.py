"""A snapshot as other programs meet it: opened by plain DuckDB, with all that is needed to understand it."""

import json
import re
import subprocess
import sys
import threading

import duckdb
import pytest

from pipelines.errors import SheetloreError
from pipelines.flows import steps
from pipelines.warehouse import publishing
from pipelines.warehouse.connection import reading, working
from pipelines.warehouse.parquet_export import parquet_folder
from pipelines.warehouse.pointer import latest_snapshot
from pipelines.warehouse.statements import header, names, statement
from schemas.records import KINDS


def open_plainly(path):
    """Open as any reader would, without Sheetlore."""
    return duckdb.connect(str(path), read_only=True)  # noqa: TID251


@pytest.fixture
def plain(demo_night, tmp_path):
    """The snapshot, copied alone to another folder and opened without Sheetlore."""
    copy = tmp_path / "copy.duckdb"
    copy.write_bytes(demo_night.snapshot.read_bytes())
    with open_plainly(copy) as connection:
        yield connection


def test_it_is_whole_without_the_laboratory(plain):
    assert plain.execute("SELECT count(*) FROM sheet").fetchone() == (60,)
    assert not plain.execute("SELECT table_name FROM duckdb_tables() WHERE schema_name = 'ledger'").fetchall()


def test_its_formulas_are_at_hand_and_commented(plain):
    macros = dict(
        plain.execute("SELECT function_name, comment FROM duckdb_functions() WHERE NOT internal").fetchall()
    )
    assert macros == {name.rpartition("/")[2]: header(statement(name)) for name in names("macros")}
    (differing,) = plain.execute(
        "SELECT count(*) FROM test_piece "
        "WHERE abs(tensile_index_nm_g(tensile_strength_kn_m, grammage_g_m2) / tensile_index_nm_g - 1) > 1e-12"
    ).fetchone()
    assert differing == 0


def test_its_tables_and_columns_are_all_commented(plain):
    for source in ("duckdb_tables()", "duckdb_columns()"):
        (silent,) = plain.execute(
            f"SELECT count(*) FROM {source} WHERE NOT internal AND coalesce(trim(comment), '') = ''"
        ).fetchone()
        assert silent == 0, source


def test_its_types_are_such_as_every_reader_knows(plain):
    types = {
        kind
        for (kind,) in plain.execute("SELECT data_type FROM duckdb_columns() WHERE NOT internal").fetchall()
    }
    assert types == {"VARCHAR", "DOUBLE", "BIGINT", "BOOLEAN", "TIMESTAMP", "DOUBLE[]"}


def test_points_in_time_have_no_zone_and_are_named_utc(plain):
    """Clients show a time with a zone in their own; a column that holds one says UTC by its name."""
    columns = plain.execute(
        "SELECT schema_name, table_name, column_name, data_type FROM duckdb_columns() WHERE NOT internal"
    ).fetchall()
    assert {schema for schema, *_ in columns} == {"main", "records"}
    for schema, table, column, kind in columns:
        assert "TIME ZONE" not in kind, f"{schema}.{table}.{column}"
        assert (kind == "TIMESTAMP") == column.endswith("_utc"), f"{schema}.{table}.{column}"


def test_it_has_no_keys_indexes_or_sequences(plain):
    """So that the same statements run on storage that knows none."""
    assert plain.execute("SELECT count(*) FROM duckdb_indexes()").fetchone() == (0,)
    assert plain.execute("SELECT count(*) FROM duckdb_sequences()").fetchone() == (0,)
    kinds = plain.execute("SELECT DISTINCT constraint_type FROM duckdb_constraints()").fetchall()
    assert kinds == [("NOT NULL",)]


def test_every_record_has_its_fate_and_a_superseded_one_its_successor(plain):
    for kind in KINDS:
        wrong = plain.execute(
            f"SELECT count(*) FROM records.{kind} AS record WHERE record_status IS NULL "
            "OR (record_status = 'superseded') != (superseded_by IS NOT NULL) "
            f"OR record_status = 'superseded' AND NOT EXISTS (FROM records.{kind} AS other "
            "WHERE other.file_hash || ':' || other.line_number = record.superseded_by)"
        ).fetchone()
        assert wrong == (0,), kind
    (superseded,) = plain.execute(
        "SELECT count(*) FROM records.moisture WHERE record_status = 'superseded'"
    ).fetchone()
    assert superseded == 1


def test_it_is_of_a_storage_version_that_older_readers_know(demo_night):
    with reading(demo_night.snapshot) as connection:
        ((tags,),) = connection.execute(
            "SELECT tags FROM duckdb_databases() WHERE database_name = current_database()"
        ).fetchall()
    assert tags["storage_version"].startswith(publishing.STORAGE_VERSION)


def test_it_holds_nothing_of_this_machine(plain, demo_night):
    """A snapshot is passed on: it must not contain a path of the machine it was made on."""
    folder = str(demo_night.laboratory.root)
    text_columns = plain.execute(
        "SELECT schema_name || '.' || table_name, column_name FROM duckdb_columns() "
        "WHERE NOT internal AND data_type = 'VARCHAR'"
    ).fetchall()
    assert text_columns
    for table, column in text_columns:
        found = plain.execute(
            f"SELECT count(*) FROM {table} WHERE contains({column}, ?)", [folder]
        ).fetchone()
        assert found == (0,), f"{table}.{column}"


def test_a_reader_of_an_old_snapshot_is_not_disturbed_by_a_new_one(small):
    """Not even when the old one is removed, in whose middle the reader is."""
    small.settings_file.write_text(
        "[intake]\nquiet_seconds = 0\n[publishing]\nsnapshots_kept = 1\npage = false\n"
    )
    small.readings("first.csv", *(f"S1,{spot},100,AB" for spot in range(1, 101)))
    old = steps.run(small).snapshot
    reader_code = (
        "import sys, duckdb; reader = duckdb.connect(sys.argv[1], read_only=True); print('open', flush=True);"
        "sys.stdin.readline(); print(reader.execute('SELECT count(*), sum(thickness_um) FROM records.thickness')"
        ".fetchone(), reader.execute('SELECT count(*) FROM duckdb_columns()').fetchone()[0] > 100)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", reader_code, old], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as reader:
        assert reader.stdout is not None
        assert reader.stdout.readline() == "open\n"
        small.readings("second.csv", "S1,101,100,AB")
        new = steps.run(small).snapshot
        assert not old.exists()
        answer, _ = reader.communicate("go\n", timeout=60)
    assert answer == "(100, 10000.0) True\n"
    with open_plainly(new) as connection:
        assert connection.execute("SELECT count(*) FROM records.thickness").fetchone() == (101,)


def test_the_last_snapshots_are_kept(small):
    small.settings_file.write_text(
        "[intake]\nquiet_seconds = 0\n[publishing]\nsnapshots_kept = 2\npage = false\n"
    )
    made = []
    for spot in range(1, 4):
        small.readings(f"{spot}.csv", f"S1,{spot},100,AB")
        made.append(steps.run(small).snapshot)
    assert sorted(small.published.glob("*.duckdb")) == made[-2:]
    assert sorted(small.published.glob("sheetlore-*/")) == [parquet_folder(path) for path in made[-2:]]
    assert latest_snapshot(small.published) == made[-1]


# The pointer


@pytest.mark.parametrize(
    "pointer",
    [None, "", "{", "[]", "{}", "null", '{"snapshot": 3}', '{"snapshot": "../../elsewhere.duckdb"}'],
)
def test_an_invalid_pointer_is_an_error_with_a_remedy(tmp_path, pointer):
    published = tmp_path / "published"
    published.mkdir()
    (tmp_path / "elsewhere.duckdb").touch()
    if pointer is not None:
        (published / publishing.POINTER).write_text(pointer)
    with pytest.raises(SheetloreError) as error:
        latest_snapshot(published)
    assert "sheetlore nightly" in error.value.remedy
    assert not publishing.has_snapshot(published)


def test_a_pointer_is_whole_at_every_moment(small):
    """Read repeatedly while it is replaced, it always names a snapshot."""
    small.published.mkdir()
    snapshots = [small.published / f"sheetlore-{number}.duckdb" for number in range(2)]
    for snapshot in snapshots:
        snapshot.touch()
    publishing.point_to(small.published, snapshots[0], steps.datetime(2026, 1, 1))
    done = threading.Event()

    def swap():
        for number in range(300):
            publishing.point_to(small.published, snapshots[number % 2], steps.datetime(2026, 1, 1))
        done.set()

    swapping = threading.Thread(target=swap)
    swapping.start()
    seen = set()
    while not done.is_set():
        seen.add(latest_snapshot(small.published))
    swapping.join()
    assert seen <= set(snapshots)
    pointer = json.loads((small.published / publishing.POINTER).read_text())
    assert (pointer["snapshot"], pointer["checked_at_utc"]) == ("sheetlore-1.duckdb", "2026-01-01T00:00:00")


def test_a_snapshot_that_could_not_be_written_leaves_none(tmp_path):
    with working() as connection, pytest.raises(duckdb.CatalogException):
        publishing.write_snapshot(connection, tmp_path, "2026-01-01T00-00-00-000Z")  # there are no marts
    assert not list(tmp_path.glob("*.duckdb"))


def test_a_snapshot_is_named_by_the_time_of_its_run(demo_night):
    assert re.fullmatch(r"sheetlore-\d{4}-\d\d-\d\dT\d\d-\d\d-\d\d-\d{3}Z\.duckdb", demo_night.snapshot.name)
