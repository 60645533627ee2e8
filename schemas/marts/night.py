"""Night: the runs."""

import pandera.pandas as pa

from schemas.columns import Integer, Timestamp, column


class Night(pa.DataFrameModel):
    """One row per run that changed something."""

    night: str = column("Name of the run: when it began, in UTC.")
    began_at_utc: Timestamp = column("When the run began.", unit="UTC")
    ended_at_utc: Timestamp = column("When its numbers were ready.", unit="UTC")
    sheetlore_version: str = column("Version of Sheetlore.")
    built_under: str = column(
        "Fingerprint of the version, the statements, the settings and the profiles; when it changes, the "
        "warehouse is built anew."
    )
    files_read: Integer = column("Files read in this run.", unit="1", ge=0)
    files_held: Integer = column("Files in the inbox that are held whole, after this run.", unit="1", ge=0)
    rows_read: Integer = column("Rows stored as records from the files read in this run.", unit="1", ge=0)
    rows_loaded: Integer = column("Records that count, after this run.", unit="1", ge=0)
    rows_held: Integer = column("Held lines of files in the inbox, after this run.", unit="1", ge=0)
    rows_repeated: Integer = column("Rows that repeat a record, after this run.", unit="1", ge=0)
    rows_superseded: Integer = column("Rows superseded by a later export, after this run.", unit="1", ge=0)
    tests_unmatched: Integer = column(
        "Records of files in the inbox whose sheet no forming log names.", unit="1", ge=0
    )
    tests_off_standard: Integer = column(
        "Tests that were proven to be made outside the standard atmosphere, after this run.",
        unit="1",
        nullable=True,
        ge=0,
    )
    tests_unverified: Integer = column(
        "Tests of which the logs do not prove the atmosphere, after this run.", unit="1", nullable=True, ge=0
    )
    tests_not_admitted: Integer = column(
        "Tests that are left out of means for their atmosphere, after this run.",
        unit="1",
        nullable=True,
        ge=0,
    )
    curves_reduced: Integer = column(
        "Raw tensile curves that have a result, after this run.", unit="1", nullable=True, ge=0
    )
    sheets: Integer = column("Sheets, after this run.", unit="1", ge=0)
    test_pieces: Integer = column("Tensile pieces of known sheets, after this run.", unit="1", ge=0)
