"""Runs beside other programs and people: second runs, files being written, folders without access."""

import ctypes
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest
from small_exports import (
    calipers,
    differences,
    everything,
    marts,
    put,
    put_second,
    rows,
    second_exports,
    strips,
)

from pipelines.errors import AnotherRunActiveError, ExitCode
from pipelines.flows import steps
from pipelines.warehouse.connection import reading
from pipelines.warehouse.pointer import latest_snapshot

COMMAND = [sys.executable, "-c", "from pipelines.cli import main; main()", "nightly", "--direct", "--lab"]


@pytest.mark.slow
def test_a_second_run_is_refused_while_one_is_active_and_does_nothing(first_run):
    put_second(first_run)
    before = everything(first_run)
    with steps.exclusive_run(first_run):
        with pytest.raises(AnotherRunActiveError) as error:
            steps.run(first_run)
        done = subprocess.run([*COMMAND, first_run.root], capture_output=True, text=True)
    assert error.value.exit_code is ExitCode.ANOTHER_RUN_ACTIVE
    assert done.returncode == ExitCode.ANOTHER_RUN_ACTIVE
    assert f"Another run is active on {first_run.root}; nothing was done." in done.stderr
    assert everything(first_run) == before
    assert steps.run(first_run).changed


@pytest.mark.slow
def test_of_runs_started_together_one_does_the_work(first_run, marts_of_second_run):
    put_second(first_run)
    with ThreadPoolExecutor(3) as pool:
        done = list(
            pool.map(lambda _: subprocess.run([*COMMAND, first_run.root], capture_output=True), range(3))
        )
    codes = {run.returncode for run in done}
    assert ExitCode.SOMETHING_HELD in codes
    assert codes <= {ExitCode.SOMETHING_HELD, ExitCode.ANOTHER_RUN_ACTIVE}
    assert differences(marts(first_run), marts_of_second_run) == []
    assert rows(first_run, "SELECT count(*) FROM night") == [(2,)]


def test_readers_of_the_old_snapshot_are_not_disturbed(first_run):
    with reading(latest_snapshot(first_run.published)) as reader:
        before = reader.execute("FROM sheet ORDER BY ALL").fetchall()
        put_second(first_run)
        steps.run(first_run)
        assert reader.execute("FROM sheet ORDER BY ALL").fetchall() == before
    assert rows(first_run, "FROM sheet ORDER BY ALL") != before


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux reports which programs have a file open")
def test_a_file_open_in_another_program_is_imported_by_the_next_run(first_run):
    export = calipers("A-1 3 3.3")
    path = put(first_run, "more.csv", export[:-20], 24)
    write = f"file = open({str(path)!r}, 'ab'); print(flush=True); input(); file.write({export[-20:]!r})"
    with subprocess.Popen(
        [sys.executable, "-c", write], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as program:
        program.stdout.readline()
        report = steps.run(first_run)
        assert [(waiting.name, waiting.why) for waiting in report.waiting] == [
            ("more.csv", "is open for writing in another program")
        ]
        assert not report.changed
        program.communicate("\n")
    report = steps.run(first_run)
    assert (report.waiting, report.night["rows_read"], report.night["rows_held"]) == ([], 1, 0)


@pytest.mark.slow
def test_a_file_that_grows_without_pause_waits(first_run):
    path = put(first_run, "more.csv", strips("A-1 along 5 60,0"), 24)
    grow = f"import time\nprint(flush=True)\nwhile True:\n open({str(path)!r}, 'ab').write(b'x'); time.sleep(0.005)"
    settings = first_run.settings_file.read_text().replace("quiet_seconds = 0", "quiet_seconds = 0.3")
    first_run.settings_file.write_text(settings)
    with subprocess.Popen([sys.executable, "-c", grow], stdout=subprocess.PIPE) as program:
        program.stdout.readline()
        report = steps.run(first_run)
        program.kill()
    assert [waiting.name for waiting in report.waiting] == ["more.csv"]
    assert report.waiting[0].why in ("is still being written", "is open for writing in another program")
    assert rows(first_run, "SELECT count(*) FROM export_file") == [(5,)]


@pytest.mark.slow
def test_a_truncated_file_is_held_in_part_and_corrected_by_the_complete_one(first_run, marts_of_second_run):
    """As when a copy over the network broke off: the rest comes later under the same name."""
    exports = second_exports()
    whole = exports["strips 3.csv"]
    cut = whole[: whole.index(b"64,5") - 3]
    put(first_run, "strips 3.csv", cut, 24)
    report = steps.run(first_run)
    assert report.night["rows_held"] == 1
    assert rows(first_run, "SELECT rule, line_number FROM held_row") == [("truncated", 11)]
    put_second(first_run)
    steps.run(first_run)
    found = marts(first_run)
    for mart in ("sheet", "test_piece", "sheet_property", "trial_point_property", "unmatched_test"):
        assert differences({mart: found[mart]}, {mart: marts_of_second_run[mart]}) == []


def test_a_file_larger_than_allowed_waits_until_it_is_allowed(first_run):
    put(first_run, "more.csv", calipers("A-1 3 3.3"), 24)
    settings = first_run.settings_file.read_text()
    first_run.settings_file.write_text(settings + "largest_file_mb = 0.00001\n")
    report = steps.run(first_run)
    assert [waiting.name for waiting in report.waiting] == ["more.csv"]
    first_run.settings_file.write_text(settings)
    assert steps.run(first_run).night["rows_read"] == 1


def _obey_modes():
    """Give up root's power to pass over the modes of files; to anyone else this does nothing."""
    drop_from_bounding_set, override, read_and_search = 24, 1, 2  # of linux/prctl.h and linux/capability.h
    for capability in (override, read_and_search):
        ctypes.CDLL(None).prctl(drop_from_bounding_set, capability, 0, 0, 0)


def run_as_modes_allow(laboratory):
    return subprocess.run([*COMMAND, laboratory.root], capture_output=True, text=True, preexec_fn=_obey_modes)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="root can give up a part of its power on Linux only")
def test_a_file_without_read_access_is_imported_once_it_has_it(first_run):
    path = put(first_run, "more.csv", calipers("A-1 3 3.3"), 24)
    path.chmod(0o000)
    done = run_as_modes_allow(first_run)
    assert done.returncode == 0, done.stderr
    assert "Waiting in the inbox: more.csv cannot be read (Permission denied)" in done.stderr
    path.chmod(0o644)
    steps.run(first_run)
    loaded = "SELECT loaded_rows FROM export_file WHERE file_name = 'more.csv'"
    assert rows(first_run, loaded) == [(1,)]


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="root can give up a part of its power on Linux only")
@pytest.mark.parametrize(
    "folder",
    [
        "inbox/week 36",
        *(pytest.param(folder, marks=pytest.mark.slow) for folder in ("archive", "published", ".")),
    ],
)
def test_a_folder_without_access_fails_the_run_in_one_sentence(first_run, folder, marts_of_first_run):
    (first_run.inbox / "week 36").mkdir()
    put(first_run, "more.csv", calipers("A-1 3 3.3"), 24)
    place = first_run.root / folder
    # a file whose hash begins like an archived one's goes to a folder that is there already
    places = [place, *place.iterdir()] if folder == "archive" else [place]
    for each in places:
        each.chmod(0o000 if "inbox" in folder else 0o555)
    done = run_as_modes_allow(first_run)
    for each in places:
        each.chmod(0o777)
    assert done.returncode == 1, done.stderr
    assert "Traceback" not in done.stderr
    assert "Permission denied" in done.stderr
    assert differences(marts(first_run), marts_of_first_run) == []
    steps.run(first_run)
    assert rows(first_run, "SELECT count(*) FROM export_file") == [(6,)]
