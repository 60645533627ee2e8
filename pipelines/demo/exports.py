"""Write records as a tester would export them: the inverse of reading with an export profile.

The profile gives units, decimal mark, encoding, lines above the table, codes, local time and summary lines, so the
demo laboratory needs no formats of its own.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from pipelines.demo.timetable import LAST_DAY
from pipelines.intake.profile_text import ColumnSource, PreambleValue
from pipelines.intake.profiles import Profile, TargetColumn
from pipelines.intake.units import conversion

FIGURES = 6
"""Significant figures of a typical value; testers write a fixed number of decimals."""

_GROUP = re.compile(r"\(.*\)")
_NAMED_GROUP = re.compile(r"\(\?P<(\w+)>[^()]*\)")
_SUMMARIES: dict[str, Callable[[npt.NDArray[np.float64]], float]] = {
    "Mean": lambda values: float(np.mean(values)),
    "Standard deviation": lambda values: float(np.std(values, ddof=1)) if len(values) > 1 else 0.0,
    "CV": lambda values: float(100 * np.std(values, ddof=1) / np.mean(values)) if len(values) > 1 else 0.0,
}


@dataclass(frozen=True)
class Export:
    """A file as a tester exports it: its name, lines, time and records.

    Record i (from 0) is on line ``first_line + i``, counted from 1.
    """

    name: str
    lines: tuple[str, ...]
    encoding: str
    exported_at: pd.Timestamp
    first_line: int
    records: pd.DataFrame
    profile: Profile

    @property
    def content(self) -> bytes:
        """The bytes of the file."""
        return ("\r\n".join(self.lines) + "\r\n").encode(self.encoding)


def write_all(
    profiles: Sequence[Profile],
    records: dict[str, pd.DataFrame],
    profile_of_record: dict[str, pd.Series],
    sheets_per_file: int,
    zone: str,
) -> list[Export]:
    """Write all records with the profiles of their kinds and testers, some sheets or a week of readings per file.

    ``profile_of_record`` gives the profile's name for each record of the kinds with several profiles per tester.
    ``zone`` is the laboratory's time zone. Raises ValueError when no profile writes a kind of a tester.
    """
    by_name = {profile.name: profile for profile in profiles}
    exports = []
    for kind, table in records.items():
        names = profile_of_record.get(kind)
        if names is None:
            names = _profile_names(profiles, kind, table)
        for name, part in table.groupby(names, sort=False):
            profile = by_name[str(name)]
            batch = _batches(profile, part, sheets_per_file)
            in_order = np.argsort(batch, kind="stable")
            exports += write(profile, part.iloc[in_order], batch[in_order], zone)
    return exports


def write(
    profile: Profile,
    records: pd.DataFrame,
    batch: npt.NDArray[np.int64],
    zone: str,
    first_number: int = 1,
) -> list[Export]:
    """Write records with a profile, one file for each batch number (0, 1, … in ascending order).

    ``records`` have columns of the record's model, times in UTC; ``zone`` is used where the profile names none; files
    are numbered from ``first_number``. Raises ValueError when a record contradicts a constant of the profile, or a
    value given once per file differs within a file.
    """
    records = records.reset_index(drop=True)
    dialect = profile.text.dialect
    delimiter = dialect.delimiter or ","
    cells: dict[str, Sequence[str]] = {}
    numbers: dict[str, tuple[npt.NDArray[np.float64], int]] = {}
    for quantity, source in profile.text.columns.items():
        target = profile.targets[quantity]
        if source.from_ is None:
            _check_constant(source, target, records)
            continue
        if target.kind == "number" and target.column in records:
            values = _in_export_unit(profile, quantity, records)
            numbers[source.from_[0]] = values, _decimals(values)
        cells |= zip(source.from_, _columns(profile, quantity, source, records, zone), strict=True)

    edges = np.searchsorted(batch, np.arange(batch[-1] + 2))
    exports = []
    for number, (start, stop) in enumerate(pairwise(edges.tolist())):
        rows = slice(start, stop)
        part = records.iloc[rows]
        table = {cell: texts[rows] for cell, texts in cells.items()}
        if profile.text.wide is not None:
            table = _wide(profile, table, part)
        preamble, suffix = _preamble(profile, part, zone)
        head = [*preamble, delimiter.join(table)]
        if dialect.units_row:
            head.append(delimiter.join(_units_row(profile, tuple(table))))
        body = [delimiter.join(row) for row in zip(*table.values(), strict=True)]
        exports.append(
            Export(
                name=f"{profile.name}_{first_number + number:03d}{suffix}",
                lines=(*head, *body, *_footer(profile, table, numbers, rows)),
                encoding=dialect.encoding or "utf-8",
                exported_at=_last_time(profile, part) + pd.Timedelta(minutes=5),
                first_line=len(head) + 1,
                records=part,
                profile=profile,
            )
        )
    return exports


def _profile_names(profiles: Sequence[Profile], kind: str, table: pd.DataFrame) -> pd.Series:
    testers = table["tester"] if "tester" in table else pd.Series("", index=table.index)
    of_tester = {
        profile.text.tester or "": profile.name for profile in profiles if profile.text.record == kind
    }
    for tester in testers.unique():
        if tester not in of_tester:
            raise ValueError(f"no export profile writes {kind} records of {tester or 'a log'}")
    return testers.map(of_tester)


def _batches(profile: Profile, part: pd.DataFrame, sheets_per_file: int) -> npt.NDArray[np.int64]:
    """Return the file number of each record: some sheets or a week per file, one sheet for a wide export.

    Records with different values that are given once per file are in different files.
    """
    if profile.text.wide is not None:
        sheets_per_file = 1
    if "sheet_id" in part:
        batch = pd.Series(pd.factorize(part["sheet_id"])[0] // sheets_per_file, index=part.index)
    elif profile.text.record == "climate":
        batch = (part["read_at_utc"] - part["read_at_utc"].min()) // pd.Timedelta(days=7)
    else:
        batch = pd.Series(0, index=part.index)
    once = [profile.targets[quantity].column for quantity in profile.text.preamble.values]
    keys = [batch, *(part[column] for column in once if column in part)]
    return np.asarray(part.groupby(keys, sort=False, dropna=False).ngroup(), dtype=np.int64)


def _wide(profile: Profile, shared: dict[str, Sequence[str]], part: pd.DataFrame) -> dict[str, Sequence[str]]:
    """Return the columns of a wide table: those that the pieces share, then one for each piece.

    There is one line for each distinct set of shared values, in the order of first occurrence.
    """
    wide = profile.text.wide
    assert wide is not None and wide.quantity is not None
    from_headers = {name: source for name, source in wide.sources().items() if name != wide.quantity}
    by_piece = part.groupby([profile.targets[name].column for name in from_headers], sort=False)
    pieces, column = by_piece.head(1).astype("str"), by_piece.ngroup().to_numpy()
    texts = [
        _text_texts(pieces[profile.targets[name].column], source, "") for name, source in from_headers.items()
    ]
    headers = [
        _named(wide.header, dict(zip(from_headers, of_piece, strict=True)))
        for of_piece in zip(*texts, strict=True)
    ]
    line, rows = pd.factorize(pd.Series(list(zip(*shared.values(), strict=True))))
    values = np.full((len(headers), len(rows)), profile.text.dialect.missing[-1], dtype=object)
    values[column, line] = _number_texts(profile, _in_export_unit(profile, wide.quantity, part), "")
    return {
        **dict(zip(shared, zip(*rows, strict=True), strict=True)),
        **dict(zip(headers, values.tolist(), strict=True)),
    }


def _named(pattern: str, texts: dict[str, str]) -> str:
    """Return a header cell in which the named groups of a pattern have these texts.

    >>> _named(r"^(?P<sheet_id>[^/]+)/(?P<specimen_no>\\d+)$", {"sheet_id": "S-1", "specimen_no": "3"})
    'S-1/3'
    """
    text = _NAMED_GROUP.sub(lambda group: texts[group[1]], pattern.removeprefix("^").removesuffix("$"))
    match = re.search(pattern, text)
    if not match or match.groupdict() != texts:
        raise ValueError(f"cannot write {texts} so that the pattern {pattern!r} finds them")
    return text


def _columns(
    profile: Profile, quantity: str, source: ColumnSource, records: pd.DataFrame, zone: str
) -> list[Sequence[str]]:
    """Return the texts of a quantity, one list for each of its header cells."""
    target = profile.targets[quantity]
    missing = profile.text.dialect.missing[-1]
    assert source.from_ is not None
    if target.column not in records:
        return [[missing] * len(records)] * len(source.from_)
    values = records[target.column]
    if target.kind == "number":
        texts = _number_texts(profile, _in_export_unit(profile, quantity, records), missing)
    elif target.kind == "integer":
        texts = [missing if pd.isna(value) else str(int(value)) for value in values]
    elif target.kind == "time":
        texts = _time_texts(values, source, zone, missing)
    else:
        texts = _text_texts(values, source, missing)
    if len(source.from_) == 1:
        return [texts]
    return list(zip(*(text.split(source.join, len(source.from_) - 1) for text in texts), strict=True))


def _in_export_unit(profile: Profile, quantity: str, records: pd.DataFrame) -> npt.NDArray[np.float64]:
    target = profile.targets[quantity]
    if target.unit is None:  # the value of a further test, whose unit stands beside it
        return records[target.column].to_numpy(dtype=np.float64)
    convert = conversion(profile.conversion_unit(quantity) or "1", target.unit)
    return (records[target.column].to_numpy(dtype=np.float64) - convert.offset) / convert.factor


def _decimals(values: npt.NDArray[np.float64]) -> int:
    """Return the number of decimals that gives a typical value FIGURES significant figures."""
    known = np.abs(values[np.isfinite(values) & (values != 0)])
    return max(0, FIGURES - 1 - int(np.floor(np.log10(np.median(known))))) if known.size else 0


def _number_texts(profile: Profile, values: npt.NDArray[np.float64], missing: str) -> list[str]:
    decimals = _decimals(values)
    return [
        missing if value != value else _number_text(profile, value, decimals) for value in values.tolist()
    ]


def _number_text(profile: Profile, value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}".replace(".", profile.text.dialect.decimal or ".")


def _time_texts(
    values: pd.Series, source: ColumnSource | PreambleValue, zone: str, missing: str
) -> list[str]:
    local = values.dt.tz_localize("UTC").dt.tz_convert(source.zone or zone)
    texts = local.dt.strftime(source.format or "")
    return [missing if value != value else value for value in texts.tolist()]


def _text_texts(values: pd.Series, source: ColumnSource, missing: str) -> list[str]:
    def text(value: object) -> str:
        if not isinstance(value, str):
            return missing
        word = source.values[value][0] if source.values else value
        return _matching_text(source.pattern, word) if source.pattern else word

    words = {value: text(value) for value in values.unique()}
    return [words[value] for value in values]


def _matching_text(pattern: str, value: str) -> str:
    """Return a text from which a pattern with one group extracts a value.

    >>> _matching_text(r"^Width: ([\\d,]+) mm$", "15,0")
    'Width: 15,0 mm'
    """
    text = _GROUP.sub(lambda _: value, pattern.removeprefix("^").removesuffix("$"))
    text = text.replace("\\s*", " ").replace("\\", "")
    match = re.search(pattern, text)
    if not match or match[1] != value:
        raise ValueError(f"cannot write {value!r} so that the pattern {pattern!r} finds it")
    return text


def _check_constant(source: ColumnSource, target: TargetColumn, records: pd.DataFrame) -> None:
    if source.value is None or target.column not in records:
        return
    if target.kind == "text":
        agrees = bool((records[target.column] == source.value).all())
    else:
        convert = conversion(source.unit or target.unit or "1", target.unit or "1")
        constant = convert(np.array([source.value], dtype=np.float64))
        agrees = np.allclose(records[target.column].to_numpy(dtype=np.float64), constant, rtol=1e-9)
    if not agrees:
        raise ValueError(
            f"the records do not have the profile's constant {source.value!r} as {target.column}"
        )


def _preamble(profile: Profile, part: pd.DataFrame, zone: str) -> tuple[list[str], str]:
    """Return the lines above the table and the end of the file name."""
    lines, suffix = [f"{profile.text.record.replace('_', ' ').capitalize()}: results"], ".csv"
    for quantity, source in profile.text.preamble.values.items():
        text = _preamble_text(profile, quantity, source, part, zone)
        if source.line:
            lines.append(_matching_text(source.line, text))
        else:
            suffix = _matching_text(source.name or "", text)
    lines.append("Climate room: 23 °C, 50 %")
    wanted = profile.text.dialect.preamble
    if isinstance(wanted, int):
        lines = (lines + [""] * wanted)[:wanted]
    return lines, suffix


def _preamble_text(
    profile: Profile, quantity: str, source: PreambleValue, part: pd.DataFrame, zone: str
) -> str:
    target = profile.targets[quantity]
    values = part[target.column].drop_duplicates()
    if len(values) != 1:
        raise ValueError(f"{target.column} is given once per file, but has {len(values)} values")
    if target.kind == "number":
        number = _in_export_unit(profile, quantity, part)[:1]
        return _number_text(profile, float(number[0]), _decimals(number))
    if target.kind == "time":
        return _time_texts(values, source, zone, "")[0]
    text = str(values.iloc[0])
    return source.values[text][0] if source.values else text


def _units_row(profile: Profile, header: tuple[str, ...]) -> list[str]:
    units = dict(profile.units_by_position(header))
    return [units.get(position, "") for position in range(len(header))]


def _footer(
    profile: Profile,
    header: Iterable[str],
    numbers: dict[str, tuple[npt.NDArray[np.float64], int]],
    rows: slice,
) -> list[str]:
    """Return the summary lines that the profile expects below the table."""
    dialect = profile.text.dialect
    if dialect.footer is None:
        return []
    lines = []
    for label, summary in _SUMMARIES.items():
        cells = [
            _number_text(profile, summary(numbers[cell][0][rows]), numbers[cell][1])
            if cell in numbers
            else ""
            for cell in list(header)[1:]
        ]
        line = (dialect.delimiter or ",").join([label, *cells])
        if re.search(dialect.footer, line):
            lines.append(line)
    return lines


def _last_time(profile: Profile, part: pd.DataFrame) -> pd.Timestamp:
    """Return the time of the last record; LAST_DAY for records without a time."""
    times = [target.column for target in profile.targets.values() if target.kind == "time"]
    last = part[[column for column in times if column in part]].max().max()
    return pd.Timestamp(LAST_DAY if pd.isna(last) else last)
