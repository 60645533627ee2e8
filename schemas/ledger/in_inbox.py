"""In inbox: which files are in the inbox now."""

import pandera.pandas as pa

from schemas import columns


class InInbox(pa.DataFrameModel):
    """One row per file whose content was in the inbox in the last run, under any name."""

    file_hash: str = columns.file_hash
