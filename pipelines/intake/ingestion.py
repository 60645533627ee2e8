"""Import files: match a profile, classify lines, parse types, derive and validate. Bytes in, records out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
import pandas as pd

from pipelines.intake.accounting import LineAccount
from pipelines.intake.derivation import derive_missing
from pipelines.intake.further_readings import complete_readings
from pipelines.intake.line_classification import ClassifiedLines, classify_lines
from pipelines.intake.profile_matching import ArchivedFile, match_profile
from pipelines.intake.profiles import Profile
from pipelines.intake.reading import TextTable, read_tables
from pipelines.intake.rejection import FileRejected, Rejection
from pipelines.intake.type_parsing import parse_types
from pipelines.intake.validation import ValidationResult, validate

READER_VERSION = "9"
"""Raise it when the same bytes under the same profile give another result: all files are then read again."""


@dataclass
class Outcome:
    """The result of importing one file: its profile and why it matched, its line account and its rejections."""

    file_hash: str
    file_name: str
    account: LineAccount
    profile: Profile | None = None
    encoding: str | None = None
    recognised_by: str = ""
    rejections: list[Rejection] = field(default_factory=list)
    remark: str = ""
    exported_at_utc: datetime | None = None

    @property
    def held_whole(self) -> bool:
        """Whether the file as a whole is on hold."""
        return any(rejection.line_number is None for rejection in self.rejections)


@dataclass
class IngestionResult:
    """The outcome of every file, and the records as pairs of kind and frame, one per batch."""

    outcomes: list[Outcome] = field(default_factory=list)
    records: list[tuple[str, pd.DataFrame]] = field(default_factory=list)


def ingest(
    files: Iterable[ArchivedFile], profiles: Sequence[Profile], laboratory_zone: str
) -> IngestionResult:
    """Turn files into records of their kinds, and account for every line in the outcomes.

    Raises AssertionError when the account of a file does not add up.
    """
    result = IngestionResult()
    classified_files: list[ClassifiedLines] = []
    by_hash: dict[str, Outcome] = {}
    for file in files:
        outcome = Outcome(file.file_hash, file.name, LineAccount())
        result.outcomes.append(outcome)
        by_hash[file.file_hash] = outcome
        try:
            match = match_profile(file, profiles)
            outcome.profile, outcome.recognised_by = match.profile, match.explanation
            outcome.encoding = match.encoding
            classified = classify_lines(match)
        except FileRejected as rejected:
            outcome.account = LineAccount.all_held(file.line_count())
            outcome.rejections = [rejected.rejection]
            continue
        outcome.account, outcome.rejections = classified.account, classified.rejections
        remarks = list(classified.remarks)
        if not match.lines.ends_with_line_end:
            remarks.append("The last line has no line end. If lines are missing, export the file again.")
        outcome.remark = " ".join(remarks)
        classified_files.append(classified)
    for table in read_tables(classified_files):
        result.records.append((table.profile.text.record, _records_of(table, laboratory_zone, by_hash)))
    for outcome in result.outcomes:
        outcome.account.check(outcome.file_name)
    return result


def _records_of(table: TextTable, laboratory_zone: str, by_hash: dict[str, Outcome]) -> pd.DataFrame:
    """Return the valid records of a table, and add its rejections to the outcomes of its files."""
    typed = parse_types(table, laboratory_zone)
    typed.frame = derive_missing(table.profile.text.record, typed.frame)
    if table.profile.text.record in ("further", "stock"):
        complete_readings(table.profile, typed)
    validated = validate(table, typed)
    if typed.exported_at_utc is not None:
        for number, file in enumerate(table.files):
            latest = typed.exported_at_utc[table.file_number == number].max()
            if not pd.isna(latest):
                by_hash[file.match.file.file_hash].exported_at_utc = latest.to_pydatetime()
    for number, rejections in validated.rejections.items():
        outcome = by_hash[table.files[number].match.file.file_hash]
        if number in validated.rejected_files:
            outcome.account = LineAccount.all_held(outcome.account.lines)
            outcome.rejections = rejections
            continue
        outcome.rejections = outcome.rejections + rejections
    return _with_line_counts(table, validated, by_hash)


def _with_line_counts(
    table: TextTable, validated: ValidationResult, by_hash: dict[str, Outcome]
) -> pd.DataFrame:
    """Return the records with ``n_lines``, and complete the accounts of the table's files.

    A line of several records is accounted to the first of them, and to none when it has a rejection.
    """
    files, lines = table.file_number[validated.rows], table.line_number[validated.rows]
    n_lines = ~pd.DataFrame({"file": files, "line": lines}).duplicated().to_numpy()
    for number, rejections in validated.rejections.items():
        rejected = [rejection.line_number or 0 for rejection in rejections]
        n_lines &= ~((files == number) & np.isin(lines, rejected))
    for file, stored in zip(
        table.files, np.bincount(files[n_lines], minlength=len(table.files)), strict=True
    ):
        account = by_hash[file.match.file.file_hash].account
        account.held += account.stored - int(stored)
        account.stored = int(stored)
    return validated.records.assign(n_lines=n_lines.astype(np.int64))
