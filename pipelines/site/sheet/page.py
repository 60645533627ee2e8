"""The page of one sheet: how it was made, what it is, its curves, its air, and the records behind it all."""

from datetime import datetime
from functools import cache
from typing import Any

from pipelines.site import labels, links
from pipelines.site.figures import Figure, Row, Variant, packed, page_data
from pipelines.site.reading import Published, Rows, distinct
from pipelines.site.rendering import render
from pipelines.site.sheet import findings, trace
from pipelines.site.sheet.findings import Limits, Reading
from pipelines.site.tables import Column, Link, cell, cells
from schemas.marts.quantities import TENSILE

SINGLE, PACK = "single sheets", "packs"

REASONS_AT_MOST = 5
"""Reasons of verdicts listed beside the charts of the air; the table of records has all."""


def page(published: Published, sheet: Row) -> str:
    """Return the page of a sheet, a row of the statement ``sheet``."""
    sheet_id = sheet["sheet_id"]

    def of(statement: str) -> Rows:
        return published.of(statement, sheet_id=sheet_id)

    records = [trace.told(record) for record in of("sheet_record")]
    properties, pieces = of("sheet_property"), of("trial_piece")
    curves = [row | {"piece": findings.piece(row), "remark": _remark(row)} for row in of("sheet_curve")]
    air, gaps = of("sheet_air"), of("sheet_gap")
    setting = published.all("setting")[0]
    files = trace.files_of(published, records)
    readings = _readings(sheet, pieces, records)
    means = _means(properties)
    tests = _tests(records)
    chosen = [name for name, field in _FIELDS.items() if any(row[field] is not None for row in readings)]
    figures = {
        **_curve_figures(curves),
        **_position_figures(chosen, readings),
        **_air_figures(setting, air, gaps, tests),
    }
    data = {
        "curves": packed(curves, _CURVE),
        "readings": packed(readings, _READING),
        "means": packed(means, _MEAN),
        "air": packed([row | {"run": place} for place, row in enumerate(air)], _AIR),
        "gaps": packed(gaps, _GAP),
        "stays": packed(_stays(trace.that_count(records, "conditioning"), air, gaps), _STAY),
        "tests": packed(tests, _TEST),
        "limits": packed([setting], _LIMIT),
    }
    reasons = distinct((row for row in records if row["verdict"]), "reason")
    layer_columns, layers = _layers(of("sheet_layer"))
    main = [row for row in properties if row["is_main"]]
    here = links.sheet_page(sheet_id)
    return render(
        "sheet",
        here,
        setting["laboratory"],
        sheet=sheet,
        remarks=_remarks(sheet),
        suggestions=_suggestions(published, sheet, links.to_root(here)),
        layer_columns=layer_columns,
        layers=layers,
        treatments=[
            (caption, trace.columns_with_values(kind, counting), [_treatment_cells(row) for row in counting])
            for kind, caption in _TREATMENTS
            if (counting := trace.that_count(records, kind))
        ],
        facts=_facts(sheet),
        property_columns=_PROPERTY_COLUMNS,
        properties=[_property_cells(row) for row in sorted(main, key=_place)],
        other_properties=[
            _property_cells(row) for row in sorted(properties, key=_place) if not row["is_main"]
        ],
        figures=figures,
        content=page_data(data, figures),
        choices=[(name, labels.words(name)) for name in chosen],
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


_FIELDS = {
    **{quantity.name: quantity.column_name() for quantity in TENSILE},
    "thickness": "thickness_um",
    "thickness_stack": "thickness_stack_um",
}
"""The field of readings for each property that has readings with a number."""

_PIECE_FIELDS = [quantity.column_name() for quantity in TENSILE]
_CURVE = ("direction", "piece", "in_means", "remark", "max_x", "max_y", "x", "y")
_READING = ("series", "number", "in_means", "left_out_because", *_FIELDS.values())
_MEAN = ("property", "series", "value", "interval_low", "interval_high")
_AIR = ("room", "run", "from_ms", "minutes", "temperatures_c", "humidities_pct")
_GAP = ("room", "drawn_from_utc", "drawn_to_utc", "gap_min")
_STAY = ("room", "from_utc", "to_utc")
_TEST = ("at_utc", "tests", "verdict")
_LIMIT = ("lowest_temperature_c", "highest_temperature_c", "lowest_humidity_pct", "highest_humidity_pct")
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


def _treatment_cells(record: Row) -> dict[str, str]:
    """Return a record's values as they are shown, its times to the minute."""
    return {
        name: value[:16] if name.endswith("_utc") and value else cell(value) for name, value in record.items()
    }


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
        "grammage_as_taken_g_m2": "weighed",
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


def _curve_figures(curves: Rows) -> dict[str, Figure]:
    if not curves:
        return {}
    per_width = all(row["per_width"] for row in curves)
    put = {
        "@x_title": "Stretch, %" if per_width else "Elongation, mm",
        "@y_title": "Force per width, kN/m" if per_width else "Force, N",
    }
    note = "A line for each raw curve, its maximum marked. Dashed and hollow: the test piece is not in the means."
    return {
        "curves": Figure("sheet-curves", {"": Variant(findings.of_curves(curves), note, put)}),
    }


def _readings(sheet: Row, pieces: Rows, records: Rows) -> Rows:
    """Return test pieces and thickness readings in one form, with a field for each property."""
    nothing: dict[str, Any] = dict.fromkeys(_FIELDS.values())
    of_pieces = [
        nothing
        | {name: row[name] for name in ("in_means", "left_out_because", *_PIECE_FIELDS)}
        | {"series": row["direction"], "number": row["specimen_no"]}
        for row in pieces
    ]
    return of_pieces + [
        nothing | _thickness(sheet, row) for row in trace.that_count(records, "thickness") if sheet["in_log"]
    ]


def _thickness(sheet: Row, record: Row) -> Row:
    single = record["sheets_in_pack"] == 1
    field = "thickness_um" if single else "thickness_stack_um"
    pressure = sheet["thickness_pressure_kpa" if single else "thickness_stack_pressure_kpa"]
    read_at = record["pressure_kpa"]
    at_pressure = (None if read_at is None else round(read_at)) == pressure
    reason = None if at_pressure else f"read at {labels.number(read_at)} kPa"
    return {
        "series": SINGLE if single else PACK,
        "number": record["position_no"],
        "in_means": bool(record["admitted"]) and at_pressure,
        "left_out_because": reason if record["admitted"] else record["verdict"],
        field: record["thickness_um"] / record["sheets_in_pack"],
    }


def _means(properties: Rows) -> Rows:
    kinds = {"MD": "MD", "CD": "CD", "thickness": SINGLE, "thickness_stack": PACK}
    return [
        row | {"series": kinds[row["direction"] or row["property"]]}
        for row in properties
        if row["is_main"] and row["property"] in _FIELDS and (row["direction"] or row["property"]) in kinds
    ]


def _position_figures(properties: list[str], readings: Rows) -> dict[str, Figure]:
    variants = {}
    for name in properties:
        field = _FIELDS[name]
        counting = [
            Reading(row["series"], row["number"], row[field])
            for row in readings
            if row["in_means"] and row[field] is not None
        ]
        thickness = name.startswith("thickness")
        variants[name] = Variant(
            findings.of_position(name, labels.property_unit(name), counting),
            _POSITION_NOTE,
            {
                "@property": name,
                "@field": field,
                "@value_title": labels.property_label(name),
                "@number_title": "Number of the position" if thickness else "Number of the test piece",
                "@first": SINGLE if thickness else "MD",
                "@second": PACK if thickness else "CD",
            },
        )
    return {"position": Figure("sheet-position", variants)} if variants else {}


_POSITION_NOTE = (
    "Over each mean, dashed, the band of its 95 % interval. Hollow readings are not in it. A trend is told where p of "
    "the least-squares slope is below 0.01; one in a hundred comes about by chance. The numbers are the tester's; "
    "whether they go along the sheet is up to how it was cut."
)


def _tests(records: Rows) -> Rows:
    """Return the times at which the sheet was tested, each once for its verdict, with what was tested then."""
    at: dict[tuple[str, str], list[str]] = {}
    for row in records:
        if row["verdict"] and row["tested_at_utc"]:
            at.setdefault((row["tested_at_utc"], row["verdict"]), []).append(row["kind"])
    return [
        {
            "at_utc": datetime.fromisoformat(time),
            "tests": ", ".join(f"{labels.words(kind).lower()} {kinds.count(kind)}" for kind in dict.fromkeys(kinds)),
            "verdict": verdict,
        }
        for (time, verdict), kinds in sorted(at.items())
    ]  # fmt: skip


def _air_figures(setting: Row, air: Rows, gaps: Rows, tests: Rows) -> dict[str, Figure]:
    if not air and not gaps:
        return {}
    averaged = setting["averaging_min"]
    judged = f" Each reading is the mean of the {averaged:g} min up to it." if averaged > 0 else ""
    note = (
        "From the required stay before the first test to the last test; the band is what the settings allow."
        f"{judged} Upright lines are tests, dashed where the air was not standard or is not proven; the bar below "
        "is the stay in the room; grey is a time without readings."
    )
    figures = {}
    for key, text, column in (
        ("temperature", "Temperature", "temperature_c"),
        ("humidity", "Relative humidity", "humidity_pct"),
    ):
        unit = "°C" if key == "temperature" else "% RH"
        limits = Limits(setting[f"lowest_{column}"], setting[f"highest_{column}"], unit)
        farthest = [(row[f"farthest_{column}"], row[f"farthest_{key}_at_utc"], row["room"]) for row in air]
        title = findings.of_air(text, limits, farthest, gaps)
        put = {"@value_title": f"{text}, {unit}"}
        put |= {"@time_title": _time_title(air or gaps)}
        figures[key] = Figure(f"sheet-{key}", {"": Variant(title, note if key == "temperature" else "", put)})
    return figures


def _time_title(drawn: Rows) -> str:
    """Return the title of the time axis, with the day or the days that its labels leave out."""
    first, last = min(row["from_utc"] for row in drawn), max(row["to_utc"] for row in drawn)
    days = f"{first:%Y-%m-%d}" + (f" to {last:%Y-%m-%d}" if last.date() > first.date() else "")
    return f"Time, UTC, {days}"


def _stays(stays: Rows, air: Rows, gaps: Rows) -> Rows:
    """Return the stays in rooms as far as they lie within the time that is drawn."""
    ends = [(row["from_utc"], row["to_utc"]) for row in (*air, *gaps)]
    if not ends:
        return []
    first, last = min(begin for begin, _ in ends), max(end for _, end in ends)
    drawn = []
    for row in stays:
        begins = datetime.fromisoformat(row["in_at_utc"])
        ends_at = datetime.fromisoformat(row["out_at_utc"]) if row["out_at_utc"] else last
        if begins < last and ends_at > first:
            drawn.append({"room": row["room"], "from_utc": max(begins, first), "to_utc": min(ends_at, last)})
    return drawn
