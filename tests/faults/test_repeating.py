"""Runs that are repeated, split, put into another order or corrected: the numbers depend on the files alone."""

import random
import shutil
from importlib.resources import files

import pytest
from small_exports import (
    SHEETS,
    calipers,
    copy,
    differences,
    everything,
    first_exports,
    forming_log,
    make,
    marts,
    put,
    put_second,
    rows,
    second_exports,
    strips,
    weights,
)  # fmt: skip

from pipelines.flows import steps

EMPTY = ((), [])


def test_the_second_run_has_the_values_of_its_exports(second_run):
    held = rows(second_run, "SELECT file_name, line_number, rule FROM held_row ORDER BY ALL")
    assert held == [("notes.csv", None, "no_profile"), ("strips 3.csv", 12, "range")]
    fates = "SELECT loaded_rows, held_lines, repeated_rows, superseded_rows FROM export_file WHERE file_name = '{}'"
    assert rows(second_run, fates.format("strips 3.csv")) == [(2, 1, 1, 0)]
    assert rows(second_run, fates.format("weights corrected.csv")) == [(1, 0, 1, 0)]
    assert rows(second_run, fates.format("weights.csv")) == [(5, 0, 0, 1)]
    assert rows(second_run, "SELECT sheet_id FROM unmatched_test") == [("C-1",)]


def test_a_repeated_run_changes_nothing(second_run):
    before, snapshots = everything(second_run), sorted(second_run.published.iterdir())
    report = steps.run(second_run)
    assert not report.changed
    assert (report.night["files_read"], report.night["rows_read"]) == (0, 0)
    assert everything(second_run) == before
    assert sorted(second_run.published.iterdir()) == snapshots


def test_a_new_laboratory_with_the_same_files_has_the_same_numbers(tmp_path, marts_of_second_run):
    laboratory = make(tmp_path / "lab", first_exports())
    put_second(laboratory)
    steps.run(laboratory)
    assert differences(marts(laboratory), marts_of_second_run) == []


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 1])
def test_files_in_another_order_over_several_runs_give_the_same_numbers(seed, tmp_path, marts_of_second_run):
    chance = random.Random(seed)
    written = list(enumerate(first_exports().items()))
    written += [(24 + hours, export) for hours, export in enumerate(second_exports().items())]
    chance.shuffle(written)
    laboratory = make(tmp_path / "lab")
    for hours, (name, data) in written:
        put(laboratory, name, data, hours)
        if chance.random() < 0.4:
            steps.run(laboratory)
    steps.run(laboratory)
    assert differences(marts(laboratory), marts_of_second_run) == []


def test_the_comparison_sees_a_change_in_the_twelfth_digit(marts_of_second_run):
    """The tests above say nothing if ``differences`` does not see any."""
    name = "sheet_property"
    columns, found = marts_of_second_run[name]
    changed = [tuple(v * (1 + 3e-12) if isinstance(v, float) else v for v in row) for row in found]
    assert differences(marts_of_second_run, marts_of_second_run | {name: (columns, changed)})
    assert differences(marts_of_second_run, marts_of_second_run | {name: (columns, found[1:])})


def test_a_forming_log_that_comes_a_day_later_joins_all_the_same(tmp_path, marts_of_first_run):
    exports = first_exports()
    log = exports.pop("log.txt")
    laboratory = make(tmp_path / "lab")
    for hours, (name, data) in enumerate(exports.items(), 1):
        put(laboratory, name, data, hours)
    report = steps.run(laboratory)
    assert report.night["sheets"] == 0
    assert rows(laboratory, "SELECT DISTINCT sheet_id FROM unmatched_test ORDER BY ALL") == [
        (s,) for s in SHEETS
    ]
    put(laboratory, "log.txt", log, 0)
    report = steps.run(laboratory)
    assert (report.night["sheets"], report.night["tests_unmatched"]) == (3, 0)
    assert differences(marts(laboratory), marts_of_first_run) == []


def test_an_overlapping_export_repeats_and_changes_no_number(first_run, marts_of_first_run):
    put(first_run, "again.csv", first_exports()["strips 1.csv"] + b"Mean;;;60,0;;;;;;;\r\n", 24)
    report = steps.run(first_run)
    assert report.night["rows_repeated"] == 9
    assert rows(first_run, "SELECT repeated_rows FROM export_file WHERE file_name = 'again.csv'") == [(9,)]
    assert (
        differences(marts(first_run) | {"export_file": EMPTY}, marts_of_first_run | {"export_file": EMPTY})
        == []
    )


def test_a_corrected_export_supersedes_and_the_older_row_stays(second_run):
    (old, new) = rows(
        second_run,
        "SELECT record_status, mass_g, superseded_by, file_hash || ':' || line_number FROM records.basis_weight "
        "WHERE sheet_id = 'A-1' AND specimen_no = 1 ORDER BY mass_g",
    )
    assert old[:3] == ("superseded", 3.15, new[3])
    assert new[:3] == ("loaded", 3.175, None)


@pytest.mark.slow
def test_of_two_exports_the_one_written_later_counts_whichever_comes_first(tmp_path):
    laboratory = make(tmp_path / "lab", {"log.txt": forming_log()})
    put(laboratory, "new.csv", weights("A-1 1 3,2"), 10)
    steps.run(laboratory)
    put(laboratory, "old.csv", weights("A-1 1 3,1"), 5)
    steps.run(laboratory)
    loaded = "SELECT mass_g FROM records.basis_weight WHERE record_status = 'loaded'"
    assert rows(laboratory, loaded) == [(3.2,)]


@pytest.mark.slow
def test_copies_of_an_export_count_by_their_oldest_date(tmp_path):
    """A copy made late of the older export must not win over the correction, whichever of the copies is seen first."""
    old, new = weights("A-1 1 3,1"), weights("A-1 1 3,2")
    laboratory = make(tmp_path / "lab", {"log.txt": forming_log()})
    put(laboratory, "a copy.csv", old, 20)
    put(laboratory, "corrected.csv", new, 10)
    loaded = "SELECT mass_g FROM records.basis_weight WHERE record_status = 'loaded'"
    steps.run(laboratory)
    assert rows(laboratory, loaded) == [(3.1,)]
    put(laboratory, "original.csv", old, 5)
    report = steps.run(laboratory)
    assert report.changed
    assert rows(laboratory, loaded) == [(3.2,)]


def test_the_same_bytes_under_another_name_change_nothing(first_run, marts_of_first_run):
    put(first_run, "copy of strips.csv", first_exports()["strips 1.csv"], 48)
    put(first_run, "folder/strips.csv", first_exports()["strips 1.csv"], 48)
    report = steps.run(first_run)
    assert not report.changed
    assert differences(marts(first_run), marts_of_first_run) == []


def test_a_file_removed_from_the_inbox_keeps_its_records(first_run, marts_of_first_run):
    for path in first_run.inbox.iterdir():
        path.unlink()
    put(first_run, "more.csv", calipers("A-1 3 3.3"), 24)
    steps.run(first_run)
    assert rows(first_run, "SELECT count(*) FROM records.tensile") == [(15,)]
    assert len(marts(first_run)["export_file"][1]) == len(marts_of_first_run["export_file"][1]) + 1


def test_a_corrected_profile_imports_held_rows(first_run):
    """A tester's new word for a remark holds its rows until the profile knows it."""
    put(first_run, "strips new.csv", strips("A-1 along 7 66,0").replace(b";ok", b";fine"), 24)
    report = steps.run(first_run)
    assert (report.night["rows_held"], report.night["test_pieces"]) == (1, 15)
    own_profile(first_run, "tensile-si", 'normal = ["ok"]', 'normal = ["ok", "fine"]')
    report = steps.run(first_run)
    assert (report.night["rows_held"], report.night["test_pieces"]) == (0, 16)
    assert rows(first_run, "FROM held_row") == []


@pytest.mark.slow
def test_a_new_profile_imports_a_file_without_a_profile(first_run):
    put(first_run, "unknown.csv", calipers("A-1 3 3.3").replace(b"Caliper mil", b"Dicke mil"), 24)
    assert steps.run(first_run).night["files_held"] == 1
    own_profile(first_run, "thickness-us", "Caliper mil", "Dicke mil", name="dicke")
    report = steps.run(first_run)
    assert (report.night["files_held"], report.night["files_read"]) == (0, 1)


def test_a_changed_profile_reads_its_files_again(first_run):
    mean = "SELECT avg(thickness_um) FROM records.thickness WHERE record_status = 'loaded'"
    before = rows(first_run, mean)[0][0]
    own_profile(first_run, "thickness-us", 'unit = "mil"', 'unit = "um"')
    assert steps.run(first_run).night["files_read"] == 1
    assert rows(first_run, mean)[0][0] == pytest.approx(before / 25.4)


@pytest.mark.slow
def test_a_removed_profile_keeps_the_records_it_read(first_run):
    own_profile(first_run, "thickness-us", "Caliper mil", "Dicke mil", name="dicke")
    put(first_run, "dicke.csv", calipers("A-1 3 3.3").replace(b"Caliper mil", b"Dicke mil"), 24)
    steps.run(first_run)
    before = marts(first_run)
    (first_run.exports / "dicke.toml").unlink()
    assert steps.run(first_run).changed
    assert differences(marts(first_run), before) == []


def own_profile(laboratory, shipped, old, new, name=None):
    """Write a profile of the laboratory's own: a shipped one with a change, and with its name unless given another."""
    text = (files("schemas") / "exports" / f"{shipped}.toml").read_text(encoding="utf-8")
    assert old in text
    (laboratory.exports / f"{name or shipped}.toml").write_text(text.replace(old, new), encoding="utf-8")


def test_another_setting_rebuilds_everything(first_run):
    index = "SELECT value FROM sheet_property WHERE sheet_id = 'A-1' AND property = 'tensile_index'"
    assert rows(first_run, index)
    text = first_run.settings_file.read_text(encoding="utf-8")
    first_run.settings_file.write_text(
        text + '\n[properties]\nleft_out_remarks = ["normal"]\n', encoding="utf-8"
    )
    report = steps.run(first_run)
    assert report.changed
    assert report.night["files_read"] == 0
    assert rows(first_run, index) == []


@pytest.mark.slow
def test_a_test_dated_before_its_sheet_is_held_until_the_log_is_corrected(first_run, marts_of_first_run):
    put(first_run, "log later.txt", forming_log(["A-1"], formed="2026-09-05 08:00"), 24)
    report = steps.run(first_run)
    assert report.night["rows_held"] == 2 + 2 + 3 + 2
    assert rows(first_run, "SELECT DISTINCT rule FROM held_row") == [("dated_before_forming",)]
    held = rows(first_run, "SELECT file_name, line_number, cell, original_text FROM held_row")
    for name, line, cell, original in held:
        assert cell is None, "the parsed value is not the file's text"
        assert original == (first_run.inbox / name).read_bytes().decode("cp1252").splitlines()[line - 1]
    put(first_run, "log right.txt", forming_log(["A-1"]), 48)
    report = steps.run(first_run)
    assert report.night["rows_held"] == 0
    assert (
        differences(
            {"sheet_property": marts(first_run)["sheet_property"]},
            {"sheet_property": marts_of_first_run["sheet_property"]},
        )
        == []
    )


def test_snapshots_that_are_gone_are_published_again(first_run, marts_of_first_run):
    shutil.rmtree(first_run.published)
    steps.run(first_run)
    assert differences(marts(first_run), marts_of_first_run) == []


@pytest.mark.slow
def test_only_so_many_snapshots_are_kept_and_the_latest_is_one(tmp_path):
    laboratory = make(tmp_path / "lab", {"log.txt": forming_log()})
    laboratory.settings_file.write_text(
        "[intake]\nquiet_seconds = 0\n[publishing]\nsnapshots_kept = 1\npage = false\n"
    )
    later = laboratory.published / "sheetlore-2999-01-01T00-00-00-000Z.duckdb"  # as of a clock that ran ahead
    laboratory.published.mkdir()
    later.write_bytes(b"")
    report = steps.run(laboratory)
    assert [path.name for path in laboratory.published.glob("*.duckdb")] == [report.snapshot.name]
    assert rows(laboratory, "SELECT count(*) FROM sheet") == [(3,)]


def test_a_warehouse_copied_elsewhere_goes_on(first_run, tmp_path, marts_of_second_run):
    moved = copy(first_run, tmp_path / "an other's lab")
    put_second(moved)
    steps.run(moved)
    assert differences(marts(moved), marts_of_second_run) == []
