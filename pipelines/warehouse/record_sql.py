"""The SQL that follows from the kinds of record: one union of all of them, for models that treat every kind alike."""

import pandera.pandas as pa

from schemas.properties import cached_by_registry, registry
from schemas.records import STORED
from schemas.records.record import atmosphere_condition_of, time_of, values_of


@cached_by_registry
def lists() -> dict[str, str]:
    """Return the text for each placeholder in a model.

    ``{every_record}`` is a query with one row per stored record of any kind: ``kind``, ``place`` (the kind's place in
    the order of records.KINDS), ``record_key``, ``file_hash``, ``line_number``, ``n_lines``, ``record_status``,
    ``superseded_by``; ``sheet_id``, ``tester`` and ``at_utc`` where the kind has them; and ``needs_atmosphere``,
    whether the result depends on the atmosphere of the test.
    """
    every = "\nUNION ALL\n".join(_select(kind, model) for kind, model in STORED.items())
    named = ", ".join(f"'{entry.name}'" for entry in registry().values() if entry.standard_atmosphere)
    return {"{every_record}": every.replace("{properties_that_need_the_atmosphere}", named)}


def _select(kind: str, model: type[pa.DataFrameModel]) -> str:
    names = values_of(model)
    columns = [
        f"'{kind}' AS kind",
        f"{list(STORED).index(kind)} AS place",
        "record_key, file_hash, line_number, record_status, superseded_by",
        "coalesce(n_lines, 1) AS n_lines",
        *(f"{name if name in names else 'NULL::VARCHAR'} AS {name}" for name in ("sheet_id", "tester")),
        f"{time_of(model) or 'NULL::TIMESTAMP'} AS at_utc",
        f"{atmosphere_condition_of(model)} AS needs_atmosphere",
    ]
    return f"SELECT {', '.join(columns)} FROM records.{kind}"
