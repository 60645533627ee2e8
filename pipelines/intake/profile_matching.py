"""Which profile a file belongs to, and why: by its name and by the cells of its header line."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from pipelines.intake.decoding import (
    DELIMITERS,
    Lines,
    Row,
    count_lines,
    decoded,
    encoding_of,
    lines_of,
    rows_of,
)
from pipelines.intake.profiles import Profile
from pipelines.intake.rejection import FileRejected

_HEADER_WITHIN_LINES = 200


@dataclass
class ArchivedFile:
    """A file as received: its content hash, the name it came under, and its bytes.

    The bytes are decoded once per encoding, however many profiles are tried.
    """

    file_hash: str
    name: str
    data: bytes
    _decoded: dict[str | None, Lines | FileRejected] = field(default_factory=dict, repr=False)

    def lines(self, stated_encoding: str | None) -> Lines:
        """Return the file's lines; raises FileRejected when it cannot be decoded so."""
        if stated_encoding not in self._decoded:
            try:
                self._decoded[stated_encoding] = lines_of(decoded(self.data, stated_encoding))
            except FileRejected as held:
                self._decoded[stated_encoding] = held
        found = self._decoded[stated_encoding]
        if isinstance(found, FileRejected):
            raise found
        return found

    def line_count(self) -> int:
        """Return the number of lines, decoded or not."""
        for found in self._decoded.values():
            if isinstance(found, Lines):
                return len(found)
        return count_lines(self.data)


@dataclass(frozen=True)
class Recognised:
    """A file with the profile it matches, the dialect settled as far as the header tells it, and why."""

    file: ArchivedFile
    profile: Profile
    lines: Lines
    delimiter: str
    header: Row
    encoding: str
    why: str


def clean(cell: str) -> str:
    """Return a header cell as cells are compared: line breaks and runs of spaces count as one space."""
    return " ".join(cell.split())


class _NoMatch(Exception):  # noqa: N818 - it is an outcome, not an error
    """This profile does not fit; ``near`` when part of it does, ``read`` when the file was decoded at all."""

    def __init__(self, why: str, near: bool, read: bool = True) -> None:
        super().__init__(why)
        self.near = near
        self.read = read


def recognise(file: ArchivedFile, profiles: Iterable[Profile]) -> Recognised:
    """Return the one profile that a file matches.

    Raises FileRejected when it matches none (with the nearest profiles and what they miss) or several, or when
    it can be decoded under none.
    """
    matches: list[Recognised] = []
    misses: list[tuple[int, str]] = []
    decodable = False
    for profile in profiles:
        try:
            matches.append(_match(file, profile))
        except FileRejected as held:
            if _bytes_have(file.data, profile.text.recognise.header):
                misses.append((0, f"{profile.name}: {held.reason.what.removesuffix('.')}"))
        except _NoMatch as miss:
            decodable |= miss.read
            if miss.near:
                misses.append(_nearness(file, profile, miss))
    if len(matches) == 1:
        return matches[0]
    if matches:
        names = ", ".join(match.profile.name for match in matches)
        raise FileRejected(
            "several_profiles",
            f"The file matches more than one profile: {names}.",
            "Make their [recognise] tables tell them apart: a header cell or a name that only one has.",
        )
    if not misses and not decodable:
        file.lines(None)  # says what is wrong with bytes that no profile's encoding fits
    nearest = [text for _, text in sorted(misses)[:3]]
    near = f" Nearest: {'; '.join(nearest)}." if nearest else ""
    raise FileRejected(
        "no_profile",
        f"The file matches no export profile.{near}",
        "Write a profile for it into the laboratory's exports folder, or mend the nearest one; it is taken in the "
        "night after. "
        "If it is no export, take it out of the inbox.",
    )


def _nearness(file: ArchivedFile, profile: Profile, miss: "_NoMatch") -> tuple[int, str]:
    """Return how many cells a file's likeliest header lacks for a profile, and that in words."""
    wanted = {clean(cell) for cell in profile.text.recognise.header}
    lines = file.lines(profile.text.dialect.encoding)
    stated = profile.text.dialect.delimiter
    lacking = min(
        (
            wanted - {clean(cell) for cell in line.split(delimiter)}
            for line in lines.text[:_HEADER_WITHIN_LINES]
            for delimiter in ((stated,) if stated else DELIMITERS)
        ),
        key=len,
    )
    if not lacking:
        return 0, f"{profile.name}: {miss}"
    return len(lacking), f"{profile.name}: no header with {', '.join(map(repr, sorted(lacking)))}"


def _match(file: ArchivedFile, profile: Profile) -> Recognised:
    wanted = profile.text.recognise.header
    name_fits = profile.matches_name(file.name)
    if not name_fits and profile.text.dialect.encoding is not None:
        # Decoding under an encoding that the name already rules out could only mislead.
        raise _NoMatch(f"its name does not fit {profile.text.recognise.name!r}", near=False, read=False)
    lines = file.lines(profile.text.dialect.encoding)
    found = list(_headers(lines, profile))
    if not found:
        missing = _missing_cells(lines, wanted)
        raise _NoMatch(
            f"no header with {', '.join(map(repr, missing or wanted))}", near=len(missing) < len(wanted)
        )
    if not name_fits:
        raise _NoMatch(
            f"the header fits, but the name does not fit {profile.text.recognise.name!r}", near=True
        )
    found.sort(key=lambda candidate: -len(candidate[1].cells))
    delimiter, header = found[0]
    if len(found) > 1 and len(found[1][1].cells) == len(header.cells) > 1:
        raise _NoMatch("its delimiter cannot be told; state dialect.delimiter", near=True)
    encoding = encoding_of(file.data, profile.text.dialect.encoding)
    parts = [
        f"name fits {profile.text.recognise.name!r}" if profile.text.recognise.name else "",
        f"line {header.line_number} has the header cells {', '.join(map(repr, wanted))}",
        f"read as {encoding} with delimiter {delimiter!r}",
    ]
    return Recognised(file, profile, lines, delimiter, header, encoding, "; ".join(filter(None, parts)))


def _bytes_have(data: bytes, header: tuple[str, ...]) -> bool:
    """Return whether bytes that could not be decoded show a header's plain words all the same."""
    words = [word.encode() for cell in header for word in cell.split() if word.isascii()]
    return bool(words) and all(word in data for word in words)


def _missing_cells(lines: Lines, wanted: tuple[str, ...]) -> list[str]:
    head = "\n".join(lines.text[:_HEADER_WITHIN_LINES])
    return [cell for cell in wanted if not all(word in head for word in cell.split())]


def _headers(lines: Lines, profile: Profile) -> Iterator[tuple[str, Row]]:
    """Yield each delimiter under which the header stands where the profile says, with that header."""
    wanted = {clean(cell) for cell in profile.text.recognise.header}
    if _missing_cells(lines, profile.text.recognise.header):
        return
    stated = profile.text.dialect.delimiter
    for delimiter in (stated,) if stated else DELIMITERS:
        for number in _header_lines(lines, profile):
            row = _row_at(lines, delimiter, number)
            if row and not row.quote_left_open and wanted <= {clean(cell) for cell in row.cells}:
                yield delimiter, row
                break


def _row_at(lines: Lines, delimiter: str, number: int) -> Row | None:
    window = Lines(lines.text[: number + 20], lines.ends_with_line_end)
    return next(rows_of(window, delimiter, number), None)


def _header_lines(lines: Lines, profile: Profile) -> Iterable[int]:
    """Return the numbers of the lines that may be the header."""
    preamble = profile.text.dialect.preamble
    if isinstance(preamble, int):
        return [preamble + 1] if preamble < len(lines) else []
    numbers = range(1, min(len(lines), _HEADER_WITHIN_LINES) + 1)
    if preamble is None:
        return numbers
    return [number for number in numbers if re.search(preamble, lines.text[number - 1])][:1]
