"""From text cells to values, a whole column at a time: numbers, whole numbers, times, codes.

Each function takes a column of trimmed text in which a missing value is an empty one, and returns the values
with one mask per way in which a cell can be wrong. A wrong cell becomes a missing value; nothing is guessed.
"""

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

Mask = npt.NDArray[np.bool_]

_SPACES = "[\u00a0\u202f\u2009]"  # no-break, narrow no-break and thin space


@dataclass(frozen=True)
class NumberFormat:
    """The marks that numbers of a file are written with."""

    decimal: str
    thousands: str | None = None

    @property
    def pattern(self) -> str:
        """A regular expression for the whole of a number written so, groups of thousands complete."""
        decimal = re.escape(self.decimal)
        whole = "[0-9]+"
        if self.thousands:
            whole = rf"(?:[1-9][0-9]{{0,2}}(?:{re.escape(self.thousands)}[0-9]{{3}})+|[0-9]+)"
        return rf"[+-]?(?:{whole}(?:{decimal}[0-9]*)?|{decimal}[0-9]+)(?:[eE][+-]?[0-9]+)?"


_EITHER = (NumberFormat(".", ","), NumberFormat(",", "."))


def trimmed(cells: pd.Series, missing: tuple[str, ...]) -> pd.Series:
    """Return cells without the spaces around them, and empty where they mean «no value»."""
    text = cells.str.strip()
    others = [word for word in missing if word]
    return text.mask(text.isin(others), "") if others else text


def numbers(cells: pd.Series, marks: NumberFormat) -> tuple[npt.NDArray[np.float64], Mask]:
    """Return the numbers of a column (NaN where missing or wrong) and a mask of the wrong cells.

    A cell is right when the whole of it is a finite number written with exactly these marks, groups of
    thousands complete: with marks ``,`` and ``.`` the text 1.234,5 is 1234.5, and 12.34 and 0.123 are wrong.
    """
    text = _plain_minus(cells)
    if marks.thousands == " ":
        text = text.str.replace(_SPACES, " ", regex=True)
    matches = text.str.fullmatch(marks.pattern).to_numpy(dtype=bool)
    right = text.where(pd.Series(matches, index=text.index), "nan")
    if marks.thousands:
        right = right.str.replace(marks.thousands, "", regex=False)
    if marks.decimal != ".":
        right = right.str.replace(marks.decimal, ".", regex=False)
    values = _as_floats(right)
    wrong = (cells != "").to_numpy(dtype=bool) & ~np.isfinite(values)
    values[~np.isfinite(values)] = np.nan
    return values, wrong


def _as_floats(cells: pd.Series) -> npt.NDArray[np.float64]:
    """Return the numbers of a column of well-formed text with a decimal point, or the word nan."""
    plain = pc.utf8_ltrim(pa.array(cells, type=pa.string()), characters="+")
    values: npt.NDArray[np.float64] = np.asarray(pc.cast(plain, pa.float64())).copy()
    return values


def integers(cells: pd.Series, marks: NumberFormat) -> tuple[pd.Series, Mask, Mask]:
    """Return whole numbers (missing where wrong), a mask of cells that are no number and one of fractions."""
    values, wrong = numbers(cells, marks)
    with np.errstate(invalid="ignore"):
        fraction = np.isfinite(values) & ((values != np.round(values)) | (np.abs(values) >= 2**53))
    values[fraction] = np.nan
    return pd.Series(values, index=cells.index).astype("Int64"), wrong, fraction


def number_format_of(cells: pd.Series) -> NumberFormat | str:
    """Return the marks that the numbers of one file are written with, or the first cell that leaves it open.

    Settled by cells that are numbers in one way only: 12,5 has a decimal comma, 1.234,5 and 1.234.567 too;
    whole numbers and text settle nothing. 23.824 alone may be either, as may a file that has both 12,5 and 12.5,
    and nothing is guessed.
    """
    marked = _plain_minus(cells[cells.str.contains("[.,]", regex=True)])
    settled: dict[NumberFormat, str] = {}
    open_cell: str | None = None
    for cell in marked.unique():
        readings = [marks for marks in _EITHER if re.fullmatch(marks.pattern, cell)]
        if len(readings) == 1:
            settled.setdefault(readings[0], cell)
        elif readings and open_cell is None:
            open_cell = cell
    if len(settled) == 1:
        return next(iter(settled))
    return open_cell or next(iter(settled.values()), NumberFormat("."))


def _plain_minus(cells: pd.Series) -> pd.Series:
    return cells.str.replace("−", "-", regex=False)  # the typographic minus sign


@dataclass(frozen=True)
class Times:
    """Points in time in UTC without a zone (NaT where missing or wrong), and the ways of being wrong."""

    utc: pd.Series
    wrong: Mask
    nonexistent: Mask
    ambiguous: Mask


def times(cells: pd.Series, time_format: str, zone: str) -> Times:
    """Read local times by a strptime format; with ``%z`` in it the export's own offset counts.

    A time that the clock change skipped is ``nonexistent``, one that it repeated ``ambiguous``.
    """
    given = (cells != "").to_numpy(dtype=bool)
    has_offset = "%z" in time_format
    local = pd.to_datetime(
        cells.where(cells != "", None), format=time_format, errors="coerce", utc=has_offset
    )
    never = np.zeros(len(cells), dtype=bool)
    wrong = given & local.isna().to_numpy()
    if has_offset:
        return Times(local.dt.tz_localize(None).astype("datetime64[us]"), wrong, never, never)
    in_zone = local.dt.tz_localize(zone, ambiguous="NaT", nonexistent="NaT")
    lost = (local.notna() & in_zone.isna()).to_numpy()
    nonexistent = never
    if lost.any():
        either = local.dt.tz_localize(zone, ambiguous=np.ones(len(local), dtype=bool), nonexistent="NaT")
        nonexistent = lost & either.isna().to_numpy()
    utc = in_zone.dt.tz_convert("UTC").dt.tz_localize(None).astype("datetime64[us]")
    return Times(utc, wrong, nonexistent, lost & ~nonexistent)


def codes(cells: pd.Series, values: dict[str, tuple[str, ...]]) -> tuple[pd.Series, Mask]:
    """Return what the cells' codes stand for (missing where unknown), and a mask of the unknown ones."""
    meaning = {text: canonical for canonical, texts in values.items() for text in texts}
    found = cells.map(meaning)
    unknown = (found.isna() & (cells != "")).to_numpy(dtype=bool)
    return found.astype("str"), unknown


def extracted(cells: pd.Series, pattern: str) -> tuple[pd.Series, Mask]:
    """Return the part of each cell in the pattern's one group, and a mask of cells that do not match."""
    found = cells.str.extract(pattern, expand=False)
    wrong = (found.isna() & (cells != "")).to_numpy(dtype=bool)
    return found.fillna(""), wrong
