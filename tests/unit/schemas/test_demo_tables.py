"""The tables of the demo laboratory, held against their declarations: types, comments, ranges, missing values."""

import re

import pytest

from pipelines.dictionary.declared import columns_of, describe, sql_type
from pipelines.warehouse.connection import reading
from schemas.marts import marts
from schemas.properties import registry
from schemas.records import STORED
from schemas.records.record import ResolvedRecord, grain_of

TABLES = {
    **{("main", name): (model,) for name, model in marts().items()},
    **{("records", name): (model, ResolvedRecord) for name, model in STORED.items()},
}
each_table = pytest.mark.parametrize(
    ("schema", "table", "models"),
    [(*key, models) for key, models in TABLES.items()],
    ids=[".".join(key) for key in TABLES],
)


KNOWN_EMPTY = {
    # the demo's logs and testers give nothing for these
    "export_file.exported_at_utc",
    "layer.note",
    "test_piece.note",
    "layer.canadian_freeness_ml",
    "sheet.canadian_freeness_ml",
    "sheet.highest_press_pressure_kpa",
    "trial_point.canadian_freeness_ml",
    "trial_point.highest_press_pressure_kpa",
    # no piece is weighed twice, no sheet is implausibly moist, and no correction is set
    "test_atmosphere.mass_change_pct",
    "test_atmosphere.mass_constant",
    "sheet.moisture_warning",
    "setting.reference_moisture_pct",
    "sheet_property.assumption",
    "trial_point_property.assumption",
    # its further tests are of four properties, whose entries name no such conditions
    *(
        f"{table}.{name}"
        for table in ("reading", "sheet_property", "trial_point_property")
        for name in ("ply", "treatment", "method", "test_time_s", "rate_mm_min")
    ),
}
"""Columns that no row of the demo laboratory fills."""


@pytest.fixture(scope="module")
def snapshot(demo_night):
    with reading(demo_night.snapshot) as connection:
        yield connection


def test_the_snapshot_holds_the_declared_tables_and_no_other(snapshot):
    found = snapshot.execute("SELECT schema_name, table_name FROM duckdb_tables()").fetchall()
    assert sorted(found) == sorted(TABLES)
    assert snapshot.execute("SELECT count(*) FROM duckdb_views() WHERE NOT internal").fetchone() == (0,)


@each_table
def test_a_table_has_the_declared_columns_with_types_and_comments(snapshot, schema, table, models):
    found = snapshot.execute(
        "SELECT column_name, data_type, is_nullable, comment FROM duckdb_columns() "
        "WHERE schema_name = ? AND table_name = ? ORDER BY column_index",
        [schema, table],
    ).fetchall()
    assert found == [
        (name, sql_type(column), column.nullable, describe(column))
        for name, column in columns_of(*models).items()
    ]
    (comment,) = snapshot.execute(
        "SELECT comment FROM duckdb_tables() WHERE schema_name = ? AND table_name = ?", [schema, table]
    ).fetchone()
    assert comment == grain_of(models[0])


@each_table
def test_the_rows_of_a_table_are_as_declared(snapshot, schema, table, models):
    """All failures are reported at once; models are applied one by one, because each allows only its own columns."""
    frame = snapshot.execute(f"FROM {schema}.{table}").df()
    types = {name: str(column.dtype) for name, column in columns_of(*models).items()}
    frame = frame.astype({name: types[name] for name in frame.select_dtypes("bool").columns})
    assert len(frame)
    for model in models:
        declared = model.to_schema()
        declared.validate(frame[list(declared.columns)], lazy=True)


def test_every_column_of_a_mart_is_filled_or_known_to_be_empty(snapshot):
    """A column that no row of the demo fills may be one that no statement fills; each such one has its reason."""
    measured = {name for (name,) in snapshot.execute("SELECT property FROM sheet_property").fetchall()}
    untested = [
        f"{name}_"
        for name, entry in registry().items()
        if entry.is_read_by("further") and name not in measured
    ]
    empty = set()
    for table, model in marts().items():
        counts = ", ".join(f'count("{name}")' for name in columns_of(model))
        filled = snapshot.execute(f"SELECT {counts} FROM {table}").fetchone()
        empty |= {
            f"{table}.{name}"
            for name, count in zip(columns_of(model), filled, strict=True)
            if not count
            and not re.search(r"as_received|oven_dry", name)
            and not name.startswith(tuple(untested))
        }
    assert empty == KNOWN_EMPTY
