"""The steps of a run, in order, as plain functions: each opens the warehouse, does its part and closes it.

A run works on a copy of the warehouse, which replaces the warehouse only when everything is done. So a run that fails,
is killed or runs out of disk changes neither warehouse nor snapshots. A step passes its results on in the copy, so the
steps can also run as tasks of a flow.
"""

import hashlib
import logging
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import duckdb
from filelock import FileLock, Timeout

from pipelines import __version__
from pipelines.dictionary import documents
from pipelines.errors import AnotherRunActiveError, SheetloreError
from pipelines.intake import ingestion
from pipelines.intake import profiles as export_profiles
from pipelines.intake.inbox import (
    Waiting,
    archive_bytes,
    archived_lines,
    archived_path,
    content_hash,
    list_inbox,
    read_when_complete,
)
from pipelines.intake.ingestion import READER_VERSION, Outcome
from pipelines.intake.profile_matching import ArchivedFile
from pipelines.intake.profiles import Profile
from pipelines.intake.rejection import Rejection
from pipelines.settings import Laboratory, Settings
from pipelines.warehouse import (
    building,
    curve_reduction,
    duplicate_resolution,
    loading,
    parquet_export,
    pointer,
    publishing,
    statements,
    tables,
)
from pipelines.warehouse.connection import transaction, working
from pipelines.warehouse.duplicate_resolution import Contradiction
from schemas.marts import MARTS
from schemas.marts.night import Night as NightRow
from schemas.records import KINDS, STORED
from schemas.records.record import ResolvedRecord

log = logging.getLogger("sheetlore")

_BYTES_AT_ONCE = 256_000_000


@dataclass(frozen=True)
class Night:
    """One run on one laboratory: what every step needs to know."""

    root: Path
    name: str
    began_at_utc: datetime

    @property
    def laboratory(self) -> Laboratory:
        """The laboratory the run works on."""
        return Laboratory(self.root)

    @property
    def database(self) -> Path:
        """The copy of the warehouse that the run works on."""
        return self.root / "warehouse.night.duckdb"


@dataclass
class Collected:
    """What the inbox and the archive have for this run."""

    files_new: int = 0
    files_again: int = 0
    waiting: list[Waiting] = field(default_factory=list)
    changed: bool = False


@dataclass
class Report:
    """The result of a run, for people and programs."""

    night: dict[str, Any]
    changed: bool
    waiting: list[Waiting]
    snapshot: Path
    overdrawn_tanks: list[str] = field(default_factory=list)
    settings: Settings = field(default_factory=Settings)

    @property
    def laboratory(self) -> Laboratory:
        """The laboratory that the run worked on."""
        return Laboratory(self.snapshot.parents[1])

    @property
    def page(self) -> Path | None:
        """The start page of the web page, where the laboratory wants one."""
        start = self.laboratory.site / "index.html"
        return start if start.is_file() else None

    @property
    def something_held(self) -> bool:
        """Whether any file or line is on hold."""
        return bool(self.night["files_held"] or self.night["rows_held"])


@contextmanager
def exclusive_run(laboratory: Laboratory) -> Iterator[None]:
    """Hold the laboratory's lock; raises AnotherRunActiveError when another run has it."""
    try:
        with FileLock(laboratory.lock_file, timeout=0):
            yield
    except Timeout:
        raise AnotherRunActiveError(
            f"Another run is active on {laboratory.root}; nothing was done.",
            "Wait until it ends, then try again.",
        ) from None


def begin(laboratory: Laboratory) -> Night:
    """Check settings and profiles, remove what a killed run left, and copy the warehouse to work on."""
    laboratory.settings()
    export_profiles.load_profiles(laboratory.exports)
    for folder in (laboratory.inbox, laboratory.archive, laboratory.published):
        folder.mkdir(parents=True, exist_ok=True)
    began = datetime.now(UTC).replace(tzinfo=None)
    name = f"{began:%Y-%m-%dT%H-%M-%S}-{began.microsecond // 1000:03d}Z"
    night = Night(laboratory.root, name, began)
    clear(night)
    try:
        if laboratory.warehouse.exists():
            shutil.copyfile(laboratory.warehouse, night.database)
        with working(night.database) as connection, transaction(connection):
            loading.ensure_tables(connection)
    except BaseException:
        clear(night)
        raise
    return night


def clear(night: Night) -> None:
    """Remove the working files of this run or of a killed one."""
    for left in (night.database, night.database.with_name(night.database.name + ".wal")):
        left.unlink(missing_ok=True)
    publishing.clear_unfinished(night.laboratory.published)


def collect(night: Night) -> Collected:
    """Archive what is new in the inbox, and find the archived files to read (again)."""
    laboratory, settings = night.laboratory, night.laboratory.settings()
    found = Collected()
    with working(night.database) as connection, transaction(connection):
        seen = {
            tuple(how): file_hash
            for *how, file_hash in connection.execute(
                "SELECT file_name, size_bytes, changed_ns, file_hash FROM ledger.sighting"
            ).fetchall()
        }
        known = {
            row[0] for row in connection.execute("SELECT file_hash FROM ledger.received_file").fetchall()
        }
        arrived, seen_now, dated = [], [], []
        in_inbox: set[str] = set()
        for file in list_inbox(laboratory.inbox):
            if isinstance(file, Waiting):
                found.waiting.append(file)
                continue
            if file_hash := seen.get((file.name, file.size, file.changed_ns)):
                in_inbox.add(file_hash)
                continue
            data = read_when_complete(file, settings.intake.quiet_seconds, settings.intake.largest_file_mb)
            if isinstance(data, Waiting):
                found.waiting.append(data)
                continue
            file_hash = content_hash(data)
            archive_bytes(laboratory.archive, file_hash, data)
            in_inbox.add(file_hash)
            seen_now.append(
                {
                    "file_name": file.name,
                    "size_bytes": file.size,
                    "changed_ns": file.changed_ns,
                    "file_hash": file_hash,
                }
            )
            dated.append((file_hash, file.changed_at_utc))
            if file_hash not in known:
                known.add(file_hash)
                arrived.append(
                    {
                        "file_hash": file_hash,
                        "file_name": file.name,
                        "size_bytes": file.size,
                        "changed_at_utc": file.changed_at_utc,
                        "received_night": night.name,
                        **_unread(),
                    }
                )
        loading.insert(connection, "ledger.received_file", arrived)
        loading.insert(connection, "ledger.sighting", seen_now)
        inbox_differs = loading.set_in_inbox(connection, in_inbox)
        found.files_new = len(arrived)
        files_older = loading.set_earliest_mtime(connection, dated)
        found.files_again = _mark_for_rereading(connection, laboratory, settings)
        last = connection.execute(
            "SELECT built_under FROM ledger.night ORDER BY night DESC LIMIT 1"
        ).fetchone()
        found.changed = (
            bool(found.files_new or found.files_again or files_older or inbox_differs)
            or last != (_built_under(laboratory, settings),)
            or not publishing.has_snapshot(laboratory.published)
        )
    log.info("Collected: %d new files, %d to read again", found.files_new, found.files_again)
    for waiting in found.waiting:
        log.warning("Waiting in the inbox: %s %s", waiting.name, waiting.why)
    return found


def _unread() -> dict[str, object]:
    """Return the columns of a received file that is not read yet."""
    counts = (
        "lines", "preamble_lines", "header_lines", "units_row_lines", "blank_lines", "footer_lines",
        "continuation_lines", "held_at_reading", "stored",
    )  # fmt: skip
    return {"held_whole": False, **dict.fromkeys(counts, 0)}


def _mark_for_rereading(
    connection: duckdb.DuckDBPyConnection, laboratory: Laboratory, settings: Settings
) -> int:
    """Mark as unread the files whose profile, or for files that match none any profile, or whose settings changed."""
    now = _ReadUnder(export_profiles.load_profiles(laboratory.exports), settings)
    rows = connection.execute(
        "SELECT file_hash, profile, read_under, held_whole FROM ledger.received_file WHERE read_night IS NOT NULL"
    ).fetchall()
    again = [
        file_hash for file_hash, profile, read_under, held in rows if now.must_read(profile, read_under, held)
    ]
    connection.execute(
        "UPDATE ledger.received_file SET read_night = NULL WHERE list_contains(?::VARCHAR[], file_hash)",
        [again],
    )
    return len(again)


class _ReadUnder:
    """Fingerprints of all that decides how a file is read."""

    def __init__(self, profiles: list[Profile], settings: Settings) -> None:
        zone = settings.laboratory.time_zone
        self._by_profile = {
            profile.name: _digest(
                READER_VERSION, zone, profile.fingerprint, tables.fingerprint(KINDS[profile.text.record])
            )
            for profile in profiles
        }
        self._of_all = _digest(*self._by_profile.values())

    def of(self, profile: str | None) -> str:
        return self._by_profile[profile] if profile is not None else self._of_all

    def must_read(self, profile: str | None, read_under: str | None, held_whole: bool) -> bool:
        if profile is not None and profile not in self._by_profile:
            # The profile was taken away: what it read stays, what it could not read looks for another.
            return held_whole
        return self.of(profile) != read_under


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def _built_under(laboratory: Laboratory, settings: Settings) -> str:
    """Return a fingerprint of all that decides what is built from the records."""
    profiles = [profile.fingerprint for profile in export_profiles.load_profiles(laboratory.exports)]
    declared = [
        *(tables.fingerprint(model) for model in MARTS.values()),
        *(tables.fingerprint(model, ResolvedRecord) for model in STORED.values()),
    ]
    return _digest(__version__, statements.fingerprint(), settings.fingerprint(), *profiles, *declared)


def ingest(night: Night) -> int:
    """Read every file that is not read yet; returns the number of rows stored."""
    laboratory, settings = night.laboratory, night.laboratory.settings()
    profiles = export_profiles.load_profiles(laboratory.exports)
    read_under = _ReadUnder(profiles, settings)
    stored = 0
    with working(night.database) as connection, transaction(connection):
        pending = (
            connection.execute(
                "FROM ledger.received_file WHERE read_night IS NULL ORDER BY changed_at_utc, file_name, file_hash"
            )
            .to_arrow_table()
            .to_pylist()
        )
        loading.delete_rows_of_files(connection, [row["file_hash"] for row in pending])
        for batch in _batches(pending):
            files = [
                ArchivedFile(
                    row["file_hash"],
                    row["file_name"],
                    archived_path(laboratory.archive, row["file_hash"]).read_bytes(),
                )
                for row in batch
            ]
            taken = ingestion.ingest(files, profiles, settings.laboratory.time_zone)
            for kind, records in taken.records:
                loading.store(connection, kind, records)
            loading.replace_files(
                connection,
                [
                    row | _ledger_row(outcome, night.name, read_under)
                    for row, outcome in zip(batch, taken.outcomes, strict=True)
                ],
            )
            loading.insert(
                connection,
                "ledger.reason",
                [
                    _rejection_row(outcome.file_hash, rejection)
                    for outcome in taken.outcomes
                    for rejection in outcome.rejections
                ],
            )
            stored += sum(outcome.account.stored for outcome in taken.outcomes)
    log.info("Imported: %d rows of %d files", stored, len(pending))
    return stored


def _batches(pending: list[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    batch: list[dict[str, Any]] = []
    size = 0
    for row in pending:
        batch.append(row)
        size += row["size_bytes"]
        if size > _BYTES_AT_ONCE:
            yield batch
            batch, size = [], 0
    if batch:
        yield batch


def _ledger_row(outcome: Outcome, night: str, read_under: _ReadUnder) -> dict[str, object]:
    account, profile = outcome.account, outcome.profile
    return {
        "read_night": night,
        "record": profile.text.record if profile else None,
        "profile": profile.name if profile else None,
        "read_under": read_under.of(profile.name if profile else None),
        "encoding": outcome.encoding,
        "recognised_by": outcome.recognised_by or None,
        "held_whole": outcome.held_whole,
        "remark": outcome.remark or None,
        "lines": account.lines,
        "preamble_lines": account.preamble,
        "header_lines": account.header,
        "units_row_lines": account.units_row,
        "blank_lines": account.blank,
        "footer_lines": account.footer,
        "continuation_lines": account.continuation,
        "held_at_reading": account.held,
        "stored": account.stored,
    }


def _rejection_row(file_hash: str, rejection: Rejection) -> dict[str, object]:
    return {
        "file_hash": file_hash,
        "line_number": rejection.line_number,
        "column_name": rejection.column,
        "cell": rejection.cell,
        "rule": rejection.rule,
        "what": rejection.what,
        "remedy": rejection.remedy,
        "original_text": rejection.original_text,
    }


def resolve_duplicates(night: Night) -> None:
    """Set which rows are used, and put on hold the records that contradict other records of their sheet."""
    laboratory, settings = night.laboratory, night.laboratory.settings()
    with working(night.database) as connection, transaction(connection):
        duplicate_resolution.set_setting(connection, settings.for_snapshot(), settings.accuracies())
        duplicate_resolution.resolve_duplicates(connection)
        encodings = dict(
            connection.execute("SELECT file_hash, encoding FROM ledger.received_file").fetchall()
        )
        connection.execute("DELETE FROM ledger.cross_record_rejection")
        held = 0
        for find in (duplicate_resolution.disagreeing_layers, duplicate_resolution.dated_too_early):
            found = find(connection)
            held += len(found)
            loading.insert(
                connection,
                "ledger.cross_record_rejection",
                (
                    _rejection_row(file_hash, rejection)
                    for file_hash, records in _by_file(found).items()
                    for rejection in _contradictions(laboratory, file_hash, records, encodings[file_hash])
                ),
            )
            duplicate_resolution.hold(connection, {record.kind for record in found})
    log.info("Resolved: duplicates and corrections; on hold as they contradict their sheet: %d records", held)


def _by_file(found: list[Contradiction]) -> dict[str, list[Contradiction]]:
    by_file: dict[str, list[Contradiction]] = {}
    for record in found:
        by_file.setdefault(record.file_hash, []).append(record)
    return by_file


def _contradictions(
    laboratory: Laboratory, file_hash: str, records: list[Contradiction], encoding: str | None
) -> Iterator[Rejection]:
    """Yield the rejections of a file's contradicting records, with the original text of their lines."""
    numbers = {record.line_number for record in records}
    lines = archived_lines(laboratory.archive, file_hash, numbers, encoding)
    for record in records:
        yield Rejection(
            record.rule,
            record.what,
            record.remedy,
            record.line_number,
            record.column,
            original_text=lines[record.line_number],
        )


def reduce_curves(night: Night) -> int:
    """Reduce the raw tensile curves that have no result yet; returns how many."""
    settings = night.laboratory.settings()
    with working(night.database) as connection, transaction(connection):
        reduced = curve_reduction.reduce_stored(connection, settings.curves.reduction())
    log.info("Reduced: %d raw curves", reduced)
    return reduced


def build_models(night: Night) -> None:
    """Join, index and average: build every table that is published."""
    with working(night.database) as connection, transaction(connection):
        building.create_macros(connection)
        building.build_models(connection)
    log.info("Built: %d tables", len(MARTS))


def run_checks(night: Night) -> None:
    """Run the checks; raises SheetloreError when a rule is broken, and the run changes nothing."""
    with working(night.database) as connection:
        broken = building.broken_checks(connection)
    if broken:
        raise SheetloreError(
            "The new tables break a rule that must always hold: "
            + "; ".join(
                f"{name} ({len(rows)} rows, the first: {rows.iloc[0].to_dict()})"
                for name, rows in broken.items()
            ),
            "This is a fault of Sheetlore, not of the data. The warehouse is unchanged.",
        )
    log.info("Checked: all rules hold")


def publish(night: Night) -> Path:
    """Write the run's summary and the snapshot, and replace the warehouse by the run's copy."""
    laboratory, settings = night.laboratory, night.laboratory.settings()
    ended = datetime.now(UTC).replace(tzinfo=None)
    with working(night.database) as connection:
        with transaction(connection):
            # A try before this one may have got as far as this line.
            connection.execute("DELETE FROM ledger.night WHERE night = ?", [night.name])
            connection.execute(
                f"INSERT INTO ledger.night BY NAME {statements.statement('records/night')}",
                {
                    "night": night.name,
                    "began_at_utc": night.began_at_utc,
                    "ended_at_utc": ended,
                    "sheetlore_version": __version__,
                    "built_under": _built_under(laboratory, settings),
                },
            )
            tables.create_table(connection, "main.night", NightRow)
            connection.execute("INSERT INTO main.night BY NAME SELECT * FROM ledger.night")
        snapshot = publishing.write_snapshot(connection, laboratory.published, night.name)
        # Closing would do this too, but pass over a full disk in silence.
        connection.execute("CHECKPOINT")
    documents.write(laboratory.published, statements.formulas())
    publishing.point_to(laboratory.published, snapshot, ended)
    _update_latest_links(laboratory, snapshot)
    publishing.remove_old(laboratory.published, snapshot, settings.publishing.snapshots_kept)
    night.database.replace(laboratory.warehouse)
    log.info("Published: %s", snapshot.name)
    return snapshot


def _update_latest_links(laboratory: Laboratory, snapshot: Path) -> None:
    for remark in parquet_export.update_latest_links(laboratory.published, snapshot):
        log.warning("%s; the next run tries again", remark)


def render(night: Night) -> None:
    """Bring the web page up to date, unless the settings turn it off."""
    if night.laboratory.settings().publishing.page:
        write_page(night.laboratory, rebuild=False)


def write_page(laboratory: Laboratory, *, rebuild: bool) -> tuple[int, int]:
    """Write the web page of the newest snapshot; return how many files were written and how many were unchanged.

    Without ``rebuild``, a page built from this snapshot only gets the new time of the last check. Raises
    SheetloreError when there is no snapshot yet or the page cannot be written.
    """
    from pipelines.site import building as site  # its charts' library takes a while to import
    from pipelines.site.writing import Folder

    snapshot = pointer.latest_snapshot(laboratory.published)
    checked = pointer.checked_at_utc(laboratory.published)
    folder = Folder(laboratory.site)
    try:
        if not rebuild and site.is_built_from(laboratory.site, snapshot):
            site.write_age(folder, snapshot, checked)
        else:
            site.build(snapshot, folder, checked)
            log.info("Page: %d files written, %d unchanged", folder.written, folder.unchanged)
    except OSError as error:
        raise SheetloreError(
            f"The web page could not be written: {error}",
            f"The snapshot is published. The next run tries again; so does: sheetlore page --lab {laboratory.root}",
        ) from error
    return folder.written, folder.unchanged


OF_THIS_RUN = (
    "files_read", "files_new", "files_imported", "files_put_on_hold", "rows_read", "rows_imported", "curves_imported",
    "lines_held", "lines_repeated", "lines_superseded",
)  # fmt: skip
"""The columns of ``night`` that count what the run did; the others count what the warehouse holds after it."""


def report(night: Night, collected: Collected) -> Report:
    """Return the report of the run; where nothing changed, of the snapshot that is already published."""
    laboratory = night.laboratory
    snapshot = pointer.latest_snapshot(laboratory.published)
    if not collected.changed:
        clear(night)
        publishing.point_to(laboratory.published, snapshot, night.began_at_utc)
        _update_latest_links(laboratory, snapshot)
    row, overdrawn = publishing.summary(snapshot)
    if not collected.changed:
        row |= dict.fromkeys(OF_THIS_RUN, 0)
    return Report(row, collected.changed, collected.waiting, snapshot, overdrawn, laboratory.settings())


def run(laboratory: Laboratory) -> Report:
    """Run all steps without Prefect, in the order of the flow."""
    with exclusive_run(laboratory):
        night = begin(laboratory)
        try:
            collected = collect(night)
            if collected.changed:
                ingest(night)
                resolve_duplicates(night)
                reduce_curves(night)
                build_models(night)
                run_checks(night)
                publish(night)
            ended = report(night, collected)
            render(night)
            return ended
        finally:
            clear(night)
