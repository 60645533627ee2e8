"""Parse columns of text: numbers, whole numbers, times and codes.

Each function takes a column of stripped text, in which an empty text is a missing value, and returns the values
with one mask for each kind of error. An invalid cell becomes a missing value; nothing is guessed.
"""

import re
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

Mask = npt.NDArray[np.bool_]

_SPACES = "[\u00a0\u202f\u2009]"  # no-break, narrow no-break and thin space


@dataclass(frozen=True)
class NumberFormat:
    """The decimal and thousands marks of a file's numbers."""

    decimal: str
    thousands: str | None = None

    @property
    def pattern(self) -> str:
        """A regular expression for a complete number, with complete groups of thousands."""
        decimal = re.escape(self.decimal)
        whole = "[0-9]+"
        if self.thousands:
            whole = rf"(?:[1-9][0-9]{{0,2}}(?:{re.escape(self.thousands)}[0-9]{{3}})+|[0-9]+)"
        return rf"[+-]?(?:{whole}(?:{decimal}[0-9]*)?|{decimal}[0-9]+)(?:[eE][+-]?[0-9]+)?"


_CANDIDATES = (NumberFormat(".", ","), NumberFormat(",", "."))


def strip_cells(cells: pd.Series, missing: tuple[str, ...]) -> pd.Series:
    """Return cells without surrounding spaces, and empty where their text means «no value»."""
    text = cells.str.strip()
    others = [word for word in missing if word]
    return text.mask(text.isin(others), "") if others else text


def parse_numbers(cells: pd.Series, number_format: NumberFormat) -> tuple[npt.NDArray[np.float64], Mask]:
    """Return the numbers of a column (NaN where missing or invalid) and a mask of the invalid cells.

    A cell is valid when its whole text is a finite number with exactly these marks and complete groups of
    thousands: with the marks ``,`` and ``.`` the text 1.234,5 is 1234.5, and 12.34 and 0.123 are invalid.
    """
    text = _plain_marks(cells)
    if number_format.thousands == " ":
        text = text.str.replace(_SPACES, " ", regex=True)
    matches = text.str.fullmatch(number_format.pattern).to_numpy(dtype=bool)
    valid = text.where(pd.Series(matches, index=text.index), "nan")
    if number_format.thousands:
        valid = valid.str.replace(number_format.thousands, "", regex=False)
    if number_format.decimal != ".":
        valid = valid.str.replace(number_format.decimal, ".", regex=False)
    values = _as_floats(valid)
    invalid = (cells != "").to_numpy(dtype=bool) & ~np.isfinite(values)
    values[~np.isfinite(values)] = np.nan
    return values, invalid


def _as_floats(cells: pd.Series) -> npt.NDArray[np.float64]:
    """Return the numbers of a column of valid text with a decimal point, or the text nan."""
    plain = pc.utf8_ltrim(pa.array(cells, type=pa.string()), characters="+")
    values: npt.NDArray[np.float64] = np.asarray(pc.cast(plain, pa.float64())).copy()
    return values


def parse_integers(cells: pd.Series, number_format: NumberFormat) -> tuple[pd.Series, Mask, Mask]:
    """Return whole numbers (missing where invalid), a mask of cells that are not numbers and one of fractions."""
    values, invalid = parse_numbers(cells, number_format)
    with np.errstate(invalid="ignore"):
        fraction = np.isfinite(values) & ((values != np.round(values)) | (np.abs(values) >= 2**53))
    values[fraction] = np.nan
    return pd.Series(values, index=cells.index).astype("Int64"), invalid, fraction


def detect_number_format(cells: pd.Series) -> NumberFormat | str:
    """Return the number format of a file's cells, or the first ambiguous cell.

    Cells that are numbers in only one format decide: 12,5 has a decimal comma, and so have 1.234,5 and
    1.234.567. Whole numbers and text decide nothing. 23.824 alone is ambiguous, and so is a file with both 12,5
    and 12.5.
    """
    marked = _plain_marks(cells[cells.str.contains("[.,]", regex=True)])
    decided: dict[NumberFormat, str] = {}
    ambiguous_cell: str | None = None
    for cell in marked.unique():
        matches = [candidate for candidate in _CANDIDATES if re.fullmatch(candidate.pattern, cell)]
        if len(matches) == 1:
            decided.setdefault(matches[0], cell)
        elif matches and ambiguous_cell is None:
            ambiguous_cell = cell
    if len(decided) == 1:
        return next(iter(decided))
    return ambiguous_cell or next(iter(decided.values()), NumberFormat("."))


def _plain_marks(cells: pd.Series) -> pd.Series:
    """Return cells with a plain minus sign and a plain apostrophe for the typographic ones; a dash alone stays."""
    return cells.str.replace("^[−‒–](?=[0-9.,])", "-", regex=True).str.replace("[’ʼ]", "'", regex=True)


def negate_parentheses(cells: pd.Series) -> pd.Series:
    """Return cells with a minus sign for the parentheses around a number: (1,5) is -1,5."""
    return cells.str.replace(r"^\(\s*([0-9.,' \u00a0\u202f\u2009]*[0-9.,])\s*\)$", r"-\1", regex=True)


_WITH_UNIT = re.compile(
    r"([+\-−‒–(]*[0-9][0-9.,'’ \u00a0\u202f\u2009]*(?:[eE][+-]?[0-9]+)?\)?)\s*([^0-9\s.,'()].*)"
)


def split_units(cells: pd.Series) -> pd.DataFrame:
    """Return the number and the unit of cells such as ``23,1 °C``; other cells are unchanged and have no unit."""
    found = cells.str.extract(f"^{_WITH_UNIT.pattern}$")
    has_unit = found[1].notna()
    return pd.DataFrame(
        {
            "number": found[0].str.strip().where(has_unit, cells),
            "unit": found[1].where(has_unit, "").astype("str"),
        }
    )


@dataclass(frozen=True)
class Times:
    """Points in time in UTC without a zone (NaT where missing or invalid), with a mask for each kind of error."""

    utc: pd.Series
    invalid: Mask
    nonexistent: Mask
    ambiguous: Mask


EPOCHS = ("epoch", "epoch_ms")
"""The formats of times that count seconds or milliseconds from 1970 in UTC."""

_ENGLISH_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


@cache
def month_names(language: str) -> dict[str, str]:
    """Return the names of months in a language, in lower case, with their English names; empty if it is unknown."""
    from dateparser.languages.loader import default_loader  # loads slowly, and few profiles need it

    try:
        info = default_loader.get_locale(language).info
    except (ValueError, AttributeError):
        return {}
    return {
        name.casefold(): month
        for month in _ENGLISH_MONTHS
        for name in [month, *info.get(month.casefold(), ())]
    }


def to_english_months(cells: pd.Series, language: str, time_format: str) -> pd.Series:
    """Return cells with the English names of months, as a format reads them, for those of a language."""
    names = month_names(language)
    pattern = re.compile(
        rf"(?<!\w)({'|'.join(map(re.escape, sorted(names, key=len, reverse=True)))})(?!\w)", re.IGNORECASE
    )
    letters = None if "%B" in time_format else 3
    return cells.str.replace(pattern, lambda found: names[found[1].casefold()][:letters], regex=True)


def parse_times(cells: pd.Series, time_format: str, zone: str) -> Times:
    """Parse local times with a strptime format; with ``%z`` in it, the export's own offset is used.

    The formats ``epoch`` and ``epoch_ms`` are seconds and milliseconds since 1970 in UTC. A time that a clock change
    skips is ``nonexistent``; one that it repeats is ``ambiguous``.
    """
    given = (cells != "").to_numpy(dtype=bool)
    if time_format in EPOCHS:
        valid = cells.where(cells.str.fullmatch("[0-9]{1,14}([.][0-9]+)?"), None).astype(float)
        seconds = valid if time_format == "epoch" else valid / 1000
        utc = pd.to_datetime((seconds * 1e6).round().astype("Int64"), unit="us", errors="coerce")
        utc = utc.astype("datetime64[us]")
        none = np.zeros(len(cells), dtype=bool)
        return Times(utc, given & utc.isna().to_numpy(), none, none)
    has_offset = "%z" in time_format
    local = pd.to_datetime(
        cells.where(cells != "", None), format=time_format, errors="coerce", utc=has_offset
    )
    no_errors = np.zeros(len(cells), dtype=bool)
    invalid = given & local.isna().to_numpy()
    if has_offset:
        return Times(local.dt.tz_localize(None).astype("datetime64[us]"), invalid, no_errors, no_errors)
    in_zone = local.dt.tz_localize(zone, ambiguous="NaT", nonexistent="NaT")
    lost = (local.notna() & in_zone.isna()).to_numpy()
    nonexistent = no_errors
    if lost.any():
        either = local.dt.tz_localize(zone, ambiguous=np.ones(len(local), dtype=bool), nonexistent="NaT")
        nonexistent = lost & either.isna().to_numpy()
    utc = in_zone.dt.tz_convert("UTC").dt.tz_localize(None).astype("datetime64[us]")
    return Times(utc, invalid, nonexistent, lost & ~nonexistent)


def map_codes(cells: pd.Series, values: dict[str, tuple[str, ...]]) -> tuple[pd.Series, Mask]:
    """Return the values of the cells' codes (missing where unknown), and a mask of the unknown codes."""
    by_code = {text: value for value, texts in values.items() for text in texts}
    found = cells.map(by_code)
    unknown = (found.isna() & (cells != "")).to_numpy(dtype=bool)
    return found.astype("str"), unknown


def extract(cells: pd.Series, pattern: str) -> tuple[pd.Series, Mask]:
    """Return the part of each cell in the pattern's group, and a mask of the cells that do not match."""
    found = cells.str.extract(pattern, expand=False)
    invalid = (found.isna() & (cells != "")).to_numpy(dtype=bool)
    return found.fillna(""), invalid
