"""A night's report as a table, for the terminal, the Prefect artifact and programs."""

from typing import Any

from pipelines.flows.steps import Report
from pipelines.warehouse.querying import held_rows

HELD_SHOWN = 50

LABELS = {
    "files_read": "Files read",
    "files_held": "Files held whole",
    "rows_read": "Rows stored from them",
    "rows_loaded": "Rows that count",
    "rows_held": "Lines held",
    "rows_repeated": "Rows repeated",
    "rows_superseded": "Rows superseded",
    "tests_unmatched": "Tests of unknown sheets",
    "tests_off_standard": "Tests off standard",
    "tests_unverified": "Tests unverified",
    "curves_reduced": "Raw curves",
    "sheets": "Sheets",
    "test_pieces": "Tensile test pieces",
}
"""The counts of a night, in the order in which they are told: the first and third of this run, else in all."""


def as_dict(report: Report) -> dict[str, Any]:
    """Return the report as a program reads it."""
    return {
        "changed": report.changed,
        "night": report.night["night"],
        "snapshot": str(report.snapshot),
        "page": str(report.page) if report.page else None,
        **{name: report.night[name] for name in LABELS},
        "waiting": [{"file": waiting.name, "why": waiting.why} for waiting in report.waiting],
        "overdrawn_tanks": report.overdrawn_tanks,
    }


def as_markdown(report: Report) -> str:
    """Return the report and what is held as Markdown; text from files is escaped."""
    lines = ["# Night run", "", "| | |", "|---|---:|"]
    lines += [f"| {label} | {report.night[name]} |" for name, label in LABELS.items()]
    lines += ["", f"Snapshot: `{report.snapshot.name}`"]
    if report.waiting:
        lines += ["", "## Waiting in the inbox", ""]
        lines += [f"- {_escaped(waiting.name)} {_escaped(waiting.why)}" for waiting in report.waiting]
    if report.overdrawn_tanks:
        lines += ["", "## Tanks overdrawn", ""]
        lines += [f"- {_escaped(sentence)}" for sentence in report.overdrawn_tanks]
    held = held_rows(report.snapshot)
    if held:
        lines += [
            "",
            "## Held",
            "",
            "| File | Line | Column | What is wrong | What to do |",
            "|---|---:|---|---|---|",
        ]
        for row in held[:HELD_SHOWN]:
            cells = (
                row["file_name"],
                row["line_number"] or "whole",
                row["column_name"] or "",
                row["what"],
                row["remedy"],
            )
            lines.append("| " + " | ".join(_escaped(str(cell)) for cell in cells) + " |")
        if len(held) > HELD_SHOWN:
            lines += ["", f"… and {len(held) - HELD_SHOWN} more: `sheetlore held`"]
    return "\n".join(lines) + "\n"


def _escaped(text: str) -> str:
    plain = " ".join(text.split())
    for sign in "\\`*_[]<>|#":
        plain = plain.replace(sign, "\\" + sign)
    return plain
