"""Classify every line of a file before anything is parsed.

This step checks the header by name, the units row and the number of cells, and separates blank and summary
lines. The remaining data rows have the header's width, as text that the parser can read in one way only.
"""

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from pipelines.intake.accounting import LineAccount
from pipelines.intake.decoding import Row, split_rows
from pipelines.intake.profile_matching import ProfileMatch, normalise_cell
from pipelines.intake.profile_text import occurrence_of
from pipelines.intake.profiles import Profile, TargetColumn
from pipelines.intake.rejection import RE_EXPORT, FileRejected, Rejection
from pipelines.intake.units import same_unit


@dataclass
class ClassifiedLines:
    """A file with its lines classified: the data rows, the rejected lines and the values above the table."""

    match: ProfileMatch
    header: tuple[str, ...]
    account: LineAccount
    preamble_values: dict[str, str]
    row_texts: list[str] = field(default_factory=list)
    line_numbers: list[int] = field(default_factory=list)
    rejections: list[Rejection] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    @property
    def profile(self) -> Profile:
        """The profile that the file is read with."""
        return self.match.profile


def classify_lines(match: ProfileMatch) -> ClassifiedLines:
    """Classify every line of a file; raises FileRejected when the file as a whole cannot be read."""
    profile, lines = match.profile, match.lines
    header = _with_occurrences(profile, tuple(normalise_cell(cell) for cell in match.header.cells))
    first = match.header.line_number
    begin = first + match.header.line_count
    units = _units_row(match, begin) if profile.text.dialect.units_row else None
    if units is not None:
        header = _with_units(profile, header, units)
    _check_header(profile, header, first)
    account = LineAccount(
        lines=len(lines), preamble=first - 1, header=1, continuation=match.header.line_count - 1
    )
    out = ClassifiedLines(match, header, account, _preamble_values(match))
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
    if not account.stored and not account.held:
        raise FileRejected(
            "no_data_rows",
            "The file has a header but no data rows.",
            f"If tests were made, {RE_EXPORT} If not, remove the file from the inbox; nothing is missing.",
        )
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


def _units_row(match: ProfileMatch, line: int) -> Row:
    units = next(split_rows(match.lines, match.delimiter, line), None)
    if units is None:
        raise FileRejected(
            "units_row",
            f"The file ends before line {line}, where the profile {match.profile.name} expects a units row.",
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


def _preamble_values(match: ProfileMatch) -> dict[str, str]:
    """Return the text of each preamble value; raises FileRejected when a required one is missing."""
    profile, values = match.profile, {}
    above = match.lines.text[: match.header.line_number - 1]
    for quantity, value in profile.file_values.items():
        if value.name is not None:
            texts, pattern = [match.file.name], value.name
        else:
            texts, pattern = above, value.line or ""
        hits = ((line, hit) for line, text in enumerate(texts, start=1) if (hit := re.search(pattern, text)))
        line, found = next(hits, (0, None))
        if found is not None and value.line is not None:
            _check_no_other_value(match, quantity, pattern, (line, found[1] or ""))
        if found is None and _is_required(profile, quantity):
            in_name = value.name is not None
            where = "the file name" if in_name else f"the {len(above)} lines above the header"
            remedy = "Rename the file" if in_name else f"Export with this line and {RE_EXPORT.rstrip('.')}"
            raise FileRejected(
                "preamble_value",
                f"{quantity} is missing: nothing in {where} matches {pattern!r}.",
                f"{remedy}; or correct {_key(quantity)} in the profile.",
            )
        values[quantity] = (found[1] or "") if found else ""
    return values


def _is_required(profile: Profile, quantity: str) -> bool:
    return quantity not in profile.targets or not profile.targets[quantity].nullable


def _key(quantity: str) -> str:
    """Return the key of a value of the file in the profile."""
    return quantity if quantity.startswith("parts.") else f"preamble.values.{quantity}"


def _check_no_other_value(match: ProfileMatch, quantity: str, pattern: str, value: tuple[int, str]) -> None:
    """Raise FileRejected when another line of the file gives another value: it is unclear which rows have which."""
    given = re.compile(pattern)
    for number, text in enumerate(match.lines.text, start=1):
        hit = given.search(text)
        if hit is not None and (hit[1] or "").strip() != value[1].strip():
            raise FileRejected(
                "preamble_value",
                f"{quantity} has two values: {value[1].strip()!r} on line {value[0]} and {(hit[1] or '').strip()!r} on "
                f"line {number}. It is unclear which rows have which.",
                f"Export a file for each value and {RE_EXPORT} Or correct {_key(quantity)} in the profile: "
                "it must match one line.",
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
    cells = [*row.cells, *[""] * width][:width]
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="", quoting=csv.QUOTE_ALL).writerow(cells)
    return out.getvalue()
