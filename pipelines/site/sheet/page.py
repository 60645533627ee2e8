"""The page of one sheet: charts first, then properties, forming, furnish, pressing, drying, and the records."""

from functools import cache

from pipelines.site import labels, links
from pipelines.site.figures import Row, page_data
from pipelines.site.reading import Published, Rows, distinct
from pipelines.site.rendering import render
from pipelines.site.sheet import drawn, findings, properties, trace
from pipelines.site.tables import Column, Link, aligned, cell, cells


def page(published: Published, sheet: Row) -> str:
    """Return the page of a sheet, a row of the statement ``sheet``."""
    sheet_id = sheet["sheet_id"]

    def of(statement: str) -> Rows:
        return published.of(statement, sheet_id=sheet_id)

    records = [trace.with_values(record, published.zone) for record in of("sheet_record")]
    values, pieces = of("sheet_property"), of("trial_piece")
    curves = [row | {"piece": findings.piece(row), "remark": _remark(row)} for row in of("sheet_curve")]
    setting = published.all("setting")[0]
    files = trace.files_of(published, records)
    shown = drawn.of_sheet(setting, sheet, pieces, records, values, curves, of("sheet_air"), of("sheet_gap"))
    layer_columns, layers = _layers(of("sheet_layer"))
    here = links.sheet_page(sheet_id)
    return render(
        "sheet",
        here,
        setting,
        sheet=sheet,
        remarks=_remarks(sheet),
        suggestions=_suggestions(published, sheet, links.to_root(here)),
        layer_columns=layer_columns,
        layer_parts=_halves(layers) if len(layer_columns) <= SIDE_BY_SIDE + 1 else [layers],
        treatments=[
            (caption, columns, _treatment_cells(counting, columns))
            for kind, caption in _TREATMENTS
            if (counting := trace.loaded(records, kind))
            for columns in [trace.columns_with_values(kind, counting)]
        ],
        facts=_facts(sheet),
        matrix_columns=properties.MATRIX_COLUMNS,
        matrix=properties.matrix(values),
        whole_columns=properties.WHOLE_COLUMNS,
        whole=properties.whole(values),
        detail_columns=properties.DETAIL_COLUMNS,
        details=properties.details(values),
        figures=shown.figures,
        content=page_data(shown.data, shown.figures),
        choices=[(name, labels.words(name)) for name in shown.choices],
        curve_columns=_CURVE_COLUMNS,
        curves=aligned(
            curves, ("max_y", "max_x"), lambda row: {"in_means": "yes" if row["in_means"] else "no"}
        ),
        verdicts=findings.of_verdicts([row["verdict"] for row in records if row["verdict"]]),
        reasons=_reasons(records),
        kinds=trace.by_kind(records, {row["file_hash"]: row for row in files}),
        file_columns=trace.FILE_COLUMNS,
        files=[cells(row) for row in files],
        command=trace.command(sheet_id),
    )


SIDE_BY_SIDE = 3
"""Maximum number of layers for a forming table in two parts."""

_TREATMENTS = (
    ("pressing", "Pressing"),
    ("drying", "Drying"),
    ("conditioning", "Conditioning"),
)
_LAYER = (
    "formed_at_utc", "tank", "furnish", "furnish_composition",
    "refining_energy_kwh_t", "schopper_riegler_sr", "canadian_freeness_ml", "additive_dose_kg_t", "additives",
    "consistency_pct", "stock_volume_l", "flow_rate_l_min",
    "delivery_time_s", "wire_speed_m_min", "jet_speed_m_min", "jet_to_wire_ratio", "nozzle_orifice_mm", "nozzle_count",
    "contraction_coefficient", "spray_angle_deg", "sweeps", "water_wall_l", "dewatering_time_s",
    "compaction_speed_m_min", "centrifugal_acceleration_m_s2", "fabric", "oven_dry_mass_g", "target_grammage_g_m2",
    "predicted_grammage_g_m2", "recipe", "recipe_version", "operator", "note",
)  # fmt: skip
_DEVIATIONS = {
    "wire_speed_m_min": "wire_speed_deviation_m_min",
    "flow_rate_l_min": "flow_rate_deviation_l_min",
    "jet_to_wire_ratio": "jet_to_wire_ratio_deviation",
    "stock_volume_l": "stock_volume_deviation_l",
    "nozzle_orifice_mm": "nozzle_orifice_deviation_mm",
    "dewatering_time_s": "dewatering_time_deviation_s",
    "compaction_speed_m_min": "compaction_speed_deviation_m_min",
}
"""Columns that a recipe sets -> columns of the deviation. The set point has the prefix ``recipe_``."""

_CURVE_COLUMNS = [
    Column("piece", "Test piece"),
    Column("max_y", "Maximum", number=True),
    Column("max_x", "at", number=True),
    Column("n_points", "Points", number=True),
    Column("in_means", "In means"),
    Column("remark", "Remark", long=True),
]


def _suggestions(published: Published, sheet: Row, root: str) -> list[Link]:
    """Return links to the known sheets that an unknown number may mean."""
    text = sheet["suggested_sheet_id"]
    if text is None:
        return []
    # one text has all suggestions, and a number itself may contain a comma
    numbers = [text] if published.of("sheet", sheet_id=text) else text.split(", ")
    return [Link(root + links.sheet_page(number), number) for number in numbers]


def _remarks(sheet: Row) -> list[str]:
    """Return the warnings of a sheet, as sentences."""
    if not sheet["in_log"]:
        return []
    conditions = {
        "Carry-over: the tank held another furnish before and was not both drained and cleaned.": sheet["carry_over"],
        "The furnish in the forming log is not the one in the tank.": sheet["furnish_differs_from_tank"],
    }  # fmt: skip
    remarks = [text for text, holds in conditions.items() if holds]
    if sheet["moisture_warning"]:
        remarks.append(f"Moisture: {sheet['moisture_warning']}")
    return remarks


def _layers(layers: Rows) -> tuple[list[Column], list[dict[str, str]]]:
    """Return the layers as a table: one row per quantity that any layer has, one column per layer."""
    columns = [Column("quantity", "Quantity")]
    columns += [Column(f"layer_{row['layer_no']}", f"Layer {row['layer_no']}") for row in layers]
    rows = [
        {"quantity": _layer_label(name)} | {f"layer_{row['layer_no']}": _actual_and_set(row, name) for row in layers}
        for name in _LAYER
        if any(row[name] is not None for row in layers)
    ]  # fmt: skip
    return columns, rows


@cache
def _layer_label(name: str) -> str:
    return labels.column_label("layer", name)


def _halves(rows: list[dict[str, str]]) -> list[list[dict[str, str]]]:
    """Return rows in two halves, to be shown side by side."""
    half = (len(rows) + 1) // 2
    return [part for part in (rows[:half], rows[half:]) if part]


def _reasons(records: Rows) -> list[str]:
    """Return why tests are not standard: each reason once, with the number of tests and an example."""
    reasons = []
    for code in distinct(records, "reason_code"):
        of = [row for row in records if row["reason_code"] == code]
        example = f", for example: {of[0]['reason']}" if len(of) > 1 else f": {of[0]['reason']}"
        reasons.append(f"{labels.words(code)}, {labels.counted(len(of), 'test')}{example}")
    return reasons


def _actual_and_set(layer: Row, name: str) -> str:
    """Return a value of a layer, with the set point of its recipe where the displayed values differ."""
    actual = cell(layer[name])
    off = layer[_DEVIATIONS[name]] if name in _DEVIATIONS else None
    if not off or (set_point := cell(layer[f"recipe_{name}"])) == actual:
        return actual
    return f"{actual} (set {set_point}, {'+' if off > 0 else ''}{labels.number(off, 2)})"


def _treatment_cells(records: Rows, columns: list[Column]) -> list[Row]:
    """Return the cells of pressing, drying or conditioning; the codes of preconditioning as words."""
    numbers = [column.name for column in columns if column.number]
    return aligned(
        records, numbers, lambda row: {"preconditioned": cell(row.get("preconditioned")).replace("_", " ")}
    )


def _facts(sheet: Row) -> list[tuple[str, str]]:
    """Return the sheet's grammages, moisture and retention, each with its origin."""
    if not sheet["in_log"]:
        return []
    moisture = {
        "sheet": "of its own oven-dry pairs",
        "trial_point": "of the other sheets of the trial point",
    }.get(sheet["moisture_origin"], "of its own oven-dry pairs")
    derived = f"computed with the moisture {moisture}"
    weighed = {
        "grammage_conditioned_g_m2": derived if sheet["grammage_conditioned_derived"] else "weighed",
        "grammage_oven_dry_g_m2": derived if sheet["grammage_oven_dry_derived"] else "weighed",
        "grammage_as_received_g_m2": "weighed",
        "moisture_pct": "mean of its oven-dry pairs",
        "retention_pct": "oven-dry grammage over what was sprayed",
    }
    return [
        (_sheet_label(name), f"{cell(sheet[name])}, {origin}")
        for name, origin in weighed.items()
        if sheet[name] is not None
    ]


@cache
def _sheet_label(name: str) -> str:
    return labels.column_label("sheet", name)


def _remark(curve: Row) -> str:
    """Return the remarks on a curve: why its piece is left out, findings, and disagreement with the tester."""
    remarks = [] if curve["in_means"] else [f"not in means: {findings.reasons_of(curve)}"]
    if curve["in_means"] and curve["findings"]:
        remarks.append(findings.reasons_of(curve))
    if curve["disagreement"]:
        remarks.append(f"differs from the tester's result, {curve['disagreement'].replace('_', ' ')}")
    return "; ".join(remarks)
