"""Sighting: the inbox files whose hash is known, so that unchanged files are not read again."""

import pandera.pandas as pa

from schemas.columns import Integer, column


class Sighting(pa.DataFrameModel):
    """One row per file name in the inbox, with the size and modification time for which its hash is known."""

    file_name: str = column("Name of the file below the inbox.")
    size_bytes: Integer = column("Size of the file in bytes.", unit="1", ge=0)
    changed_ns: Integer = column("Modification time of the file, in nanoseconds since 1970.", unit="1")
    file_hash: str = column("SHA-256 of the file's bytes.")
