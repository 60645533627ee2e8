"""Export file: every received file, with the account of its lines."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Flag, Integer, Timestamp, column
from schemas.ledger import shared


class ExportFile(pa.DataFrameModel):
    """One row per file received, by its content; its lines are the sum of its line accounts."""

    file_hash: str = columns.file_hash
    file_name: str = shared.file_name
    record: str = shared.record
    profile: str = shared.profile
    encoding: str = shared.encoding
    recognised_by: str = shared.recognised_by
    size_bytes: Integer = shared.size_bytes
    changed_at_utc: Timestamp = column("Modification time of the file, in UTC.", unit="UTC")
    exported_at_utc: Timestamp = shared.exported_at_utc
    received_night: str = shared.received_night
    read_night: str = column("Run that last read the file.")
    held_whole: Flag = shared.held_whole
    in_inbox: Flag = shared.in_inbox
    remark: str = shared.remark
    lines: Integer = shared.lines
    preamble_lines: Integer = shared.preamble_lines
    header_lines: Integer = shared.header_lines
    units_row_lines: Integer = shared.units_row_lines
    blank_lines: Integer = shared.blank_lines
    footer_lines: Integer = shared.footer_lines
    continuation_lines: Integer = shared.continuation_lines
    loaded_rows: Integer = column("Lines whose records count.", unit="1", ge=0)
    held_lines: Integer = column(
        "Lines on hold; all lines of a file that is on hold as a whole.", unit="1", ge=0
    )
    repeated_rows: Integer = column(
        "Lines that repeat a record with the same key and values.", unit="1", ge=0
    )
    superseded_rows: Integer = column("Lines superseded by a later export.", unit="1", ge=0)

    class Config:
        name = "export_file"
        strict = True
