"""Files for tools that cannot open a snapshot: Parquet files, the pointer, and ``latest/``."""

import json
import os
import shutil
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pyarrow
import pytest
from pyarrow import parquet

from pipelines import __version__
from pipelines.dictionary.documents import CONTRACT
from pipelines.dictionary.history import changes, versions
from pipelines.flows import steps
from pipelines.settings import Laboratory
from pipelines.warehouse import parquet_export, publishing
from pipelines.warehouse.connection import reading, working
from pipelines.warehouse.pointer import latest_snapshot
from schemas.marts import marts
from schemas.records.record import grain_of

ONE_KEPT = "[intake]\nquiet_seconds = 0\n[publishing]\nsnapshots_kept = 1\npage = false\n"


def pointer_of(laboratory):
    return json.loads((laboratory.published / publishing.POINTER).read_text(encoding="utf-8"))


def latest(laboratory):
    return laboratory.published / parquet_export.LATEST


def positions(path):
    """The positions of the thickness readings that a snapshot knows."""
    with reading(path) as connection:
        found = connection.execute("SELECT position_no FROM records.thickness ORDER BY ALL").fetchall()
    return [position for (position,) in found]


@pytest.fixture(scope="module")
def folder(demo_night):
    return parquet_export.parquet_folder(demo_night.snapshot)


# Parquet


def test_each_mart_has_a_file_with_the_very_rows_of_its_table(demo_night, folder):
    assert sorted(path.stem for path in folder.iterdir()) == sorted(marts())
    with working() as connection:
        connection.execute(f"ATTACH '{demo_night.snapshot}' AS snapshot (READ_ONLY)")
        for mart in marts():
            table, file = f"snapshot.main.{mart}", f"read_parquet('{folder / mart}.parquet')"
            (rows,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()
            assert rows > 0, mart
            for one, other in ((table, file), (file, table)):
                found = connection.execute(f"FROM {one} EXCEPT ALL FROM {other}").fetchall()
                assert found == [], mart
            columns = [
                [column[:2] for column in connection.execute(f"DESCRIBE FROM {source}").fetchall()]
                for source in (table, file)
            ]
            assert columns[0] == columns[1], mart


def test_each_column_has_its_description(folder):
    for mart, model in marts().items():
        schema = parquet.read_schema(folder / f"{mart}.parquet")
        declared = model.to_schema().columns
        assert schema.names == list(declared), mart
        for field in schema:
            column = declared[field.name]
            metadata = {
                key.decode(): text.decode()
                for key, text in field.metadata.items()
                if key != b"PARQUET:field_id"
            }
            unit = column.metadata["unit"]
            expected = {"description": column.description, "unit": unit, "source": column.metadata["source"]}
            if unit == "UTC":
                del expected["unit"]
            assert metadata == {key: text for key, text in expected.items() if text is not None}, field.name
            assert field.nullable == column.nullable, field.name


def test_some_meanings_as_they_are_written(folder):
    schema = parquet.read_schema(folder / "sheet.parquet")
    assert schema.field("grammage_g_m2").metadata[b"unit"] == b"g/m2"
    assert schema.field("jet_to_wire_ratio").metadata[b"unit"] == b"1"
    assert b"unit" not in schema.field("sheet_id").metadata
    assert b"unit" not in schema.field("formed_at_utc").metadata
    assert not schema.field("sheet_id").nullable
    assert schema.field("grammage_g_m2").nullable


def test_each_file_has_its_description_and_run(demo_night, folder):
    for mart, model in marts().items():
        metadata = parquet.read_schema(folder / f"{mart}.parquet").metadata
        assert metadata[b"table"].decode() == mart
        assert metadata[b"description"].decode() == grain_of(model)
        assert metadata[b"table_version"].decode() == str(versions(changes()).get(mart, 1))
        assert metadata[b"night"].decode() == demo_night.report.night["night"]
        assert metadata[b"sheetlore_version"].decode() == __version__


def test_points_in_time_have_no_zone_and_are_named_utc(folder):
    seen = 0
    for mart in marts():
        for field in parquet.read_schema(folder / f"{mart}.parquet"):
            assert pyarrow.types.is_timestamp(field.type) == field.name.endswith("_utc"), field.name
            if pyarrow.types.is_timestamp(field.type):
                assert field.type == pyarrow.timestamp("us")
                seen += 1
    assert seen > 10


def test_every_column_is_packed_by_zstd(folder):
    for mart in marts():
        group = parquet.ParquetFile(folder / f"{mart}.parquet").metadata.row_group(0)
        packed = {group.column(number).compression for number in range(group.num_columns)}
        assert packed == {"ZSTD"}, mart


def test_rows_are_written_in_batches(demo_night, folder, tmp_path, monkeypatch):
    """A table larger than memory is written in parts, each its own row group."""
    monkeypatch.setattr(parquet_export, "_ROWS_AT_ONCE", 100)
    with working() as connection:
        connection.execute(f"ATTACH '{demo_night.snapshot}' AS snapshot (READ_ONLY)")
        parquet_export.write_parquet(
            connection, "snapshot", tmp_path / "parts", demo_night.report.night["night"]
        )
    parts = parquet.ParquetFile(tmp_path / "parts" / "test_piece.parquet")
    groups = [parts.metadata.row_group(number).num_rows for number in range(parts.num_row_groups)]
    assert len(groups) > 10
    assert max(groups) <= 100
    assert parts.read().equals(parquet.read_table(folder / "test_piece.parquet"))


def test_a_run_that_cannot_write_parquet_changes_nothing(small_after_run, monkeypatch):
    small = small_after_run
    first = latest_snapshot(small.published)
    before = sorted(path.relative_to(small.root) for path in small.root.rglob("*"))
    more = small.readings("2.csv", "S1,2,100,AB")

    def full(*_):
        raise OSError("No space left on device")

    with monkeypatch.context() as patch, pytest.raises(OSError, match="No space"):
        patch.setattr(parquet.ParquetWriter, "write_batch", full)
        steps.run(small)
    more.unlink()
    now = {path.relative_to(small.root) for path in small.root.rglob("*") if "archive" not in path.parts}
    assert now == {path for path in before if "archive" not in path.parts}
    assert latest_snapshot(small.published) == first


def test_a_snapshots_files_go_with_it(tmp_path):
    made = [tmp_path / f"sheetlore-2026-01-0{day}T00-00-00-000Z.duckdb" for day in range(1, 5)]
    for snapshot in made:
        snapshot.touch()
        parquet_export.parquet_folder(snapshot).mkdir()
        (parquet_export.parquet_folder(snapshot) / "sheet.parquet").touch()
    (tmp_path / parquet_export.LATEST).mkdir()
    publishing.remove_old(tmp_path, made[-1], 2, [publishing.night_of(snapshot) for snapshot in made])
    folders = sorted(path for path in tmp_path.iterdir() if path.is_dir())
    assert folders == [
        tmp_path / parquet_export.LATEST,
        *(parquet_export.parquet_folder(snapshot) for snapshot in made[-2:]),
    ]


@pytest.mark.slow
@pytest.mark.parametrize("gone", ["the folder", "a file"])
def test_files_that_are_gone_are_published_again(small_after_run, gone):
    small = small_after_run
    folder = parquet_export.parquet_folder(latest_snapshot(small.published))
    if gone == "the folder":
        shutil.rmtree(folder)
    else:
        (folder / "sheet.parquet").unlink()
    report = steps.run(small)
    assert report.changed
    assert all(file.is_file() for file in parquet_export.parquet_files(report.snapshot))


# The pointer


def test_the_pointer_names_all_of_the_set(small):
    small.readings("1.csv", "S1,1,100,AB")
    report = steps.run(small)
    metadata = pointer_of(small)
    assert metadata.pop("checked_at_utc") >= f"{report.night['began_at_utc']:%Y-%m-%dT%H:%M:%S}"
    assert metadata == {
        "snapshot": report.snapshot.name,
        "night": report.night["night"],
        "storage_version": publishing.STORAGE_VERSION,
        "sheetlore_version": __version__,
        "parquet_folder": report.snapshot.stem,
        "parquet_files": [f"{mart}.parquet" for mart in marts()],
        "contract": CONTRACT,
    }


def test_the_pointer_names_a_contract_only_where_there_is_one(tmp_path):
    publishing.point_to(tmp_path, tmp_path / "sheetlore-x.duckdb", steps.datetime(2026, 1, 1))
    assert "contract" not in json.loads((tmp_path / publishing.POINTER).read_text())


def test_the_published_folder_can_be_moved(demo_night, tmp_path):
    moved = shutil.copytree(demo_night.laboratory.published, tmp_path / "elsewhere")
    metadata = json.loads((moved / publishing.POINTER).read_text())
    with reading(moved / metadata["snapshot"]) as connection:
        assert connection.execute("SELECT count(*) FROM sheet").fetchone() == (60,)
    for name in metadata["parquet_files"]:
        assert parquet.read_metadata(moved / metadata["parquet_folder"] / name).num_rows > 0


# The place that never moves


def newest(laboratory):
    """The files that ``latest/`` should hold, by their names there."""
    snapshot = latest_snapshot(laboratory.published)
    return {"sheetlore.duckdb": snapshot} | {
        path.name: path for path in parquet_export.parquet_files(snapshot)
    }


def assert_latest_is_newest(laboratory):
    expected = newest(laboratory)
    found = {path.name: path for path in latest(laboratory).iterdir()}
    assert found.keys() == expected.keys()
    for name, path in found.items():
        assert path.samefile(expected[name]) or path.read_bytes() == expected[name].read_bytes(), name


def test_latest_holds_the_newest_set_by_links(small):
    for spot in (1, 2):
        small.readings(f"{spot}.csv", f"S1,{spot},100,AB")
        steps.run(small)
        assert_latest_is_newest(small)
        assert all((latest(small) / name).samefile(path) for name, path in newest(small).items())
        assert positions(latest(small) / "sheetlore.duckdb") == list(range(1, spot + 1))


def test_a_reader_of_latest_is_not_disturbed_by_a_run(small):
    """The reader has the file of the older run open under the name that the newer file gets."""
    small.settings_file.write_text(ONE_KEPT)
    small.readings("1.csv", *(f"S1,{spot},100,AB" for spot in range(1, 101)))
    steps.run(small)
    code = (
        "import sys, duckdb; reader = duckdb.connect(sys.argv[1], read_only=True); print('open', flush=True);"
        "sys.stdin.readline(); print(reader.execute('SELECT count(*) FROM records.thickness').fetchone())"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, latest(small) / "sheetlore.duckdb"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as reader:
        assert reader.stdout is not None
        assert reader.stdout.readline() == "open\n"
        small.readings("2.csv", "S1,101,100,AB")
        steps.run(small)
        answer, _ = reader.communicate("go\n", timeout=60)
    assert answer == "(100,)\n"
    assert positions(latest(small) / "sheetlore.duckdb") == list(range(1, 102))


def test_removed_tables_leave_latest_and_foreign_files_stay(small_after_run):
    small = small_after_run
    for name in ("no_longer.parquet", "sheetlore.duckdb.wal", "sheet.parquet.unfinished", "notes.txt"):
        (latest(small) / name).touch()
    assert not steps.run(small).changed
    (latest(small) / "notes.txt").unlink()
    assert_latest_is_newest(small)


@pytest.mark.slow
def test_where_there_are_no_links_latest_holds_copies(small, monkeypatch):
    def refuse(*_):
        raise OSError("links are not supported here")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    for spot in (1, 2):
        small.readings(f"{spot}.csv", f"S1,{spot},100,AB")
        steps.run(small)
        assert_latest_is_newest(small)
        assert not any((latest(small) / name).samefile(path) for name, path in newest(small).items())
    before = {path: path.stat().st_ino for path in latest(small).iterdir()}
    assert not steps.run(small).changed
    assert {path: path.stat().st_ino for path in latest(small).iterdir()} == before


@contextmanager
def not_replaceable(monkeypatch, name):
    """Refuse to replace a file, as a system does on which a program that has it open keeps its name."""
    replace = Path.replace

    def as_when_open(self, target):
        if Path(target).name == name and Path(target).exists():
            raise PermissionError(13, "Permission denied")
        return replace(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", as_when_open)
        yield


@pytest.mark.parametrize("name", ["sheetlore.duckdb", "sheet.parquet"])
def test_a_file_that_cannot_be_replaced_is_reported_and_replaced_by_the_next_run(
    small_after_run, monkeypatch, caplog, name
):
    small = small_after_run
    older = (latest(small) / name).stat().st_ino
    small.readings("2.csv", "S1,2,100,AB")
    with not_replaceable(monkeypatch, name):
        report = steps.run(small)
    assert report.night["rows_loaded"] == 2
    (remark,) = [record.getMessage() for record in caplog.records if record.levelname == "WARNING"]
    assert remark == (
        f"latest/{name} is still that of an older run (Permission denied); the next run tries again"
    )
    assert (latest(small) / name).stat().st_ino == older
    assert not list(small.published.rglob("*.unfinished*"))
    others = {path: file for path, file in newest(small).items() if path != name}
    assert all((latest(small) / path).samefile(file) for path, file in others.items())
    assert not steps.run(small).changed
    assert_latest_is_newest(small)


def test_a_file_that_cannot_be_removed_is_remarked(small_after_run, caplog):
    small = small_after_run
    (latest(small) / "no_longer.parquet").mkdir()
    assert not steps.run(small).changed
    (remark,) = [record.getMessage() for record in caplog.records if record.levelname == "WARNING"]
    assert remark.startswith("latest/no_longer.parquet could not be removed (")


def test_an_unfinished_link_to_an_older_snapshot_is_not_written_through(small_after_run, monkeypatch):
    """If a killed run left a link and links are no longer possible, the copy must not change the older run's file."""
    small = small_after_run
    first = latest_snapshot(small.published)
    (latest(small) / "sheetlore.duckdb.unfinished").hardlink_to(first)

    def refuse(*_):
        raise OSError("links are not supported here")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    monkeypatch.setattr(publishing, "clear_unfinished", lambda _: None)
    small.readings("2.csv", "S1,2,100,AB")
    steps.run(small)
    assert positions(first) == [1]
    assert positions(latest(small) / "sheetlore.duckdb") == [1, 2]


# Nights that are killed


@pytest.fixture(scope="module")
def killed():
    """Kill a run before a step of its publishing; return the steps it began and its outcome."""
    script = Path(__file__).with_name("nights_killed_in_publishing.py")
    with subprocess.Popen(
        [sys.executable, script], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:

        def ask(laboratory, at=None):
            assert process.stdin is not None
            assert process.stdout is not None
            process.stdin.write(json.dumps({"lab": str(laboratory.root), "at": at}) + "\n")
            process.stdin.flush()
            return list(iter(lambda: process.stdout.readline().strip(), ""))

        yield ask
        process.stdin.close()


def assert_readers_find_a_whole_set(laboratory):
    metadata = pointer_of(laboratory)
    with reading(laboratory.published / metadata["snapshot"]) as connection:
        (night,) = connection.execute("SELECT max(night) FROM night").fetchone()
    assert night == metadata["night"]
    for name in metadata["parquet_files"]:
        file = laboratory.published / metadata["parquet_folder"] / name
        assert parquet.read_schema(file).metadata[b"night"].decode() == night
        parquet.read_table(file)
    # Its files may be of two runs, but each is complete.
    assert positions(latest(laboratory) / "sheetlore.duckdb")
    for mart in marts():
        parquet.read_table(latest(laboratory) / f"{mart}.parquet")


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="killed runs are forked")
def test_runs_killed_at_each_kind_of_step_leave_a_complete_set(small, killed, tmp_path):
    """Kill one run after the other, with a single snapshot kept; the last completes."""
    small.settings_file.write_text(ONE_KEPT)
    small.readings("1.csv", "S1,1,100,AB")
    steps.run(small)
    small.readings("2.csv", "S1,2,100,AB")
    whole = killed(Laboratory(shutil.copytree(small.root, tmp_path / "whole")))
    # Each step on the set's names and on the pointer, and a part of those on the many files of a kind.
    moments = [
        number
        for number, step in enumerate(whole)
        if "sheetlore-" in step or "latest" in step or number % 30 == 0
    ]
    assert {whole[number].split()[0] for number in moments} == {
        "open", "os.link", "os.mkdir", "os.remove", "os.rename", "os.rmdir",
    }  # fmt: skip
    for number in moments:
        taken = killed(small, number)
        assert len(taken) <= number
        assert_readers_find_a_whole_set(small)
    report = steps.run(small)
    assert positions(report.snapshot) == [1, 2]
    assert_latest_is_newest(small)
    sets = sorted(path.name for path in small.published.glob("sheetlore-*"))
    assert sets == [report.snapshot.stem, report.snapshot.name]
    assert not list(small.published.rglob("*.unfinished*"))
