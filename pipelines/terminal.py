"""What people see in a terminal. Text from files is shown as text, whatever it contains."""

import logging
import shutil
import sys
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, TextIO

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

from pipelines import results
from pipelines.errors import SheetloreError
from pipelines.results import readable

if TYPE_CHECKING:
    from pipelines.flows.steps import Report
    from pipelines.warehouse.querying import Answer

WHY_LEFT_OUT = "SELECT verdict, reason, count(*) FROM test_atmosphere WHERE NOT admitted GROUP BY ALL"

SHOWN_ROWS = 500
"""Rows of an answer that a terminal shows at most."""

WIDE_ENOUGH = 100_000
"""Width of output that goes to a file or a program: nothing is wrapped or cut."""


def console(stream: TextIO | None = None) -> Console:
    """Return a console for a stream, standard output by default; plain and unwrapped when it is no terminal."""
    stream = stream or sys.stdout
    width = None if stream.isatty() else WIDE_ENOUGH
    return Console(file=stream, width=width, highlight=False, emoji=False, markup=False, soft_wrap=False)


def plain(value: object) -> Text:
    """Return a value as text on one line, with signs that a terminal would obey made visible."""
    return Text(readable(value))


def plain_lines(text: str) -> Text:
    """Return a message of several lines, each as ``plain`` has it."""
    return Text("\n").join(plain(line) for line in text.splitlines())


class StageHandler(logging.Handler):
    """Prints the progress of a run to standard error, a line for each stage."""

    def emit(self, record: logging.LogRecord) -> None:
        """Print one message."""
        console(sys.stderr).print(plain(record.getMessage()))


def show_report(report: "Report") -> None:
    """Print how a night ended, as a table, with what needs somebody's attention."""
    from pipelines.flows import summary

    out = console()
    table = Table(box=box.SIMPLE, show_header=False, title="Night run", title_justify="left")
    table.add_column()
    table.add_column(justify="right")
    for name, label in summary.LABELS.items():
        table.add_row(label, str(report.night[name]))
    out.print(table)
    if not report.changed:
        out.print("Nothing new since the last run; the snapshot stands.")
    for waiting in report.waiting:
        out.print(plain(f"Waits in the inbox: {waiting.name} {waiting.why}"))
    for sentence in report.overdrawn_tanks:
        out.print(plain(f"More stock drawn than filled: {sentence}"))
    if left_out := report.night["tests_not_admitted"]:
        why = f'sheetlore sql "{WHY_LEFT_OUT}" --lab {report.snapshot.parents[1]}'
        out.print(
            plain(
                f"Left out of means: {left_out} tests that were not made in the standard atmosphere, or that the logs "
                f"do not prove to have been. Why: {why}. A laboratory that keeps no room log, or not yet, admits them "
                'in lab.toml, under [atmosphere]: admitted = ["standard", "unverified"]'
            )
        )
    out.print(plain(f"Snapshot: {report.snapshot}"))
    if report.page:
        out.print(plain(f"Page: {report.page}"))
    if report.something_held or report.night["tests_unmatched"]:
        out.print(plain(f"What is held, and what to do: sheetlore held --lab {report.snapshot.parents[1]}"))


def show_held(held: list[dict[str, Any]], unmatched: list[dict[str, Any]]) -> None:
    """Print what is held and what waits for its sheet, each with what to do."""
    out = console()
    if not held and not unmatched:
        out.print("Nothing is held, and every test has its sheet.")
        return
    for row in held:
        where = f"line {row['line_number']}" if row["line_number"] is not None else "the whole file"
        column = f", column {row['column_name']}" if row["column_name"] else ""
        cell = f", cell {row['cell']!r}" if row["cell"] else ""
        over = "" if row["in_inbox"] else " (closed: the file is no longer in the inbox)"
        out.print(
            Text.assemble((str(plain(row["file_name"])), "bold"), plain(f": {where}{column}{cell}{over}"))
        )
        out.print(plain(f"  {row['rule']}: {row['what']}"))
        out.print(plain(f"  To do: {row['remedy']}"))
        if row["original_text"]:
            out.print(plain(f"  As it stood: {row['original_text']}"))
        out.print()
    for row in unmatched:
        out.print(
            Text.assemble(
                (str(plain(f"Sheet {row['sheet_id']}")), "bold"),
                plain(
                    f" is in no forming log: tests that wait for it: {row['tests']} ({row['kinds']}; "
                    f"first {row['first_file_name']}, line {row['first_line_number']})"
                ),
            )
        )
        if row["suggested_sheet_id"]:
            reason = f" ({row['suggestion_reason']})" if row["suggestion_reason"] else ""
            out.print(
                plain(f"  Perhaps meant: {row['suggested_sheet_id']}{reason}. Nothing is changed by itself.")
            )
        out.print(
            plain("  To do: bring the forming log, or correct the number in the export and export again.")
        )
        out.print()


def show_trace(found: dict[str, Any]) -> None:
    """Print a sheet's numbers, their formulas and the lines they came from."""
    out = console()
    shown: set[str] = set()
    sheet = found["sheet"]
    if sheet is None:
        out.print(plain(f"Sheet {found['sheet_id']} is in no forming log; its tests wait, unmatched."))
    else:
        formed = sheet["formed_at_utc"]
        out.print(
            plain(
                f"Sheet {sheet['sheet_id']}: trial {sheet['trial']}, point {sheet['trial_point']}"
                + (f", formed {formed:%Y-%m-%d %H:%M} UTC" if formed else "")
            ),
            style="bold",
        )
    for layer in found["layers"]:
        out.print(
            plain(f"Layer {layer['layer_no']}: {layer['furnish'] or 'furnish not stated'}"), style="bold"
        )
        _show_derivations(out, layer["derivations"], shown)
    if found["derivations"]:
        out.print("The sheet as a whole", style="bold")
        _show_derivations(out, found["derivations"], shown)
    if found["properties"]:
        _show_rows(out, "Means over the tests that count", found["properties"])
    for piece in found["pieces"]:
        name = f"{piece['direction']} {piece['specimen_no']}"
        again = f", replicate {piece['replicate_no']}" if piece["replicate_no"] != 1 else ""
        left_out = "" if piece["in_means"] else f", left out of means: {piece['left_out_because']}"
        out.print(
            plain(
                f"Test piece {name}{again}{left_out} ({piece['file_name']} line {piece['line_number']}, SHA-256 "
                f"{piece['file_hash'][:12]})"
            ),
            style="bold",
        )
        _show_derivations(out, piece["derivations"], shown)
    for curve in found["curves"]:
        _show_curve(out, curve)
    for kind, rows in found["records"].items():
        out.print(plain(f"Records: {kind}"), style="bold")
        for row in rows:
            record_status = "" if row["record_status"] == "loaded" else f" [{row['record_status']}"
            record_status += (
                f" by {row['superseded_by']}]" if row["superseded_by"] else "]" if record_status else ""
            )
            out.print(
                plain(
                    f"  {row['file_name']} line {row['line_number']} (SHA-256 {row['file_hash'][:12]}){record_status}"
                )
            )
            values = "  ".join(f"{name} {_value(value)}" for name, value in row["values"].items())
            out.print(plain(f"    {values}"))
            _show_derivations(out, row["derivations"], shown, indent=4)
            if row["atmosphere_verdict"] is not None:
                reason = f": {row['atmosphere_reason']}" if row["atmosphere_reason"] else ""
                out.print(plain(f"    atmosphere {row['atmosphere_verdict']}{reason}"))
            if row["original_text"] is not None:
                out.print(plain(f"    as it stood: {row['original_text']}"))
    out.print("Files", style="bold")
    for file in found["files"]:
        out.print(
            plain(
                f"  {file['file_name']} (SHA-256 {file['file_hash']}), written {file['changed_at_utc']} UTC"
            )
        )
        out.print(plain(f"    profile {file['profile']}: {file['recognised_by']}"))


_CURVE_NUMBERS = (
    ("maximum force", "max_force_n", "instrument_max_force_n", "force_difference_pct", "N"),
    ("elongation", "elongation_at_max_mm", "instrument_elongation_mm", "elongation_difference_pct", "mm"),
    ("energy", "energy_to_max_j", "instrument_energy_j", "energy_difference_pct", "J"),
    ("maximum slope", "max_slope_n_mm", "instrument_max_slope_n_mm", "slope_difference_pct", "N/mm"),
)


def _show_curve(out: Console, curve: dict[str, Any]) -> None:
    """Print what a raw curve shows beside what the tester gave."""
    lines = f"lines {curve['line_number']} to {curve['last_line_number']}"
    out.print(
        plain(
            f"Raw curve {curve['direction']} {curve['specimen_no']}: {curve['n_points']} points "
            f"({curve['file_name']} {lines}, SHA-256 {curve['file_hash'][:12]})"
        ),
        style="bold",
    )
    for name, by_curve, by_tester, difference, unit in _CURVE_NUMBERS:
        if curve[by_curve] is None:
            continue
        tester = ""
        if curve[by_tester] is not None:
            tester = f"; the tester's {readable(curve[by_tester])} {unit}, {curve[difference]:+.2f} %"
        out.print(plain(f"  {name} {readable(curve[by_curve])} {unit}{tester}"))
    for what in ("findings", "disagreement"):
        if curve[what]:
            out.print(plain(f"  {what}: {curve[what]}"))


def _value(value: object) -> str:
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M:%S}"
    return readable(value) if isinstance(value, float) else str(value)


def _show_derivations(
    out: Console, derivations: list[dict[str, Any]], shown: set[str], indent: int = 2
) -> None:
    """Print how numbers were made; each formula in words the first time that it comes up."""
    for step in derivations:
        unit = "" if step["unit"] in (None, "1") else f" {step['unit']}"
        margin = " " * indent
        out.print(plain(f"{margin}{step['column']} = {step['with_numbers']} = {step['value']:.7g}{unit}"))
        if step["formula"] not in shown:
            shown.add(step["formula"])
            out.print(plain(f"{margin}  {step['formula']}"), style="dim")


def _show_rows(out: Console, title: str, rows: list[dict[str, Any]]) -> None:
    table = Table(box=box.SIMPLE_HEAD, title=title, title_justify="left")
    for name, value in rows[0].items():
        table.add_column(name, justify="right" if isinstance(value, int | float) else "left")
    for row in rows:
        table.add_row(*(plain(value) for value in row.values()))
    out.print(table)


def show_meanings(meanings: Mapping[str, str]) -> None:
    """Print names with what they mean."""
    table = Table.grid(padding=(0, 2))
    for name, meaning in meanings.items():
        table.add_row(plain(name), plain(meaning))
    console().print(table)


def show_error(error: SheetloreError) -> None:
    """Print to standard error what is wrong, and what to do about it."""
    out = console(sys.stderr)
    out.print(plain_lines(error.what))
    if error.remedy:
        out.print(plain_lines(error.remedy))


def show_answer(answer: "Answer") -> tuple[int, int]:
    """Print an answer's first rows, value by value where they are wider than the terminal.

    Return how many rows there are and how many of them are shown: fewer, where each takes many lines.

    What is printed is for people: results.write gives all rows, and numbers with all their digits.
    """
    rows, total = answer.first(SHOWN_ROWS)
    cells = [tuple(map(readable, row)) for row in rows]
    lines = list(results.table(answer.schema, cells))
    if cells and max(map(cell_len, lines)) > shutil.get_terminal_size().columns:
        cells = cells[: max(1, SHOWN_ROWS // len(answer.schema))]
        lines = [
            line
            for number, row in enumerate(cells, start=1)
            for line in _told(number, answer.schema.names, row)
        ]
    sys.stdout.writelines(lines)
    return total, len(cells)


def _told(number: int, names: list[str], cells: Sequence[str]) -> Iterator[str]:
    """Return a row as lines, one for each value."""
    names = list(map(readable, names))
    width = max(map(cell_len, names))
    yield f"Row {number}\n"
    for name, cell in zip(names, cells, strict=True):
        yield f"  {name}{' ' * (width - cell_len(name))}  {cell}\n"
