"""The page of testers: their readings over time, what is on hold by rule, and the climate of the rooms."""

from pipelines.site import labels, links
from pipelines.site.figures import Figure, Row, Variant, packed, page_data
from pipelines.site.reading import Published, Rows
from pipelines.site.rendering import render
from pipelines.site.tables import Column, aligned, cells, headed
from pipelines.site.testers import findings
from schemas.columns import DIRECTIONS
from schemas.marts.tester_accuracy import TesterAccuracy

READINGS_DRAWN = 1000
"""Maximum sheets per tester and quantity in the chart, the newest; the limit is in sql/pages/tester_reading.sql."""

_ACCURACIES = tuple(
    name for name, column in TesterAccuracy.to_schema().columns.items() if str(column.dtype) == "float64"
)
_READING = (
    "key", "tester", "sheet_id", "tested_at_utc", "counts", "n", "n_left_out", "value", "interval_low", "interval_high",
)  # fmt: skip
_HELD = ("label", "rule", "record", "closed", "n_held", "n_files", "place")
_HOUR = (
    "room", "from_utc", "hours", "stretch", "n_readings", "temperature_c", "lowest_temperature_c",
    "highest_temperature_c", "relative_humidity_pct", "lowest_humidity_pct", "highest_humidity_pct",
)  # fmt: skip
_LIMIT = ("lowest_temperature_c", "highest_temperature_c", "lowest_humidity_pct", "highest_humidity_pct")
_TESTER_COLUMNS = [
    Column("tester", "Tester"),
    Column("kind", "Kind of record"),
    Column("n_readings", "Readings", number=True),
    Column("n_curves", "Raw curves", number=True),
    Column("n_sheets", "Sheets", number=True),
    Column("first_tested_at_utc", "First"),
    Column("last_tested_at_utc", "Last"),
    *headed("tester_accuracy", _ACCURACIES),
]
_RULE_COLUMNS = [
    Column("rule", "Rule"),
    Column("record", "Kind of record"),
    Column("n_held", "On hold", number=True),
    Column("n_whole_files", "Whole files", number=True),
    Column("n_files", "Files", number=True),
    Column("closed", "Closed"),
]
_ROOM_COLUMNS = [
    Column("room", "Room"),
    Column("n_readings", "Readings", number=True),
    Column("first_read_at_utc", "First"),
    Column("last_read_at_utc", "Last"),
    Column("logged_h", "Logged, h", number=True),
    Column("out_pct", "Outside the limits, %", number=True),
    Column("temperature", "Temperature, °C", number=True),
    Column("humidity", "Relative humidity, %", number=True),
    Column("n_gaps", "Gaps", number=True),
    Column("gap_h", "Gaps, h", number=True),
    Column("longest_gap_h", "Longest gap, h", number=True),
]


def page(published: Published) -> str:
    """Return the page of testers."""
    setting = published.all("setting")[0]
    testers = [
        row | {"accuracy_stated": any(row[name] is not None for name in _ACCURACIES)}
        for row in published.all("tester")
    ]
    readings = [row | {"key": _key(row)} for row in published.all("tester_reading")]
    rules = _placed(published.all("held_rule"))
    rooms = published.all("room")
    figures = _readings_figure(readings) | _held_figure(rules) | _room_figures(rooms, setting)
    data = {
        "readings": packed(readings, _READING),
        "held": packed(rules, _HELD),
        "hours": packed(published.all("room_hour"), _HOUR),
        "limits": packed([setting], _LIMIT),
    }
    limits = f"{_temperature_limits(setting)} or {_humidity_limits(setting)}"
    return render(
        "testers",
        links.TESTERS,
        setting,
        lead=findings.of_testers(testers),
        tester_columns=_TESTER_COLUMNS,
        testers=_tester_cells(testers),
        quantities=list({row["key"]: (row["key"], _quantity_words(row)) for row in readings}.values()),
        rule_columns=_RULE_COLUMNS,
        rules=[_rule_cells(row) for row in rules],
        rooms=[(_room_key(row), row["room"]) for row in rooms],
        room_findings=[findings.of_room(row, limits) + "." for row in rooms],
        room_columns=_ROOM_COLUMNS,
        room_cells=_room_cells(rooms),
        figures=figures,
        content=page_data(data, figures),
    )


def _key(row: Row) -> str:
    """Return the key of a quantity: its name, and its direction, pressure or state."""
    return f"{row['quantity']}: {row['of_what'] or ''}"


def _quantity_words(row: Row) -> str:
    """Return a quantity with its direction, pressure or state: ``Tensile strength MD``, ``Grammage, oven dry``."""
    name, of_what = labels.words(row["quantity"]), row["of_what"]
    if not of_what:
        return name
    return f"{name} {of_what}" if of_what in DIRECTIONS else f"{name}, {of_what.replace('_', ' ')}"


def _readings_figure(readings: Rows) -> dict[str, Figure]:
    of_key: dict[str, Rows] = {}
    for row in readings:
        of_key.setdefault(row["key"], []).append(row)
    variants = {}
    for key, rows in of_key.items():
        what, unit = _quantity_words(rows[0]), labels.property_unit(rows[0]["quantity"])
        cut = any(row["n_sheets"] > READINGS_DRAWN for row in rows)
        variants[key] = Variant(
            findings.of_readings(what, unit, rows),
            "One mark per sheet and tester: the mean of the valid readings with its 95 % interval. Hollow: no "
            "reading is valid, mean of all. Sheets differ for other reasons than the tester."
            + (f" The newest {labels.number(READINGS_DRAWN)} sheets of each tester." if cut else ""),
            {"@key": key, "@value_title": labels.with_unit(what, unit)},
        )
    return {"readings": Figure("tester-readings", variants)} if variants else {}


def _placed(rules: Rows) -> Rows:
    """Return the rules with a label and their place by the number on hold; closed ones come last."""
    totals: dict[str, tuple[int, int]] = {}
    labelled = [
        row | {"label": f"{labels.words(row['rule'])} ({row['record'].replace('_', ' ')})"} for row in rules
    ]
    for row in labelled:
        on_hold, closed = totals.get(row["label"], (0, 0))
        held = row["n_held"]
        totals[row["label"]] = (on_hold, closed + held) if row["closed"] else (on_hold + held, closed)
    order = sorted(totals, key=lambda label: (-totals[label][0], -totals[label][1], label))
    place = {label: number for number, label in enumerate(order)}
    return sorted(
        (row | {"place": place[row["label"]]} for row in labelled),
        key=lambda row: (row["place"], row["closed"]),
    )


def _held_figure(rules: Rows) -> dict[str, Figure]:
    if not rules:
        return {}
    note = "A whole file on hold counts as one line."
    if any(row["closed"] for row in rules):
        note += " Pale: closed, because the file is no longer in the inbox."
    return {"held": Figure("tester-held", {"": Variant(findings.of_held(rules), note)})}


def _room_key(room: Row) -> str:
    return f"room: {room['room']}"


def _room_figures(rooms: Rows, setting: Row) -> dict[str, Figure]:
    """Return the charts of temperature and humidity, with a variant for each room."""
    if not rooms:
        return {}
    temperatures, humidities = {}, {}
    for room in rooms:
        gaps = findings.of_gaps(room, setting["longest_gap_min"])
        averaged = (
            f" Means over {setting['averaging_min']:g} min are compared with the limits; the chart shows readings."
            if setting["averaging_min"]
            else ""
        )
        note = (
            "Line: mean of an hour, or of several hours in a long log. Band around it: lowest to highest reading. "
            f"Dashed: limits.{averaged} {gaps}"
        )
        temperatures[_room_key(room)] = Variant(
            findings.of_temperature(room, _temperature_limits(setting)),
            note,
            {
                "@room": room["room"],
                "@mean": "temperature_c",
                "@lowest": "lowest_temperature_c",
                "@highest": "highest_temperature_c",
                "@value_title": "Temperature, °C",
            },
        )
        humidities[_room_key(room)] = Variant(
            findings.of_humidity(room, _humidity_limits(setting)),
            "As in the chart of the temperature.",
            {
                "@room": room["room"],
                "@mean": "relative_humidity_pct",
                "@lowest": "lowest_humidity_pct",
                "@highest": "highest_humidity_pct",
                "@value_title": "Relative humidity, %",
            },
        )
    return {
        "temperature": Figure("room-climate", temperatures),
        "humidity": Figure("room-climate", humidities),
    }


def _temperature_limits(setting: Row) -> str:
    return f"{_middle(setting['lowest_temperature_c'], setting['highest_temperature_c'])} °C"


def _humidity_limits(setting: Row) -> str:
    return f"{_middle(setting['lowest_humidity_pct'], setting['highest_humidity_pct'])} % RH"


def _middle(lowest: float, highest: float) -> str:
    """Return limits in the notation of standards: ``23 ± 1``."""
    return f"{(lowest + highest) / 2:.6g} ± {(highest - lowest) / 2:.6g}"


def _tester_cells(testers: Rows) -> Rows:
    """Return the cells of testers; accuracies unrounded, as in the settings."""
    decimals = {name: labels.all_decimals(row[name] for row in testers) for name in _ACCURACIES}
    return [
        cells(row)
        | {name: labels.fixed(row[name], count) for name, count in decimals.items()}
        | {"kind": labels.words(row["kind"]) if row["kind"] else labels.MISSING}
        for row in testers
    ]


def _room_cells(rooms: Rows) -> Rows:
    """Return the cells of rooms, from the lowest to the highest reading; each column has the same decimals."""
    ends = {
        quantity: (f"lowest_{quantity}", f"highest_{quantity}")
        for quantity in ("temperature_c", "humidity_pct")
    }
    decimals = {
        quantity: labels.decimals([row[end] for row in rooms for end in both])
        for quantity, both in ends.items()
    }

    def change(row: Row) -> Row:
        return {
            quantity.rpartition("_")[0]: " to ".join(
                labels.fixed(row[end], decimals[quantity]) for end in both
            )
            for quantity, both in ends.items()
        }

    return aligned(rooms, ("logged_h", "out_pct", "gap_h", "longest_gap_h"), change)


def _rule_cells(row: Row) -> Row:
    return cells(row) | {"rule": labels.words(row["rule"]), "record": row["record"].replace("_", " ")}
