"""The index of trials: every trial with its points, sheets, furnishes and the jet-to-wire ratios tried."""

from pipelines.site import labels, links
from pipelines.site.figures import Row
from pipelines.site.reading import Published
from pipelines.site.rendering import render
from pipelines.site.tables import Column, Link, cells
from pipelines.site.trials import findings

FURNISHES_SHOWN = 8
"""Maximum number of furnishes listed by name."""

COLUMNS = [
    Column("trial", "Trial"),
    Column("n_points", "Trial points", number=True),
    Column("n_sheets", "Sheets", number=True),
    Column("n_tested", "Tested", number=True),
    Column("first_formed_at_utc", "First formed"),
    Column("last_formed_at_utc", "Last formed"),
    Column("jet_to_wire_ratio", "Jet-to-wire ratio", number=True),
    Column("furnishes", "Furnishes", long=True),
]
"""Columns of a table of trials; a tested sheet has a valid tensile test."""


def page(published: Published) -> str:
    """Return the index of trials."""
    rows = published.all("trial")
    return render(
        "trials",
        links.TRIALS,
        published.all("setting")[0],
        finding=findings.of_trials(rows),
        columns=COLUMNS,
        rows=[row_cells(row) for row in rows],
    )


def row_cells(row: Row) -> Row:
    """Return the cells of a trial's row, with links relative to the site's folder."""
    return cells(row) | {
        "trial": Link(links.trial_page(row["trial"]), row["trial"]),
        "jet_to_wire_ratio": _range(row["lowest_jet_to_wire_ratio"], row["highest_jet_to_wire_ratio"]),
        "furnishes": _named(row["furnishes"]),
    }


def _range(lowest: float | None, highest: float | None) -> str:
    low, high = labels.number(lowest, 3), labels.number(highest, 3)
    return low if low == high else f"{low} to {high}"


def _named(furnishes: list[str | None]) -> str:
    """Return the different furnishes of a trial's sheets, at most FURNISHES_SHOWN by name."""
    names = list(dict.fromkeys(name for text in furnishes if text for name in text.split(", ")))
    beyond = len(names) - FURNISHES_SHOWN
    shown = ", ".join(names[:FURNISHES_SHOWN]) or labels.MISSING
    return f"{shown} and {labels.number(beyond)} more" if beyond > 0 else shown
