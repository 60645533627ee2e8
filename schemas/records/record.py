"""The columns of every record besides its own, and functions that read the models of the kinds."""

from typing import Any, cast

import pandera.pandas as pa

from schemas import columns

PROVENANCE = ("file_hash", "line_number")
"""The columns that say where a row comes from."""


class Record(pa.DataFrameModel):
    """A record in validation: its own columns and where it comes from.

    A kind's model says in ``Config.metadata``: ``key``, the columns that identify the measurement; and ``time``, the
    column with its time, or None.
    """

    file_hash: str = columns.file_hash
    line_number: columns.Integer = columns.line_number

    class Config:
        strict = True


class ResolvedRecord(pa.DataFrameModel):
    """The columns that the warehouse adds to a record: what it is a measurement of, and whether it counts."""

    record_key: str = columns.record_key
    record_digest: str = columns.column("Digest of the row's values; equal for equal values.")
    n_lines: columns.Integer = columns.column(
        "Lines of the file accounted to this record: 1, or 0 where the line is accounted to another record or on hold; "
        "for a curve the number of such lines.",
        unit="1",
        nullable=True,
        ge=0,
    )
    record_status: str = columns.column(
        "loaded: counts; repeated: another row has the same key and values; superseded: another row has newer"
        " values for the key; held: contradicts another record of its sheet.",
        isin=("loaded", "repeated", "superseded", "held"),
    )
    superseded_by: str = columns.column(
        "File hash and line of the row that supersedes this one.", nullable=True
    )


def _metadata(model: type[pa.DataFrameModel]) -> dict[str, Any]:
    return cast(dict[str, Any], model.__config__.metadata)  # type: ignore[union-attr]


def key_of(model: type[pa.DataFrameModel]) -> tuple[str, ...]:
    """Return the columns that say what a row of this kind is a measurement of."""
    return tuple(_metadata(model)["key"])


def values_of(model: type[pa.DataFrameModel]) -> tuple[str, ...]:
    """Return a kind's columns that say something about the world, not about where the row stood."""
    return tuple(name for name in model.to_schema().columns if name not in PROVENANCE)


def time_of(model: type[pa.DataFrameModel]) -> str | None:
    """Return the column that says when a row of this kind came about, or None."""
    return cast("str | None", _metadata(model)["time"])


def atmosphere_condition_of(model: type[pa.DataFrameModel]) -> str:
    """Return the SQL condition under which a record's result depends on the air it was made in."""
    return cast(str, _metadata(model).get("atmosphere", "FALSE"))


def grain_of(model: type[pa.DataFrameModel]) -> str:
    """Return the first sentence of a model's docstring: what one row is."""
    return (model.__doc__ or "").strip().split("\n")[0]
