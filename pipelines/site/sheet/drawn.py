"""The figures of a sheet's page: raw curves, readings by number, and the climate around the tests."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from pipelines.site import labels
from pipelines.site.figures import Figure, Row, Variant, packed
from pipelines.site.reading import Rows
from pipelines.site.sheet import findings, trace
from pipelines.site.sheet.findings import Limits, Reading
from schemas.properties import cached_by_registry, registry

SINGLE, PACK = "single sheets", "packs"

_CURVE = ("direction", "piece", "in_means", "remark", "max_x", "max_y", "x", "y")
_READING = ("series", "number", "in_means", "left_out_because")
_MEAN = ("property", "series", "value", "interval_low", "interval_high")
_AIR = ("room", "run", "from_ms", "minutes", "temperatures_c", "humidities_pct")
_GAP = ("room", "drawn_from_utc", "drawn_to_utc", "gap_min")
_STAY = ("room", "from_utc", "to_utc")
_TEST = ("at_utc", "tests", "verdict")
_LIMIT = ("lowest_temperature_c", "highest_temperature_c", "lowest_humidity_pct", "highest_humidity_pct")


@cached_by_registry
def _piece_fields() -> dict[str, str]:
    """Return the field of each property of test pieces."""
    return {entry.name: entry.column_name() for entry in registry().of_pieces}


@cached_by_registry
def _fields() -> dict[str, str]:
    """Return the field of each property whose readings have a number."""
    return _piece_fields() | {"thickness": "thickness_um", "thickness_stack": "thickness_stack_um"}


@dataclass(frozen=True)
class Drawn:
    """The figures of a sheet's page, the rows they draw, and the properties that a reader may choose."""

    figures: dict[str, Figure]
    data: dict[str, dict[str, Any]]
    choices: list[str]


def of_sheet(
    setting: Row,
    sheet: Row,
    pieces: Rows,
    records: Rows,
    properties: Rows,
    curves: Rows,
    air: Rows,
    gaps: Rows,
) -> Drawn:
    """Return the figures of a sheet from the rows of the statements; ``records`` come from trace.with_values."""
    readings, tests = _readings(sheet, pieces, records), _tests(records)
    choices = [name for name, field in _fields().items() if any(row[field] is not None for row in readings)]
    figures = {
        **_curve_figures(curves),
        **_position_figures(choices, readings),
        **_air_figures(setting, air, gaps, tests),
    }
    data = {
        "curves": packed(curves, _CURVE),
        "readings": packed(readings, (*_READING, *_fields().values())),
        "means": packed(_means(properties), _MEAN),
        "air": packed([_in_local_time(row) | {"run": place} for place, row in enumerate(air)], _AIR),
        "gaps": packed(gaps, _GAP),
        "stays": packed(_stays(trace.loaded(records, "conditioning"), air, gaps), _STAY),
        "tests": packed(tests, _TEST),
        "limits": packed([setting], _LIMIT),
    }
    return Drawn(figures, data, choices)


def _curve_figures(curves: Rows) -> dict[str, Figure]:
    if not curves:
        return {}
    per_width = all(row["per_width"] for row in curves)
    put = {
        "@x_title": "Stretch, %" if per_width else "Elongation, mm",
        "@y_title": "Force per width, kN/m" if per_width else "Force, N",
    }
    note = "One line per raw curve, with its maximum. Dashed and hollow: not in the means."
    return {
        "curves": Figure("sheet-curves", {"": Variant(findings.of_curves(curves), note, put)}),
    }


def _readings(sheet: Row, pieces: Rows, records: Rows) -> Rows:
    """Return test pieces and thickness readings as rows with the same fields, one per property."""
    nothing: dict[str, Any] = dict.fromkeys(_fields().values())
    of_pieces = [
        nothing
        | {name: row[name] for name in ("in_means", "left_out_because", *_piece_fields().values())}
        | {"series": row["direction"], "number": row["specimen_no"]}
        for row in pieces
    ]
    return of_pieces + [
        nothing | _thickness(sheet, row) for row in trace.loaded(records, "thickness") if sheet["in_log"]
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
        if row["is_main"] and row["property"] in _fields() and (row["direction"] or row["property"]) in kinds
    ]


def _position_figures(properties: list[str], readings: Rows) -> dict[str, Figure]:
    variants = {}
    for name in properties:
        field = _fields()[name]
        in_means = [
            Reading(row["series"], row["number"], row[field])
            for row in readings
            if row["in_means"] and row[field] is not None
        ]
        thickness = name.startswith("thickness")
        variants[name] = Variant(
            findings.of_position(name, labels.property_unit(name), in_means),
            _POSITION_NOTE,
            {
                "@property": name,
                "@field": field,
                "@value_title": labels.property_label(name),
                "@number_title": "Position number" if thickness else "Test piece number",
                "@first": SINGLE if thickness else "MD",
                "@second": PACK if thickness else "CD",
                "@first_color": "var(--series-5)" if thickness else "var(--series-1)",
                "@second_color": "var(--series-6)" if thickness else "var(--series-2)",
            },
        )
    return {"position": Figure("sheet-position", variants)} if variants else {}


_POSITION_NOTE = (
    "Dashed: mean, with the band of its 95 % interval. Hollow readings are not in the means. The title names a trend "
    "when p of the least-squares slope is below 0.01, which happens by chance in 1 of 100 sheets. The tester numbers "
    "the pieces; the order along the sheet depends on how it was cut."
)


def _tests(records: Rows) -> Rows:
    """Return each time and verdict of the sheet's tests once, with the tests made at that time."""
    at: dict[tuple[datetime, str], list[str]] = {}
    for row in records:
        if row["verdict"] and row["tested_at_utc"]:
            at.setdefault((row["tested_at_utc"], row["verdict"]), []).append(row["kind"])
    return [
        {
            "at_utc": time,
            "tests": ", ".join(f"{labels.words(kind).lower()} {kinds.count(kind)}" for kind in dict.fromkeys(kinds)),
            "verdict": verdict,
        }
        for (time, verdict), kinds in sorted(at.items())
    ]  # fmt: skip


def _air_figures(setting: Row, air: Rows, gaps: Rows, tests: Rows) -> dict[str, Figure]:
    if not air and not gaps:
        return {}
    averaged = setting["averaging_min"]
    averages = f" Each reading is the mean of the {averaged:g} min up to it." if averaged > 0 else ""
    note = (
        "From the required conditioning before the first test to the last test. Band: limits."
        f"{averages} Vertical lines: tests, dashed outside the standard atmosphere or unverified. Bar below: stay in "
        "the room. Grey: no readings."
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
    """Return the title of the time axis, with its day or days."""
    first, last = min(row["from_utc"] for row in drawn), max(row["to_utc"] for row in drawn)
    days = f"{first:%Y-%m-%d}" + (f" to {last:%Y-%m-%d}" if last.date() > first.date() else "")
    return f"Time, {days}"


def _in_local_time(air: Row) -> Row:
    """Return an unbroken series of readings with local times, also across a clock change."""
    begins: datetime = air["from_utc"]
    local = {"from_ms": int(begins.replace(tzinfo=UTC).timestamp() * 1000)}
    if begins.utcoffset() == air["to_utc"].utcoffset():
        return air | local
    shown = []
    for minutes in air["minutes"].split():
        at = (begins.astimezone(UTC) + timedelta(minutes=float(minutes))).astimezone(begins.tzinfo)
        shown.append(f"{(at.replace(tzinfo=None) - begins.replace(tzinfo=None)) / timedelta(minutes=1):g}")
    return air | local | {"minutes": " ".join(shown)}


def _stays(stays: Rows, air: Rows, gaps: Rows) -> Rows:
    """Return the stays in rooms, clipped to the time range of the chart."""
    ends = [(row["from_utc"], row["to_utc"]) for row in (*air, *gaps)]
    if not ends:
        return []
    first, last = min(begin for begin, _ in ends), max(end for _, end in ends)
    drawn = []
    for row in stays:
        begins, ends_at = row["in_at_utc"], row["out_at_utc"] or last
        if begins < last and ends_at > first:
            drawn.append({"room": row["room"], "from_utc": max(begins, first), "to_utc": min(ends_at, last)})
    return drawn
