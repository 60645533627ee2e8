"""Night: what each run did, and what the warehouse held after it."""

from typing import Any

import pandera.pandas as pa

from schemas.columns import Integer, Timestamp, column


def _count(description: str, **field: Any) -> Any:
    """Return the declaration of a count."""
    return column(description, unit="1", ge=0, **field)


def _count_since(description: str) -> Any:
    """Return the declaration of a count that runs of earlier versions do not have."""
    return _count(description, nullable=True)


class Night(pa.DataFrameModel):
    """One row per run that changed something."""

    night: str = column("Name of the run: when it began, in UTC.")
    began_at_utc: Timestamp = column("When the run began.", unit="UTC")
    ended_at_utc: Timestamp = column("When its tables were complete.", unit="UTC")
    sheetlore_version: str = column("Version of Sheetlore.")
    built_under: str = column(
        "Fingerprint of the version, the SQL, the settings and the profiles; when it changes, the next run rebuilds "
        "every table."
    )
    run_no: Integer = column(
        "Number of the run, counted from 1: the order of the runs, whatever the clock said.",
        unit="1",
        nullable=True,
        ge=1,
    )
    files_read: Integer = _count("Files read in this run.")
    files_new: Integer = _count_since("Files that this run found for the first time.")
    files_imported: Integer = _count_since("Files that this run read and imported.")
    files_put_on_hold: Integer = _count_since("Files that this run read and put on hold as a whole.")
    rows_imported: Integer = _count_since("Records used of the files read in this run, without raw curves.")
    curves_imported: Integer = _count_since("Raw tensile curves used of the files read in this run.")
    lines_held: Integer = _count_since(
        "Lines on hold of the files read in this run, without files on hold as a whole."
    )
    lines_repeated: Integer = _count_since("Lines of the files read in this run that repeat a record.")
    lines_superseded: Integer = _count_since(
        "Lines of the files read in this run that a later export supersedes."
    )
    rows_read: Integer = _count(
        "Lines stored from the files read in this run; each point of a raw curve is a line."
    )
    files_held: Integer = _count("Files in the inbox on hold as a whole, after this run.")
    rows_loaded: Integer = _count(
        "Lines whose records are used, after this run; each point of a raw curve is a line."
    )
    rows_held: Integer = _count("Lines on hold of files in the inbox, after this run.")
    rows_repeated: Integer = _count("Lines that repeat a record, after this run.")
    rows_superseded: Integer = _count("Lines superseded by a later export, after this run.")
    tests_unmatched: Integer = _count(
        "Results and treatments from files in the inbox whose sheet number is in no forming log, after this "
        "run."
    )
    tests_off_standard: Integer = _count_since("Tests made outside the chosen atmosphere, after this run.")
    tests_unverified: Integer = _count_since("Tests whose atmosphere the logs do not verify, after this run.")
    tests_not_admitted: Integer = _count_since(
        "Tests left out of the means because of their atmosphere, after this run."
    )
    curves_reduced: Integer = _count_since("Raw tensile curves with results, after this run.")
    sheets: Integer = _count("Sheets, after this run.")
    test_pieces: Integer = _count("Tensile pieces of known sheets, after this run.")
