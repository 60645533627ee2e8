"""The steps of a run, in order, as plain functions: each opens the warehouse, does its part and closes it.

A run works on a copy of the warehouse, which replaces the warehouse only when everything is done. So a run that fails,
is killed or runs out of disk changes neither warehouse nor snapshots. A step passes its results on in the copy, so the
steps can also run as tasks of a flow.
"""

import logging
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import wraps
from pathlib import Path
from typing import Any

import duckdb
from filelock import FileLock, Timeout

from pipelines import __version__
from pipelines.dictionary import documents
from pipelines.errors import AnotherRunActiveError, SheetloreError
from pipelines.flows.context import Fingerprints, RunContext, read_context
from pipelines.intake import ingestion
from pipelines.intake.inbox import (
    Waiting,
    archive_bytes,
    archived_lines,
    archived_path,
    content_hash,
    list_inbox,
    read_when_complete,
)
from pipelines.intake.ingestion import Outcome
from pipelines.intake.profile_matching import ArchivedFile
from pipelines.intake.rejection import Rejection
from pipelines.settings import Laboratory, Settings
from pipelines.warehouse import (
    building,
    curve_reduction,
    duplicate_resolution,
    loading,
    parquet_export,
    pointer,
    property_table,
    publishing,
    statements,
    tables,
)
from pipelines.warehouse.connection import reading, transaction, working
from pipelines.warehouse.duplicate_resolution import Contradiction
from schemas.marts import marts
from schemas.marts.night import Night as NightRow
from schemas.properties import in_force

log = logging.getLogger("sheetlore")

_BYTES_AT_ONCE = 256_000_000


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


def begin(laboratory: Laboratory) -> RunContext:
    """Read settings and profiles, remove what a killed run left, and copy the warehouse to work on."""
    context = read_context(laboratory)
    for folder in (laboratory.inbox, laboratory.archive, laboratory.published):
        folder.mkdir(parents=True, exist_ok=True)
    clear(context)
    try:
        if laboratory.warehouse.exists():
            shutil.copyfile(laboratory.warehouse, context.database)
        with working(context.database) as connection, transaction(connection):
            loading.ensure_tables(connection)
            property_table.store_registry(connection, context.registry)
    except BaseException:
        clear(context)
        raise
    return context


def clear(context: RunContext) -> None:
    """Remove the working files of this run or of a killed one."""
    for left in (context.database, context.database.with_name(context.database.name + ".wal")):
        left.unlink(missing_ok=True)
    publishing.clear_unfinished(context.laboratory.published)


def collect(context: RunContext) -> Collected:
    """Archive what is new in the inbox, and find the archived files to read (again)."""
    laboratory, settings = context.laboratory, context.settings
    found = Collected()
    with working(context.database) as connection, transaction(connection):
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
                        "received_night": context.name,
                        **_unread(),
                    }
                )
        loading.insert(connection, "ledger.received_file", arrived)
        loading.insert(connection, "ledger.sighting", seen_now)
        inbox_differs = loading.set_in_inbox(connection, in_inbox)
        found.files_new = len(arrived)
        files_older = loading.set_earliest_mtime(connection, dated)
        found.files_again = _mark_for_rereading(connection, context.fingerprints)
        last = connection.execute(
            "SELECT built_under FROM ledger.night ORDER BY night DESC LIMIT 1"
        ).fetchone()
        found.changed = (
            bool(found.files_new or found.files_again or files_older or inbox_differs)
            or last != (context.fingerprints.built,)
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


def _mark_for_rereading(connection: duckdb.DuckDBPyConnection, now: Fingerprints) -> int:
    """Mark as unread the files whose profile, or for files that match none any profile, or whose settings changed."""
    rows = connection.execute(
        "SELECT file_hash, profile, read_under, held_whole FROM ledger.received_file WHERE read_night IS NOT NULL"
    ).fetchall()
    again = [
        file_hash
        for file_hash, profile, read_under, held in rows
        if now.must_read_again(profile, read_under, held)
    ]
    connection.execute(
        "UPDATE ledger.received_file SET read_night = NULL WHERE list_contains(?::VARCHAR[], file_hash)",
        [again],
    )
    return len(again)


def ingest(context: RunContext) -> int:
    """Read every file that is not read yet; returns the number of rows stored."""
    stored = 0
    with working(context.database) as connection, transaction(connection):
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
                    archived_path(context.laboratory.archive, row["file_hash"]).read_bytes(),
                )
                for row in batch
            ]
            taken = ingestion.ingest(files, context.profiles, context.settings.laboratory.time_zone)
            for kind, records in taken.records:
                loading.store(connection, kind, records)
            loading.replace_files(
                connection,
                [
                    row | _ledger_row(outcome, context)
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


def _ledger_row(outcome: Outcome, context: RunContext) -> dict[str, object]:
    account, profile = outcome.account, outcome.profile
    return {
        "read_night": context.name,
        "record": profile.text.record if profile else None,
        "profile": profile.name if profile else None,
        "read_under": context.fingerprints.read_under(profile.name if profile else None),
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


def resolve_duplicates(context: RunContext) -> None:
    """Set which rows are used, and put on hold the records that contradict other records of their sheet."""
    laboratory, settings = context.laboratory, context.settings
    with working(context.database) as connection, transaction(connection):
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


def reduce_curves(context: RunContext) -> int:
    """Reduce the raw tensile curves that have no result yet; returns how many."""
    with working(context.database) as connection, transaction(connection):
        reduced = curve_reduction.reduce_stored(connection, context.settings.curves.reduction())
    log.info("Reduced: %d raw curves", reduced)
    return reduced


def build_models(context: RunContext) -> None:
    """Join, index and average: build every table that is published."""
    with working(context.database) as connection, transaction(connection):
        building.create_macros(connection)
        building.build_models(connection)
    log.info("Built: %d tables", len(marts()))


def run_checks(context: RunContext) -> None:
    """Run the checks; raises SheetloreError when a rule is broken, and the run changes nothing."""
    with working(context.database) as connection:
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


def publish(context: RunContext) -> Path:
    """Write the run's summary and the snapshot, and replace the warehouse by the run's copy."""
    laboratory, settings = context.laboratory, context.settings
    ended = datetime.now(UTC).replace(tzinfo=None)
    with working(context.database) as connection:
        with transaction(connection):
            # A try before this one may have got as far as this line.
            connection.execute("DELETE FROM ledger.night WHERE night = ?", [context.name])
            connection.execute(
                f"INSERT INTO ledger.night BY NAME {statements.statement('records/night')}",
                {
                    "night": context.name,
                    "began_at_utc": context.began_at_utc,
                    "ended_at_utc": ended,
                    "sheetlore_version": __version__,
                    "built_under": context.fingerprints.built,
                },
            )
            tables.create_table(connection, "main.night", NightRow)
            connection.execute("INSERT INTO main.night BY NAME SELECT * FROM ledger.night")
        snapshot = publishing.write_snapshot(connection, laboratory.published, context.name)
        # Closing would do this too, but pass over a full disk in silence.
        connection.execute("CHECKPOINT")
    documents.write(laboratory.published, statements.formulas())
    publishing.point_to(laboratory.published, snapshot, ended)
    _update_latest_links(laboratory, snapshot)
    publishing.remove_old(laboratory.published, snapshot, settings.publishing.snapshots_kept)
    context.database.replace(laboratory.warehouse)
    log.info("Published: %s", snapshot.name)
    return snapshot


def _update_latest_links(laboratory: Laboratory, snapshot: Path) -> None:
    for remark in parquet_export.update_latest_links(laboratory.published, snapshot):
        log.warning("%s; the next run tries again", remark)


def render(context: RunContext) -> None:
    """Bring the web page up to date, unless the settings turn it off."""
    if context.settings.publishing.page:
        write_page(context.laboratory, rebuild=False)


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
            with reading(snapshot) as connection:
                registry = property_table.stored_registry(connection)
            with in_force(registry):
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


def report(context: RunContext, collected: Collected) -> Report:
    """Return the report of the run; where nothing changed, of the snapshot that is already published."""
    laboratory = context.laboratory
    snapshot = pointer.latest_snapshot(laboratory.published)
    if not collected.changed:
        clear(context)
        publishing.point_to(laboratory.published, snapshot, context.began_at_utc)
        _update_latest_links(laboratory, snapshot)
    row, overdrawn = publishing.summary(snapshot)
    if not collected.changed:
        row |= dict.fromkeys(OF_THIS_RUN, 0)
    return Report(row, collected.changed, collected.waiting, snapshot, overdrawn, context.settings)


Step = Callable[[RunContext], Any]


def _call(step: Step) -> Step:
    return step


def _with_registry(step: Step) -> Step:
    """Return a step that works with the properties that the run began with, in whatever thread it runs."""

    @wraps(step)
    def with_registry(context: RunContext) -> Any:
        with in_force(context.registry):
            return step(context)

    return with_registry


def run(laboratory: Laboratory, as_task: Callable[[Step], Step] = _call) -> Report:
    """Run all steps in order; ``as_task`` turns a step into the function to call in its place.

    Raises AnotherRunActiveError when another run is active, SheetloreError when the run fails; warehouse and snapshots
    are then unchanged.
    """
    with exclusive_run(laboratory):
        context = begin(laboratory)
        try:
            collected = as_task(_with_registry(collect))(context)
            if collected.changed:
                for step in (ingest, resolve_duplicates, reduce_curves, build_models, run_checks, publish):
                    as_task(_with_registry(step))(context)
            ended = report(context, collected)
            as_task(render)(context)
            return ended
        finally:
            clear(context)
