"""Export file: every file taken in, with the account of its lines."""

import pandera.pandas as pa

from schemas.columns import Flag, Integer, Timestamp, column


class ExportFile(pa.DataFrameModel):
    """One row per file taken in, by its content; its lines are the sum of all its accounts."""

    file_hash: str = column("SHA-256 of the file's bytes; the archive keeps the file under it.")
    file_name: str = column("Name of the file in the inbox when it was first seen.")
    record: str = column("Kind of record that its profile makes.", nullable=True)
    profile: str = column("Export profile that it matched.", nullable=True)
    encoding: str = column("Encoding the file was read in.", nullable=True)
    recognised_by: str = column("How the profile was recognised.", nullable=True)
    size_bytes: Integer = column("Size of the file in bytes.", unit="1", ge=0)
    changed_at_utc: Timestamp = column("When the file was last written, as its storage says.", unit="UTC")
    received_night: str = column("Run in which the file was first seen.")
    read_night: str = column("Run in which the file was last read.")
    held_whole: Flag = column("Whether the whole file is held.")
    remark: str = column("What else was noticed.", nullable=True)
    lines: Integer = column("Lines of the file.", unit="1", ge=0)
    preamble_lines: Integer = column("Lines above the header.", unit="1", ge=0)
    header_lines: Integer = column("Header lines.", unit="1", ge=0)
    units_row_lines: Integer = column("Lines that name units.", unit="1", ge=0)
    blank_lines: Integer = column("Blank lines.", unit="1", ge=0)
    footer_lines: Integer = column("Summary lines, counted and not loaded.", unit="1", ge=0)
    continuation_lines: Integer = column("Lines that continue a quoted cell.", unit="1", ge=0)
    loaded_rows: Integer = column("Rows that count.", unit="1", ge=0)
    held_lines: Integer = column(
        "Lines that are held; all lines of a file that is held whole.", unit="1", ge=0
    )
    repeated_rows: Integer = column("Rows whose key and values stand in another row.", unit="1", ge=0)
    superseded_rows: Integer = column("Rows superseded by a later export.", unit="1", ge=0)

    class Config:
        name = "export_file"
        strict = True
