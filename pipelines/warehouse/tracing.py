"""Trace a sheet: every number with the lines it comes from and its formula with the numbers inserted.

The formulas are read from sql/macros; this module only says which column each macro computes and from which columns.
"""

import re
from pathlib import Path
from typing import Any, NamedTuple

import duckdb

from pipelines.dictionary.declared import columns_of, sql_type
from pipelines.errors import UsageError
from pipelines.warehouse.connection import reading
from pipelines.warehouse.property_table import stored_registry
from pipelines.warehouse.statements import statement
from schemas.marts import marts
from schemas.properties import cached_by_registry, in_force, registry
from schemas.records import STORED
from schemas.records.record import values_of


class Step(NamedTuple):
    """A column that a macro computes.

    ``given`` maps arguments to columns with another name; ``when`` is a column that must be true for the macro to
    apply.
    """

    column: str
    macro: str
    given: dict[str, str] = {}  # noqa: RUF012 - never changed
    when: str | None = None


LAYER_STEPS = (
    Step("jet_speed_m_min", "jet_speed_m_min"),
    Step("jet_to_wire_ratio", "jet_to_wire_ratio"),
    Step("speed_difference_m_min", "speed_difference_m_min"),
    Step("centrifugal_acceleration_m_s2", "centrifugal_acceleration_m_s2"),
    Step("oven_dry_mass_g", "oven_dry_mass_g"),
    Step("predicted_grammage_g_m2", "predicted_grammage_g_m2"),
    Step("delivery_time_s", "delivery_time_s"),
)
_BASIS_MOISTURE = {"moisture_pct": "basis_moisture_pct"}
SHEET_STEPS = (
    Step("grammage_oven_dry_g_m2", "oven_dry_grammage_g_m2", _BASIS_MOISTURE, "grammage_oven_dry_derived"),
    Step(
        "grammage_conditioned_g_m2",
        "conditioned_grammage_g_m2",
        _BASIS_MOISTURE,
        "grammage_conditioned_derived",
    ),
    Step("retention_pct", "apparent_retention_pct"),
    Step("apparent_density_kg_m3", "apparent_density_kg_m3", {"thickness_um": "thickness_of_kind_um"}),
    Step("bulk_cm3_g", "bulk_cm3_g", {"thickness_um": "thickness_of_kind_um"}),
)
RECORD_STEPS = {
    "basis_weight": Step("grammage_g_m2", "grammage_g_m2"),
    "moisture": Step("moisture_pct", "moisture_pct"),
}


def piece_steps() -> tuple[Step, ...]:
    """Return the steps of a tensile test piece, for the properties of the registry in force."""
    return tuple(Step(entry.column_name(), entry.column_name()) for entry in registry().of_pieces)


@cached_by_registry
def _units() -> dict[str, str | None]:
    return {
        name: (column.metadata or {}).get("unit")
        for mart in ("layer", "sheet", "test_piece")
        for name, column in columns_of(marts()[mart]).items()
    }


def trace(snapshot: Path, sheet_id: str) -> dict[str, Any]:
    """Return everything known about a sheet, as plain values.

    Keys: ``sheet`` (its row, or None when it is in no forming log), ``layers`` and ``pieces`` (rows with the
    derivation of their numbers), ``derivations`` of the sheet's own, ``properties`` (the means), ``records``
    (by kind: values, record_status, file and line) and ``files``. Raises UsageError for an unknown sheet number.
    """
    with reading(snapshot) as connection, in_force(stored_registry(connection)):
        setting = _rows(connection, "FROM setting")[0]
        sheets = _rows(connection, "FROM sheet WHERE sheet_id = ?", sheet_id)
        records = {kind: rows for kind in STORED if (rows := _records(connection, kind, sheet_id))}
        if not sheets and not records:
            raise UsageError(
                f"Sheet {sheet_id!r} not found: no record has this number.",
                'List the known numbers: sheetlore sql "SELECT sheet_id FROM sheet ORDER BY ALL"',
            )
        sheet = sheets[0] if sheets else None
        layers = _rows(connection, "FROM layer WHERE sheet_id = ? ORDER BY layer_no", sheet_id)
        pieces = _rows(
            connection,
            "SELECT piece.*, file.file_name FROM test_piece AS piece INNER JOIN export_file AS file "
            "ON piece.file_hash = file.file_hash WHERE piece.sheet_id = ? "
            "ORDER BY piece.direction DESC, piece.specimen_no, piece.replicate_no",
            sheet_id,
        )
        curves = _rows(
            connection,
            "SELECT curve.*, file.file_name FROM tensile_curve_result AS curve INNER JOIN export_file AS file "
            "ON curve.file_hash = file.file_hash WHERE curve.sheet_id = ? "
            "ORDER BY curve.direction DESC, curve.specimen_no, curve.replicate_no",
            sheet_id,
        )
        properties = _rows(
            connection,
            "SELECT direction, property, basis, value, unit, n, s, cv_pct, standard_uncertainty FROM sheet_property "
            "WHERE sheet_id = ? AND preferred ORDER BY direction NULLS FIRST, property",
            sheet_id,
        )
        hashes = sorted({row["file_hash"] for rows in records.values() for row in rows})
        files = _rows(
            connection,
            "SELECT file_name, file_hash, profile, recognised_by, received_night, changed_at_utc FROM export_file "
            "WHERE list_contains(?::VARCHAR[], file_hash) ORDER BY file_name, file_hash",
            hashes,
        )
        sides = (setting["forming_length_mm"], setting["forming_width_mm"])
        known = {**setting, "area_m2": None if None in sides else sides[0] * sides[1] / 1e6}
        for layer in layers:
            layer["derivations"] = _derive(connection, LAYER_STEPS, {**known, **layer})
        for piece in pieces:
            piece["derivations"] = _derive(connection, piece_steps(), {**known, **piece})
        derivations = []
        if sheet is not None:
            stack = setting["thickness_kind"] == "stack"
            selected_thickness = sheet["thickness_stack_um"] if stack else sheet["thickness_um"]
            values = {**known, **sheet, "thickness_of_kind_um": selected_thickness}
            derivations = _derive(connection, SHEET_STEPS, values)
    return {
        "sheet_id": sheet_id,
        "time_zone": setting["time_zone"],
        "sheet": sheet,
        "derivations": derivations,
        "layers": layers,
        "properties": properties,
        "pieces": pieces,
        "curves": curves,
        "records": records,
        "files": files,
    }


def _rows(connection: duckdb.DuckDBPyConnection, query: str, *parameters: object) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = connection.execute(query, list(parameters)).to_arrow_table().to_pylist()
    return rows


def _records(connection: duckdb.DuckDBPyConnection, kind: str, sheet_id: str) -> list[dict[str, Any]]:
    names = values_of(STORED[kind])
    if "sheet_id" not in names:
        return []
    rows = _rows(
        connection,
        f"""
        SELECT
            record.*,
            file.file_name,
            file.encoding,
            test.verdict AS atmosphere_verdict,
            test.reason AS atmosphere_reason
        FROM records.{kind} AS record
        INNER JOIN export_file AS file ON record.file_hash = file.file_hash
        LEFT JOIN test_atmosphere AS test
            ON record.file_hash = test.file_hash
            AND record.record_key = test.record_key
            AND record.record_status = 'loaded'
        WHERE record.sheet_id = ?
        ORDER BY record.record_key, record.file_hash, record.line_number
        """,
        sheet_id,
    )
    step = RECORD_STEPS.get(kind)
    lists = [name for name, column in columns_of(STORED[kind]).items() if sql_type(column).endswith("[]")]
    shown = [name for name in names if name != "sheet_id" and name not in lists]
    return [
        {
            "derivations": _derive(connection, (step,), _with_area(row)) if step else [],
            "values": {name: row[name] for name in shown if row[name] is not None},
            "record_status": row["record_status"],
            "atmosphere_verdict": row["atmosphere_verdict"],
            "atmosphere_reason": row["atmosphere_reason"],
            "superseded_by": row["superseded_by"],
            "file_name": row["file_name"],
            "line_number": row["line_number"],
            "file_hash": row["file_hash"],
            "encoding": row["encoding"],
        }
        for row in rows
    ]


def _with_area(row: dict[str, Any]) -> dict[str, Any]:
    """Return a record's values with the area that its sides make, where it has sides and states no area."""
    if row.get("area_mm2") is None and row.get("length_mm") and row.get("width_mm"):
        return {**row, "area_mm2": row["length_mm"] * row["width_mm"]}
    return row


def _derive(
    connection: duckdb.DuckDBPyConnection, steps: tuple[Step, ...], values: dict[str, Any]
) -> list[dict[str, Any]]:
    """Return, for each column that a macro computes from known values, its formula with the numbers inserted."""
    derivations = []
    for step in steps:
        parameters, body = _formula(step.macro)
        arguments = {name: values.get(step.given.get(name, name)) for name in parameters}
        if any(value is None for value in arguments.values()) or (step.when and not values.get(step.when)):
            continue
        marks = ", ".join("?" for _ in parameters)
        value = connection.execute(f"SELECT {step.macro}({marks})", list(arguments.values())).fetchall()[0][0]
        stated = values.get(step.column)
        if stated is not None and abs(value - stated) > 1e-9 * abs(value):
            continue  # the column holds a value as the log or the tester states it
        derivations.append(
            {
                "column": step.column,
                "value": value,
                "unit": _units().get(step.column),
                "formula": body,
                "with_numbers": _put_in(body, arguments),
            }
        )
    return derivations


def _put_in(formula: str, arguments: dict[str, Any]) -> str:
    """Return a formula with the numbers in the place of its parameters."""
    return re.sub(
        r"[a-z_][a-z0-9_]*",
        lambda word: f"{arguments[word[0]]:.7g}" if word[0] in arguments else word[0],
        formula,
    )


def _formula(macro: str) -> tuple[list[str], str]:
    """Return a macro's parameters and its formula on one line, as its file has them."""
    found = re.search(
        r"CREATE OR REPLACE MACRO \w+\((.*?)\) AS\s+(.*?);?\s*\Z", statement(f"macros/{macro}"), re.S
    )
    if found is None:
        raise AssertionError(f"sql/macros/{macro}.sql does not begin as macros do")
    return [name.strip() for name in found[1].split(",")], " ".join(found[2].split())
