"""The page of one trial: how its sheets were made, what they are, and how its points compare."""

from pipelines.site import labels, links
from pipelines.site.figures import Behind, Figure, Row, Variant, packed, page_data
from pipelines.site.reading import Published, Rows
from pipelines.site.rendering import render
from pipelines.site.tables import Column, Link, cell, cells, headed
from pipelines.site.trial import findings
from schemas.properties import DIRECTED

STRIPS_AT_MOST = 80
"""Sheets in the chart of every test piece; a trial of more shows its last ones."""

_PROPERTIES = sorted((quantity.name for quantity in DIRECTED), key=lambda name: name != "tensile_index")
"""The properties that a reader may choose, the one shown first at the head."""

_PIECE_FIELD = {quantity.name: quantity.column_name() for quantity in DIRECTED}


def page(published: Published, trial: Row) -> str:
    """Return the page of a trial, a row of the statement ``trial``."""
    name = trial["trial"]

    def of(statement: str) -> Rows:
        return published.of(statement, trial=name)

    values, means, sheets, pieces = of("trial_value"), of("trial_mean"), of("trial_sheet"), of("trial_piece")
    layers, responses = of("trial_layer"), of("trial_response")
    last = {row["sheet_id"] for row in sheets[-STRIPS_AT_MOST:]}
    drawn_pieces = [row for row in pieces if row["sheet_id"] in last]
    with_values = {row["property"] for row in values}
    properties = [
        name
        for name in _PROPERTIES
        if name in with_values or any(row[_PIECE_FIELD[name]] is not None for row in drawn_pieces)
    ]
    figures = _figures(properties, values, means, drawn_pieces, responses, sheets)
    weighed = [row for row in layers if row["oven_dry_mass_g"] is not None]
    if any(row["layer_no"] > 1 for row in weighed):
        mass = labels.column_label("layer", "oven_dry_mass_g")
        figures["layers"] = Figure(
            "trial-layers",
            {"": Variant(findings.of_layers(layers), "From the wire, left to right.", {"@mass_title": mass})},
        )
    directed = [
        row for row in values if row["direction"] in ("MD", "CD", "MD/CD") and row["property"] in properties
    ]
    data = {
        "values": packed(directed, _VALUE),
        "points": packed([row for row in means if row["direction"] in ("MD", "CD")], _MEAN),
        "pieces": packed(drawn_pieces, (*_PIECE, *_PIECE_FIELD.values())),
        "curve": packed(of("trial_curve"), _CURVE),
        "response": packed(responses, _RESPONSE),
        "layers": packed(layers, _LAYER),
    }
    here = links.trial_page(name)
    same, differing, conditions = _conditions(of("trial_condition"))
    return render(
        "trial",
        here,
        published.all("setting")[0],
        trial=trial,
        properties=[(name, labels.words(name)) for name in properties],
        figures=figures,
        content=page_data(data, figures) | {"filter": "trial_point"},
        same=same,
        condition_columns=differing,
        conditions=conditions,
        sheet_columns=headed("sheet", _SHEET),
        sheets=[_sheet_cells(row, links.to_root(here)) for row in sheets],
        points=[row["trial_point"] for row in of("trial_condition")],
        mean_columns=_MEAN_COLUMNS,
        means=[_mean_cells(row) for row in means],
        layer_columns=headed(
            "layer", ("trial_point", "layer_no", *_LAYER_SHOWN), long=("furnish_composition",)
        ),
        layers=[cells(row) for row in layers],
        response_columns=_RESPONSE_COLUMNS,
        responses=[
            cells(row) | {"property": labels.words(row["property"]), "interval": findings.of_minimum(row)}
            for row in responses
            if row["property"] in properties
        ],
        admitted=published.all("setting")[0]["admitted_verdicts"],
    )


_VALUE = (
    "trial_point", "sheet_id", "direction", "property", "value", "interval_low", "interval_high", "jet_to_wire_ratio",
    "apparent_density_kg_m3", "place",
)  # fmt: skip
_MEAN = (
    "trial_point", "direction", "property", "value", "interval_low", "interval_high", "n_sheets", "place",
)  # fmt: skip
_PIECE = ("trial_point", "sheet_id", "direction", "specimen_no", "in_means", "left_out_because", "place")
_CURVE = ("property", "jet_to_wire_ratio", "md_cd_ratio", "band_low", "band_high")
_RESPONSE = (
    "property",
    "outcome",
    "minimum_jet_to_wire_ratio",
    "minimum_jet_to_wire_ratio_low",
    "minimum_jet_to_wire_ratio_high",
)
_LAYER = ("trial_point", "layer_no", "furnish", "oven_dry_mass_g", "place")
_LAYER_SHOWN = (
    "furnish", "furnish_composition", "oven_dry_mass_g", "jet_to_wire_ratio", "consistency_pct", "stock_volume_l",
)  # fmt: skip
_SHEET = (
    "sheet_id", "trial_point", "formed_at_utc", "jet_to_wire_ratio", "grammage_g_m2", "thickness_um",
    "apparent_density_kg_m3",
)  # fmt: skip
_CONDITIONS_OF_POINT = (
    "jet_to_wire_ratio", "wire_speed_m_min", "jet_speed_m_min", "consistency_pct", "stock_volume_l", "n_layers",
    "target_grammage_g_m2", "predicted_grammage_g_m2",
)  # fmt: skip
_CONDITIONS_OF_SHEET = (
    "delivery_time_s", "furnishes", "highest_line_load_kn_m", "highest_press_pressure_kpa", "drying_methods",
    "highest_drying_temperature_c", "drying_restraints", "retention_pct",
)  # fmt: skip
_MEAN_COLUMNS = [
    Column("trial_point", "Trial point"),
    Column("property", "Property"),
    Column("direction", "Direction"),
    Column("value", "Mean", number=True),
    Column("unit", "Unit"),
    Column("s", "s between sheets", number=True),
    Column("interval", "95 % interval"),
    Column("expanded_uncertainty", "Expanded uncertainty", number=True),
    Column("n_sheets", "Sheets", number=True),
    Column("n_readings", "Readings", number=True),
    Column("n_left_out", "Left out", number=True),
]


_RESPONSE_COLUMNS = [
    Column("property", "Property"),
    Column("n_sheets", "Sheets", number=True),
    Column("n_ratios", "Ratios", number=True),
    Column("md_cd_ratio_at_minimum", "Lowest MD/CD", number=True),
    Column("minimum_jet_to_wire_ratio", "at a ratio of", number=True),
    Column("interval", "95 % interval of the ratio"),
    Column("residual_s", "Residual s of ln(MD/CD)", number=True),
    Column("lack_of_fit_p", "p of lack of fit", number=True),
    Column("reason", "Remark", long=True),
]


_OF_A_SHEET = [("sheet_id", "Sheet"), ("trial_point", "Trial point"), ("direction", "Direction")]
_BEHIND = {
    "density": Behind(
        "values",
        [
            *_OF_A_SHEET,
            ("apparent_density_kg_m3", "@density_title"),
            ("value", "@value_title"),
            ("interval_low", "from (95 %)"),
            ("interval_high", "to (95 %)"),
        ],
        {"property": ["@property"], "direction": ["MD", "CD"]},
    ),
    "strips": Behind(
        "pieces",
        [
            *_OF_A_SHEET,
            ("specimen_no", "Test piece"),
            ("@field", "@value_title"),
            ("in_means", "In means"),
            ("left_out_because", "Left out because"),
        ],
    ),
}


def _figures(
    properties: list[str], values: Rows, means: Rows, pieces: Rows, responses: Rows, sheets: Rows
) -> dict[str, Figure]:
    figures: dict[str, dict[str, Variant]] = {"response": {}, "density": {}, "points": {}, "strips": {}}
    tested = len({row["sheet_id"] for row in pieces})
    several_ratios = any(row["n_ratios"] > 1 for row in responses)
    with_means = any(row["property"] in properties for row in values)
    shown = f"The last {STRIPS_AT_MOST} of {len(sheets)} sheets. " if len(sheets) > STRIPS_AT_MOST else ""
    for name in properties:
        unit = labels.property_unit(name)
        put = {
            "@property": name,
            "@field": _PIECE_FIELD[name],
            "@value_title": labels.property_label(name),
            "@ratio_title": labels.property_label(name, "MD/CD"),
            "@density_title": labels.column_label("sheet", "apparent_density_kg_m3"),
        }
        of_sheets = [row for row in values if row["property"] == name]
        response = next((row for row in responses if row["property"] == name), None)
        ratios = [row for row in of_sheets if row["direction"] == "MD/CD"]
        if several_ratios:
            figures["response"][name] = Variant(
                findings.of_response(name, response, ratios), _response_note(response), put
            )
        figures["strips"][name] = Variant(
            findings.of_strips(pieces, tested),
            f"{shown}A line for each sheet, a mark for each test piece. Hollow ones are not in the means.",
            put,
        )
        if not with_means:
            continue
        figures["density"][name] = Variant(
            findings.of_density(name, unit, of_sheets),
            "A mark for each sheet, with the 95 % interval of its mean. Draw a rectangle to choose sheets.",
            put,
        )
        figures["points"][name] = Variant(
            findings.of_points(name, unit, [row for row in means if row["property"] == name]),
            "Means with their 95 % intervals, the sheet as the replicate; the small strokes are the sheets. "
            "A point of one sheet has no interval.",
            put,
        )
    return {
        key: Figure(f"trial-{key}", variants, _BEHIND.get(key))
        for key, variants in figures.items()
        if variants
    }


def _response_note(response: Row | None) -> str:
    how = "A mark for each sheet; the curve is fitted to all of them, with its 95 % band."
    if response is None:
        return "A mark for each sheet."
    if response["outcome"] == "not_fitted":
        return f"No curve is fitted: {response['reason']}"
    reason = f" {response['reason']}" if response["reason"] else ""
    return f"{how}{reason} Draw a rectangle to choose sheets."


def _conditions(rows: Rows) -> tuple[list[tuple[str, str]], list[Column], list[dict[str, str]]]:
    """Return what all points have in common, the columns that differ, and the table's cells."""
    columns = headed("trial_point", _CONDITIONS_OF_POINT) + headed(
        "sheet", _CONDITIONS_OF_SHEET, long=("furnishes",)
    )
    same, differing = [], []
    for column in columns:
        shown = {cell(row[column.name]) for row in rows}
        if shown == {labels.MISSING}:
            continue
        if len(shown) == 1 and len(rows) > 1:
            same.append((column.heading, shown.pop()))
        else:
            differing.append(column)
    heads = [Column("trial_point", "Trial point"), Column("n_sheets", "Sheets", number=True)]
    return same, [*heads, *differing], [cells(row) for row in rows]


def _sheet_cells(row: Row, root: str) -> Row:
    return cells(row) | {
        "sheet_id": Link(root + links.sheet_page(row["sheet_id"]), row["sheet_id"]),
        "carry_over": "carry-over" if row["carry_over"] else "",
    }


def _mean_cells(row: Row) -> Row:
    low, high = row["interval_low"], row["interval_high"]
    interval = labels.MISSING if low is None else f"{labels.number(low)} to {labels.number(high)}"
    return cells(row) | {
        "property": labels.words(row["property"]),
        "direction": row["direction"] or "",
        "unit": labels.unit_text(row["unit"]),
        "interval": interval,
    }
