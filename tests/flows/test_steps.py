"""The steps of a run: what a failure in each leaves behind, and what a second try of one does."""

import json

import pytest

from pipelines.errors import SheetloreError
from pipelines.flows import steps
from pipelines.settings import Laboratory
from pipelines.site import building
from pipelines.site.writing import Folder
from pipelines.warehouse import publishing
from pipelines.warehouse.connection import reading
from pipelines.warehouse.pointer import latest_snapshot

STEPS = ("collect", "ingest", "resolve_duplicates", "reduce_curves", "build_models", "run_checks", "publish")


def contents(laboratory):
    """Return what readers and the next run would find, byte by byte."""
    paths = [laboratory.warehouse, *sorted(laboratory.published.rglob("*"))]
    return {str(path.relative_to(laboratory.root)): path.read_bytes() for path in paths if path.is_file()}


def fail(*_args, **_keywords):
    raise RuntimeError("made up")


@pytest.mark.parametrize("step", STEPS)
def test_a_run_that_fails_in_a_step_changes_nothing(small_after_run, monkeypatch, step):
    small = small_after_run
    before = contents(small)
    small.readings("second.csv", "S1,2,101,AB")
    with monkeypatch.context() as patch:
        patch.setattr(steps, step, fail)
        with pytest.raises(RuntimeError, match="made up"):
            steps.run(small)
    assert contents(small) == before
    assert not list(small.root.glob("warehouse.run*"))
    if step in ("collect", "publish"):  # only the archive differs, before and after collect
        assert steps.run(small).night["rows_loaded"] == 2


def test_a_run_that_fails_between_snapshot_and_pointer_leaves_readers_where_they_were(
    small_after_run, monkeypatch
):
    """With a single snapshot kept, the old one must outlive the moment in which the pointer leaves it."""
    small = small_after_run
    small.settings_file.write_text(
        "[intake]\nquiet_seconds = 0\n[publishing]\nsnapshots_kept = 1\npage = false\n"
    )
    first = latest_snapshot(small.published)
    small.readings("second.csv", "S1,2,101,AB")
    with monkeypatch.context() as patch:
        patch.setattr(publishing, "point_to", fail)
        with pytest.raises(RuntimeError, match="made up"):
            steps.run(small)
    assert latest_snapshot(small.published) == first
    report = steps.run(small)
    assert report.night["rows_loaded"] == 2
    assert list(small.published.glob("*.duckdb")) == [report.snapshot]


@pytest.mark.parametrize("step", STEPS[1:])
def test_a_step_tried_again_leaves_what_one_try_leaves(small, monkeypatch, step):
    """The flow tries a step again when reading or writing failed, wherever within the step that was."""
    small.readings("first.csv", "S1,1,100,AB", "S1,2,-1,AB")
    tried = getattr(steps, step)

    def twice(context):
        if step == "publish":
            # The warehouse is moved last of all: until then a try can have failed anywhere.
            with monkeypatch.context() as patch, pytest.raises(OSError, match="full"):
                patch.setattr(publishing, "remove_old", lambda *_: (_ for _ in ()).throw(OSError("full")))
                tried(context)
        else:
            tried(context)
        return tried(context)

    monkeypatch.setattr(steps, step, twice)
    report = steps.run(small)
    with reading(report.snapshot) as connection:
        assert connection.execute("SELECT count(*) FROM night").fetchone() == (1,)
        assert connection.execute("SELECT count(*) FROM held_row").fetchone() == (1,)
        assert connection.execute("SELECT count(*) FROM records.thickness").fetchone() == (1,)
        assert connection.execute("SELECT lines, loaded_rows, held_lines FROM export_file").fetchall() == [
            (3, 1, 1)
        ]


def test_a_run_says_what_it_did_apart_from_what_there_is(small):
    names = (
        "files_new",
        "files_imported",
        "files_put_on_hold",
        "rows_imported",
        "lines_held",
        "lines_repeated",
    )
    small.readings("first.csv", "S1,1,100,AB", "S1,2,101,AB", "S1,3,-1,AB")
    first = steps.run(small).night
    assert {name: first[name] for name in names} == dict(zip(names, (1, 1, 0, 2, 1, 0), strict=True))
    small.readings("second.csv", "S1,2,101,AB", "S1,4,102,AB")
    (small.inbox / "notes.txt").write_text("not an export")
    second = steps.run(small).night
    assert {name: second[name] for name in names} == dict(zip(names, (2, 1, 1, 1, 0, 1), strict=True))
    assert (second["rows_loaded"], second["rows_held"], second["files_held"]) == (3, 1, 1)
    idle = steps.run(small).night
    assert {name: idle[name] for name in names} == dict.fromkeys(names, 0)
    assert (idle["rows_loaded"], idle["rows_held"]) == (3, 1)


def test_files_of_a_killed_run_are_removed(demo_copy):
    left = [
        demo_copy.root / "warehouse.run.duckdb",
        demo_copy.root / "warehouse.run.duckdb.wal",
        demo_copy.published / "sheetlore-2026-01-01T00-00-00-000Z.unfinished",
        demo_copy.published / "sheetlore-2026-01-01T00-00-00-000Z.unfinished.wal",
        demo_copy.published / "latest.unfinished",
    ]
    for path in left:
        path.write_bytes(b"half of it")
    assert not steps.run(demo_copy).changed
    assert not any(path.exists() for path in left)


def test_a_run_without_changes_updates_only_the_pointer_and_the_age_of_the_page(demo_copy):
    pointer, age = demo_copy.published / publishing.POINTER, demo_copy.site / "assets" / "night.js"
    before, recorded = contents(demo_copy), json.loads(pointer.read_text())
    report = steps.run(demo_copy)
    after = contents(demo_copy)
    assert not report.changed
    assert (report.night["files_read"], report.night["rows_read"]) == (0, 0)
    assert report.night["rows_loaded"] > 0
    now = json.loads(after.pop(str(pointer.relative_to(demo_copy.root))))
    page_age = after.pop(str(age.relative_to(demo_copy.root))).decode()
    del before[str(pointer.relative_to(demo_copy.root))], before[str(age.relative_to(demo_copy.root))]
    assert after == before
    assert now["checked_at_utc"] in page_age
    assert now["snapshot"] == recorded["snapshot"] == report.snapshot.name
    assert now["checked_at_utc"] >= recorded["checked_at_utc"]


def test_the_lock_is_free_again_after_a_run_whatever_its_end(small, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(steps, "collect", fail)
        with pytest.raises(RuntimeError):
            steps.run(small)
    with steps.exclusive_run(small):
        pass


def test_the_lock_is_another_for_another_laboratory(small, demo_copy, locked):
    with locked(demo_copy):
        assert steps.run(small).changed


def test_a_laboratory_reached_by_a_link_has_the_same_lock(small, tmp_path, locked):
    link = tmp_path / "link"
    link.symlink_to(small.root, target_is_directory=True)
    with locked(small), pytest.raises(steps.AnotherRunActiveError):
        steps.run(Laboratory(link))


def test_a_run_does_not_reach_into_the_folder_it_is_run_from(command, small, tmp_path, monkeypatch):
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    ended = command("nightly", "--direct", "--lab", "../small")
    assert ended.code == 0, ended.err
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_page_that_was_not_finished_is_made_by_the_next_run_though_nothing_is_new(
    small_after_run, monkeypatch
):
    small = small_after_run
    small.settings_file.write_text("[intake]\nquiet_seconds = 0\n")
    (small.inbox / "unknown.csv").write_text("what is this?\n")
    with monkeypatch.context() as patch:
        patch.setattr(Folder, "tidy", fail)
        with pytest.raises(RuntimeError, match="made up"):
            steps.run(small)
    snapshot = latest_snapshot(small.published)
    assert not building.is_built_from(small.site, snapshot)
    assert not steps.run(small).changed
    assert building.is_built_from(small.site, snapshot)


def test_a_page_that_cannot_be_written_is_reported_and_the_snapshot_stays(small, monkeypatch):
    small.settings_file.write_text("[intake]\nquiet_seconds = 0\n")
    small.readings("first.csv", "S1,1,100,AB")
    small.published.mkdir()
    small.site.write_text("a file where the page's folder should be")
    with pytest.raises(SheetloreError, match="The web page could not be written"):
        steps.run(small)
    assert publishing.has_snapshot(small.published)
    small.site.unlink()
    assert not steps.run(small).changed
    assert building.is_built_from(small.site, latest_snapshot(small.published))


def test_a_laboratory_may_want_no_page(small):
    small.readings("first.csv", "S1,1,100,AB")
    steps.run(small)
    assert not small.site.exists()
