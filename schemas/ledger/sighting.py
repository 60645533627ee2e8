"""Sighting: which inbox files are known already, so that they need not be read to be hashed again."""

import pandera.pandas as pa

from schemas.columns import Integer, column


class Sighting(pa.DataFrameModel):
    """One row per file name seen in the inbox, with the size and time under which its content is known."""

    file_name: str = column("Name of the file below the inbox.")
    size_bytes: Integer = column("Size of the file in bytes.", unit="1", ge=0)
    changed_ns: Integer = column("When the file was last written, in nanoseconds since 1970.", unit="1")
    file_hash: str = column("SHA-256 of the file's bytes.")
