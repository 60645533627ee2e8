"""How long runs take. Nothing is asserted about time; run with: pytest tests/benchmarks --benchmark-only"""

import itertools
import shutil

import pytest

from pipelines.demo import laboratory as demo_laboratory
from pipelines.flows import steps
from pipelines.intake import profiles
from pipelines.intake.ingestion import ingest
from pipelines.intake.profile_matching import ArchivedFile
from pipelines.settings import Laboratory, Settings
from pipelines.warehouse import building, ledger, loading
from pipelines.warehouse.connection import transaction, working
from pipelines.warehouse.duplicate_resolution import resolve_duplicates, set_setting
from pipelines.warehouse.property_table import store_registry
from pipelines.warehouse.tables import create_table
from schemas.marts.night import Night
from schemas.properties import shipped

SHEETS = 216
SHEETS_PER_FILE = 3
"""Together some 600 files with some 9,400 rows, without room logs and raw curves, which are few and long."""

PIECES = 1_000_000
PIECES_PER_SHEET = 20
SHEETS_PER_POINT = 5


@pytest.fixture(scope="module")
def many_files(tmp_path_factory):
    """A laboratory whose inbox holds many small files, as testers leave them; nothing has run yet."""
    laboratory = demo_laboratory.write(
        tmp_path_factory.mktemp("many") / "lab", sheets=SHEETS, sheets_per_file=SHEETS_PER_FILE
    ).laboratory
    for path in laboratory.inbox.iterdir():
        if path.name.startswith(("climate", "tensile-curve")):
            path.unlink()
    return laboratory


@pytest.fixture
def copies(many_files, tmp_path):
    """Make one more copy of the laboratory at each call."""
    numbers = itertools.count()
    return lambda: Laboratory(shutil.copytree(many_files.root, tmp_path / str(next(numbers))))


def test_a_first_run_of_many_small_files(benchmark, copies):
    report = benchmark.pedantic(steps.run, setup=lambda: ((copies(),), {}), rounds=5, warmup_rounds=1)
    benchmark.extra_info |= {name: report.night[name] for name in ("files_read", "rows_read", "test_pieces")}
    assert report.changed


def test_an_idle_run(benchmark, copies):
    laboratory = copies()
    steps.run(laboratory)
    report = benchmark.pedantic(steps.run, (laboratory,), rounds=10)
    assert not report.changed


def test_a_night_with_one_new_file(benchmark, copies):
    """The new file repeats an older one with one more blank line, so that each round has other bytes."""
    laboratory = copies()
    laboratory.settings_file.write_text(demo_laboratory.SETTINGS + "\n[intake]\nquiet_seconds = 0\n")
    older = (laboratory.inbox / "thickness-us_001.csv").read_text()
    steps.run(laboratory)
    rounds = itertools.count(1)

    def one_more():
        (laboratory.inbox / "more.csv").write_text(older + "\n" * next(rounds))
        return (laboratory,), {}

    report = benchmark.pedantic(steps.run, setup=one_more, rounds=5, warmup_rounds=1)
    assert report.night["files_read"] == 1


def test_reading_one_group_of_rows(benchmark):
    """Some 20,000 thickness readings in 200 files of one profile: laid out, parsed, interpreted, validated."""
    header = "Series,Number,Reading,Plies,Caliper mil,Foot psi,Measured at,Measured by"
    files = []
    for number in range(200):
        rows = (
            f"S,{number:04d},{spot},1,{3.9 + spot / 1000:.4f},14.50,2026-10-01T08:00:00+02:00,AB"
            for spot in range(1, 101)
        )
        files.append(ArchivedFile(f"{number:064d}", f"{number}.csv", "\n".join([header, *rows, ""]).encode()))
    shipped = profiles.load_profiles(None)
    taken = benchmark.pedantic(ingest, (files, shipped, "UTC"), rounds=10, warmup_rounds=1)
    assert sum(len(records) for _, records in taken.records) == 20_000


@pytest.fixture(scope="module")
def a_million_pieces(tmp_path_factory):
    """A warehouse with a million tensile pieces, five weighings and ten readings of thickness for each sheet."""
    path = tmp_path_factory.mktemp("million") / "warehouse.duckdb"
    sheets = PIECES // PIECES_PER_SHEET
    identity = "'f' AS file_hash, row_number() OVER () AS line_number, 'd' AS record_digest"
    sheet = "'S' || sheet AS sheet_id"
    tables = {
        "forming": f"""
            SELECT {identity}, {sheet}, sheet_id AS record_key, 'T' || sheet % 40 AS trial,
                'P' || sheet // {SHEETS_PER_POINT} || '-' || trial AS trial_point, 1 AS layer_no,
                TIMESTAMP '2026-01-01' + to_seconds(sheet * 600) AS formed_at_utc, 0.3 AS consistency_pct,
                4.2 AS stock_volume_l, 6.0 AS flow_rate_l_min, 1000.0 + sheet % 100 AS wire_speed_m_min,
                1.5 AS nozzle_orifice_mm, 2 AS nozzle_count
            FROM range({sheets}) AS sheets (sheet)""",
        "basis_weight": f"""
            SELECT {identity}, {sheet}, sheet || '/' || specimen AS record_key, 'balance' AS tester,
                specimen AS specimen_no, 'conditioned' AS state, 60 + random() AS grammage_g_m2
            FROM range({sheets}) AS sheets (sheet), range(1, 6) AS specimens (specimen)""",
        "thickness": f"""
            SELECT {identity}, {sheet}, sheet || '/' || place AS record_key, 'micrometer' AS tester,
                place AS position_no, 1 AS sheets_in_pack, 100.0 AS pressure_kpa, 95 + random() AS thickness_um
            FROM range({sheets}) AS sheets (sheet), range(1, 11) AS places (place)""",
        "tensile": f"""
            SELECT {identity}, {sheet}, sheet || '/' || piece AS record_key, 'tensile' AS tester,
                CASE WHEN piece % 2 = 0 THEN 'MD' ELSE 'CD' END AS direction, piece // 2 + 1 AS specimen_no,
                15.0 AS width_mm, 100.0 AS span_mm, 60 + random() AS max_force_n, 2 + random() AS elongation_mm,
                0.08 AS energy_j, 70 + random() AS max_slope_n_mm
            FROM range({sheets}) AS sheets (sheet), range({PIECES_PER_SHEET}) AS pieces (piece)""",
    }
    with working(path) as connection:
        ledger.ensure_tables(connection)
        loading.ensure_tables(connection)
        store_registry(connection, shipped())
        set_setting(connection, Settings().for_snapshot())
        for kind, query in tables.items():
            connection.execute(
                f"INSERT INTO records.{kind} BY NAME SELECT *, 'loaded' AS record_status FROM ({query})"
            )
        connection.execute(
            "INSERT INTO ledger.received_file BY NAME SELECT 'f' AS file_hash, 'all.csv' AS file_name, "
            "0 AS size_bytes, now()::TIMESTAMP AS changed_at_utc, 'n' AS received_night, 'n' AS read_night, "
            "false AS held_whole, 0 AS lines, 0 AS preamble_lines, 0 AS header_lines, 0 AS units_row_lines, "
            "0 AS blank_lines, 0 AS footer_lines, 0 AS continuation_lines, 0 AS held_at_reading, 0 AS stored"
        )
        create_table(connection, "main.night", Night)
        resolve_duplicates(connection)
        building.create_macros(connection)
    return path


def test_building_all_tables_over_a_million_pieces(benchmark, a_million_pieces):
    def build():
        with working(a_million_pieces) as connection, transaction(connection):
            building.build_models(connection)

    benchmark.pedantic(build, rounds=1)
    with working(a_million_pieces) as connection:
        assert connection.execute("SELECT count(*) FROM test_piece").fetchone() == (PIECES,)


def test_settling_a_million_pieces(benchmark, a_million_pieces):
    def settle_all():
        with working(a_million_pieces) as connection, transaction(connection):
            resolve_duplicates(connection)

    benchmark.pedantic(settle_all, rounds=1)


def test_checking_a_million_pieces(benchmark, a_million_pieces):
    with working(a_million_pieces) as connection:
        with transaction(connection):
            building.build_models(connection)
        broken = benchmark.pedantic(building.broken_checks, (connection,), rounds=1)
    assert set(broken) <= {"lines_accounted", "held_lines_have_reasons"}, "the one file has no lines"
