"""Classify every line of a file before anything is parsed.

This step checks the header by name, the units row and the number of cells, and separates blank and summary
lines. The remaining data rows have the header's width, as text that the parser can read in one way only.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property

from pipelines.intake.accounting import LineAccount
from pipelines.intake.decoding import Lines, Row, split_rows
from pipelines.intake.profile_matching import ProfileMatch, block_ranges, header_of_block, normalise_cell
from pipelines.intake.profile_text import occurrence_of
from pipelines.intake.profiles import Profile, TargetColumn
from pipelines.intake.rejection import RE_EXPORT, FileRejected, Rejection
from pipelines.intake.units import same_unit


@dataclass
class ClassifiedLines:
    """A file with its lines classified: the data rows, the rejected lines and the values above the table.

    ``file_values`` gives the values above the table for each data row, which differ between blocks. Of a transposed
    table, ``label_lines`` are the lines of the header cells, and ``columns`` the columns of the data rows, from 1.
    """

    match: ProfileMatch
    header: tuple[str, ...]
    account: LineAccount
    file_values: list[dict[str, str]] = field(default_factory=list)
    row_texts: list[str] = field(default_factory=list)
    line_numbers: list[int] = field(default_factory=list)
    rejections: list[Rejection] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    label_lines: dict[str, int] = field(default_factory=dict)
    columns: list[int] = field(default_factory=list)

    @property
    def profile(self) -> Profile:
        """The profile that the file is read with."""
        return self.match.profile


def classify_lines(match: ProfileMatch) -> ClassifiedLines:
    """Classify every line of a file; raises FileRejected when the file as a whole cannot be read."""
    if match.profile.text.transpose is not None:
        return _classify_transposed(match)
    blocks = block_ranges(match.lines, match.profile)
    above = blocks[0][0] - 1
    headers = [match.header, *(_header_of(match, block) for block in blocks[1:])]
    parts = [
        _classify_block(match, header, block, above) for header, block in zip(headers, blocks, strict=True)
    ]
    out = parts[0] if len(parts) == 1 else _merged(match, parts)
    out.account.lines, out.account.preamble = len(match.lines), out.account.preamble + above
    if not out.account.stored and not out.account.held:
        raise _no_data_rows()
    return out


def _classify_transposed(match: ProfileMatch) -> ClassifiedLines:
    """Classify the lines of a transposed table: all its lines together are one, with a record for each column."""
    profile, first = match.profile, match.header.line_number
    shape = profile.text.transpose
    footer = re.compile(profile.text.dialect.footer) if profile.text.dialect.footer else None
    account = LineAccount(lines=len(match.lines), preamble=first - 1)
    rows: list[Row] = []
    for row in split_rows(match.lines, match.delimiter, first):
        account.continuation += row.line_count - 1
        if row.unclosed_quote:
            rejection = _unclosed_quote(row)
            raise FileRejected(rejection.rule, f"Line {row.line_number}: {rejection.what}", rejection.remedy)
        if not any(cell.strip() for cell in row.cells):
            account.blank += 1
        elif footer and footer.search(row.text):
            account.footer += 1
        else:
            rows.append(row)
    header = _with_occurrences(profile, tuple(normalise_cell(row.cells[0]) for row in rows))
    _check_header(profile, header, first)
    if shape and shape.units:
        _check_units_row(profile, header, Row(first, 1, ["".join(row.cells[1:2]) for row in rows], ""))
    out = ClassifiedLines(match, header, account)
    out.label_lines = {cell: row.line_number for cell, row in zip(header, rows, strict=True)}
    values = _file_values(match, match.header, (1, len(match.lines)), 0)
    for position in range(2 if shape and shape.units else 1, max(len(row.cells) for row in rows)):
        cells = ["".join(row.cells[position : position + 1]) for row in rows]
        if any(cell.strip() for cell in cells):
            out.row_texts.append(_csv_text(cells, match.delimiter))
            out.columns.append(position + 1)
    if not out.columns:
        raise _no_data_rows()
    out.line_numbers = [first] * len(out.columns)
    out.file_values = [values] * len(out.columns)
    account.stored = 1
    account.continuation += len(rows) - 1
    return out


def _no_data_rows() -> FileRejected:
    return FileRejected(
        "no_data_rows",
        "The file has a header but no data rows.",
        f"If tests were made, {RE_EXPORT} If not, remove the file from the inbox; nothing is missing.",
    )


def _header_of(match: ProfileMatch, block: tuple[int, int]) -> Row:
    """Return the header of a block after the first; raises FileRejected when it has none."""
    found = header_of_block(match.lines, match.profile, block, match.delimiter)
    if not found:
        raise FileRejected(
            "missing_header",
            f"The block that begins on line {block[0]} ({match.lines.text[block[0] - 1]!r}) has no header with "
            f"{', '.join(map(repr, match.profile.text.recognise.header))}.",
            f"Export the block with its header and {RE_EXPORT} Or correct block.begin in the profile.",
        )
    return found[0][1]


def _classify_block(match: ProfileMatch, found: Row, block: tuple[int, int], above: int) -> ClassifiedLines:
    """Classify the lines of a block; the file's values are in it or in the lines above the first block."""
    profile, dialect = match.profile, match.profile.text.dialect
    lines = Lines(match.lines.text[: block[1]], match.lines.ends_with_line_end)
    header = _with_occurrences(profile, tuple(normalise_cell(cell) for cell in found.cells))
    begin = found.line_number + found.line_count
    units = _units_row(profile, lines, match.delimiter, begin) if dialect.units_row else None
    if units is not None:
        header = _with_units(profile, header, units)
    _check_header(profile, header, found.line_number)
    account = LineAccount(
        preamble=found.line_number - block[0],
        header=dialect.header_rows,
        continuation=found.line_count - dialect.header_rows,
    )
    out = ClassifiedLines(match, header, account)
    values = _file_values(match, found, block, above)
    if units is not None:
        _check_units_row(profile, header, units)
        account.units_row = 1
        account.continuation += units.line_count - 1
        begin += units.line_count
    classifier = _LineClassifier(out)
    data = lines.text[begin - 1 :]
    if any('"' in line for line in data) or profile.text.wide is not None:
        for row in split_rows(lines, match.delimiter, begin):
            classifier.classify(row)
    else:
        classifier.classify_unquoted(data, begin)
    if classifier.doubtful_footers:
        out.remarks.append(_doubtful_footers(classifier.doubtful_footers))
    out.file_values = [values] * len(out.row_texts)
    return out


def _merged(match: ProfileMatch, parts: list[ClassifiedLines]) -> ClassifiedLines:
    """Return blocks as one table, with a column for each header cell of any of them."""
    header = tuple(dict.fromkeys(cell for part in parts for cell in part.header))
    out = ClassifiedLines(match, header, sum((part.account for part in parts), LineAccount()))
    for part in parts:
        if part.header != header:
            position = {cell: place for place, cell in enumerate(part.header)}
            for place, text in enumerate(part.row_texts):
                cells = next(csv.reader([text], delimiter=match.delimiter))
                part.row_texts[place] = _csv_text(
                    [cells[position[cell]] if cell in position else "" for cell in header], match.delimiter
                )
        out.row_texts += part.row_texts
        out.line_numbers += part.line_numbers
        out.file_values += part.file_values
        out.rejections += part.rejections
        out.remarks += part.remarks
    return out


def _with_occurrences(profile: Profile, header: tuple[str, ...]) -> tuple[str, ...]:
    """Return the header with another name for each repeated cell that the profile reads by its occurrence."""
    names = list(header)
    for source in (*profile.text.columns.values(), *profile.text.parts.values()):
        if source.occurrence is not None and source.from_ is not None:
            cell = normalise_cell(source.from_[0])
            positions = [position for position, name in enumerate(header) if name == cell]
            if source.occurrence <= len(positions):
                names[positions[source.occurrence - 1]] = occurrence_of(cell, source.occurrence)
    return tuple(names)


def _units_row(profile: Profile, lines: Lines, delimiter: str, line: int) -> Row:
    units = next(split_rows(lines, delimiter, line), None)
    if units is None:
        raise FileRejected(
            "units_row",
            f"The table ends before line {line}, where the profile {profile.name} expects a units row.",
            f"If data are missing, {RE_EXPORT} If these exports have no units row, set "
            "dialect.units_row = false in the profile.",
        )
    return units


def _with_units(profile: Profile, header: tuple[str, ...], units: Row) -> tuple[str, ...]:
    """Return the header with other names for repeated cells, but for the only one with the unit that is read."""
    names = list(header)
    for quantity, source in profile.text.columns.items():
        wanted = profile.conversion_unit(quantity) if source.from_ else None
        for cell in source.cells():
            positions = [position for position, name in enumerate(header) if name == cell]
            of_unit = [
                place for place in positions if wanted and same_unit(_unit_at(profile, units, place), wanted)
            ]
            if len(positions) > 1 and len(of_unit) == 1:
                for number, position in enumerate(positions, start=1):
                    if position not in of_unit:
                        names[position] = occurrence_of(cell, number)
    return tuple(names)


def _unit_at(profile: Profile, units: Row, position: int) -> str:
    """Return a unit of the units row, with the profile's aliases applied."""
    cell = units.cells[position] if position < len(units.cells) else ""
    return profile.unit(cell.strip().strip("[]()").strip())


class _LineClassifier:
    """Classifies the lines below the header."""

    def __init__(self, out: ClassifiedLines) -> None:
        self.out = out
        dialect = out.profile.text.dialect
        self.footer = re.compile(dialect.footer) if dialect.footer else None
        self.delimiter = out.match.delimiter
        self.width = len(out.header)
        self.wide = [position for position, _ in out.profile.wide_cells(out.header)]
        self.doubtful_footers: list[int] = []

    def classify_unquoted(self, lines: list[str], begin: int) -> None:
        """Classify lines without a quote; counting delimiters is enough for most, which are data rows."""
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
                self.classify(Row(number, 1, line.split(self.delimiter), line))

    def classify(self, row: Row) -> None:
        """Classify any row."""
        out, account = self.out, self.out.account
        account.continuation += row.line_count - 1
        if row.unclosed_quote:
            account.held += 1
            out.rejections.append(_unclosed_quote(row))
        elif not any(cell.strip() for cell in row.cells):
            account.blank += 1
        elif self.footer and self.footer.search(row.text):
            account.footer += 1
            if self._looks_like_data(row):
                self.doubtful_footers.append(row.line_number)
        elif rejection := _check_cell_count(row, out.header, out):
            account.held += 1
            out.rejections.append(rejection)
        elif self.wide and not any(
            "".join(row.cells[position : position + 1]).strip() for position in self.wide
        ):
            account.blank += 1
        else:
            account.stored += 1
            out.row_texts.append(_to_csv_line(row, self.width, self.delimiter))
            out.line_numbers.append(row.line_number)

    def _looks_like_data(self, row: Row) -> bool:
        """Return whether a line has what a data row needs, and only numbers where the profile reads numbers."""
        if _check_cell_count(row, self.out.header, self.out):
            return False
        numbers = [self._cell(row, position) for position in self.positions_of_numbers]
        needed = [self._cell(row, position) for position in self.needed_positions]
        return all(needed) and any(numbers) and all(map(_NUMBER.fullmatch, filter(None, numbers)))

    def _cell(self, row: Row, position: int) -> str:
        text = "".join(row.cells[position : position + 1]).strip()
        return "" if text in self.out.profile.text.dialect.missing else text

    @cached_property
    def needed_positions(self) -> list[int]:
        """The positions of the cells that no data row lacks."""
        return self._positions(lambda target: not target.nullable)

    @cached_property
    def positions_of_numbers(self) -> list[int]:
        """The positions of the cells that are numbers in every data row; in a wide export also those of its values."""
        return [*self._positions(lambda target: target.kind in ("number", "integer")), *self.wide]

    def _positions(self, wanted: Callable[[TargetColumn], bool]) -> list[int]:
        profile, header = self.out.profile, self.out.header
        return [
            header.index(cell)
            for quantity, source in profile.text.columns.items()
            if wanted(profile.targets[quantity]) and source.pattern is None
            for cell in source.cells()
        ]


_NUMBER = re.compile(r"[+\-−]?[0-9][0-9.,' \u00a0\u202f\u2009]*(?:[eE][+-]?[0-9]+)?")
"""A text that may be a number, with any decimal and thousands marks."""


def _doubtful_footers(lines: list[int]) -> str:
    one = len(lines) == 1
    return (
        f"{len(lines)} {'line' if one else 'lines'} counted as summary by dialect.footer "
        f"{'looks' if one else 'look'} like data ({'' if one else 'the first is '}line {lines[0]}). If "
        f"{'it is a result' if one else 'they are results'}, correct dialect.footer in the profile."
    )


def _check_header(profile: Profile, header: tuple[str, ...], line: int) -> None:
    missing = [cell for cell in sorted(profile.header_cells()) if cell not in header]
    if missing:
        raise FileRejected(
            "missing_column",
            f"The header (line {line}) has no {_columns(missing)}, which the profile {profile.name} reads. "
            f"It has: {', '.join(repr(cell) for cell in header if cell)}.",
            f"Add {_columns(missing)} to the export and {RE_EXPORT} Or correct the names in the profile.",
        )
    if profile.text.wide is not None and not profile.wide_cells(header):
        raise FileRejected(
            "missing_column",
            f"No header cell (line {line}) matches {profile.text.wide.header!r}, so the profile {profile.name} "
            "finds no columns of values.",
            f"Add these columns to the export and {RE_EXPORT} Or correct wide.header in the profile.",
        )
    _check_pieces_are_complete(profile, header, line)
    read = {
        *profile.header_cells(),
        *(header[position] for position, _ in profile.wide_cells(header)),
    }
    twice = [cell for cell in sorted(read) if header.count(cell) > 1]
    if twice:
        raise FileRejected(
            "repeated_column",
            f"The header (line {line}) has {_columns(twice)} more than once, so it is unclear which one to read.",
            f"Give each column its own name in the export and {RE_EXPORT}",
        )


def _check_pieces_are_complete(profile: Profile, header: tuple[str, ...], line: int) -> None:
    """Raise FileRejected when a piece of a wide export lacks a column that others have."""
    quantities: dict[tuple[tuple[str, str], ...], set[str]] = {}
    for _, cell in profile.wide_cells(header):
        quantities.setdefault(cell.piece, set()).add(cell.quantity)
    wanted = {quantity for found in quantities.values() for quantity in found}
    if profile.text.wide is not None and profile.text.wide.quantities:
        wanted = set(profile.text.wide.quantities)
    for piece, found in quantities.items():
        if missing := sorted(wanted - found):
            raise FileRejected(
                "missing_column",
                f"The header (line {line}) has no column of {', '.join(missing)} for the piece "
                f"{', '.join(f'{name} {text}' for name, text in piece)}.",
                f"Export all columns of each piece and {RE_EXPORT} Or correct wide.header in the profile.",
            )


def _check_units_row(profile: Profile, header: tuple[str, ...], units: Row) -> None:
    """Raise FileRejected when the units row contradicts the profile."""
    for position, wanted in profile.units_by_position(header):
        cell = header[position]
        given = _unit_at(profile, units, position)
        if given in ("", "-", "–", "1") or same_unit(given, wanted):
            continue
        raise FileRejected(
            "units_row",
            f"The units row (line {units.line_number}) gives {given!r} for {cell!r}; "
            f"the profile {profile.name} expects {wanted!r}.",
            f"Set the tester to {wanted} and {RE_EXPORT} If the profile is wrong, correct its unit; use one profile "
            "per unit.",
        )


def _columns(names: list[str]) -> str:
    return f"{'column' if len(names) == 1 else 'columns'} {', '.join(map(repr, names))}"


def _file_values(match: ProfileMatch, header: Row, block: tuple[int, int], above: int) -> dict[str, str]:
    """Return the text of each value that a file or a block has once: in its name, or in the lines above its table.

    A block's own lines come first, then those above the first block. Raises FileRejected when a required value is
    missing, or when another line gives another value.
    """
    profile, values = match.profile, {}
    text = match.lines.text
    of_block, of_file = range(block[0], block[1] + 1), range(1, above + 1)
    above_table = range(block[0], header.line_number)
    for quantity, value in profile.file_values.items():
        pattern = re.compile(value.line or value.name or "")
        if value.name is not None:
            found = pattern.search(match.file.name)
        else:
            for lines, searched in ((above_table, of_block), (of_file, [*of_file, *of_block])):
                if hits := [(line, hit) for line in lines if (hit := pattern.search(text[line - 1]))]:
                    _check_no_other_value(match, quantity, pattern, hits[0], searched)
                    break
            found = hits[0][1] if hits else None
        if found is None and _is_required(profile, quantity):
            in_name = value.name is not None
            where = "the file name" if in_name else f"the {len(above_table) + above} lines above the header"
            remedy = "Rename the file" if in_name else f"Export with this line and {RE_EXPORT.rstrip('.')}"
            raise FileRejected(
                "preamble_value",
                f"{quantity} is missing: nothing in {where} matches {pattern.pattern!r}.",
                f"{remedy}; or correct {_key(quantity)} in the profile.",
            )
        values[quantity] = (found[1] or "") if found else ""
    return values


def _is_required(profile: Profile, quantity: str) -> bool:
    return quantity not in profile.targets or not profile.targets[quantity].nullable


def _key(quantity: str) -> str:
    """Return the key of a value of the file in the profile."""
    return quantity if quantity.startswith("parts.") else f"preamble.values.{quantity}"


def _check_no_other_value(
    match: ProfileMatch,
    quantity: str,
    pattern: re.Pattern[str],
    first: tuple[int, re.Match[str]],
    lines: Iterable[int],
) -> None:
    """Raise FileRejected when another line gives another value: it is unclear which rows have which."""
    value = (first[1][1] or "").strip()
    for line in lines:
        hit = pattern.search(match.lines.text[line - 1])
        other = value if hit is None else (hit[1] or "").strip()
        if other != value:
            raise FileRejected(
                "preamble_value",
                f"{quantity} has two values: {value!r} on line {first[0]} and {other!r} on line {line}. It is unclear "
                "which rows have which.",
                f"Export a file for each value and {RE_EXPORT} Or correct {_key(quantity)} in the profile, or let "
                "[block] separate the tables.",
            )


def _unclosed_quote(row: Row) -> Rejection:
    last = row.line_number + row.line_count - 1
    span = f" Lines {row.line_number} to {last} cannot be split into cells." if row.line_count > 1 else ""
    return Rejection(
        "open_quote",
        f"A quotation mark on this line is not closed properly.{span}",
        f"Close or remove the quotation mark and {RE_EXPORT}",
        row.line_number,
        original_text=row.text,
    )


def _check_cell_count(row: Row, header: tuple[str, ...], out: ClassifiedLines) -> Rejection | None:
    """Return a rejection when the number of cells differs from the header's, else None.

    Many exports write delimiters at the end of the rows only, or of the header only. So empty cells beyond the
    header are accepted, and so are missing cells that have no name in the header.
    """
    missing, extra = header[len(row.cells) :], row.cells[len(header) :]
    if not any(missing) and not any(cell.strip() for cell in extra):
        return None
    lines = out.match.lines
    counts = f"{len(row.cells)} {'cell' if len(row.cells) == 1 else 'cells'}; the header has {len(header)}."
    if row.line_number + row.line_count > len(lines) and not lines.ends_with_line_end:
        rule, what = "truncated", f"The file ends in the middle of this line, which has {counts}"
        remedy = f"The lines before it are imported. To add the missing ones, {RE_EXPORT}"
    else:
        rule, what = "field_count", f"The line has {counts}"
        remedy = f"Look for a delimiter inside a text or for a shifted cell; correct it and {RE_EXPORT}"
    return Rejection(rule, what, remedy, row.line_number, original_text=row.text)


def _to_csv_line(row: Row, width: int, delimiter: str) -> str:
    """Return a row as text for the parser: quoted where necessary, with as many cells as the header."""
    if row.line_count == 1 and len(row.cells) == width and '"' not in row.text:
        return row.text if width > 1 else f'"{row.text}"'
    return _csv_text([*row.cells, *[""] * width][:width], delimiter)


def _csv_text(cells: list[str], delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="", quoting=csv.QUOTE_ALL).writerow(cells)
    return out.getvalue()
