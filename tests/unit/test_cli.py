"""The commands as people and programs call them: their output and exit codes."""

import contextlib
import csv
import fcntl
import io
import json
import os
import pty
import re
import shutil
import signal
import struct
import subprocess
import sys
import termios
import time
import tomllib
from pathlib import Path

import openpyxl
import psutil
import pyarrow.parquet
import pytest
from laboratories import SmallLaboratory

from pipelines import settings as lab_settings
from pipelines.cli import EXAMPLE_QUERY
from pipelines.flows import steps
from pipelines.settings import Laboratory, Settings
from pipelines.warehouse import building
from pipelines.warehouse.connection import reading
from pipelines.warehouse.pointer import latest_snapshot
from schemas.marts import marts

EXECUTABLE = Path(sys.executable).with_name("sheetlore")

COMMANDS = ("new-lab", "demo", "nightly", "held", "sql", "trace", "page", "notebook")
ESCAPE = "\x1b"


def published_files(laboratory):
    return {path: path.read_bytes() for path in laboratory.published.rglob("*") if path.is_file()}


def read_csv(text):
    return list(csv.reader(io.StringIO(text)))


# Help


@pytest.mark.parametrize("name", COMMANDS)
def test_help_shows_an_example(command, name):
    ended = command(name, "--help")
    assert ended.code == 0
    assert f"Example: sheetlore {name} " in ended.out
    assert ended.err == ""


@pytest.mark.parametrize("arguments", [("--help",), ("demo", "--help"), ("nightly", "--help")])
def test_help_lists_every_exit_code(command, arguments):
    text = " ".join(command(*arguments).out.split())
    listed = re.search(r"Exit codes: (.*?SIGTERM\.)", text)
    assert listed
    assert re.findall(r"(?:^|; )(\d+) ", listed[1]) == ["0", "1", "2", "3", "4", "130", "143"]


def test_the_example_query_of_the_help_has_an_answer(command, demo_night):
    ended = command("sql", EXAMPLE_QUERY, "--lab", demo_night.laboratory.root, "--format", "csv")
    header, *rows = read_csv(ended.out)
    assert len(rows) == 12
    assert all(all(row) for row in rows)
    assert "tensile_index_md_nm_g" in header


# Exit codes


def test_a_run_with_nothing_on_hold_exits_with_0(command, tmp_path):
    assert command("new-lab", tmp_path / "lab").code == 0
    ended = command("nightly", "--direct", "--lab", tmp_path / "lab")
    assert ended.code == 0
    assert "This run: no new files" in ended.out


def test_a_failed_run_exits_with_1_and_keeps_the_warehouse(command, demo_copy):
    demo_copy.warehouse.write_bytes(b"no database at all")
    before = published_files(demo_copy)
    ended = command("nightly", "--direct", "--lab", demo_copy.root)
    assert ended.code == 1
    assert "not a valid DuckDB database" in ended.err
    assert "are unchanged" in ended.err
    assert demo_copy.warehouse.read_bytes() == b"no database at all"
    assert published_files(demo_copy) == before


def test_a_broken_check_ends_with_1_and_names_the_check(command, small, monkeypatch):
    small.readings("a.csv", "S1,1,100,AB")
    real = building.statement
    broken = "SELECT 'S1' AS sheet_id"
    monkeypatch.setattr(
        building, "statement", lambda name: broken if name == "checks/values_are_finite" else real(name)
    )
    ended = command("nightly", "--direct", "--lab", small.root)
    assert ended.code == 1
    assert "values_are_finite (1 rows, the first: {'sheet_id': 'S1'})" in ended.err
    assert not small.warehouse.exists()
    assert list(small.published.iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("bogus",), "No such command 'bogus'"),
        (("sql",), "--file - to read standard input"),
        (("sql", "SELECT 1", "--file", "query.sql"), "exclude each other"),
        (("sql", "--file", "nowhere.sql"), "nowhere.sql"),
        (("sql", "--file", "."), "cannot be read"),
        (("sql", " ; -- nothing"), "The query is empty"),
        (("sql", "SELECT 1", "--format", "xml"), "'table', 'csv', 'json', 'markdown', 'parquet', 'xlsx'"),
        (("sql", "SELECT 1", "--format", "parquet"), "--out result.parquet"),
        (("sql", "SELECT 1", "--format", "xlsx"), "--out result.xlsx"),
        (("sql", "SELECT 1", "--out", "result"), ".csv"),
        (("sql", "SELECT $n", "-p", "n"), "Write NAME=VALUE"),
        (("sql", "SELECT $n", "-p", "n=1", "-p", "n=2"), "given twice"),
        (("demo", "somewhere", "--sheets", "3"), "greater than or equal to 12"),
        (("held", "--lab", "nowhere"), "sheetlore new-lab"),
        (("trace", "\udcff"), "not text in this system's encoding"),
    ],
)
def test_wrong_usage_exits_with_2_and_a_remedy(command, tmp_path, monkeypatch, arguments, message):
    monkeypatch.chdir(tmp_path)
    ended = command(*arguments)
    assert ended.code == 2
    assert message in ended.err
    assert ended.out == ""
    assert list(tmp_path.iterdir()) == []


def test_a_run_with_something_on_hold_exits_with_3(command, small):
    small.readings("a.csv", "S1,1,-5,AB")
    ended = command("nightly", "--direct", "--lab", small.root)
    assert ended.code == 3
    assert "sheetlore held" in ended.out


def test_a_second_run_ends_with_4_and_does_nothing(command, small, locked):
    with locked(small):
        for options in (("--direct",), ()):
            ended = command("nightly", *options, "--lab", small.root)
            assert ended.code == 4, options
            assert f"Another run is active on {small.root}; nothing was done." in " ".join(ended.err.split())
    assert not small.warehouse.exists()


def test_the_lock_of_a_run_that_was_killed_is_free(command, small):
    small.lock_file.touch()
    assert command("nightly", "--direct", "--lab", small.root).code == 0


def test_a_process_ends_with_the_code_of_its_command(process, tmp_path):
    assert process("sql", "SELECT 1", "--lab", tmp_path).returncode == 2


def test_queries_before_the_first_run_are_refused(command, small):
    for arguments in (("held",), ("sql", "SELECT 1"), ("trace", "S1")):
        ended = command(*arguments, "--lab", small.root)
        assert ended.code == 1
        assert "sheetlore nightly --lab" in ended.err


# new-lab and demo


def test_a_new_laboratory_has_its_folders_and_the_default_settings(command, tmp_path):
    ended = command("new-lab", tmp_path / "lab")
    laboratory = Laboratory(tmp_path / "lab")
    assert laboratory.settings() == Settings()
    for folder in (laboratory.inbox, laboratory.exports, laboratory.archive, laboratory.published):
        assert folder.is_dir()
    assert f"sheetlore nightly --lab {tmp_path / 'lab'}" in ended.out


def test_the_template_names_every_setting_with_its_default(command, tmp_path):
    command("new-lab", tmp_path / "lab")
    text = (tmp_path / "lab" / "lab.toml").read_text(encoding="utf-8")
    assert Settings.model_validate(tomllib.loads(text)) == Settings()
    for section, values in Settings().model_dump().items():
        assert f"[{section}" in text
        for key in [*values, *(lab_settings.TesterSection.model_fields if section == "testers" else ())]:
            assert re.search(rf"^(# )?{key} = ", text, re.MULTILINE), f"{section}.{key}"


FILLED_IN = {
    "forming": "S1,ladder,A,1,2026-10-26 08:00,A,pine 60,0.3,4.2,1.07,1100,1.2,1,20,100,2,30,1250,plain 80,60,AB,",
    "pressing": "S1,1,2,8.5,,,two blotters,2026-10-26 08:20",
    "drying": "S1,1,cylinder,full,95,7,2026-10-26 08:30",
    "conditioning": "S1,room 1,dry side,2026-10-26 10:00,2026-10-27 09:00,",
}


@pytest.mark.parametrize("form", ["as given", pytest.param("European spreadsheet", marks=pytest.mark.slow)])
def test_a_filled_in_template_is_imported_as_it_is(command, tmp_path, form):
    command("new-lab", tmp_path / "lab")
    laboratory = Laboratory(tmp_path / "lab")
    templates = {path.stem: path.read_text() for path in (laboratory.root / "templates").iterdir()}
    assert templates.keys() == FILLED_IN.keys()
    for name, header in templates.items():
        text = header + FILLED_IN[name] + "\n"
        if form == "European spreadsheet":
            text = text.replace(",", ";").replace(".", ",")
        (laboratory.inbox / f"{name}.csv").write_text(text)
    ended = command("nightly", "--direct", "--lab", laboratory.root)
    assert ended.code == 0, command("held", "--lab", laboratory.root).out
    with reading(latest_snapshot(laboratory.published)) as connection:
        sheets = connection.execute(
            "SELECT sheet_id, trial, jet_to_wire_ratio > 0.5, n_press_passes, drying_methods, "
            "predicted_grammage_g_m2, retention_pct FROM sheet"
        ).fetchall()
        assert sheets == [("S1", "ladder", True, 1, "cylinder", None, None)]
        assert connection.execute("SELECT count(*) FROM records.conditioning").fetchall() == [(1,)]
    assert (
        "Not computed: centrifugal acceleration, predicted grammage, retention. Give drum_radius_mm, "
        "forming_length_mm, forming_width_mm in lab.toml, under [former]; the next run computes them."
        in ended.out
    )
    assert "No means yet: 1 sheet and no test results." in ended.out
    assert command("trace", "S1", "--lab", laboratory.root).code == 0
    if form == "European spreadsheet":
        return  # what follows does not depend on the form
    text = laboratory.settings_file.read_text()
    for measure, value in (("drum_radius", 150), ("forming_length", 900), ("forming_width", 220)):
        text = re.sub(rf"^# {measure}_mm = ", f"{measure}_mm = {value} ", text, flags=re.M)
    laboratory.settings_file.write_text(text)
    assert "Not computed" not in command("nightly", "--direct", "--lab", laboratory.root).out
    with reading(latest_snapshot(laboratory.published)) as connection:
        assert connection.execute("SELECT predicted_grammage_g_m2 > 0 FROM sheet").fetchall() == [(True,)]


def test_a_laboratory_is_never_made_over_another(command, small):
    small.settings_file.write_text("[former]\ndrum_radius_mm = 200.0\n")
    ended = command("new-lab", small.root)
    assert ended.code == 2
    assert small.settings().former.drum_radius_mm == 200


def test_the_demo_does_not_write_into_a_folder_with_something_in_it(command, tmp_path):
    (tmp_path / "thesis.txt").write_text("years of work")
    ended = command("demo", tmp_path, "--direct")
    assert ended.code == 2
    assert [path.name for path in tmp_path.iterdir()] == ["thesis.txt"]


def test_the_demo_ends_with_0_and_its_hints_are_commands_that_work(command, tmp_path):
    ended = command("demo", tmp_path / "lab", "--sheets", "12", "--direct")
    assert ended.code == 0
    hints = re.findall(r'^  sheetlore (?:(held)|(trace) (\S+)|(sql) "(.*)") --lab (\S+)$', ended.out, re.M)
    assert len(hints) == 3
    for hint in hints:
        *arguments, lab = filter(None, hint)
        assert command(*arguments, "--lab", lab).code == 0


# Settings


@pytest.mark.parametrize(
    ("text", "complaints"),
    [
        ("[fromer]\n", ["fromer: unknown key; did you mean 'former'?"]),
        ("[former]\ndrum_radius = 150.0\n", ["former.drum_radius: unknown key", "'drum_radius_mm'"]),
        ("[former]\ndrum_radius_mm = -1.0\n", ["former.drum_radius_mm: Input should be greater than 0"]),
        ('[former]\ndrum_radius_mm = "150"\n', ["former.drum_radius_mm: Input should be a valid number"]),
        (
            '[laboratory]\ntime_zone = "Europe/Nowhere"\n',
            ["laboratory.time_zone: 'Europe/Nowhere' is not a known time zone"],
        ),
        ('[properties]\ngrammage_basis = "wet"\n', ["properties.grammage_basis:", "'conditioned'", "'wet'"]),
        ("[publishing]\nsnapshots_kept = 0\n", ["publishing.snapshots_kept:", "(given: 0)"]),
        ("[former\n", ["is not valid TOML", "line 1"]),
        ("[former]\na = 1\n[intake]\nb = 2\n", ["former.a:", "intake.b:"]),
    ],
)
def test_a_wrong_setting_ends_with_2_and_names_file_and_key(command, small, text, complaints):
    small.settings_file.write_text(text)
    for arguments in (("nightly",), ("held",)):
        ended = command(*arguments, "--lab", small.root)
        assert ended.code == 2
        assert str(small.settings_file) in ended.err
        for complaint in complaints:
            assert complaint in ended.err
    assert not small.warehouse.exists()


def test_settings_that_are_no_utf8_end_with_2(command, small):
    small.settings_file.write_bytes(b'[laboratory]\nname = "Papp\xe9"\n')
    ended = command("held", "--lab", small.root)
    assert ended.code == 2
    assert "Save it as UTF-8." in ended.err


def test_settings_with_a_byte_order_mark_are_read(small):
    small.settings_file.write_bytes(b"\xef\xbb\xbf[former]\ndrum_radius_mm = 99.0\n")
    assert small.settings().former.drum_radius_mm == 99


def test_a_wrong_profile_ends_with_2_and_names_file_key_and_the_nearest_right_one(command, small):
    profile = small.exports / "small-thickness.toml"
    profile.write_text(profile.read_text().replace("thickness = {", "thicknes = {"))
    ended = command("nightly", "--direct", "--lab", small.root)
    assert ended.code == 2
    assert str(profile) in ended.err
    assert "thicknes" in ended.err
    assert "'thickness'" in ended.err
    assert not small.warehouse.exists()


# What goes where


def test_the_report_goes_to_stdout_and_progress_to_stderr(command, small):
    small.readings("a.csv", "S1,1,100,AB")
    ended = command("nightly", "--direct", "--lab", small.root)
    assert "This run: 1 file, 1 row imported." in ended.out
    assert "Collected: 1 new files" in ended.err
    assert "Collected" not in ended.out
    assert "This run" not in ended.err


def test_the_report_as_json(command, small):
    small.readings("a.csv", "S1,1,100,AB", "S1,2,-100,AB")
    (small.inbox / "large.csv").write_bytes(b"x" * 2000)
    small.settings_file.write_text(
        "[intake]\nquiet_seconds = 0\nlargest_file_mb = 0.001\n[publishing]\npage = false\n"
    )
    ended = command("nightly", "--direct", "--json", "--lab", small.root)
    report = json.loads(ended.out)
    assert ended.code == 3
    assert report["changed"] is True
    assert {name: report[name] for name in ("files_read", "rows_read", "rows_loaded", "rows_held")} == {
        "files_read": 1,
        "rows_read": 1,
        "rows_loaded": 1,
        "rows_held": 1,
    }
    assert report["tests_unmatched"] == 1
    assert [waiting["file"] for waiting in report["waiting"]] == ["large.csv"]
    assert report["snapshot"] == str(next(small.published.glob("*.duckdb")))
    again = json.loads(command("nightly", "--direct", "--json", "--lab", small.root).out)
    assert again["changed"] is False
    assert (again["files_read"], again["rows_read"], again["rows_held"]) == (0, 0, 1)


PLAIN = {"COLUMNS": "40", "FORCE_COLOR": "", "TERM": "xterm-256color"}


@pytest.mark.parametrize("arguments", [("held",), ("trace", "JW-001"), ("sql", "FROM sheet")])
def test_output_that_is_no_terminal_is_plain_and_whole(command, demo_night, monkeypatch, arguments):
    for name, value in PLAIN.items():
        monkeypatch.setenv(name, value)
    ended = command(*arguments, "--lab", demo_night.laboratory.root)
    assert ended.code == 0
    assert ESCAPE not in ended.out + ended.err
    assert "…" not in ended.out


def test_output_of_a_process_that_is_no_terminal_is_plain(process, demo_night):
    """A process of its own decides on colours while it loads its modules."""
    for arguments in (("held", "--lab", demo_night.laboratory.root), ("--help",)):
        ended = process(*arguments, **PLAIN)
        assert ended.returncode == 0
        assert ESCAPE not in ended.stdout + ended.stderr


def in_terminal(width, *arguments):
    """Run a command in a terminal of some width and return what it shows."""
    controller, terminal = pty.openpty()
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 40, width, 0, 0))
    environment = os.environ | {"TERM": "xterm-256color", "COLUMNS": str(width)}
    with subprocess.Popen(
        [EXECUTABLE, *map(str, arguments)], stdin=terminal, stdout=terminal, stderr=terminal, env=environment
    ):
        os.close(terminal)
        shown = b""
        with contextlib.suppress(OSError):  # a closed terminal ends so
            while part := os.read(controller, 65536):
                shown += part
    os.close(controller)
    return re.sub(r"\x1b\[[0-9;]*m", "", shown.decode())


def test_a_table_wider_than_the_terminal_is_shown_value_by_value(demo_night):
    lab = ("--lab", demo_night.laboratory.root)
    wide = in_terminal(70, "sql", "FROM layer ORDER BY ALL LIMIT 2", *lab)
    assert "Row 2" in wide
    for name in marts()["layer"].to_schema().columns:
        assert re.search(rf"^  {name} ", wide, re.M), name
    assert "…" not in wide
    narrow = in_terminal(70, "sql", "SELECT trial_point, n_sheets FROM trial_point LIMIT 2", *lab)
    assert "Row 2" not in narrow
    assert re.search(r"trial_point +n_sheets", narrow)


# sql


@pytest.fixture(scope="module")
def tricky():
    """Values that a writer of text must get right, as a query."""
    return (
        "SELECT * FROM (VALUES (1, NULL, 'plain'), (2, 'say \"no\", twice', 'a|b\\c'), "
        "(3, 'two\nlines', 'µ€漢 𝛼'), (4, ' spaces ', '-1+1=0')) AS tricky(n, \"first; one\", other), "
        "(SELECT TIMESTAMP '2026-10-25 03:30:00.25' AS at_utc, 0.1 + 0.2::DOUBLE AS sum, true AS sure)"
        " ORDER BY n"
    )


def test_csv_round_trip(command, demo_night, tricky):
    ended = command("sql", tricky, "--lab", demo_night.laboratory.root, "--format", "csv")
    header, *rows = read_csv(ended.out)
    assert header == ["n", "first; one", "other", "at_utc", "sum", "sure"]
    assert [row[1] for row in rows] == ["", 'say "no", twice', "two\nlines", " spaces "]
    assert [row[2] for row in rows] == ["plain", "a|b\\c", "µ€漢 𝛼", "-1+1=0"]
    assert rows[0][3:] == ["2026-10-25 03:30:00.250000", "0.30000000000000004", "True"]


def test_json_round_trip(command, demo_night, tricky):
    rows = json.loads(command("sql", tricky, "--lab", demo_night.laboratory.root, "--format", "json").out)
    assert [row["first; one"] for row in rows] == [None, 'say "no", twice', "two\nlines", " spaces "]
    assert rows[2]["other"] == "µ€漢 𝛼"
    assert (rows[0]["at_utc"], rows[0]["sum"], rows[0]["sure"]) == (
        "2026-10-25T03:30:00.250000",
        0.1 + 0.2,
        True,
    )


def test_json_has_numbers_as_numbers_and_nan_as_null(command, demo_night):
    query = "SELECT 1.5 AS a, sum(range) AS b, 'nan'::DOUBLE AS c, [0.5, 'inf'::DOUBLE] AS d FROM range(5)"
    ended = command("sql", query, "--lab", demo_night.laboratory.root, "--format", "json")
    assert json.loads(ended.out, parse_constant=pytest.fail) == [
        {"a": 1.5, "b": 10, "c": None, "d": [0.5, None]}
    ]


def test_json_loses_no_column_whose_name_another_has(command, demo_night):
    ended = command("sql", "SELECT 1 AS a, 2 AS a", "--lab", demo_night.laboratory.root, "--format", "json")
    assert ended.code == 2
    assert "same name" in ended.err


def test_markdown_keeps_each_row_on_a_line_and_each_cell_in_its_column(command, demo_night, tricky):
    ended = command("sql", tricky, "--lab", demo_night.laboratory.root, "--format", "markdown")
    lines = ended.out.splitlines()
    assert len(lines) == 6
    cells = [[cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]] for line in lines]
    assert {len(row) for row in cells} == {6}
    assert cells[3][2] == "a\\|b\\\\c"
    assert cells[4][1] == "two lines"


def test_parquet_round_trip_of_types_and_values(command, demo_night, tricky, tmp_path):
    out = tmp_path / "result.parquet"
    ended = command("sql", tricky, "--lab", demo_night.laboratory.root, "--format", "parquet", "--out", out)
    assert (ended.code, ended.out) == (0, "")
    table = pyarrow.parquet.read_table(out)
    assert table.column("first; one").to_pylist() == [None, 'say "no", twice', "two\nlines", " spaces "]
    assert [str(kind) for kind in table.schema.types] == [
        "int32",
        "string",
        "string",
        "timestamp[us]",
        "double",
        "bool",
    ]


@pytest.mark.parametrize(
    ("form", "first"), [("csv", "n\n"), ("json", "[\n"), ("markdown", "| n |\n"), ("table", "n\n")]
)
def test_a_result_goes_to_a_file_and_then_not_to_stdout(command, demo_night, tmp_path, form, first):
    out = tmp_path / "result"
    ended = command(
        "sql", "SELECT 7 AS n", "--lab", demo_night.laboratory.root, "--format", form, "--out", out
    )
    assert (ended.code, ended.out) == (0, "")
    assert out.read_text(encoding="utf-8").startswith(first)
    assert "7" in out.read_text(encoding="utf-8")


def test_a_result_without_rows_still_has_its_header(command, demo_night):
    query = "SELECT sheet_id FROM sheet WHERE false"
    lab = ("--lab", demo_night.laboratory.root)
    assert command("sql", query, *lab, "--format", "csv").out == "sheet_id\r\n"
    assert json.loads(command("sql", query, *lab, "--format", "json").out) == []


def test_an_unwritable_file_is_an_error(command, demo_night, tmp_path):
    ended = command(
        "sql", "SELECT 1", "--lab", demo_night.laboratory.root, "--out", tmp_path / "no" / "such.csv"
    )
    assert ended.code == 2
    assert ended.err == f"Folder not found: {tmp_path / 'no'}\nCreate it, or choose another folder.\n"


def test_a_query_is_never_cut_at_a_nul(command, demo_night, tmp_path):
    file = tmp_path / "query.sql"
    file.write_bytes(b"SELECT count(*) FROM sheet \0 WHERE false")
    ended = command("sql", "--file", file, "--lab", demo_night.laboratory.root)
    assert ended.code == 2
    assert "NUL character" in ended.err
    assert ended.out == ""


def test_a_query_that_fails_late_leaves_no_file(command, demo_night, tmp_path):
    query = "SELECT if(range = 150000, error('too late'), range) FROM range(200000)"
    ended = command("sql", query, "--lab", demo_night.laboratory.root, "--out", tmp_path / "out.csv")
    assert ended.code == 2
    assert "too late" in ended.err
    assert list(tmp_path.iterdir()) == []


def test_a_query_is_read_from_a_file_or_standard_input(command, demo_night, tmp_path, monkeypatch):
    lab = ("--lab", demo_night.laboratory.root, "--format", "csv")
    query = "\ufeff-- how many\nSELECT count(*) AS sheets FROM sheet WHERE trial <> 'Größe';\n"
    (tmp_path / "query.sql").write_text(query, encoding="utf-8")
    assert command("sql", "--file", tmp_path / "query.sql", *lab).out == "sheets\r\n60\r\n"
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(query.encode())))
    assert command("sql", "--file", "-", *lab).out == "sheets\r\n60\r\n"
    (tmp_path / "query.sql").write_bytes(b"SELECT '\xff'")
    ended = command("sql", "--file", tmp_path / "query.sql", *lab)
    assert ended.code == 2
    assert "Save it as UTF-8." in ended.err


@pytest.mark.parametrize(
    ("query", "parameters", "count"),
    [
        ("FROM range(10) WHERE range >= $n", ["n=7"], 3),
        ("FROM range(10) WHERE range + $n > 10.4", ["n=2.5"], 2),
        ("FROM sheet WHERE sheet_id = $sheet", ["sheet=JW-001"], 1),
        ("FROM (SELECT '007' AS sheet_id) WHERE sheet_id = $sheet", ["sheet=007"], 1),
        ("FROM (SELECT '104' AS sheet_id) WHERE sheet_id = $sheet", ["sheet='104'"], 1),
        ("FROM sheet WHERE formed_at_utc < $day", ["day=1990-12-31"], 0),
        ("FROM sheet WHERE formed_at_utc > $day", ["day=1990-12-31"], 60),
        ("FROM sheet WHERE $day::DATE + 1 = DATE '2026-03-01'", ["day=2026-02-28"], 60),
        ("FROM (SELECT $who AS who) WHERE who = 'O''Brien \"x\"'", ['who=O\'Brien "x"'], 1),
        ("FROM sheet WHERE sheet_id = $s", ["s=' OR 1=1; DROP TABLE sheet; --"], 0),
        ("FROM (SELECT $s AS s) WHERE s = ''' OR true --'", ["s=' OR true --"], 1),
        ("FROM sheet WHERE grammage_g_m2 BETWEEN $low AND $High", ["low=1", "high=1000"], 60),
    ],
)
def test_parameters_are_values_and_never_sql(command, demo_night, query, parameters, count):
    options = [option for parameter in parameters for option in ("-p", parameter)]
    ended = command(
        "sql", f"SELECT count(*) {query}", *options, "--lab", demo_night.laboratory.root, "--format", "json"
    )
    assert ended.code == 0, ended.err
    assert list(json.loads(ended.out)[0].values()) == [count]


@pytest.mark.parametrize(
    ("parameters", "what"),
    [
        ([], "no value for $sheet"),
        (["sheet=1", "sheets=2"], "for $sheets, which is not in the query"),
        (["shet=1"], "no value for $sheet"),
    ],
)
def test_a_parameter_that_is_missing_or_unknown_is_named(command, demo_night, parameters, what):
    options = [option for parameter in parameters for option in ("--parameter", parameter)]
    ended = command("sql", "SELECT $sheet", *options, "--lab", demo_night.laboratory.root)
    assert ended.code == 2
    assert what in ended.err
    assert ended.out == ""


@pytest.mark.parametrize("number", range(6))
def test_every_example_of_the_help_has_an_answer(command, demo_night, number, tmp_path, monkeypatch):
    """A shell takes them apart, unchanged."""
    examples = re.findall(r'Example: (sheetlore sql "[^"]*".*)', command("sql", "--help").out)
    assert len(examples) == 6
    assert not any(sign in re.sub('"[^"]*"', "", examples[number]) for sign in "|<>&;"), (
        "it runs nothing else"
    )
    words = subprocess.run(
        f"sheetlore() {{ printf '%s\\0' \"$@\"; }}\n{examples[number]}",
        shell=True,
        check=True,
        capture_output=True,
        text=True,
    )
    monkeypatch.chdir(tmp_path)
    ended = command(*words.stdout.split("\0")[:-1], "--lab", demo_night.laboratory.root)
    assert ended.code == 0, ended.err
    spreadsheets = [openpyxl.load_workbook(path) for path in tmp_path.iterdir()]
    rows = [book["result"].max_row for book in spreadsheets] or [len(ended.out.splitlines()) - 1]
    assert rows[0] > 2


def test_a_terminal_shows_the_first_rows_and_says_how_many_there_are(demo_night):
    lab = ("--lab", demo_night.laboratory.root)
    shown = in_terminal(70, "sql", "FROM range(12345)", *lab)
    assert re.search(r"^ *499\r?$", shown, re.M)
    assert not re.search(r"^ *500\r?$", shown, re.M)
    assert "The first 500 of 12,345 rows" in shown
    assert "The first" not in in_terminal(70, "sql", "FROM range(500)", *lab)


def test_output_that_is_no_terminal_has_all_rows(command, demo_night):
    ended = command("sql", "FROM range(12345)", "--lab", demo_night.laboratory.root)
    assert len(ended.out.splitlines()) == 2 + 12345
    assert ended.err == ""


@pytest.mark.slow
@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_a_million_rows_pass_through_little_memory(demo_night, tmp_path, form):
    measuring = tmp_path / "measuring.py"
    measuring.write_text(
        "import resource\n"
        "from pipelines import cli\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "try: cli.main()\n"
        "finally: print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)\n"
    )
    query = "SELECT range AS n, repeat('x', 500) || range AS text FROM range(1000000)"
    out = tmp_path / f"out.{form}"
    ended = subprocess.run(
        [sys.executable, measuring, "sql", query, "--lab", demo_night.laboratory.root, "--out", out],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert ended.stderr == ""
    assert out.stat().st_size > 1_000_000
    used_mb = int(ended.stdout) / 1024
    assert used_mb < 300, "the rows are 500 MB, and as Python's values more"


def wait_until(state):
    """Wait for a state that another process brings about."""
    deadline = time.monotonic() + 120
    while not state():
        assert time.monotonic() < deadline
        time.sleep(0.01)


def test_a_long_query_ends_with_ctrl_c(demo_night):
    query = "SELECT count(*) FROM range(10000000) AS a, range(10000000) AS b WHERE a.range * b.range = 7"
    with subprocess.Popen(
        [EXECUTABLE, "sql", query, "--lab", demo_night.laboratory.root],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),  # as in a terminal
    ) as asking:  # fmt: skip
        watched = psutil.Process(asking.pid)
        wait_until(lambda: str(demo_night.snapshot) in {file.path for file in watched.open_files()})
        opened_after = watched.cpu_times().user
        wait_until(lambda: watched.cpu_times().user > opened_after + 0.5)  # only the query takes so long
        asking.send_signal(signal.SIGINT)
        out, err = asking.communicate(timeout=60)
    assert asking.returncode not in (0, 2)
    assert out == ""
    assert "Traceback" not in err


# held


def test_held_shows_place_cause_and_remedy(command, small):
    small.readings("readings.csv", "S1,1,-55,AB")
    small.log("log.csv", "S-10,T,A,")
    small.readings("others.csv", "S-1O,1,100,AB")
    (small.inbox / "notes.csv").write_text("nothing,known\n1,2\n")
    steps.run(small)
    shown = command("held", "--lab", small.root)
    assert shown.code == 0
    assert re.search(r"readings\.csv: line 2, column um, cell '-55'\n  range: .*\n  To do: .+\n", shown.out)
    assert "Original text: S1,1,-55,AB" in shown.out
    assert re.search(r"notes\.csv: the whole file\n  no_profile: .*\n  To do: .+\n", shown.out)
    assert (
        "Sheet S-1O is in no forming log: 1 result has this number (thickness; first others.csv, line 2)"
        in shown.out
    )
    assert "Perhaps meant: S-10" in shown.out
    found = json.loads(command("held", "--json", "--lab", small.root).out)
    (row,) = (row for row in found["held"] if row["file_name"] == "readings.csv")
    assert (row["line_number"], row["column_name"], row["cell"], row["rule"]) == (2, "um", "-55", "range")
    (test,) = found["unmatched"]
    assert (test["sheet_id"], test["suggested_sheet_id"], test["tests"]) == ("S-1O", "S-10", 1)


def test_held_says_when_there_is_nothing(command, small):
    small.log("log.csv", "S1,T,A,")
    small.readings("readings.csv", "S1,1,100,AB")
    steps.run(small)
    assert (
        command("held", "--lab", small.root).out
        == "Nothing to do: nothing is on hold, and every result has its sheet.\n"
    )


# trace


def test_trace_shows_formulas_with_numbers_and_their_lines(command, demo_night):
    shown = command("trace", "JW-001", "--lab", demo_night.laboratory.root).out
    with reading(demo_night.snapshot) as connection:
        (sheet,) = connection.execute(
            "SELECT apparent_density_kg_m3, grammage_g_m2, thickness_um FROM sheet WHERE sheet_id = 'JW-001'"
        ).fetchall()
    density, grammage, thickness = (f"{value:.7g}" for value in sheet)
    assert f"apparent_density_kg_m3 = 1000.0 * {grammage} / {thickness} = {density} kg/m3" in shown
    assert "1000.0 * grammage_g_m2 / thickness_um" in shown
    assert re.search(r"tensile-si_001\.csv line \d+ \(SHA-256 [0-9a-f]{12}\)", shown)
    assert re.search(r"Original text: JW-001;", shown)
    assert re.search(r"tensile-si_001\.csv \(SHA-256 [0-9a-f]{64}\)", shown)


@pytest.mark.parametrize(
    ("kind", "fault_name", "record_status"),
    [
        ("moisture", "corrected re-export", "superseded"),
        ("basis_weight", "dated before forming", "held"),
        ("basis_weight", "overlapping export", "repeated"),
    ],
)
def test_trace_shows_the_original_text_of_rows_not_in_use(
    command, demo_night, kind, fault_name, record_status
):
    (fault,) = (fault for fault in demo_night.faults if fault.name == fault_name)
    with reading(demo_night.snapshot) as connection:
        (sheet_id,) = connection.execute(
            f"SELECT sheet_id FROM records.{kind} JOIN export_file USING (file_hash) "
            "WHERE file_name = ? AND line_number = ?",
            [fault.file_name, fault.lines[0]],
        ).fetchone()
    shown = command("trace", sheet_id, "--lab", demo_night.laboratory.root).out
    record = rf"^  {re.escape(fault.file_name)} line {fault.lines[0]} .* \[{record_status}.*\]\n"
    values_and_formula = r"(?:.*\n){1,3}?"
    assert re.search(rf"{record}{values_and_formula}    Original text: {sheet_id}", shown, re.M)
    found = json.loads(command("trace", sheet_id, "--json", "--lab", demo_night.laboratory.root).out)
    row = next(row for row in found["records"][kind] if row["record_status"] == record_status)
    assert (row["file_name"], row["line_number"]) == (fault.file_name, fault.lines[0])
    assert row["original_text"].startswith(sheet_id)


def test_trace_says_when_the_sheet_is_in_no_forming_log(command, small_after_run):
    ended = command("trace", "S1", "--lab", small_after_run.root)
    assert ended.code == 0
    assert "Sheet S1 is in no forming log; its results are unmatched." in ended.out
    assert "Original text: S1,1,100,AB" in ended.out


def test_trace_of_an_unknown_sheet_exits_with_2(command, demo_night):
    ended = command("trace", "JW-9999", "--lab", demo_night.laboratory.root)
    assert ended.code == 2
    assert "Sheet 'JW-9999' not found: no record has this number." in ended.err
    assert ended.out == ""


def test_trace_still_works_when_an_archived_file_is_gone(command, small_after_run):
    shutil.rmtree(small_after_run.archive)
    ended = command("trace", "S1", "--lab", small_after_run.root)
    assert ended.code == 0
    assert "1.csv line 2" in ended.out
    assert "Original text" not in ended.out


# Text from files stays text

HOSTILE = {
    "markup": "[red]S[/red] [link=file:///x]:smile:",
    "long": "S" + "x" * 79,
    "right to left": "S\u202etxt.\u2066gpj\u200f",
    "Markdown": "**S**|`x`<script>alert(1)</script>",
    "SQL": "S'; DROP TABLE sheet; --",
    "placeholders": "%s {0} {sheet_id} $x",
}
OBEYED = (ESCAPE, "\x07", "\x9b", "\u202e", "\u2066", "\u200f")
"""Control characters that a terminal would obey."""


def visible(text):
    return "".join(sign if sign.isprintable() else "·" for sign in text)


@pytest.fixture(scope="module")
def hostile_laboratory(made_once):
    """A small laboratory after a run, with each hostile text as a sheet, a tester's name and a remark."""

    def make(folder):
        small = SmallLaboratory(folder / "lab")
        for number, text in enumerate(HOSTILE.values()):
            small.readings(f"{number}.csv", f'"{text}",1,-100,"{text}"', f'"{text}",2,100,"{text}"')
        small.log("log.csv", *(f'"{text}",T,A,"{text}"' for text in HOSTILE.values()))
        steps.run(small)
        return small.root

    return made_once("hostile-cells", make)


@pytest.mark.parametrize("hostile", HOSTILE.values(), ids=HOSTILE.keys())
def test_cells_stay_text(command, hostile_laboratory, tmp_path, hostile):
    lab = ("--lab", shutil.copytree(hostile_laboratory, tmp_path / "lab"))
    for arguments in (("nightly", "--direct"), ("held",), ("trace", hostile), ("sql", "FROM layer")):
        ended = command(*arguments, *lab)
        assert ended.code in (0, 3)
        assert not any(sign in ended.out for sign in OBEYED)
        if arguments != ("nightly", "--direct"):
            assert visible(hostile) in ended.out
    held = json.loads(command("held", "--json", *lab).out)["held"]
    assert [row["original_text"] for row in held] == [
        f'"{text}",1,-100,"{text}"' for text in HOSTILE.values()
    ]
    traced = json.loads(command("trace", hostile, "--json", *lab).out)
    assert traced["sheet"]["sheet_id"] == hostile
    assert [layer["note"] for layer in traced["layers"]] == [hostile]


def test_names_of_files_stay_text(command, small):
    name = f"[red]{ESCAPE}[31m\u202e {{0}} %s\n\x07.csv"
    small.readings(name, "S1,1,-100,AB")
    night = command("nightly", "--direct", "--lab", small.root)
    held = command("held", "--lab", small.root)
    assert f"{visible(name)}: line 2" in held.out
    assert not any(sign in night.out + night.err + held.out for sign in OBEYED)
    (row,) = json.loads(command("held", "--json", "--lab", small.root).out)["held"]
    assert row["file_name"] == name


def test_terminal_codes_in_a_file_on_hold_are_escaped(command, small):
    small.readings("readings.csv", f"S1,1,100,{ESCAPE}[31m")
    steps.run(small)
    ended = command("held", "--lab", small.root)
    assert "the whole file" in ended.out
    assert "U+001B" in ended.out
    assert ESCAPE not in ended.out


def test_terminal_codes_in_arguments_are_not_sent_back(command, demo_night, tmp_path):
    code, lab = f"{ESCAPE}[31m", ("--lab", demo_night.laboratory.root)
    for arguments in (
        ("trace", code, *lab),
        ("sql", f"SELECT '{code}' FROM \"{code}\"", *lab),
        ("held", "--lab", tmp_path / code),
    ):
        ended = command(*arguments)
        assert ended.code == 2
        assert ended.err
        assert ESCAPE not in ended.err


# Streams and signals


@pytest.mark.slow
def test_a_stream_without_unicode_does_not_fail(process, demo_night):
    lab = ("--lab", demo_night.laboratory.root)
    commands = (
        ("trace", "JW-001"),
        ("held",),
        ("sql", "SELECT 'µ€漢' AS x"),
        ("sql", "SELECT 'µ€漢' AS x", "--format", "csv"),
        ("sql", "SELEC 'µ€漢'"),
    )
    code = (
        "import json, sys; from pipelines import cli\n"
        "for arguments in json.loads(sys.argv[1]):\n"
        "    sys.argv = ['sheetlore', *arguments]\n"
        "    try: cli.main()\n"
        "    except SystemExit as end: print(f'\\nexit code {end.code or 0}')\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, json.dumps([[*arguments, *map(str, lab)] for arguments in commands])],
        capture_output=True,
        encoding="utf-8",
        env=os.environ | {"PYTHONIOENCODING": "ascii"},
    )
    assert ended.returncode == 0, ended.stderr
    assert re.findall(r"^exit code (\d)$", ended.stdout, re.M) == ["0", "0", "0", "0", "2"]
    assert "Traceback" not in ended.stderr
    ended = process("sql", "SELECT 'µ€漢' AS x", "--format", "json", *lab, PYTHONIOENCODING="ascii")
    assert json.loads(ended.stdout) == [{"x": "µ€漢"}]


@pytest.mark.parametrize("form", ["table", "csv", "json", "markdown"])
def test_a_closed_pipe_gives_no_traceback(demo_night, form):
    with subprocess.Popen(
        [EXECUTABLE, "sql", "SELECT * FROM range(20000)", "--format", form, "--lab", demo_night.laboratory.root],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as writer:  # fmt: skip
        assert writer.stdout is not None
        assert writer.stderr is not None
        writer.stdout.readline()
        writer.stdout.close()
        assert writer.stderr.read() == ""


def test_an_interrupted_run_shows_no_traceback_and_leaves_no_files(small):
    os.utime(small.readings("complete.csv", "S1,1,100,AB"), (0, 0))
    small.readings("recent.csv", "S1,2,100,AB")
    small.settings_file.write_text("[intake]\nquiet_seconds = 3600\n")
    with subprocess.Popen(
        [EXECUTABLE, "nightly", "--direct", "--lab", small.root],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),  # as in a terminal
    ) as night:  # fmt: skip
        working = small.root / "warehouse.run.duckdb"
        wait_until(lambda: list(small.archive.glob("*/*")))  # now it waits for the recent file
        assert working.exists()
        night.send_signal(signal.SIGINT)
        out, err = night.communicate(timeout=60)
    assert night.returncode not in (0, 3)
    assert "Traceback" not in out + err
    assert not working.exists()
    assert not small.warehouse.exists()


def test_a_broken_terminal_setting_does_no_harm(process, demo_night):
    ended = process("held", "--lab", demo_night.laboratory.root, TERM="no-such-terminal", COLUMNS="x")
    assert ended.returncode == 0, ended.stderr
    assert os.linesep in ended.stdout
    assert sys.executable not in ended.stderr
