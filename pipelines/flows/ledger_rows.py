"""Rows of the ledger from what the intake found. No input or output."""

from dataclasses import dataclass

from pipelines.flows.context import RunContext
from pipelines.intake.accounting import LineAccount
from pipelines.intake.inbox import InboxFile
from pipelines.intake.ingestion import Outcome
from pipelines.intake.rejection import Rejection

Row = dict[str, object]


@dataclass(frozen=True)
class Arrival:
    """A file of the inbox that this run archived: where it was found and the hash of its content."""

    file: InboxFile
    file_hash: str


def received_rows(arrivals: list[Arrival], known: set[str], run: str) -> list[Row]:
    """Return the rows of the files that no run received before, each content once under its first name."""
    new: dict[str, Arrival] = {}
    for arrival in arrivals:
        if arrival.file_hash not in known:
            new.setdefault(arrival.file_hash, arrival)
    return [
        {
            "file_hash": file_hash,
            "file_name": arrival.file.name,
            "size_bytes": arrival.file.size,
            "changed_at_utc": arrival.file.changed_at_utc,
            "received_night": run,
            "held_whole": False,
            **_counts(LineAccount()),
        }
        for file_hash, arrival in new.items()
    ]


def sighting_rows(arrivals: list[Arrival]) -> list[Row]:
    """Return the names, sizes and times under which files were found, so that unchanged files are not read again."""
    return [
        {
            "file_name": arrival.file.name,
            "size_bytes": arrival.file.size,
            "changed_ns": arrival.file.changed_ns,
            "file_hash": arrival.file_hash,
        }
        for arrival in arrivals
    ]


def read_row(received: Row, outcome: Outcome, context: RunContext) -> Row:
    """Return the row of a received file after this run read it."""
    profile = outcome.profile.name if outcome.profile else None
    return received | {
        "read_night": context.name,
        "record": outcome.profile.text.record if outcome.profile else None,
        "profile": profile,
        "read_under": context.fingerprints.read_under(profile),
        "encoding": outcome.encoding,
        "recognised_by": outcome.recognised_by or None,
        "held_whole": outcome.held_whole,
        "remark": outcome.remark or None,
        "exported_at_utc": outcome.exported_at_utc,
        **_counts(outcome.account),
    }


def _counts(account: LineAccount) -> Row:
    return {
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


def reason_row(file_hash: str, rejection: Rejection) -> Row:
    """Return the row of a reason why a line or a whole file is on hold."""
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
