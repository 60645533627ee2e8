"""The steps of a run as plain functions, and their order: each opens the warehouse, does its part and closes it.

A run works on a copy of the warehouse, which replaces the warehouse only when everything is done. So a run that fails,
is killed or runs out of disk changes neither warehouse nor snapshots. A step passes its results on in the copy, so the
steps can also run as tasks of a flow.
"""

import logging
import shutil
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import wraps
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from pipelines import __version__
from pipelines.dictionary import documents
from pipelines.errors import AnotherRunActiveError, SheetloreError
from pipelines.flows.context import RunContext, read_context
from pipelines.flows.ledger_rows import Arrival, read_row, reason_row, received_rows, sighting_rows
from pipelines.flows.report import OF_THIS_RUN, Report
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
from pipelines.intake.profile_matching import ArchivedFile
from pipelines.intake.rejection import Rejection
from pipelines.settings import Laboratory
from pipelines.warehouse import (
    building,
    curve_reduction,
    duplicate_resolution,
    ledger,
    loading,
    parquet_export,
    pointer,
    property_table,
    publishing,
    statements,
)
from pipelines.warehouse.connection import reading, transaction, working
from pipelines.warehouse.duplicate_resolution import Contradiction
from schemas.marts import marts
from schemas.properties import in_force

log = logging.getLogger("sheetlore")

_BYTES_AT_ONCE = 256_000_000

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
                with working(context.database):  # these steps share one opening of the database
                    for step in (ingest, resolve_duplicates, reduce_curves, build_models, run_checks):
                        as_task(_with_registry(step))(context)
                as_task(_with_registry(publish))(context)
            ended = report(context, collected)
            as_task(render)(context)
            return ended
        finally:
            clear(context)


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
    """Read settings and profiles, remove what a killed run left, and copy the warehouse to work on.

    Raises SheetloreError when the inbox is missing: its files are not taken for removed.
    """
    context = read_context(laboratory)
    if not laboratory.inbox.is_dir():
        raise SheetloreError(
            f"The inbox {laboratory.inbox} is missing; nothing was done.",
            "If it is on another computer or drive, connect it and start the run again. If it was removed, create the "
            "folder again.",
        )
    for folder in (laboratory.archive, laboratory.published):
        folder.mkdir(parents=True, exist_ok=True)
    clear(context)
    try:
        if laboratory.warehouse.exists():
            shutil.copyfile(laboratory.warehouse, context.database)
        with working(context.database) as connection, transaction(connection):
            ledger.ensure_tables(connection)
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


@dataclass(frozen=True)
class Collected:
    """Whether the run has anything to do, and the files that wait in the inbox."""

    changed: bool
    waiting: list[Waiting]


def collect(context: RunContext) -> Collected:
    """Archive what is new in the inbox, and find the archived files to read (again)."""
    with working(context.database) as connection, transaction(connection):
        in_inbox, arrivals, waiting = _look_into_inbox(context, ledger.sightings(connection))
        new = received_rows(arrivals, ledger.received_files(connection), context.name)
        ledger.add_received(connection, new, sighting_rows(arrivals))
        inbox_differs = ledger.set_in_inbox(connection, in_inbox)
        dated = [(arrival.file_hash, arrival.file.changed_at_utc) for arrival in arrivals]
        files_older = ledger.set_earliest_mtime(connection, dated)
        again = context.fingerprints.to_read_again(ledger.read_files(connection))
        ledger.mark_unread(connection, again)
        changed = (
            bool(new or again or files_older or inbox_differs)
            or ledger.last_built_under(connection) != context.fingerprints.built
            or not publishing.has_snapshot(context.laboratory.published)
        )
    log.info("Collected: %d new files, %d to read again", len(new), len(again))
    for file in waiting:
        log.warning("Waiting in the inbox: %s %s", file.name, file.why)
    return Collected(changed, waiting)


def _look_into_inbox(
    context: RunContext, seen: dict[tuple[str, int, int], str]
) -> tuple[set[str], list[Arrival], list[Waiting]]:
    """Archive the files of the inbox that were not ``seen`` before with their name, size and time of change.

    Returns the content hashes of all files in the inbox, the files archived now, and those that wait.
    """
    laboratory, intake = context.laboratory, context.settings.intake
    in_inbox: set[str] = set()
    arrivals: list[Arrival] = []
    waiting: list[Waiting] = []
    for file in list_inbox(laboratory.inbox):
        if isinstance(file, Waiting):
            waiting.append(file)
        elif file_hash := seen.get((file.name, file.size, file.changed_ns)):
            in_inbox.add(file_hash)
        elif isinstance(
            data := read_when_complete(file, intake.quiet_seconds, intake.largest_file_mb), Waiting
        ):
            waiting.append(data)
        else:
            arrival = Arrival(file, content_hash(data))
            archive_bytes(laboratory.archive, arrival.file_hash, data)
            in_inbox.add(arrival.file_hash)
            arrivals.append(arrival)
    return in_inbox, arrivals, waiting


def ingest(context: RunContext) -> int:
    """Read every file that is not read yet; returns the number of rows stored."""
    stored = 0
    with working(context.database) as connection, transaction(connection):
        pending = ledger.unread_files(connection)
        hashes = [row["file_hash"] for row in pending]
        ledger.delete_reasons(connection, hashes)
        loading.delete_rows_of_files(connection, hashes)
        for batch in _batches(pending):
            files = [
                ArchivedFile(
                    row["file_hash"],
                    row["file_name"],
                    archived_path(context.laboratory.archive, row["file_hash"]).read_bytes(),
                )
                for row in batch
            ]
            result = ingestion.ingest(files, context.profiles, context.settings.laboratory.time_zone)
            for kind, records in result.records:
                loading.store(connection, kind, records)
            ledger.set_read(
                connection,
                [
                    read_row(row, outcome, context)
                    for row, outcome in zip(batch, result.outcomes, strict=True)
                ],
                (
                    reason_row(outcome.file_hash, rejection)
                    for outcome in result.outcomes
                    for rejection in outcome.rejections
                ),
            )
            stored += sum(outcome.account.stored for outcome in result.outcomes)
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


def resolve_duplicates(context: RunContext) -> None:
    """Set which rows are used, and put on hold the records that contradict other records."""
    settings = context.settings
    with working(context.database) as connection, transaction(connection):
        duplicate_resolution.set_setting(connection, settings.for_snapshot(), settings.accuracies())
        duplicate_resolution.resolve_duplicates(connection)
        encodings = ledger.encodings(connection)
        ledger.delete_contradictions(connection)
        held = 0
        for find in duplicate_resolution.CONTRADICTIONS:
            found = find(connection)
            held += len(found)
            ledger.add_contradictions(
                connection,
                (
                    reason_row(file_hash, rejection)
                    for file_hash, records in _by_file(found).items()
                    for rejection in _contradictions(context, file_hash, records, encodings[file_hash])
                ),
            )
            duplicate_resolution.hold(connection, found)
    log.info("Resolved: duplicates and corrections; on hold as they contradict others: %d records", held)


def _by_file(found: Iterable[Contradiction]) -> dict[str, list[Contradiction]]:
    by_file = defaultdict(list)
    for record in found:
        by_file[record.file_hash].append(record)
    return by_file


def _contradictions(
    context: RunContext, file_hash: str, records: list[Contradiction], encoding: str | None
) -> Iterator[Rejection]:
    """Yield the rejections of a file's contradicting records, with the original text of their lines."""
    numbers = {record.line_number for record in records}
    lines = archived_lines(context.laboratory.archive, file_hash, numbers, encoding)
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
    laboratory = context.laboratory
    ended = datetime.now(UTC).replace(tzinfo=None)
    with working(context.database) as connection:
        with transaction(connection):
            ledger.add_run(
                connection,
                {
                    "night": context.name,
                    "began_at_utc": context.began_at_utc,
                    "ended_at_utc": ended,
                    "sheetlore_version": __version__,
                    "built_under": context.fingerprints.built,
                },
            )
        runs = ledger.runs(connection)
        snapshot = publishing.write_snapshot(connection, laboratory.published, context.name)
        # Closing would do this too, but pass over a full disk in silence.
        connection.execute("CHECKPOINT")
    documents.write(laboratory.published, statements.formulas())
    publishing.point_to(laboratory.published, snapshot, ended)
    _update_latest_links(laboratory, snapshot)
    publishing.remove_old(laboratory.published, snapshot, context.settings.publishing.snapshots_kept, runs)
    context.database.replace(laboratory.warehouse)
    log.info("Published: %s", snapshot.name)
    return snapshot


def _update_latest_links(laboratory: Laboratory, snapshot: Path) -> None:
    for remark in parquet_export.update_latest_links(laboratory.published, snapshot):
        log.warning("%s; the next run tries again", remark)


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
