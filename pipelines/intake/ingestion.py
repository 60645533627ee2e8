"""Taking files in: recognise, lay out, read, parse_types, validate. Bytes go in; records and reasons come out."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import pandas as pd

from pipelines.intake.accounting import LineAccount
from pipelines.intake.derivation import derive_missing
from pipelines.intake.line_classification import ClassifiedLines, classify_lines
from pipelines.intake.profile_matching import ArchivedFile, recognise
from pipelines.intake.profiles import Profile
from pipelines.intake.reading import TextTable, text_tables
from pipelines.intake.rejection import FileRejected, Reason
from pipelines.intake.type_parsing import parse_types
from pipelines.intake.validation import validate

READER_VERSION = "1"
"""To be raised when the same bytes under the same profile come out otherwise than before: all are read again."""


@dataclass
class Outcome:
    """What became of one file: the profile it matched and why, its lines' account, and what is held and why."""

    file_hash: str
    file_name: str
    account: LineAccount
    profile: Profile | None = None
    encoding: str | None = None
    recognised_by: str = ""
    reasons: list[Reason] = field(default_factory=list)
    remark: str = ""

    @property
    def held_whole(self) -> bool:
        """Whether nothing of the file was taken in because of the file as a whole."""
        return any(reason.line_number is None for reason in self.reasons)


@dataclass
class Ingested:
    """The outcome for every file, and the records of each kind, a frame per batch."""

    outcomes: list[Outcome] = field(default_factory=list)
    records: list[tuple[str, pd.DataFrame]] = field(default_factory=list)


def ingest(files: Iterable[ArchivedFile], profiles: list[Profile], laboratory_zone: str) -> Ingested:
    """Turn files into records of their kinds; every line of every file is accounted for in the outcomes.

    Raises AssertionError when the account of a file does not add up.
    """
    taken = Ingested()
    laid_out: list[ClassifiedLines] = []
    by_hash: dict[str, Outcome] = {}
    for file in files:
        outcome = Outcome(file.file_hash, file.name, LineAccount())
        taken.outcomes.append(outcome)
        by_hash[file.file_hash] = outcome
        try:
            recognised = recognise(file, profiles)
            outcome.profile, outcome.recognised_by = recognised.profile, recognised.why
            outcome.encoding = recognised.encoding
            laid = classify_lines(recognised)
        except FileRejected as held:
            outcome.account = LineAccount.all_held(file.line_count())
            outcome.reasons = [held.reason]
            continue
        outcome.account, outcome.reasons = laid.account, laid.reasons
        if not laid.recognised.lines.ends_with_line_end:
            outcome.remark = "The last line has no line end: if rows are missing, export again."
        laid_out.append(laid)
    for table in text_tables(laid_out):
        taken.records.append((table.profile.text.record, _read(table, laboratory_zone, by_hash)))
    for outcome in taken.outcomes:
        outcome.account.check(outcome.file_name)
    return taken


def _read(table: TextTable, laboratory_zone: str, by_hash: dict[str, Outcome]) -> pd.DataFrame:
    interpreted = parse_types(table, laboratory_zone)
    interpreted.frame = derive_missing(table.profile.text.record, interpreted.frame)
    validated = validate(table, interpreted)
    for number, reasons in validated.reasons.items():
        outcome = by_hash[table.files[number].recognised.file.file_hash]
        if number in validated.held_whole:
            outcome.account = LineAccount.all_held(outcome.account.lines)
            outcome.reasons = reasons
            continue
        lines = {reason.line_number for reason in reasons}
        outcome.account.held += len(lines)
        outcome.account.stored -= len(lines)
        outcome.reasons = outcome.reasons + reasons
    return validated.records
