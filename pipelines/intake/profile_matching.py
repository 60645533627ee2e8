"""Find the profile of a file, by the file's name and the cells of its header line."""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice, pairwise

from pipelines.intake.decoding import (
    DELIMITERS,
    Lines,
    Row,
    count_lines,
    decode,
    detect_encoding,
    split_lines,
    split_rows,
)
from pipelines.intake.profile_text import Dialect
from pipelines.intake.profiles import Profile
from pipelines.intake.rejection import FileRejected
from pipelines.intake.workbook import is_workbook, read_sheet, workbook_encoding

_HEADER_WITHIN_LINES = 200


@dataclass
class ArchivedFile:
    """A file as received: its content hash, its name and its bytes.

    The bytes are decoded once per encoding, however many profiles are tried.
    """

    file_hash: str
    name: str
    data: bytes
    _decoded: dict[object, Lines | FileRejected] = field(default_factory=dict, repr=False)

    @cached_property
    def is_workbook(self) -> bool:
        """Whether the file is a workbook (xlsx)."""
        return is_workbook(self.data)

    def lines_for(self, dialect: Dialect) -> Lines:
        """Return the file's lines as a profile reads them; raises FileRejected when they cannot be read."""
        if not self.is_workbook:
            return self.lines(dialect.encoding)
        how = (dialect.sheet, dialect.decimal)
        return self._once(how, lambda: read_sheet(self.data, *how))

    def lines(self, declared_encoding: str | None) -> Lines:
        """Return the file's lines; raises FileRejected when the file is not in this encoding."""
        return self._once(declared_encoding, lambda: split_lines(decode(self.data, declared_encoding)))

    def _once(self, how: object, read: Callable[[], Lines]) -> Lines:
        if how not in self._decoded:
            try:
                self._decoded[how] = read()
            except FileRejected as rejected:
                self._decoded[how] = rejected
        found = self._decoded[how]
        if isinstance(found, FileRejected):
            raise found
        return found

    def line_count(self) -> int:
        """Return the number of lines, whether the file can be decoded or not."""
        for found in self._decoded.values():
            if isinstance(found, Lines):
                return len(found)
        return count_lines(self.data)


@dataclass(frozen=True)
class ProfileMatch:
    """A file and the profile it matches, with the delimiter, header and encoding found, and an explanation."""

    file: ArchivedFile
    profile: Profile
    lines: Lines
    delimiter: str
    header: Row
    encoding: str
    explanation: str


def normalise_cell(cell: str) -> str:
    """Return a header cell in the form in which cells are compared: each run of white space becomes one space."""
    return " ".join(cell.split())


class _NoMatch(Exception):  # noqa: N818 - an outcome, not an error
    """The profile does not match; ``near``: a part of it does; ``decoded``: the file was decoded."""

    def __init__(self, explanation: str, near: bool, decoded: bool = True) -> None:
        super().__init__(explanation)
        self.near = near
        self.decoded = decoded


def match_profile(file: ArchivedFile, profiles: Iterable[Profile]) -> ProfileMatch:
    """Return the only profile that a file matches.

    Raises FileRejected when it matches none (naming the nearest profiles and what is missing for them) or
    several, or when no profile's encoding decodes it.
    """
    matches: list[ProfileMatch] = []
    misses: list[tuple[int, str]] = []
    decodable = False
    for profile in profiles:
        try:
            matches.append(_match(file, profile))
        except FileRejected as rejected:
            if file.is_workbook or _bytes_contain(file.data, profile.text.recognise.header):
                misses.append((0, f"{profile.name} ({_as_clause(rejected.rejection.what)})"))
        except _NoMatch as miss:
            decodable |= miss.decoded
            if miss.near:
                misses.append(_distance(file, profile, miss))
    if len(matches) == 1:
        return matches[0]
    if matches:
        names = ", ".join(match.profile.name for match in matches)
        raise FileRejected(
            "several_profiles",
            f"The file matches more than one profile: {names}.",
            "Add to the [recognise] table of each a header cell or a file name that only its own exports have.",
        )
    if not misses and not decodable and not file.is_workbook:
        file.lines(None)  # raises when no encoding fits, and says why
    nearest = [text for _, text in sorted(misses)[:3]]
    near = f" Nearest: {'; '.join(nearest)}." if nearest else ""
    raise FileRejected(
        "no_profile",
        f"The file matches no export profile.{near}",
        "Write a profile for it in the laboratory's exports folder, or correct the nearest one; the next run "
        "imports the file. If it is not an export, remove it from the inbox.",
    )


def _as_clause(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:].removesuffix(".")


def _distance(file: ArchivedFile, profile: Profile, miss: "_NoMatch") -> tuple[int, str]:
    """Return how many header cells the file lacks for a profile, and the profile's name with what is missing."""
    wanted = {normalise_cell(cell) for cell in profile.text.recognise.header}
    lines = file.lines_for(profile.text.dialect)
    declared = lines.delimiter or profile.text.dialect.delimiter
    missing = min(
        (
            wanted - {normalise_cell(cell) for cell in line.split(delimiter)}
            for line in lines.text[:_HEADER_WITHIN_LINES]
            for delimiter in ((declared,) if declared else DELIMITERS)
        ),
        key=len,
    )
    if not missing:
        return 0, f"{profile.name} ({miss})"
    return len(missing), f"{profile.name} (no header has {_quoted(sorted(missing))})"


def _quoted(cells: Iterable[str]) -> str:
    return ", ".join(map(repr, cells))


def _match(file: ArchivedFile, profile: Profile) -> ProfileMatch:
    wanted = profile.text.recognise.header
    name_fits = profile.matches_name(file.name)
    if not name_fits and profile.text.dialect.encoding is not None:
        # The name rules the profile out already; an error of its encoding would only mislead.
        raise _NoMatch(
            f"the file name does not match {profile.text.recognise.name!r}", near=False, decoded=False
        )
    lines = file.lines_for(profile.text.dialect)
    blocks = block_ranges(lines, profile)
    found = header_of_block(lines, profile, blocks[0]) if blocks else []
    if not found:
        missing = _missing_cells(lines, wanted)
        elsewhere = _header_elsewhere(lines, profile)
        raise _NoMatch(
            elsewhere or f"no header has {_quoted(missing or wanted)}", near=len(missing) < len(wanted)
        )
    if not name_fits:
        raise _NoMatch(
            f"the header matches, but the file name does not match {profile.text.recognise.name!r}", near=True
        )
    found.sort(key=lambda candidate: -len(candidate[1].cells))
    delimiter, header = found[0]
    if len(found) > 1 and len(found[1][1].cells) == len(header.cells) > 1:
        raise _NoMatch("more than one delimiter fits; set dialect.delimiter in the profile", near=True)
    dialect = profile.text.dialect
    encoding = (
        workbook_encoding(dialect.sheet) if file.is_workbook else detect_encoding(file.data, dialect.encoding)
    )
    parts = [
        f"the file name matches {profile.text.recognise.name!r}" if profile.text.recognise.name else "",
        f"line {header.line_number} has the header cells {_quoted(wanted)}",
        f"encoding {encoding}, delimiter {delimiter!r}",
    ]
    return ProfileMatch(file, profile, lines, delimiter, header, encoding, "; ".join(filter(None, parts)))


def _header_elsewhere(lines: Lines, profile: Profile) -> str | None:
    """Return a message when the header is on another line than dialect.preamble says, else None."""
    preamble = profile.text.dialect.preamble
    if preamble is None:
        return None
    anywhere = range(1, min(len(lines), _HEADER_WITHIN_LINES) + 1)
    found = next(_find_headers(lines, profile, anywhere), None)
    if found is None:
        return None
    expected = (
        f"line {preamble + 1}" if isinstance(preamble, int) else f"the first line that matches {preamble!r}"
    )
    return f"the header is on line {found[1].line_number}; dialect.preamble expects it on {expected}"


def _bytes_contain(data: bytes, header: tuple[str, ...]) -> bool:
    """Return whether bytes that cannot be decoded contain the ASCII words of a header."""
    words = [word.encode() for cell in header for word in cell.split() if word.isascii()]
    return bool(words) and all(word in data for word in words)


def _missing_cells(lines: Lines, wanted: tuple[str, ...]) -> list[str]:
    head = "\n".join(lines.text[:_HEADER_WITHIN_LINES])
    return [cell for cell in wanted if not all(word in head for word in cell.split())]


def _find_headers(lines: Lines, profile: Profile, numbers: Iterable[int]) -> Iterator[tuple[str, Row]]:
    """Yield each delimiter that gives a header on one of the lines, with that header."""
    wanted = {normalise_cell(cell) for cell in profile.text.recognise.header}
    if _missing_cells(lines, profile.text.recognise.header):
        return
    declared = lines.delimiter or profile.text.dialect.delimiter
    for delimiter in (declared,) if declared else DELIMITERS:
        for number in numbers:
            if profile.text.transpose is not None:
                row = _labels_from(lines, delimiter, number)
            else:
                row = _row_at(lines, delimiter, number, profile.text.dialect.header_rows)
            if row and not row.unclosed_quote and wanted <= {normalise_cell(cell) for cell in row.cells}:
                yield delimiter, row
                break


def _row_at(lines: Lines, delimiter: str, number: int, header_rows: int) -> Row | None:
    window = Lines(lines.text[: number + 20], lines.ends_with_line_end)
    rows = list(islice(split_rows(window, delimiter, number), header_rows))
    if len(rows) < header_rows:
        return None
    return rows[0] if header_rows == 1 else _joined_rows(rows)


def _labels_from(lines: Lines, delimiter: str, number: int) -> Row | None:
    """Return the first cells of all lines from one on, which has a name itself, as the header of a transposed table."""
    rows = split_rows(lines, delimiter, number)
    labels = [row.cells[0] if len(row.cells) > 1 else "" for row in rows]
    return Row(number, 1, labels, lines.text[number - 1]) if labels and labels[0].strip() else None


def _joined_rows(rows: list[Row]) -> Row:
    """Return a header of several rows as one: each cell below those above it, which reach to the next filled cell."""
    names = [""] * max(len(row.cells) for row in rows)
    for level, row in enumerate(rows):
        above = ""
        for position in range(len(names)):
            cell = row.cells[position].strip() if position < len(row.cells) else ""
            above = cell or (above if level < len(rows) - 1 else "")
            names[position] = f"{names[position]} {above}".strip()
    return Row(
        rows[0].line_number,
        sum(row.line_count for row in rows),
        names,
        "\n".join(row.text for row in rows),
        any(row.unclosed_quote for row in rows),
    )


def block_ranges(lines: Lines, profile: Profile) -> list[tuple[int, int]]:
    """Return the first and the last line of each block; lines above the first block belong to none.

    A file without blocks is one block.
    """
    if profile.text.block is None:
        return [(1, len(lines))]
    begin = re.compile(profile.text.block.begin)
    starts = [number for number, text in enumerate(lines.text, start=1) if begin.search(text)]
    return [(first, following - 1) for first, following in pairwise([*starts, len(lines) + 1])]


def header_of_block(
    lines: Lines, profile: Profile, block: tuple[int, int], delimiter: str | None = None
) -> list[tuple[str, Row]]:
    """Return the headers that a block may have, each with its delimiter."""
    within = replace(lines, text=lines.text[: block[1]])
    numbers = _possible_header_lines(within, profile, block[0])
    return [
        found
        for found in _find_headers(within, profile, numbers)
        if delimiter is None or found[0] == delimiter
    ]


def _possible_header_lines(lines: Lines, profile: Profile, first: int) -> Iterable[int]:
    """Return the numbers of the lines from the first one on that may be the header."""
    preamble = profile.text.dialect.preamble
    if isinstance(preamble, int):
        return [first + preamble] if first + preamble <= len(lines) else []
    numbers = range(first, min(len(lines), first + _HEADER_WITHIN_LINES - 1) + 1)
    if preamble is None:
        return numbers
    return [number for number in numbers if re.search(preamble, lines.text[number - 1])][:1]
