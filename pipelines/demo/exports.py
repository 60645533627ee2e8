"""Records written out the way a tester would write them: an export profile, run backwards.

Whatever a profile says about reading (units, decimal mark, encoding, lines above the table, codes, local
time, summary lines) is done here the other way round, so the demo laboratory needs no format of its own.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from pipelines.demo.simulator import LAST_DAY
from pipelines.intake.profile_text import ColumnSource, PreambleValue
from pipelines.intake.profiles import Profile, Target
from pipelines.intake.units import conversion

FIGURES = 6
"""Significant figures of a typical value; testers show a fixed number of decimals."""

_GROUP = re.compile(r"\(.*\)")
_SUMMARIES: dict[str, Callable[[npt.NDArray[np.float64]], float]] = {
    "Mean": lambda values: float(np.mean(values)),
    "Standard deviation": lambda values: float(np.std(values, ddof=1)) if len(values) > 1 else 0.0,
    "CV": lambda values: float(100 * np.std(values, ddof=1) / np.mean(values)) if len(values) > 1 else 0.0,
}


@dataclass(frozen=True)
class Export:
    """A file as it comes out of a tester: its name, lines and time, and the records that it holds.

    Record number i (from 0) stands on line ``first_line + i``, counted from 1.
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
    profiles: Sequence[Profile], records: dict[str, pd.DataFrame], sheets_per_file: int, zone: str
) -> list[Export]:
    """Write all records through the profiles of their kind and tester, some sheets to a file.

    ``zone`` is the laboratory's time zone. Raises ValueError when no profile writes a kind of a tester.
    """
    exports = []
    for kind, table in records.items():
        testers = table["tester"] if "tester" in table else pd.Series("", index=table.index)
        for tester, part in table.groupby(testers, sort=False):
            profile = _profile_for(profiles, kind, str(tester))
            if "sheet_id" in part:
                batch = pd.factorize(part["sheet_id"])[0] // sheets_per_file
            else:
                batch = np.zeros(len(part), dtype=np.int64)
            exports += write(profile, part, batch, zone)
    return exports


def write(
    profile: Profile,
    records: pd.DataFrame,
    batch: npt.NDArray[np.int64],
    zone: str,
    first_number: int = 1,
) -> list[Export]:
    """Write records through a profile, one file for each batch number (0, 1, … in ascending order).

    ``records`` are columns of the profile's record, in its units, times in UTC; ``zone`` holds where the
    profile names none; files are numbered from ``first_number`` on. Raises ValueError where a record
    contradicts a constant of the profile, or what stands once per file differs within one.
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

    rows = [delimiter.join(row) for row in zip(*cells.values(), strict=True)]
    edges = np.searchsorted(batch, np.arange(batch[-1] + 2))
    exports = []
    for number, (start, stop) in enumerate(pairwise(edges.tolist())):
        part = records.iloc[start:stop]
        preamble, suffix = _preamble(profile, part)
        head = [*preamble, delimiter.join(cells)]
        if dialect.units_row:
            head.append(delimiter.join(_units_row(profile, cells)))
        exports.append(
            Export(
                name=f"{profile.name}_{first_number + number:03d}{suffix}",
                lines=(*head, *rows[start:stop], *_footer(profile, cells, numbers, slice(start, stop))),
                encoding=dialect.encoding or "utf-8",
                exported_at=_last_time(profile, part) + pd.Timedelta(minutes=5),
                first_line=len(head) + 1,
                records=part,
                profile=profile,
            )
        )
    return exports


def _profile_for(profiles: Sequence[Profile], kind: str, tester: str) -> Profile:
    for profile in profiles:
        if profile.text.record == kind and (profile.text.tester or "") == tester:
            return profile
    raise ValueError(f"no export profile writes {kind} records of {tester or 'a log'}")


def _columns(
    profile: Profile, quantity: str, source: ColumnSource, records: pd.DataFrame, zone: str
) -> list[Sequence[str]]:
    """Return the text of a quantity, one list for each header cell that it comes from."""
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
    convert = conversion(profile.conversion_unit(quantity) or "1", target.unit or "1")
    return (records[target.column].to_numpy(dtype=np.float64) - convert.offset) / convert.factor


def _decimals(values: npt.NDArray[np.float64]) -> int:
    """Return how many decimals show a typical value with FIGURES figures."""
    known = np.abs(values[np.isfinite(values) & (values != 0)])
    return max(0, FIGURES - 1 - int(np.floor(np.log10(np.median(known))))) if known.size else 0


def _number_texts(profile: Profile, values: npt.NDArray[np.float64], missing: str) -> list[str]:
    decimals = _decimals(values)
    return [
        missing if value != value else _number_text(profile, value, decimals) for value in values.tolist()
    ]


def _number_text(profile: Profile, value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}".replace(".", profile.text.dialect.decimal or ".")


def _time_texts(values: pd.Series, source: ColumnSource, zone: str, missing: str) -> list[str]:
    local = values.dt.tz_localize("UTC").dt.tz_convert(source.zone or zone)
    texts = local.dt.strftime(source.format or "")
    return [missing if value != value else value for value in texts.tolist()]


def _text_texts(values: pd.Series, source: ColumnSource, missing: str) -> list[str]:
    def text(value: object) -> str:
        if not isinstance(value, str):
            return missing
        word = source.values[value][0] if source.values else value
        return _fitting(source.pattern, word) if source.pattern else word

    words = {value: text(value) for value in values.unique()}
    return [words[value] for value in values]


def _fitting(pattern: str, value: str) -> str:
    """Return a text from which a pattern with one group takes a value.

    >>> _fitting(r"^Width: ([\\d,]+) mm$", "15,0")
    'Width: 15,0 mm'
    """
    text = _GROUP.sub(lambda _: value, pattern.removeprefix("^").removesuffix("$"))
    text = text.replace("\\s*", " ").replace("\\", "")
    match = re.search(pattern, text)
    if not match or match[1] != value:
        raise ValueError(f"cannot write {value!r} so that the pattern {pattern!r} finds it")
    return text


def _check_constant(source: ColumnSource, target: Target, records: pd.DataFrame) -> None:
    if source.value is None or target.column not in records:
        return
    if target.kind == "text":
        agrees = bool((records[target.column] == source.value).all())
    else:
        stated = conversion(source.unit or target.unit or "1", target.unit or "1")
        constant = stated(np.array([source.value], dtype=np.float64))
        agrees = np.allclose(records[target.column].to_numpy(dtype=np.float64), constant, rtol=1e-9)
    if not agrees:
        raise ValueError(
            f"the records do not have the profile's constant {source.value!r} as {target.column}"
        )


def _preamble(profile: Profile, part: pd.DataFrame) -> tuple[list[str], str]:
    """Return the lines above the table, and the end of the file's name."""
    lines, suffix = [f"{profile.text.record.replace('_', ' ').capitalize()}: results"], ".csv"
    for quantity, source in profile.text.preamble.values.items():
        text = _preamble_text(profile, quantity, source, part)
        if source.line:
            lines.append(_fitting(source.line, text))
        else:
            suffix = _fitting(source.name or "", text)
    lines.append("Climate room: 23 °C, 50 %")
    wanted = profile.text.dialect.preamble
    if isinstance(wanted, int):
        lines = (lines + [""] * wanted)[:wanted]
    return lines, suffix


def _preamble_text(profile: Profile, quantity: str, source: PreambleValue, part: pd.DataFrame) -> str:
    target = profile.targets[quantity]
    values = part[target.column].unique()
    if len(values) != 1:
        raise ValueError(f"{target.column} stands once per file, but has {len(values)} values")
    if target.kind == "number":
        number = _in_export_unit(profile, quantity, part)[:1]
        return _number_text(profile, float(number[0]), _decimals(number))
    return source.values[str(values[0])][0] if source.values else str(values[0])


def _units_row(profile: Profile, header: Iterable[str]) -> list[str]:
    units = {
        source.from_[0]: profile.conversion_unit(quantity) or ""
        for quantity, source in profile.text.columns.items()
        if source.from_ and profile.targets[quantity].kind == "number"
    }
    return [units.get(cell, "") for cell in header]


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
    """Return the time of the last record; stored settings have none and count as of the last day."""
    times = [target.column for target in profile.targets.values() if target.kind == "time"]
    known = [column for column in times if column in part]
    return pd.Timestamp(part[known[0]].max() if known else LAST_DAY)
