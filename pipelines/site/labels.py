"""How pages write columns, units, numbers and times. Names and units come from the models in schemas/."""

import math
import re
from collections.abc import Iterable
from datetime import UTC, datetime, tzinfo
from decimal import Decimal
from typing import Any

from pipelines.dictionary.units import unit_text as unit_text
from schemas.columns import quantity_of
from schemas.marts import marts
from schemas.properties import cached_by_registry, registry

MISSING = "–"

_WRITTEN_WORDS = {
    "md": "MD",
    "cd": "CD",
    "tea": "tensile energy absorption",
    "id": "",
    "specimen": "test piece",
    "n": "number of",
    "s": "standard deviation",
    "utc": "",
    "ph": "pH",
}
"""Words of column names that pages write differently."""


@cached_by_registry
def properties() -> tuple[str, ...]:
    """Return the names of all properties, as in the tidy tables: those with MD and CD first, further tests last."""
    known = sorted(
        (*registry().directed, *registry().undirected), key=lambda entry: entry.is_read_by("further")
    )
    return tuple(entry.name for entry in known)


def words(name: str) -> str:
    """Return the words of a column or property: ``tensile_index_md`` becomes ``Tensile index MD``."""
    text = " ".join(
        filter(None, (_WRITTEN_WORDS.get(word, word) for word in re.sub("_no$", "_number", name).split("_")))
    )
    return (
        (text[:1].upper() + text[1:])
        .replace("MD CD ratio", "MD/CD")
        .replace("et to wire", "et-to-wire")
        .replace("chopper riegler", "chopper-Riegler")
    )


def with_unit(text: str, ucum: str | None) -> str:
    """Return a text with its unit after a comma, as on an axis."""
    unit = unit_text(ucum)
    return f"{text}, {unit}" if unit else text


def column_label(mart: str, column: str) -> str:
    """Return the heading of a published column: its words and its unit."""
    unit = (marts()[mart].to_schema().columns[column].metadata or {}).get("unit")
    return with_unit(words(quantity_of(column, unit)), unit)


def property_label(name: str, direction: str | None = None) -> str:
    """Return a property's heading: its words, its direction and its unit; a ratio of MD to CD has no unit."""
    text = words(name)
    if direction == "MD/CD":
        return f"{text}, MD/CD"
    named = {"GM": "geometric mean of MD and CD"}.get(direction or "", direction)
    return with_unit(f"{text} {named}" if named else text, property_unit(name))


def property_unit(name: str) -> str | None:
    """Return a property's unit as UCUM code; None for an unknown property."""
    entry = registry().get(name)
    return entry.unit if entry else None


def property_column(name: str, direction: str | None = None) -> str:
    """Return the column of the tables of sheets and trial points that has a property in a direction.

    >>> property_column("tensile_index", "MD"), property_column("stretch", "MD/CD"), property_column("grammage")
    ('tensile_index_md_nm_g', 'stretch_md_cd_ratio', 'grammage_g_m2')
    """
    if direction == "MD/CD":
        return f"{name}_md_cd_ratio"
    return registry()[name].column_name(*([direction.lower()] if direction else []))


def number(value: Any, digits: int = 4) -> str:
    """Return a number rounded for display to significant digits, without exponents.

    >>> number(0.98765432), number(71234.5), number(0.0), number(None), number(12, 3)
    ('0.9877', '71\u202f234', '0', '–', '12')
    """
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return MISSING
    if isinstance(value, int):
        return _spaced(str(value))
    if float(value).is_integer():
        return _spaced(f"{value:.0f}")
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    if places > 8:
        return f"{value:.{digits - 1}e}"
    return _spaced(f"{value:.{places}f}")


def places(uncertainty: float | None) -> int | None:
    """Return the decimal places at which an uncertainty has two significant digits, negative for tens and above.

    >>> places(1.63), places(0.00912), places(0.996), places(1234.0), places(0.0), places(None)
    (1, 4, 1, -2, None, None)
    """
    if uncertainty is None or not math.isfinite(uncertainty) or uncertainty <= 0:
        return None
    return 1 - int(f"{uncertainty:.1e}".partition("e")[2])


def rounded(value: float | None, uncertainty: float | None) -> str:
    """Return a value at the place of the second significant digit of its uncertainty; without one, to three digits.

    >>> rounded(69.817, 1.63), rounded(1.02548, 0.00912), rounded(12345.6, 1234.0), rounded(2.0, None)
    ('69.8', '1.0255', '12\u202f300', '2.00')
    """
    place = places(uncertainty)
    if value is None or not math.isfinite(value):
        return MISSING
    if place is None:
        place = 2 - math.floor(math.log10(abs(value))) if value else 0
    return fixed(round(value, place), max(0, place))


def fixed(value: float | None, decimals: int) -> str:
    """Return a number with the given number of decimals, those of its column, so that decimal points align.

    >>> fixed(1.0, 3), fixed(-12345.67, 1), fixed(None, 2)
    ('1.000', '−12\u202f345.7', '–')
    """
    if value is None or not math.isfinite(value):
        return MISSING
    text = f"{value:.{decimals}f}"
    return _spaced(text.removeprefix("-") if float(text) == 0 else text)


def decimals(values: Iterable[float | None], uncertainty: float | None = None) -> int:
    """Return how many decimals a column of numbers has, so that its decimal points align.

    Its typical standard uncertainty has two significant digits; without one its largest value has four, or fewer
    where no value needs them.

    >>> decimals([0.8523, 1.149]), decimals([12.0, 7.5]), decimals([60.4], 1.63)
    (3, 1, 1)
    """
    place = places(uncertainty)
    if place is not None:
        return _shown_places(place)
    finite = [value for value in values if value is not None and math.isfinite(value)]
    if all(float(value).is_integer() for value in finite):
        return 0
    return min(_shown_places(3 - math.floor(math.log10(max(map(abs, finite))))), all_decimals(finite))


def all_decimals(values: Iterable[float | None]) -> int:
    """Return how many decimals a column has in which no value is rounded, up to its seventh significant digit.

    >>> all_decimals([99.0, 101.25, None]), all_decimals([0.636629, 5.0]), all_decimals([40.0])
    (2, 6, 0)
    """
    written = [
        Decimal(f"{value:.7g}").normalize() for value in values if value is not None and math.isfinite(value)
    ]
    return _shown_places(max((-int(one.as_tuple().exponent) for one in written), default=0))


def _shown_places(place: int) -> int:
    """Return the decimals for a place; more than 20 are never shown, as in numbers.js."""
    return min(20, max(0, place))


def _spaced(text: str) -> str:
    """Insert narrow spaces between thousands in numbers of five digits or more."""
    whole, point, rest = text.partition(".")
    sign, figures = ("−", whole[1:]) if whole.startswith("-") else ("", whole)
    if len(figures) > 4:
        figures = re.sub(r"(?<=\d)(?=(\d{3})+$)", "\u202f", figures)
    return f"{sign}{figures}{point}{rest}"


def moment(value: datetime | None) -> str:
    """Return a point in time to the minute, in its own zone; with its offset in an hour that a clock change repeats.

    >>> from zoneinfo import ZoneInfo
    >>> moment(local(datetime(2026, 10, 25, 0, 30), ZoneInfo("Europe/Helsinki")))
    '2026-10-25 03:30 (UTC+0300)'
    """
    if value is None:
        return MISSING
    text = f"{value:%Y-%m-%d %H:%M}"
    repeated = value.utcoffset() != value.replace(fold=1 - value.fold).utcoffset()
    return f"{text} (UTC{value:%z})" if repeated else text


def local(value: datetime, zone: tzinfo) -> datetime:
    """Convert a point in time from UTC to the laboratory's zone."""
    return value.replace(tzinfo=UTC).astimezone(zone)


def localized(text: str, zone: tzinfo) -> str:
    """Convert the times in a text from UTC to the laboratory's zone.

    >>> from zoneinfo import ZoneInfo
    >>> localized("no reading from 2026-11-02 21:45 UTC", ZoneInfo("Europe/Helsinki"))
    'no reading from 2026-11-02 23:45'
    """
    return _UTC_TIME.sub(lambda found: moment(local(datetime.fromisoformat(found[1]), zone)), text)


_UTC_TIME = re.compile(r"\b(\d{4}-\d\d-\d\d \d\d:\d\d) UTC\b")


def counted(count: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun: ``1 sheet``, ``12 sheets``."""
    return f"{number(count)} {one if count == 1 else many or one + 's'}"
