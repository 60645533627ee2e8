"""What a run did and what to do next, for the terminal, the Prefect artifact and programs."""

from typing import Any

from pipelines.flows.report import OF_THIS_RUN, Report
from pipelines.warehouse import querying

HELD_SHOWN = 50

REMARKS_SHOWN = 5
"""Remarks on files that the summary of a run shows."""

LABELS = {
    "sheets": "Sheets",
    "test_pieces": "Tensile test pieces",
    "curves_reduced": "Raw tensile curves",
    "rows_loaded": "Rows used",
    "rows_repeated": "Rows repeated",
    "rows_superseded": "Rows superseded",
    "files_held": "Files on hold",
    "rows_held": "Lines on hold in other files",
    "tests_unmatched": "Results with an unknown sheet number",
    "tests_off_standard": "Tests outside the standard atmosphere",
    "tests_unverified": "Tests without a complete climate record",
}
"""The totals of the warehouse, in the order in which people see them."""

_VERDICT_OF = {"tests_off_standard": "off_standard", "tests_unverified": "unverified"}

WHY_LEFT_OUT = "SELECT verdict, reason, count(*) FROM test_atmosphere WHERE NOT admitted GROUP BY ALL"


ALL_REMARKS = "SELECT file_name, remark FROM export_file WHERE remark IS NOT NULL"


def this_run(report: Report) -> str:
    """Return a sentence that says what this run imported and what it put on hold."""
    counts = report.night
    if not counts["files_read"]:
        return f"This run: no new files; {'all results recomputed' if report.changed else 'nothing changed'}."
    imported = [counted(counts["files_imported"], "file"), counted(counts["rows_imported"], "row")]
    if counts["curves_imported"]:
        imported.append(counted(counts["curves_imported"], "raw curve"))
    on_hold = [
        counted(counts[name], noun)
        for name, noun in (("files_put_on_hold", "file"), ("lines_held", "line"))
        if counts[name]
    ]
    held = f"; on hold: {' and '.join(on_hold)}" if on_hold else ""
    return f"This run: {', '.join(imported)} imported{held}."


def totals(report: Report) -> list[tuple[str, int]]:
    """Return the totals of the warehouse, each with its label."""
    admitted = report.settings.atmosphere.admitted
    return [
        (label + (", admitted" if _VERDICT_OF.get(name) in admitted else ""), report.night[name] or 0)
        for name, label in LABELS.items()
    ]


def advice(report: Report) -> list[str]:
    """Return what a person should know before the counts: why there are no means, what is left out, and what to do."""
    sentences = [_first_steps(report) or _left_out(report), _missing_measures(report), *_remarks(report)]
    return [sentence for sentence in sentences if sentence]


def counted(count: int, noun: str) -> str:
    """Return a count with its noun: ``1 file``, ``1,200 files``."""
    return f"{count:,} {noun}" + ("" if count == 1 else "s")


def _first_steps(report: Report) -> str | None:
    """Return why there are no means yet and what to do, or None when there are valid tests."""
    counts, laboratory = report.night, report.laboratory
    files, tests, admitted = (
        querying.ask(
            report.snapshot,
            """
            SELECT
                (SELECT count(*) FROM export_file) AS files,
                (SELECT count(*) FROM test_atmosphere) AS tests,
                (SELECT count(*) FROM test_atmosphere WHERE admitted) AS admitted
            """,
        )
        .to_pylist()[0]
        .values()
    )
    held = f"sheetlore held --lab {laboratory.root}"
    if not files:
        logs = laboratory.root / "templates"
        return (
            f"The warehouse is empty. Put the forming log and the testers' exports into {laboratory.inbox} and start "
            "the next run." + (f" {logs} has empty logs to fill in." if logs.is_dir() else "")
        )
    if not counts["rows_loaded"]:
        on_hold = " and ".join(
            counted(count, noun)
            for count, noun in ((counts["files_held"], "file"), (counts["rows_held"], "line"))
            if count
        )
        why = f"everything is on hold ({on_hold})" if on_hold else "the files have no rows"
        return f"No means yet: {why}. Why, and what to do: {held}"
    if not counts["sheets"]:
        waiting = counted(counts["tests_unmatched"], "result")
        return (
            f"No means yet: there is no forming log, which says what each sheet is. Put it into {laboratory.inbox}; "
            f"the next run matches {waiting} automatically."
        )
    if admitted:
        return None
    if not tests:
        return (
            f"No means yet: {counted(counts['sheets'], 'sheet')} and no test results. Put the testers' exports into "
            f"{laboratory.inbox}." + (f" What is on hold: {held}" if report.something_held else "")
        )
    verdicts = ["standard", *(_VERDICT_OF[name] for name in _VERDICT_OF if counts[name])]
    setting = ", ".join(f'"{verdict}"' for verdict in verdicts)
    return (
        f"No means yet: {_by_verdict(report)}. Import the room's climate log and the conditioning log, or admit these "
        f"tests in lab.toml: [atmosphere] admitted = [{setting}]"
    )


def _left_out(report: Report) -> str | None:
    """Return how many tests are not in the means because of their atmosphere."""
    count = report.night["tests_not_admitted"]
    if not count:
        return None
    verb = "is" if count == 1 else "are"
    return (
        f"{counted(count, 'test')} {verb} not in the means: {_by_verdict(report)}. Why: "
        f'sheetlore sql "{WHY_LEFT_OUT}" --lab {report.laboratory.root}'
    )


def _by_verdict(report: Report) -> str:
    """Return the tests that are not in the means, counted by the verdict on their atmosphere."""
    words = {
        "tests_off_standard": "outside the standard atmosphere",
        "tests_unverified": "without a complete climate record",
    }
    return " and ".join(
        f"{counted(report.night[name], 'test')} {text}"
        for name, text in words.items()
        if report.night[name] and _VERDICT_OF[name] not in report.settings.atmosphere.admitted
    )


def _missing_measures(report: Report) -> str | None:
    """Return what is not computed because lab.toml lacks measures of the former."""
    missing = report.settings.former.missing()
    if not missing or not report.night["sheets"]:
        return None
    values = list(dict.fromkeys(value for measure in missing.values() for value in measure))
    return (
        f"Not computed: {', '.join(values)}. Give {', '.join(missing)} in lab.toml, under [former]; the next run "
        "computes them."
    )


def _remarks(report: Report) -> list[str]:
    """Return the remarks on the files that this run read, each with the names of its files."""
    if not report.changed:
        return []
    rows = querying.ask(
        report.snapshot,
        """
        SELECT remark, count(*) AS files, list(file_name ORDER BY file_name)[:3] AS names
        FROM export_file
        WHERE read_night = $night AND remark IS NOT NULL
        GROUP BY remark
        ORDER BY files, names
        """,
        {"night": report.night["night"]},
    ).to_pylist()
    sentences = [
        f"{', '.join(row['names'])}{f' and {more:,} more' if (more := row['files'] - len(row['names'])) else ''}: "
        f"{row['remark']}"
        for row in rows[:REMARKS_SHOWN]
    ]
    if len(rows) > REMARKS_SHOWN:
        sentences.append(
            f"{counted(len(rows) - REMARKS_SHOWN, 'more remark')}: "
            f'sheetlore sql "{ALL_REMARKS}" --lab {report.laboratory.root}'
        )
    return sentences


def as_dict(report: Report) -> dict[str, Any]:
    """Return the report as a program reads it."""
    return {
        "changed": report.changed,
        "night": report.night["night"],
        "snapshot": str(report.snapshot),
        "page": str(report.page) if report.page else None,
        **{name: report.night[name] for name in (*OF_THIS_RUN, *LABELS)},
        "advice": advice(report),
        "waiting": [{"file": waiting.name, "why": waiting.why} for waiting in report.waiting],
        "overdrawn_tanks": report.overdrawn_tanks,
    }


def as_markdown(report: Report) -> str:
    """Return the report and what is on hold as Markdown; text from files is escaped."""
    lines = ["# Run", "", this_run(report)]
    lines += [f"\n{_escaped(sentence)}" for sentence in advice(report)]
    lines += ["", "| In the warehouse | |", "|---|---:|"]
    lines += [f"| {label} | {count} |" for label, count in totals(report)]
    lines += ["", f"Snapshot: `{report.snapshot.name}`"]
    if report.waiting:
        lines += ["", "## Waiting in the inbox", ""]
        lines += [f"- {_escaped(waiting.name)} {_escaped(waiting.why)}" for waiting in report.waiting]
    if report.overdrawn_tanks:
        lines += ["", "## Tanks overdrawn", ""]
        lines += [f"- {_escaped(sentence)}" for sentence in report.overdrawn_tanks]
    held = querying.held_rows(report.snapshot)
    if held:
        lines += ["", "## On hold", "", "| File | Line | Column | Reason | To do |", "|---|---:|---|---|---|"]
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
