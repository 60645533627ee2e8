"""The inbox and the archive: list new files, read those that are complete, and archive their bytes."""

import errno
import hashlib
import os
import stat
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipelines.intake.decoding import split_lines
from pipelines.intake.workbook import lines_of_workbook

try:
    import fcntl
except ImportError:  # not a POSIX system: only size and time show whether a file is complete
    fcntl = None  # type: ignore[assignment]


@dataclass(frozen=True)
class InboxFile:
    """A file in the inbox: its path, its name relative to the inbox, its size in bytes and its mtime in ns."""

    path: Path
    name: str
    size: int
    changed_ns: int

    @property
    def changed_at_utc(self) -> datetime:
        """Time of the last change, in UTC without a zone."""
        return datetime.fromtimestamp(self.changed_ns / 1e9, UTC).replace(tzinfo=None)


@dataclass(frozen=True)
class Waiting:
    """A file that this run does not import, and why; the next run tries again."""

    name: str
    why: str


def list_inbox(inbox: Path) -> Iterator[InboxFile | Waiting]:
    """Yield the files of the inbox and its folders by name, and as Waiting what is never read, such as links.

    Hidden files are skipped. Raises OSError when a folder cannot be listed.
    """
    for folder, folders, names in os.walk(inbox, onerror=_fail):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        links = [name for name in folders if (Path(folder) / name).is_symlink()]
        for name in sorted([*names, *links]):
            path = Path(folder) / name
            if name.startswith("."):
                continue
            if path.is_symlink():
                yield Waiting(
                    _printable(path.relative_to(inbox)), "is a link; put the file itself there instead"
                )
                continue
            try:
                status = path.stat()
            except FileNotFoundError:
                continue
            if not stat.S_ISREG(status.st_mode):
                yield Waiting(_printable(path.relative_to(inbox)), "is not a regular file; remove it")
                continue
            yield InboxFile(path, _printable(path.relative_to(inbox)), status.st_size, status.st_mtime_ns)


def _fail(error: OSError) -> None:
    raise error


def _printable(path: Path) -> str:
    return path.as_posix().encode("utf-8", "replace").decode()


def read_when_complete(file: InboxFile, quiet_seconds: float, largest_file_mb: float) -> bytes | Waiting:
    """Return a file's bytes, or why it must wait: it is still being written, too large or unreadable.

    Sleeps until the file has been unchanged for ``quiet_seconds``.
    """
    if file.size > largest_file_mb * 1e6:
        return Waiting(
            file.name,
            f"is larger than intake.largest_file_mb ({largest_file_mb:g} MB); raise this setting to import it",
        )
    age = time.time() - file.changed_ns / 1e9
    if 0 <= age < quiet_seconds:
        time.sleep(quiet_seconds - age)
    try:
        with file.path.open("rb") as stream:
            if _open_for_writing(stream.fileno()):
                return Waiting(file.name, "is open for writing in another program")
            data = stream.read()
        status = file.path.stat()
    except OSError as error:
        return Waiting(file.name, f"cannot be read ({error.strerror})")
    if (status.st_size, status.st_mtime_ns) != (file.size, file.changed_ns) or len(data) != file.size:
        return Waiting(file.name, "is still being written")
    return data


def _open_for_writing(descriptor: int) -> bool:
    """Return whether another program has the file open for writing; False where the system does not report it."""
    if fcntl is None or not hasattr(fcntl, "F_SETLEASE"):
        return False
    try:
        fcntl.fcntl(descriptor, fcntl.F_SETLEASE, fcntl.F_RDLCK)
    except OSError as error:
        return error.errno == errno.EAGAIN
    fcntl.fcntl(descriptor, fcntl.F_SETLEASE, fcntl.F_UNLCK)
    return False


def content_hash(data: bytes) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def archived_path(archive: Path, file_hash: str) -> Path:
    """Return the path of the archived file with a content hash."""
    return archive / file_hash[:2] / file_hash


def archived_lines(
    archive: Path, file_hash: str, line_numbers: Iterable[int], encoding: str | None
) -> dict[int, str]:
    """Return the original text of lines of an archived file, by line number; the file is read once.

    Undecodable bytes become replacement characters.
    """
    data = archived_path(archive, file_hash).read_bytes()
    lines = lines_of_workbook(data, encoding) or split_lines(data.decode(encoding or "utf-8", "replace"))
    return {number: lines.text[number - 1] for number in line_numbers}


def archive_bytes(archive: Path, file_hash: str, data: bytes) -> None:
    """Write bytes to the archive atomically, unless the archive has them already."""
    path = archived_path(archive, file_hash)
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    unfinished = path.with_suffix(".unfinished")
    unfinished.unlink(missing_ok=True)  # a killed run may have left a read-only file
    with unfinished.open("wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    unfinished.chmod(0o444)
    unfinished.replace(path)
