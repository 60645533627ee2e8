"""The sentence above the table of all sheets."""

from pipelines.site.labels import counted, moment, number
from pipelines.site.reading import Rows, distinct


def of_sheets(rows: Rows) -> str:
    """Say how many sheets and trials there are, when they were formed, and how many sheets have no valid tensile test.

    ``rows`` are the rows of the statement ``all_sheet``.
    """
    if not rows:
        return "No sheet yet: no forming log is imported."
    text = f"{counted(len(rows), 'sheet')} of {counted(len(distinct(rows, 'trial')), 'trial')}"
    formed = [row["formed_at_utc"] for row in rows if row["formed_at_utc"] is not None]
    if formed:
        first, last = moment(min(formed)), moment(max(formed))
        text += f", formed on {first}" if first == last else f", formed from {first} to {last}"
    untested = sum(row["n_pieces"] == 0 for row in rows)
    if not untested:
        return f"{text}; each has valid tensile tests."
    has = "has" if untested == 1 else "have"
    return f"{text}; {number(untested)} {has} no valid tensile tests."
