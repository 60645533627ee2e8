"""The page of one trial: how its sheets were made, their results, and how its trial points compare.

The page contains one row per sheet and per trial point, with all their properties. Its script ``trial.js`` draws the
property, direction and x axis that the reader chooses, and writes the titles.
"""

from pipelines.site import labels, links
from pipelines.site.figures import Behind, Figure, Row, Variant, packed, page_data
from pipelines.site.reading import Published, Rows
from pipelines.site.rendering import render
from pipelines.site.tables import Column, Link, aligned, cell, cells, headed
from schemas.properties import cached_by_registry, registry

PIECES_OF_SHEETS = 80
"""Maximum number of sheets whose test pieces the page contains, the last ones."""

OPEN_ROWS = 40
"""Maximum rows of a table that is shown unfolded."""

CONDITIONS = (
    "jet_to_wire_ratio", "wire_speed_m_min", "jet_speed_m_min", "consistency_pct", "stock_volume_l", "delivery_time_s",
    "n_layers", "furnishes", "refining_energy_kwh_t", "schopper_riegler_sr", "canadian_freeness_ml", "additives",
    "additive_dose_kg_t", "target_grammage_g_m2", "predicted_grammage_g_m2", "n_press_passes", "highest_line_load_kn_m",
    "highest_press_pressure_kpa", "drying_methods", "highest_drying_temperature_c", "drying_time_s",
    "drying_restraints", "retention_pct",
)  # fmt: skip
"""Columns of ``sheet`` and ``trial_point`` that say how a sheet was made; those that differ can be the x axis."""

_NAMES = ("furnishes", "additives", "drying_methods", "drying_restraints")
"""Conditions that are names, not numbers."""

_DIRECTIONS = ("MD", "CD", "GM", "MD/CD")


@cached_by_registry
def _piece_fields() -> dict[str, str]:
    """Return the field of each property of test pieces."""
    return {entry.name: entry.column_name() for entry in registry().of_pieces}


@cached_by_registry
def _known() -> list[str]:
    """Return the names of all properties in the order in which a reader chooses one."""
    return sorted(labels.properties(), key=lambda name: name != "tensile_index")


def page(published: Published, trial: Row) -> str:
    """Return the page of a trial, a row of the statement ``trial``."""
    name = trial["trial"]

    def of(statement: str) -> Rows:
        return published.of(statement, trial=name)

    values, means, sheets, pieces = of("trial_value"), of("trial_mean"), of("trial_sheet"), of("trial_piece")
    layers, responses, points = of("trial_layer"), of("trial_response"), of("trial_condition")
    last = {row["sheet_id"] for row in sheets[-PIECES_OF_SHEETS:]}
    pieces = [row for row in pieces if row["sheet_id"] in last]
    typical = {of_table: published.typical_uncertainty(of_table) for of_table in ("sheet", "trial_point")}
    properties = _properties(values, means, pieces, typical)
    by_sheet, value_columns = _wide(values, "sheet_id", _SHEET_NUMBERS)
    by_point, mean_columns = _wide(means, "trial_point", _MEAN_NUMBERS)
    axes = _axes(sheets, values, properties)
    figures = _figures(properties, axes, pieces, responses, layers)
    data = {
        "sheets": packed(
            [_blank(value_columns) | row | by_sheet.get(row["sheet_id"], {}) for row in sheets],
            (*_OF_SHEET, *(key for key in axes if key in CONDITIONS), *value_columns),
        ),
        "points": packed(
            [_blank(mean_columns) | row | by_point.get(row["trial_point"], {}) for row in points],
            ("trial_point", "place", *mean_columns),
        ),
        "pieces": packed(pieces, (*_PIECE, *_piece_fields().values())),
        "curve": packed(of("trial_curve"), _CURVE),
        "response": packed(responses, _RESPONSE),
        "layers": packed(layers, _LAYER),
    }
    setting = published.all("setting")[0]
    here = links.trial_page(name)
    same, differing, conditions = _conditions(points)
    return render(
        "trial",
        here,
        setting,
        trial=trial,
        properties=properties,
        axes=axes,
        axis_groups=_axis_groups(axes),
        first_axis=_FIRST_AXIS if _FIRST_AXIS in axes else next(iter(axes), None),
        directed=any(one["directions"] for one in properties.values()),
        figures=figures,
        content=page_data(data, figures)
        | {"properties": properties, "axes": axes, "n_sheets_with_pieces": len(last)},
        same=same,
        condition_columns=differing,
        conditions=conditions,
        points=[row["trial_point"] for row in points],
        open_rows=OPEN_ROWS,
        sheet_columns=headed("sheet", _SHEET),
        sheets=_sheet_rows(sheets, typical["sheet"], links.to_root(here)),
        layer_columns=headed(
            "layer", ("trial_point", "layer_no", *_LAYER_SHOWN), long=("furnish_composition",)
        ),
        layers=aligned(layers, _LAYER_SHOWN),
        response_columns=_RESPONSE_COLUMNS,
        responses=[_response_cells(row) for row in responses if row["property"] in properties],
        admitted=setting["admitted_verdicts"],
    )


_OF_SHEET = ("trial_point", "sheet_id", "place", "n_pieces", "n_left_out")
_SHEET_NUMBERS = {"": 6, "±": 3}
_MEAN_NUMBERS = {"": 6, "±": 3, "s": 3, "U": 3, "n_sheets": 9, "n_readings": 9, "n_left_out": 9}
"""Numbers per property and direction: the suffix of the column name, and the number of significant digits."""

_PIECE = ("trial_point", "sheet_id", "direction", "specimen_no", "in_means", "left_out_because", "place")
_CURVE = ("property", "jet_to_wire_ratio", "md_cd_ratio", "band_low", "band_high")
_RESPONSE = (
    "property", "n_sheets", "outcome", "reason", "lack_of_fit_p", "minimum_jet_to_wire_ratio",
    "minimum_jet_to_wire_ratio_low", "minimum_jet_to_wire_ratio_high", "md_cd_ratio_at_minimum",
    "md_cd_ratio_at_minimum_low", "md_cd_ratio_at_minimum_high",
)  # fmt: skip
_LAYER = ("trial_point", "layer_no", "furnish", "oven_dry_mass_g", "place")
_LAYER_SHOWN = (
    "furnish", "furnish_composition", "oven_dry_mass_g", "jet_to_wire_ratio", "consistency_pct", "stock_volume_l",
)  # fmt: skip
_SHEET = (
    "sheet_id", "trial_point", "formed_at_utc", "jet_to_wire_ratio", "grammage_g_m2", "thickness_um",
    "apparent_density_kg_m3",
)  # fmt: skip
_RESPONSE_COLUMNS = [
    Column("property", "Property"),
    Column("n_sheets", "Sheets", number=True),
    Column("n_ratios", "Ratios", number=True),
    Column("md_cd_ratio_at_minimum", "Lowest MD/CD", number=True),
    Column("lowest", "95 % interval"),
    Column("minimum_jet_to_wire_ratio", "at a ratio of", number=True),
    Column("interval", "95 % interval of the ratio"),
    Column("residual_s", "Residual s of ln(MD/CD)", number=True),
    Column("lack_of_fit_p", "p of lack of fit", number=True),
    Column("reason", "Remark", long=True),
]

_OF_A_SHEET = [("sheet_id", "Sheet"), ("trial_point", "Trial point"), ("direction", "Direction")]
_ENDS = [("value", "@value_title"), ("low", "from (95 %)"), ("high", "to (95 %)")]
_TO_ITS_DIGITS = dict.fromkeys(("value", "low", "high", "s", "U"), "u")
_BEHIND = {
    "points": Behind(
        "means",
        [
            ("trial_point", "Trial point"), ("direction", "Direction"), *_ENDS, ("s", "s between sheets"),
            ("U", "Expanded uncertainty"), ("n_sheets", "Sheets"), ("n_readings", "Readings"),
            ("n_left_out", "Left out"),
        ],
        uncertainty=_TO_ITS_DIGITS,
    ),
    "against": Behind("sheets", [*_OF_A_SHEET, ("x", "@x_title"), *_ENDS], uncertainty=_TO_ITS_DIGITS),
    "strips": Behind(
        "pieces",
        [
            *_OF_A_SHEET, ("specimen_no", "Test piece"), ("value", "@value_title"), ("in_means", "In means"),
            ("left_out_because", "Left out because"),
        ],
    ),
}  # fmt: skip
_TITLES = {
    "points": "Trial points compared",
    "response": "MD/CD against the jet-to-wire ratio",
    "against": "Sheets",
    "strips": "Test pieces",
    "layers": "Layers",
}
"""Headings of the figures until the script writes the titles for what is shown."""


def _properties(
    values: Rows, means: Rows, pieces: Rows, typical: dict[str, dict[str, float]]
) -> dict[str, Row]:
    """Return the properties that can be shown: their words, unit, directions and the column of their test pieces.

    ``u`` is the typical standard uncertainty of sheets and of trial points in each direction, which sets decimals.
    """
    found: dict[str, list[str | None]] = {}
    for row in (*values, *means):
        found.setdefault(row["property"], []).append(row["direction"])
    for name, column in _piece_fields().items():
        if any(row[column] is not None for row in pieces):
            found.setdefault(name, list(_DIRECTIONS[:2]))
    known = _known()
    order = [*known, *sorted(name for name in found if name not in known)]
    return {
        name: {
            "name": labels.words(name),
            "in_text": _in_text(name),
            "unit": labels.unit_text(labels.property_unit(name)),
            "directions": [direction for direction in _DIRECTIONS if direction in found[name]],
            "field": _piece_fields().get(name),
            "u": {
                of_table: {
                    direction or "": of.get(labels.property_column(name, direction))
                    for direction in dict.fromkeys(found[name])
                }
                for of_table, of in typical.items()
            },
        }
        for name in order
        if name in found
    }


def _in_text(name: str) -> str:
    text = labels.words(name)
    return text[:1].lower() + text[1:]


def _axes(sheets: Rows, values: Rows, properties: dict[str, Row]) -> dict[str, Row]:
    """Return the possible x axes: conditions that differ between sheets, and every property in each direction.

    The key of a property is ``apparent_density|`` or ``tensile_index|MD``, the beginning of its columns.
    """
    axes: dict[str, Row] = {}
    for name in CONDITIONS:
        if len({cell(row[name]) for row in sheets if row[name] is not None}) > 1:
            heading = labels.column_label("sheet", name)
            words, _, unit = heading.partition(", ")
            text = words[:1].lower() + words[1:]
            axes[name] = {"title": heading, "in_text": text, "unit": unit, "names": name in _NAMES}
    measured = {(row["property"], row["direction"]) for row in values}
    for name, one in sorted(properties.items(), key=lambda item: bool(item[1]["directions"])):
        for direction in one["directions"] or [None]:
            if (name, direction) in measured:
                axes[f"{name}|{direction or ''}"] = {
                    "title": labels.property_label(name, direction),
                    "in_text": f"{one['in_text']} {direction}" if direction else one["in_text"],
                    "unit": "" if direction == "MD/CD" else one["unit"],
                    "names": False,
                }
    return axes


_FIRST_AXIS = "apparent_density|"


def _axis_groups(axes: dict[str, Row]) -> list[tuple[str, list[str]]]:
    """Return the headings of the list of x axes and the axes under each."""
    groups: dict[str, list[str]] = {"How the sheet was made": [], "Properties": []}
    for name in axes:
        groups["Properties" if "|" in name else "How the sheet was made"].append(name)
    return [(heading, names) for heading, names in groups.items() if names]


def _wide(rows: Rows, key: str, numbers: dict[str, int]) -> tuple[dict[str, Row], list[str]]:
    """Return one row per value of ``key`` with all its properties, and the columns that are not empty.

    A column is named by its property, its direction and an ending: ``tensile_index|MD|±``.
    """
    by: dict[str, Row] = {}
    columns: dict[str, None] = {}
    for row in rows:
        low, high = row["interval_low"], row["interval_high"]
        found = {
            "": row["value"],
            "±": None if low is None else (high - low) / 2,
            "U": row["expanded_uncertainty"],
        }
        wide = by.setdefault(row[key], {})
        for ending, digits in numbers.items():
            value = found[ending] if ending in found else row[ending]
            if value is not None:
                column = f"{row['property']}|{row['direction'] or ''}|{ending}"
                wide[column] = float(f"{value:.{digits}g}")
                columns[column] = None
    return by, list(columns)


def _blank(columns: list[str]) -> Row:
    return dict.fromkeys(columns)


def _figures(
    properties: dict[str, Row], axes: dict[str, Row], pieces: Rows, responses: Rows, layers: Rows
) -> dict[str, Figure]:
    has = {
        "points": bool(properties),
        "response": "jet_to_wire_ratio" in axes and any(row["n_ratios"] > 1 for row in responses),
        "against": bool(properties and axes),
        "strips": bool(properties and pieces),
        "layers": bool(properties)
        and any(row["layer_no"] > 1 and row["oven_dry_mass_g"] is not None for row in layers),
    }
    mass = {"@value_title": labels.column_label("layer", "oven_dry_mass_g")}
    return {
        key: Figure(f"trial-{key}", {"": Variant(_TITLES[key], put=mass)}, _BEHIND.get(key))
        for key, there in has.items()
        if there
    }


def _conditions(rows: Rows) -> tuple[list[tuple[str, str]], list[Column], list[dict[str, str]]]:
    """Return the conditions that all trial points share, the columns that differ, and the table's cells."""
    columns = headed("trial_point", [name for name in CONDITIONS if name not in _OF_SHEETS_ALONE])
    columns += headed("sheet", _OF_SHEETS_ALONE)
    columns = [Column(one.name, one.heading, one.number, one.name in _NAMES) for one in columns]
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
    return same, [*heads, *differing], aligned(rows, [column.name for column in differing if column.number])


_OF_SHEETS_ALONE = ("delivery_time_s", "retention_pct")
"""Conditions that are not in the table ``trial_point``."""


def _sheet_rows(sheets: Rows, typical: dict[str, float], root: str) -> list[Row]:
    """Return the cells of the table of sheets; their typical standard uncertainties set the decimals."""

    def change(row: Row) -> Row:
        return {
            "sheet_id": Link(root + links.sheet_page(row["sheet_id"]), row["sheet_id"]),
            "carry_over": "carry-over" if row["carry_over"] else "",
        }

    return aligned(sheets, _SHEET[3:], change, typical)


def _response_cells(row: Row) -> dict[str, str]:
    ends = {
        name: (row[name], row[f"{name}_low"], row[f"{name}_high"])
        for name in ("md_cd_ratio_at_minimum", "minimum_jet_to_wire_ratio")
    }
    found = cells(row) | {"property": labels.words(row["property"])}
    for name, shown in (("md_cd_ratio_at_minimum", "lowest"), ("minimum_jet_to_wire_ratio", "interval")):
        value, low, high = ends[name]
        half = (
            None
            if value is None
            else max((abs(end - value) for end in (low, high) if end is not None), default=None)
        )
        found[name] = labels.rounded(value, half)
        found[shown] = (
            labels.MISSING
            if value is None
            else f"{'below the lowest tried' if low is None else labels.rounded(low, half)} to "
            f"{'above the highest tried' if high is None else labels.rounded(high, half)}"
        )
    return found
