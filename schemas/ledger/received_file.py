"""Received file: what the intake recorded of each file."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Flag, Integer, Timestamp, column
from schemas.ledger import shared


class ReceivedFile(pa.DataFrameModel):
    """One row per file received, by its content."""

    file_hash: str = columns.file_hash
    file_name: str = shared.file_name
    size_bytes: Integer = shared.size_bytes
    changed_at_utc: Timestamp = column(
        "Modification time of the file, in UTC; of two exports of one measurement the later counts.",
        unit="UTC",
    )
    exported_at_utc: Timestamp = shared.exported_at_utc
    received_night: str = shared.received_night
    read_night: str = column("Run that last read the file.", nullable=True)
    record: str = shared.record
    profile: str = shared.profile
    read_under: str = column(
        "Fingerprint of the profile, the settings and the code that read the file; when it changes, the next "
        "run reads the file again.",
        nullable=True,
    )
    encoding: str = shared.encoding
    recognised_by: str = shared.recognised_by
    held_whole: Flag = shared.held_whole
    remark: str = shared.remark
    lines: Integer = shared.lines
    preamble_lines: Integer = shared.preamble_lines
    header_lines: Integer = shared.header_lines
    units_row_lines: Integer = shared.units_row_lines
    blank_lines: Integer = shared.blank_lines
    footer_lines: Integer = shared.footer_lines
    continuation_lines: Integer = shared.continuation_lines
    held_at_reading: Integer = column("Lines put on hold when the file was read.", unit="1", ge=0)
    stored: Integer = column("Rows stored as records.", unit="1", ge=0)
