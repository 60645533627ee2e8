"""Night: what each run did, and what the warehouse held after it."""

import pandera.pandas as pa

from schemas.columns import Integer, Timestamp, column


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
    files_read: Integer = column("Files read in this run.", unit="1", ge=0)
    files_new: Integer = column(
        "Files that this run found for the first time.", unit="1", nullable=True, ge=0
    )
    files_imported: Integer = column("Files that this run read and imported.", unit="1", nullable=True, ge=0)
    files_put_on_hold: Integer = column(
        "Files that this run read and put on hold as a whole.", unit="1", nullable=True, ge=0
    )
    rows_imported: Integer = column(
        "Records that count from the files read in this run, raw curves apart.", unit="1", nullable=True, ge=0
    )
    curves_imported: Integer = column(
        "Raw tensile curves that count from the files read in this run.", unit="1", nullable=True, ge=0
    )
    lines_held: Integer = column(
        "Lines on hold of the files read in this run; files on hold as a whole apart.",
        unit="1",
        nullable=True,
        ge=0,
    )
    lines_repeated: Integer = column(
        "Lines of the files read in this run that repeat a record.", unit="1", nullable=True, ge=0
    )
    lines_superseded: Integer = column(
        "Lines of the files read in this run that a later export supersedes.", unit="1", nullable=True, ge=0
    )
    rows_read: Integer = column(
        "Lines stored from the files read in this run; each point of a raw curve is a line.", unit="1", ge=0
    )
    files_held: Integer = column("Files in the inbox on hold as a whole, after this run.", unit="1", ge=0)
    rows_loaded: Integer = column(
        "Lines whose records count, after this run; each point of a raw curve is a line.", unit="1", ge=0
    )
    rows_held: Integer = column("Lines on hold of files in the inbox, after this run.", unit="1", ge=0)
    rows_repeated: Integer = column("Lines that repeat a record, after this run.", unit="1", ge=0)
    rows_superseded: Integer = column("Lines superseded by a later export, after this run.", unit="1", ge=0)
    tests_unmatched: Integer = column(
        "Results and treatments from files in the inbox whose sheet number is in no forming log, after this run.",
        unit="1",
        ge=0,
    )
    tests_off_standard: Integer = column(
        "Tests made outside the chosen atmosphere, after this run.",
        unit="1",
        nullable=True,
        ge=0,
    )
    tests_unverified: Integer = column(
        "Tests whose atmosphere the logs do not verify, after this run.", unit="1", nullable=True, ge=0
    )
    tests_not_admitted: Integer = column(
        "Tests left out of the means because of their atmosphere, after this run.",
        unit="1",
        nullable=True,
        ge=0,
    )
    curves_reduced: Integer = column(
        "Raw tensile curves with results, after this run.", unit="1", nullable=True, ge=0
    )
    sheets: Integer = column("Sheets, after this run.", unit="1", ge=0)
    test_pieces: Integer = column("Tensile pieces of known sheets, after this run.", unit="1", ge=0)
