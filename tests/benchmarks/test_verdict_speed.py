"""How long verdicts take: five million readings of five rooms, a hundred thousand tests of two thousand sheets."""

import pytest

from pipelines.settings import Settings
from pipelines.warehouse import building, ledger, loading
from pipelines.warehouse.connection import working
from pipelines.warehouse.duplicate_resolution import set_setting
from pipelines.warehouse.statements import statement

MODELS = (
    "value/setting_list",
    "tensile/curve_match",
    "atmosphere/sheet_record",
    "atmosphere/mass_change",
    "atmosphere/required_stay",
    "atmosphere/room_reading",
    "atmosphere/stay",
    "atmosphere/evidence",
    "atmosphere/verdict",
)

RECORDS = {
    # A reading a minute; once a fortnight a room drifts out of limits, twice a day its logger pauses for an hour.
    "climate": """
        SELECT
            'room ' || (number % 5) AS room,
            TIMESTAMP '2024-01-01' + to_minutes(number // 5 + 60 * (number // 3600)) AS read_at_utc,
            23 + 1.02 * sin(number / 16_000) AS temperature_c,
            50 + cos(number / 9_000) AS relative_humidity_pct
        FROM range(5_000_000) AS reading (number)
    """,
    "forming": """
        SELECT 'S' || number AS sheet_id, 'T' AS trial, 'A' AS trial_point, 1 AS layer_no, 60 AS target_grammage_g_m2
        FROM range(2_000) AS sheet (number)
    """,
    "conditioning": """
        SELECT
            'S' || number AS sheet_id,
            'room ' || (number % 5) AS room,
            TIMESTAMP '2024-01-02' + to_hours(8 * number) AS in_at_utc
        FROM range(2_000) AS sheet (number)
    """,
    "tensile": """
        SELECT
            'tensile' AS tester,
            'S' || (number // 50) AS sheet_id,
            'MD' AS direction,
            number % 50 + 1 AS specimen_no,
            4.2 AS tensile_strength_kn_m,
            TIMESTAMP '2024-01-02 05:00:00' + to_hours(8 * (number // 50)) + to_minutes(number % 50) AS tested_at_utc
        FROM range(100_000) AS piece (number)
    """,
}  # fmt: skip


@pytest.fixture(scope="module")
def connection():
    with working() as opened:
        ledger.ensure_tables(opened)
        loading.ensure_tables(opened)
        for kind, rows in RECORDS.items():
            opened.execute(
                f"INSERT INTO records.{kind} BY NAME SELECT *, '{kind}' AS file_hash, "
                "row_number() OVER () AS line_number, '' AS record_key, '' AS record_digest, 'loaded' AS record_status "
                f"FROM ({rows})"
            )
        building.create_macros(opened)
        yield opened


@pytest.mark.parametrize("averaging_minutes", [0.0, 30.0])
def test_verdicts(benchmark, connection, averaging_minutes) -> None:
    settings = Settings.model_validate({"atmosphere": {"averaging_minutes": averaging_minutes}})
    set_setting(connection, settings.for_snapshot())

    def judge() -> None:
        for name in MODELS:
            schema, _, table = name.partition("/")
            connection.execute(f"CREATE SCHEMA IF NOT EXISTS {schema}")
            connection.execute(f"CREATE OR REPLACE TABLE {schema}.{table} AS {statement(name)}")

    benchmark.pedantic(judge, rounds=3, warmup_rounds=1)
    counts = dict(
        connection.execute("SELECT verdict, count(*) FROM atmosphere.verdict GROUP BY ALL").fetchall()
    )
    assert sum(counts.values()) == 100_000
    assert counts.keys() == {"standard", "off_standard", "unverified"}
