"""From recognised files to one table of text cells per group of like files.

Each file is laid out line by line first: header compared by name, units row checked, blank and summary lines
set apart, field counts checked. What is left of all files of a group goes through one parse, to which nothing
is left to guess. Line numbers are kept beside the lines, never recovered from the parse.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.csv

from pipelines.intake.accounting import LineAccount
from pipelines.intake.decoding import Row, rows_of
from pipelines.intake.holding import HeldWhole, Reason
from pipelines.intake.profiles import Profile
from pipelines.intake.recognise import Recognised, clean
from pipelines.intake.units import same

_BATCH_CHARACTERS = 64_000_000


@dataclass
class LaidOut:
    """A file whose lines are all in an account: the data rows, what was held, the values above the table."""

    recognised: Recognised
    header: tuple[str, ...]
    rows: list[Row]
    account: LineAccount
    preamble_values: dict[str, str]
    reasons: list[Reason] = field(default_factory=list)

    @property
    def profile(self) -> Profile:
        """The profile the file is read by."""
        return self.recognised.profile


@dataclass
class TextTable:
    """The data rows of a group of like files as text: one column per header cell in use or preamble value.

    ``cells`` has one row per data row; ``file_number`` indexes ``files``; ``line_number`` counts from 1.
    """

    profile: Profile
    files: list[LaidOut]
    cells: pd.DataFrame
    file_number: npt.NDArray[np.int64]
    line_number: npt.NDArray[np.int64]

    def original_text(self, row: int) -> str:
        """Return the text of a row as it stood in its file."""
        file, line = self.files[int(self.file_number[row])], int(self.line_number[row])
        return file.recognised.lines.text[line - 1]


def lay_out(recognised: Recognised) -> LaidOut:
    """Put every line of a file into an account; raises HeldWhole when the file as a whole cannot be read."""
    profile, lines = recognised.profile, recognised.lines
    header = tuple(clean(cell) for cell in recognised.header.cells)
    _check_header(profile, header, recognised.header.line_number)
    first = recognised.header.line_number
    account = LineAccount(
        lines=len(lines), preamble=first - 1, header=1, continuation=recognised.header.line_count - 1
    )
    out = LaidOut(recognised, header, [], account, _preamble_values(recognised))
    rows = rows_of(lines, recognised.delimiter, first + recognised.header.line_count)
    if profile.text.dialect.units_row:
        units = next(rows, None)
        if units is None:
            raise HeldWhole(
                "units_row", "The file ends where its units row should stand.", "Export it again."
            )
        _check_units_row(profile, header, units)
        account.units_row = 1
        account.continuation += units.line_count - 1
    footer = re.compile(profile.text.dialect.footer) if profile.text.dialect.footer else None
    for row in rows:
        account.continuation += row.line_count - 1
        if row.quote_left_open:
            account.held += 1
            out.reasons.append(_open_quote(row))
        elif not any(cell.strip() for cell in row.cells):
            account.blank += 1
        elif footer and footer.search(row.text):
            account.footer += 1
        elif reason := _field_count_fault(row, header, out):
            account.held += 1
            out.reasons.append(reason)
        else:
            account.stored += 1
            out.rows.append(row)
    if not account.stored and not account.held:
        raise HeldWhole(
            "no_data_rows",
            "The file has a header but no data row.",
            "Export it again if tests were made; if the series was empty, leave it: nothing is missing.",
        )
    return out


def _check_header(profile: Profile, header: tuple[str, ...], line: int) -> None:
    missing = [cell for cell in map(clean, sorted(profile.header_cells())) if cell not in header]
    if missing:
        raise HeldWhole(
            "missing_column",
            f"The profile {profile.name} reads the columns {', '.join(map(repr, missing))}, which the header "
            f"(line {line}) does not have. It has: {', '.join(repr(cell) for cell in header if cell)}.",
            "Export with these columns, or adapt the profile.",
        )
    twice = [cell for cell in map(clean, sorted(profile.header_cells())) if header.count(cell) > 1]
    if twice:
        raise HeldWhole(
            "repeated_column",
            f"The header (line {line}) names {', '.join(map(repr, twice))} more than once: which one holds the values?",
            "Export with distinct names.",
        )


def _check_units_row(profile: Profile, header: tuple[str, ...], units: Row) -> None:
    """Raise HeldWhole where the file's own units row contradicts the profile."""
    for quantity, source in profile.text.columns.items():
        wanted = profile.conversion_unit(quantity)
        if wanted is None or source.from_ is None:
            continue
        cell = clean(source.from_[0])
        position = header.index(cell)
        given = units.cells[position].strip().strip("[]()").strip() if position < len(units.cells) else ""
        if given in ("", "-", "–", "1") or same(given, wanted):
            continue
        raise HeldWhole(
            "units_row",
            f"The units row (line {units.line_number}) says {given!r} for {cell!r}; "
            f"the profile {profile.name} says {wanted!r}.",
            "Set the tester back to the profile's unit and export again, or write a profile for this unit.",
        )


def _preamble_values(recognised: Recognised) -> dict[str, str]:
    profile, found = recognised.profile, {}
    above = recognised.lines.text[: recognised.header.line_number - 1]
    for quantity, value in profile.text.preamble.values.items():
        if value.name is not None:
            places, pattern = [recognised.file.name], value.name
        else:
            places, pattern = above, value.line or ""
        matches = (match for place in places if (match := re.search(pattern, place)))
        match = next(matches, None)
        if match is None and not profile.targets[quantity].nullable:
            where = "the file's name" if value.name else f"the {len(above)} lines above the header"
            raise HeldWhole(
                "preamble_value",
                f"{quantity} should stand in {where}, but nothing there matches {pattern!r}.",
                "Export with the heading, or adapt preamble.values in the profile.",
            )
        found[quantity] = (match[1] or "") if match else ""
    return found


def _open_quote(row: Row) -> Reason:
    last = row.line_number + row.line_count - 1
    hanging = f" Lines {row.line_number} to {last} hang on it." if row.line_count > 1 else ""
    return Reason(
        "open_quote",
        f"A quote that opens on this line is not closed as it should be.{hanging}",
        "Close or remove the quote and export again.",
        row.line_number,
        original_text=row.text,
    )


def _field_count_fault(row: Row, header: tuple[str, ...], out: LaidOut) -> Reason | None:
    """Return why a row's cells do not stand under the header's, or None.

    Delimiters at the end of a line are often there in the rows alone, or in the header alone: empty cells past the
    header's end are let be, and so is the lack of cells that the header has no name for.
    """
    lacking, extra = header[len(row.cells) :], row.cells[len(header) :]
    if not any(lacking) and not any(cell.strip() for cell in extra):
        return None
    lines = out.recognised.lines
    counts = f"The line has {len(row.cells)} cells, the header {len(header)}."
    if row.line_number + row.line_count > len(lines) and not lines.ends_with_line_end:
        rule, what = "truncated", f"The file breaks off in the middle of this line. {counts}"
        remedy = "Export or copy the file again; the rows before this one are taken in."
    else:
        rule, what = "field_count", counts
        remedy = "Look for a delimiter inside a text, or a shifted cell, and correct the export."
    return Reason(rule, what, remedy, row.line_number, original_text=row.text)


def text_tables(files: Iterable[LaidOut]) -> Iterator[TextTable]:
    """Yield the files' data rows as tables of text, one for each group of like files, in bounded batches."""

    def group(file: LaidOut) -> tuple[str, str, tuple[str, ...]]:
        return file.profile.name, file.recognised.delimiter, file.header

    for _, alike in groupby(sorted(files, key=group), key=group):
        batch: list[LaidOut] = []
        characters = 0
        for file in alike:
            batch.append(file)
            characters += len(file.recognised.file.data)
            if characters > _BATCH_CHARACTERS:
                yield _parsed(batch)
                batch, characters = [], 0
        if batch:
            yield _parsed(batch)


def _parsed(files: list[LaidOut]) -> TextTable:
    first = files[0]
    profile, header, delimiter = first.profile, first.header, first.recognised.delimiter
    width = len(header)
    counts = [len(file.rows) for file in files]
    file_number = np.repeat(np.arange(len(files)), counts)
    line_number = np.fromiter((row.line_number for file in files for row in file.rows), np.int64)
    used = [
        position for position, cell in enumerate(header) if cell in set(map(clean, profile.header_cells()))
    ]
    if line_number.size:
        rows = [_canonical(row, width, delimiter) for file in files for row in file.rows]
        names = [str(position) for position in range(width)]
        # The parser refuses a row that spans more than two blocks; a character takes up to four bytes.
        block_size = max(1 << 20, 4 * max(map(len, rows)))
        table = pyarrow.csv.read_csv(
            io.BytesIO(("\n".join(rows) + "\n").encode()),
            read_options=pyarrow.csv.ReadOptions(column_names=names, block_size=block_size),
            parse_options=pyarrow.csv.ParseOptions(
                delimiter=delimiter, newlines_in_values=True, ignore_empty_lines=False
            ),
            convert_options=pyarrow.csv.ConvertOptions(
                include_columns=[str(position) for position in used],
                column_types={name: pa.string() for name in names},
                strings_can_be_null=False,
            ),
        )
        if table.num_rows != line_number.size:
            raise AssertionError(f"{table.num_rows} rows parsed of {line_number.size} laid out")
        cells = table.to_pandas()
        cells.columns = pd.Index([header[position] for position in used])
    else:
        cells = pd.DataFrame({header[position]: pd.Series(dtype="str") for position in used})
    for quantity in profile.text.preamble.values:
        per_file = np.array([file.preamble_values[quantity] for file in files], dtype=object)
        cells[preamble_column(quantity)] = pd.Series(per_file[file_number], dtype="str")
    return TextTable(profile, files, cells, file_number, line_number)


def preamble_column(quantity: str) -> str:
    """Return the name under which a preamble value stands among a table's cells."""
    return f"(preamble) {quantity}"


def _canonical(row: Row, width: int, delimiter: str) -> str:
    """Return a row as the parser is given it: quoted only where it must be, and of the header's width."""
    if row.line_count == 1 and len(row.cells) == width and '"' not in row.text:
        return row.text if width > 1 else f'"{row.text}"'
    cells = [*row.cells, *[""] * width][:width]
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="", quoting=csv.QUOTE_ALL).writerow(cells)
    return out.getvalue()
