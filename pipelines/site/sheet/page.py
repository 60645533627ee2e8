"""The page of one sheet: how it was made, what it is, its curves, its air, and the records behind it all."""

from functools import cache

from pipelines.site import labels, links
from pipelines.site.figures import Row, page_data
from pipelines.site.reading import Published, Rows, distinct
from pipelines.site.rendering import render
from pipelines.site.sheet import drawn, findings, trace
from pipelines.site.tables import Column, Link, cell, cells

REASONS_AT_MOST = 5
"""Reasons of verdicts listed beside the charts of the air; the table of records has all."""


def page(published: Published, sheet: Row) -> str:
    """Return the page of a sheet, a row of the statement ``sheet``."""
    sheet_id = sheet["sheet_id"]

    def of(statement: str) -> Rows:
        return published.of(statement, sheet_id=sheet_id)

    records = [trace.told(record, published.zone) for record in of("sheet_record")]
    properties, pieces = of("sheet_property"), of("trial_piece")
    curves = [row | {"piece": findings.piece(row), "remark": _remark(row)} for row in of("sheet_curve")]
    setting = published.all("setting")[0]
    files = trace.files_of(published, records)
    shown = drawn.of_sheet(
        setting, sheet, pieces, records, properties, curves, of("sheet_air"), of("sheet_gap")
    )
    reasons = distinct((row for row in records if row["verdict"]), "reason")
    layer_columns, layers = _layers(of("sheet_layer"))
    main = [row for row in properties if row["is_main"]]
    here = links.sheet_page(sheet_id)
    return render(
        "sheet",
        here,
        setting,
        sheet=sheet,
        remarks=_remarks(sheet),
        suggestions=_suggestions(published, sheet, links.to_root(here)),
        layer_columns=layer_columns,
        layers=layers,
        treatments=[
            (caption, trace.columns_with_values(kind, counting), [cells(row) for row in counting])
            for kind, caption in _TREATMENTS
            if (counting := trace.that_count(records, kind))
        ],
        facts=_facts(sheet),
        property_columns=_PROPERTY_COLUMNS,
        properties=[_property_cells(row) for row in sorted(main, key=_place)],
        other_properties=[
            _property_cells(row) for row in sorted(properties, key=_place) if not row["is_main"]
        ],
        figures=shown.figures,
        content=page_data(shown.data, shown.figures),
        choices=[(name, labels.words(name)) for name in shown.choices],
        curve_columns=_CURVE_COLUMNS,
        curves=[
            cells(row) | {"remark": row["remark"], "in_means": "yes" if row["in_means"] else "no"}
            for row in curves
        ],
        verdicts=findings.of_verdicts([row["verdict"] for row in records if row["verdict"]]),
        reasons=reasons[:REASONS_AT_MOST],
        n_more_reasons=max(0, len(reasons) - REASONS_AT_MOST),
        kinds=trace.by_kind(records, {row["file_hash"]: row for row in files}),
        file_columns=trace.FILE_COLUMNS,
        files=[cells(row) for row in files],
        command=trace.command(sheet_id),
    )


_TREATMENTS = (
    ("pressing", "Press passes"),
    ("drying", "Drying steps"),
    ("conditioning", "Stays in rooms"),
)
_LAYER = (
    "formed_at_utc", "tank", "furnish", "furnish_composition", "consistency_pct", "stock_volume_l", "flow_rate_l_min",
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
"""What each column that a recipe sets is off its set point by; the set point is the column with ``recipe_`` before."""

_PROPERTY_COLUMNS = [
    Column("property", "Property"),
    Column("direction", "Direction"),
    Column("value", "Value", number=True),
    Column("unit", "Unit"),
    Column("expanded_uncertainty", "Expanded uncertainty", number=True),
    Column("n", "n", number=True),
    Column("n_left_out", "Left out", number=True),
    Column("s", "s", number=True),
    Column("cv_pct", "CV, %", number=True),
    Column("interval", "95 % interval"),
    Column("flags", "Flags"),
    Column("atmosphere_verdict", "Air"),
    Column("basis", "Basis"),
    Column("uncertainty_of", "Uncertainty of"),
]
_CURVE_COLUMNS = [
    Column("piece", "Test piece"),
    Column("max_y", "Maximum, as on the chart", number=True),
    Column("max_x", "at, as on the chart", number=True),
    Column("n_points", "Points", number=True),
    Column("in_means", "In means"),
    Column("remark", "Remark", long=True),
]


def _suggestions(published: Published, sheet: Row, root: str) -> list[Link]:
    """Return links to the sheets that may be meant by a number that no forming log names."""
    text = sheet["suggested_sheet_id"]
    if text is None:
        return []
    # several stand in one text, and a number may have a comma itself
    numbers = [text] if published.of("sheet", sheet_id=text) else text.split(", ")
    return [Link(root + links.sheet_page(number), number) for number in numbers]


def _remarks(sheet: Row) -> list[str]:
    """Return what to be careful about with a sheet, as sentences."""
    if not sheet["in_log"]:
        return []
    told = {
        "Carry-over: the tank held another furnish before, and was not both drained and cleaned.": sheet["carry_over"],
        "The furnish in the forming log is not the one in the tank.": sheet["furnish_differs_from_tank"],
    }  # fmt: skip
    remarks = [text for text, holds in told.items() if holds]
    if sheet["moisture_warning"]:
        remarks.append(f"Moisture: {sheet['moisture_warning']}")
    return remarks


def _layers(layers: Rows) -> tuple[list[Column], list[dict[str, str]]]:
    """Return the layers side by side: a row for each quantity that any layer has, a column for each layer."""
    columns = [Column("quantity", "Quantity")]
    columns += [Column(f"layer_{row['layer_no']}", f"Layer {row['layer_no']}") for row in layers]
    rows = [
        {"quantity": _layer_label(name)} | {f"layer_{row['layer_no']}": _set_and_made(row, name) for row in layers}
        for name in _LAYER
        if any(row[name] is not None for row in layers)
    ]  # fmt: skip
    return columns, rows


@cache
def _layer_label(name: str) -> str:
    return labels.column_label("layer", name)


def _set_and_made(layer: Row, name: str) -> str:
    """Return a value of a layer, with its recipe's set point where it differs from it as far as is shown."""
    made = cell(layer[name])
    off = layer[_DEVIATIONS[name]] if name in _DEVIATIONS else None
    if not off or (asked := cell(layer[f"recipe_{name}"])) == made:
        return made
    return f"{made} (set {asked}, {'+' if off > 0 else ''}{labels.number(off, 2)})"


def _facts(sheet: Row) -> list[tuple[str, str]]:
    """Return grammages, moisture and retention with where they come from; nothing that is missing."""
    if not sheet["in_log"]:
        return []
    moisture = {
        "sheet": "of its own oven-dry pairs",
        "trial_point": "of the trial point's other sheets, as it has none of its own",
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


def _place(row: Row) -> tuple[int, int]:
    directions = (None, "MD", "CD", "GM", "MD/CD")
    names = labels.PROPERTIES
    place = names.index(row["property"]) if row["property"] in names else len(names)
    # sheets have what has no direction first, as it is made from the whole
    return (place if row["direction"] else place - len(names), directions.index(row["direction"]))


def _property_cells(row: Row) -> dict[str, str]:
    low, high = row["interval_low"], row["interval_high"]
    pressure = None if row["pressure_kpa"] is None else f"{row['pressure_kpa']:g} kPa"
    made_with = [row["basis"] and row["basis"].replace("_", " "), pressure, row["assumption"]]
    return cells(row) | {
        "property": labels.words(row["property"]),
        "direction": row["direction"] or "",
        "basis": ", ".join(filter(None, made_with)),
        "unit": labels.unit_text(row["unit"]),
        "interval": labels.MISSING if low is None else f"{labels.number(low)} to {labels.number(high)}",
        "uncertainty_of": row["uncertainty_of"] or "",
        "flags": _spelled(row["flags"]),
        "atmosphere_verdict": _spelled(row["atmosphere_verdict"]),
    }


def _spelled(names: str | None) -> str:
    """Return names of the tables, separated by commas, as words."""
    return (names or "").replace("_", " ").replace(",", ", ")


def _remark(curve: Row) -> str:
    """Return what is to be said of a curve: why its piece does not count, what was found, where the tester differs."""
    told = [] if curve["in_means"] else [f"not in means: {findings.what_is_wrong(curve)}"]
    if curve["in_means"] and curve["findings"]:
        told.append(findings.what_is_wrong(curve))
    if curve["disagreement"]:
        told.append(f"differs from the tester's result, {curve['disagreement']}")
    return "; ".join(told)
