"""The inbox and the archive: which files are there and at rest, and keeping their bytes for good."""

import errno
import hashlib
import os
import stat
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipelines.intake.decoding import lines_of

try:
    import fcntl
except ImportError:  # not a POSIX system: size and time alone tell whether a file is at rest
    fcntl = None  # type: ignore[assignment]


@dataclass(frozen=True)
class Sighting:
    """A file seen in the inbox: its name below it, its size in bytes and its time of change in ns."""

    path: Path
    name: str
    size: int
    changed_ns: int

    @property
    def changed_at_utc(self) -> datetime:
        """When the file was last changed, in UTC without a zone."""
        return datetime.fromtimestamp(self.changed_ns / 1e9, UTC).replace(tzinfo=None)


@dataclass(frozen=True)
class Waiting:
    """A file left in the inbox for now, and why."""

    name: str
    why: str


def sightings(inbox: Path) -> Iterator[Sighting | Waiting]:
    """Yield the files in the inbox and its folders, by name, and what is never read: links, and what is no file.

    Hidden files are passed over. Raises OSError where a folder cannot be looked into.
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
                    _printable(path.relative_to(inbox)), "is a link, which is not followed; put a copy there"
                )
                continue
            try:
                status = path.stat()
            except FileNotFoundError:
                continue
            if not stat.S_ISREG(status.st_mode):
                yield Waiting(_printable(path.relative_to(inbox)), "is no regular file, and is not read")
                continue
            yield Sighting(path, _printable(path.relative_to(inbox)), status.st_size, status.st_mtime_ns)


def _fail(error: OSError) -> None:
    raise error


def _printable(path: Path) -> str:
    return path.as_posix().encode("utf-8", "replace").decode()


def read_at_rest(sighting: Sighting, quiet_seconds: float, largest_file_mb: float) -> bytes | Waiting:
    """Return a file's bytes, or why it must wait: still written, too young, too large, unreadable."""
    if sighting.size > largest_file_mb * 1e6:
        return Waiting(
            sighting.name,
            f"is larger than intake.largest_file_mb ({largest_file_mb:g} MB); raise it to take it in",
        )
    age = time.time() - sighting.changed_ns / 1e9
    if 0 <= age < quiet_seconds:
        time.sleep(quiet_seconds - age)
    try:
        with sighting.path.open("rb") as stream:
            if _open_for_writing(stream.fileno()):
                return Waiting(sighting.name, "is open in a program that writes it")
            data = stream.read()
        status = sighting.path.stat()
    except OSError as error:
        return Waiting(sighting.name, f"cannot be read ({error.strerror})")
    if (status.st_size, status.st_mtime_ns) != (sighting.size, sighting.changed_ns) or len(
        data
    ) != sighting.size:
        return Waiting(sighting.name, "is still being written")
    return data


def _open_for_writing(descriptor: int) -> bool:
    """Return whether another program has the file open to write, where the system can tell."""
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
    """Return where the archive keeps the file of a content hash."""
    return archive / file_hash[:2] / file_hash


def original_line(archive: Path, file_hash: str, line_number: int, encoding: str | None) -> str:
    """Return a line of an archived file as it stood; bytes that do not fit the encoding show as marks."""
    text = archived_path(archive, file_hash).read_bytes().decode(encoding or "utf-8", "replace")
    return lines_of(text).text[line_number - 1]


def keep(archive: Path, file_hash: str, data: bytes) -> None:
    """Put bytes into the archive, whole or not at all; what is there already is left alone."""
    path = archived_path(archive, file_hash)
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    unfinished = path.with_suffix(".unfinished")
    unfinished.unlink(missing_ok=True)  # what a killed run left may be read-only already
    with unfinished.open("wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    unfinished.chmod(0o444)
    unfinished.replace(path)
