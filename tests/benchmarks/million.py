"""A warehouse of any size to measure on: 100,000 sheets have a million test pieces and five million room readings."""

import duckdb

from pipelines.settings import Settings
from pipelines.warehouse import building, ledger, loading
from pipelines.warehouse.duplicate_resolution import set_setting
from pipelines.warehouse.property_table import store_registry
from pipelines.warehouse.tables import create_table
from schemas.marts.night import Night
from schemas.properties import shipped

SHEETS = 100_000
PIECES_PER_SHEET = 10
READINGS_PER_SHEET = 50
SHEETS_PER_POINT = 5
SHEETS_PER_FILE = 20
"""Sheets whose tests stand in one file; each kind has its own files."""

SETTINGS = {
    "former": {"drum_radius_mm": 150.0, "forming_length_mm": 900.0, "forming_width_mm": 220.0},
    "testers": {
        "tensile": {"force_pct": 1.0, "elongation_mm": 0.05, "width_mm": 0.1, "span_mm": 0.5},
        "balance": {"mass_g": 0.002, "area_pct": 0.2},
        "micrometer": {"thickness_um": 1.0},
    },
}

_FORMED = "TIMESTAMP '2020-01-01' + to_seconds(sheet * 600)"
_TESTED = f"{_FORMED} + to_hours(30)"

RECORDS = {
    "forming": f"""
        SELECT 'T' || sheet // 500 AS trial, 'P' || sheet // {SHEETS_PER_POINT} AS trial_point, 1 AS layer_no,
            {_FORMED} AS formed_at_utc, 0.3 AS consistency_pct, 4.2 AS stock_volume_l, 6.0 AS flow_rate_l_min,
            1000.0 + sheet // 10 % 50 AS wire_speed_m_min, 1.5 AS nozzle_orifice_mm, 2 AS nozzle_count
        FROM range($sheets) AS sheets (sheet)
    """,
    "conditioning": f"""
        SELECT 'room ' || sheet % 5 AS room, {_FORMED} + to_hours(2) AS in_at_utc
        FROM range($sheets) AS sheets (sheet)
    """,
    "basis_weight": f"""
        SELECT 'balance' AS tester, piece AS specimen_no, 'conditioned' AS state, 0.6 + 0.01 * random() AS mass_g,
            10000.0 AS area_mm2, {_TESTED} AS tested_at_utc
        FROM range($sheets) AS sheets (sheet), range(1, 4) AS pieces (piece)
    """,
    "thickness": f"""
        SELECT 'micrometer' AS tester, piece AS position_no, 1 AS sheets_in_pack, 100.0 AS pressure_kpa,
            95 + random() AS thickness_um, {_TESTED} + to_minutes(5) AS tested_at_utc
        FROM range($sheets) AS sheets (sheet), range(1, 6) AS pieces (piece)
    """,
    "tensile": f"""
        SELECT 'tensile' AS tester, CASE WHEN piece % 2 = 0 THEN 'MD' ELSE 'CD' END AS direction,
            piece // 2 + 1 AS specimen_no, 15.0 AS width_mm, 100.0 AS span_mm, 60 + random() AS max_force_n,
            2 + random() AS elongation_mm, 0.08 + 0.001 * random() AS energy_j, 70 + random() AS max_slope_n_mm,
            {_TESTED} + to_minutes(10 + piece) AS tested_at_utc
        FROM range($sheets) AS sheets (sheet), range({PIECES_PER_SHEET}) AS pieces (piece)
    """,
}  # fmt: skip
"""Kind -> its records; ``sheet`` counts the sheets."""

CLIMATE = f"""
    SELECT 'room ' || reading % 5 AS room,
        TIMESTAMP '2020-01-01' + to_seconds(reading // 5 * 60) AS read_at_utc,
        23 + 0.5 * sin(reading / 9000) AS temperature_c, 50 + 1.5 * cos(reading / 7000) AS relative_humidity_pct
    FROM range($sheets * {READINGS_PER_SHEET}) AS readings (reading)
"""
"""Five rooms, a reading a minute each."""


def fill(connection: duckdb.DuckDBPyConnection, sheets: int = SHEETS) -> None:
    """Add the records of a laboratory with so many sheets, its settings, and the macros."""
    settings = Settings.model_validate(SETTINGS)
    ledger.ensure_tables(connection)
    loading.ensure_tables(connection)
    store_registry(connection, shipped())
    set_setting(connection, settings.for_snapshot(), settings.accuracies())
    for kind, query in RECORDS.items():
        text = f"""
            SELECT * EXCLUDE (sheet), 'S' || sheet AS sheet_id, sha256('{kind}' || sheet // {SHEETS_PER_FILE})
                AS file_hash
            FROM ({query.replace("SELECT", "SELECT sheet,", 1)})
        """
        _add(connection, kind, text, sheets)
    _add(
        connection,
        "climate",
        f"SELECT *, sha256('climate' || year(read_at_utc)) AS file_hash FROM ({CLIMATE})",
        sheets,
    )
    connection.execute(
        "INSERT INTO ledger.received_file BY NAME SELECT file_hash, file_hash AS file_name, "
        "0 AS size_bytes, now()::TIMESTAMP AS changed_at_utc, 'n' AS received_night, 'n' AS read_night, "
        "false AS held_whole, 0 AS lines, 0 AS preamble_lines, 0 AS header_lines, 0 AS units_row_lines, "
        "0 AS blank_lines, 0 AS footer_lines, 0 AS continuation_lines, 0 AS held_at_reading, 0 AS stored "
        "FROM (SELECT DISTINCT file_hash FROM records.tensile)"
    )
    create_table(connection, "main.night", Night)
    building.create_macros(connection)


def _add(connection: duckdb.DuckDBPyConnection, kind: str, query: str, sheets: int) -> None:
    connection.execute(
        f"INSERT INTO records.{kind} BY NAME SELECT *, row_number() OVER () AS line_number, 'd' AS record_digest, "
        f"'{kind}' || line_number AS record_key, 'loaded' AS record_status FROM ({query})",
        {"sheets": sheets},
    )


BARE_AGGREGATES = """
    SELECT sheet_id, direction, favg(max_force_n), stddev_samp(max_force_n), favg(elongation_mm),
        stddev_samp(elongation_mm), favg(energy_j), stddev_samp(energy_j), favg(max_slope_n_mm),
        stddev_samp(max_slope_n_mm)
    FROM records.tensile
    GROUP BY sheet_id, direction
"""
"""What no build can be faster than: the means of the pieces, without anything else."""
