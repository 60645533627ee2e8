"""In inbox: which files stand in the inbox now."""

import pandera.pandas as pa

from schemas import columns


class InInbox(pa.DataFrameModel):
    """One row per file whose bytes stand in the inbox, under whatever name, as the last run found it."""

    file_hash: str = columns.file_hash
