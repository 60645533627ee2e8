"""Putting every line of a recognised file into an account before anything is parsed.

The header is compared by name, the units row checked, blank and summary lines set apart, field counts checked.
What is left are data rows of the header's width, as text that the parser can read in one way only.
"""

import csv
import io
import re
from dataclasses import dataclass, field

from pipelines.intake.accounting import LineAccount
from pipelines.intake.decoding import Row, rows_of
from pipelines.intake.profile_matching import Recognised, clean
from pipelines.intake.profiles import Profile
from pipelines.intake.rejection import FileRejected, Reason
from pipelines.intake.units import same


@dataclass
class ClassifiedLines:
    """A file whose lines are all in an account: the data rows, what was held, the values above the table."""

    recognised: Recognised
    header: tuple[str, ...]
    account: LineAccount
    preamble_values: dict[str, str]
    row_texts: list[str] = field(default_factory=list)
    line_numbers: list[int] = field(default_factory=list)
    reasons: list[Reason] = field(default_factory=list)

    @property
    def profile(self) -> Profile:
        """The profile the file is read by."""
        return self.recognised.profile


def classify_lines(recognised: Recognised) -> ClassifiedLines:
    """Put every line of a file into an account; raises FileRejected when the file as a whole cannot be read."""
    profile, lines = recognised.profile, recognised.lines
    header = tuple(clean(cell) for cell in recognised.header.cells)
    _check_header(profile, header, recognised.header.line_number)
    first = recognised.header.line_number
    account = LineAccount(
        lines=len(lines), preamble=first - 1, header=1, continuation=recognised.header.line_count - 1
    )
    out = ClassifiedLines(recognised, header, account, _preamble_values(recognised))
    begin = first + recognised.header.line_count
    if profile.text.dialect.units_row:
        units = next(rows_of(lines, recognised.delimiter, begin), None)
        if units is None:
            raise FileRejected(
                "units_row", "The file ends where its units row should stand.", "Export it again."
            )
        _check_units_row(profile, header, units)
        account.units_row = 1
        account.continuation += units.line_count - 1
        begin += units.line_count
    sort = _LineClassifier(out)
    data = lines.text[begin - 1 :]
    if any('"' in line for line in data) or profile.text.wide is not None:
        for row in rows_of(lines, recognised.delimiter, begin):
            sort.row(row)
    else:
        sort.plain_lines(data, begin)
    if not account.stored and not account.held:
        raise FileRejected(
            "no_data_rows",
            "The file has a header but no data row.",
            "Export it again if tests were made; if the series was empty, leave it: nothing is missing.",
        )
    return out


class _LineClassifier:
    """Puts a file's lines below the header into their accounts."""

    def __init__(self, out: ClassifiedLines) -> None:
        self.out = out
        dialect = out.profile.text.dialect
        self.footer = re.compile(dialect.footer) if dialect.footer else None
        self.delimiter = out.recognised.delimiter
        self.width = len(out.header)
        self.wide = [position for position, _ in out.profile.wide_cells(out.header)]

    def plain_lines(self, lines: list[str], begin: int) -> None:
        """Sort lines without a quote; nearly all are data rows of the right width, told by counting delimiters."""
        delimiters, blanks = self.width - 1, self.delimiter + " \t\u00a0"
        for number, line in enumerate(lines, start=begin):
            if (
                delimiters
                and line.count(self.delimiter) == delimiters
                and line.strip(blanks)
                and not (self.footer and self.footer.search(line))
            ):
                self.out.row_texts.append(line)
                self.out.line_numbers.append(number)
                self.out.account.stored += 1
            else:
                self.row(Row(number, 1, line.split(self.delimiter), line))

    def row(self, row: Row) -> None:
        """Sort any row."""
        out, account = self.out, self.out.account
        account.continuation += row.line_count - 1
        if row.quote_left_open:
            account.held += 1
            out.reasons.append(_open_quote(row))
        elif not any(cell.strip() for cell in row.cells):
            account.blank += 1
        elif self.footer and self.footer.search(row.text):
            account.footer += 1
        elif reason := _field_count_fault(row, out.header, out):
            account.held += 1
            out.reasons.append(reason)
        elif self.wide and not any(
            "".join(row.cells[position : position + 1]).strip() for position in self.wide
        ):
            account.blank += 1
        else:
            account.stored += 1
            out.row_texts.append(_canonical(row, self.width, self.delimiter))
            out.line_numbers.append(row.line_number)


def _check_header(profile: Profile, header: tuple[str, ...], line: int) -> None:
    missing = [cell for cell in map(clean, sorted(profile.header_cells())) if cell not in header]
    if missing:
        raise FileRejected(
            "missing_column",
            f"The profile {profile.name} reads the columns {', '.join(map(repr, missing))}, which the header "
            f"(line {line}) does not have. It has: {', '.join(repr(cell) for cell in header if cell)}.",
            "Export with these columns, or adapt the profile.",
        )
    if profile.text.wide is not None and not profile.wide_cells(header):
        raise FileRejected(
            "missing_column",
            f"No cell of the header (line {line}) matches the pattern {profile.text.wide.header!r} that the "
            f"profile {profile.name} reads values under.",
            "Export with these columns, or adapt wide.header in the profile.",
        )
    _check_pieces_are_whole(profile, header, line)
    read = {
        *map(clean, profile.header_cells()),
        *(header[position] for position, _ in profile.wide_cells(header)),
    }
    twice = [cell for cell in sorted(read) if header.count(cell) > 1]
    if twice:
        raise FileRejected(
            "repeated_column",
            f"The header (line {line}) names {', '.join(map(repr, twice))} more than once: which one holds the values?",
            "Export with distinct names.",
        )


def _check_pieces_are_whole(profile: Profile, header: tuple[str, ...], line: int) -> None:
    """Raise FileRejected where a piece of a wide export lacks a column that the others have."""
    quantities: dict[tuple[tuple[str, str], ...], set[str]] = {}
    for _, cell in profile.wide_cells(header):
        quantities.setdefault(cell.piece, set()).add(cell.quantity)
    wanted = {quantity for found in quantities.values() for quantity in found}
    if profile.text.wide is not None and profile.text.wide.quantities:
        wanted = set(profile.text.wide.quantities)
    for piece, found in quantities.items():
        if lacking := sorted(wanted - found):
            raise FileRejected(
                "missing_column",
                f"The header (line {line}) has no column of {', '.join(lacking)} for the piece "
                f"{', '.join(f'{name} {text}' for name, text in piece)}.",
                "Export all columns of each piece, or adapt wide.header in the profile.",
            )


def _check_units_row(profile: Profile, header: tuple[str, ...], units: Row) -> None:
    """Raise FileRejected where the file's own units row contradicts the profile."""
    for position, wanted in profile.units_by_position(header):
        cell = header[position]
        given = units.cells[position].strip().strip("[]()").strip() if position < len(units.cells) else ""
        if given in ("", "-", "–", "1") or same(given, wanted):
            continue
        raise FileRejected(
            "units_row",
            f"The units row (line {units.line_number}) says {given!r} for {cell!r}; "
            f"the profile {profile.name} says {wanted!r}.",
            "Set the tester back to the profile's unit and export again, or correct the unit in the profile if it is "
            "that which is wrong; a tester that writes both wants a profile for each.",
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
            raise FileRejected(
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


def _field_count_fault(row: Row, header: tuple[str, ...], out: ClassifiedLines) -> Reason | None:
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


def _canonical(row: Row, width: int, delimiter: str) -> str:
    """Return a row as the parser is given it: quoted only where it must be, and of the header's width."""
    if row.line_count == 1 and len(row.cells) == width and '"' not in row.text:
        return row.text if width > 1 else f'"{row.text}"'
    cells = [*row.cells, *[""] * width][:width]
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="", quoting=csv.QUOTE_ALL).writerow(cells)
    return out.getvalue()
