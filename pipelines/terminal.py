"""What people see in a terminal. Text from files is shown as text, whatever it contains."""

import logging
import re
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, TextIO
from zoneinfo import ZoneInfo

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

from pipelines import results
from pipelines.errors import SheetloreError
from pipelines.results import readable

if TYPE_CHECKING:
    from pipelines.flows.report import Report
    from pipelines.warehouse.querying import Answer

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
    """Prints the progress of a run to standard error, one line per stage."""

    def emit(self, record: logging.LogRecord) -> None:
        """Print one message."""
        console(sys.stderr).print(plain(record.getMessage()))


def show_report(report: "Report") -> None:
    """Print what a run did, what to do next, and the totals of the warehouse."""
    from pipelines.flows import summary

    out = console()
    out.print(summary.this_run(report))
    for sentence in summary.advice(report):
        out.print(plain(sentence))
    for waiting in report.waiting:
        out.print(plain(f"Waiting in the inbox: {waiting.name} {waiting.why}"))
    zone = report.settings.laboratory.time_zone
    for sentence in report.overdrawn_tanks:
        out.print(plain(f"More stock drawn than filled, local time of {zone}: {sentence}"))
    table = Table(box=box.SIMPLE, show_header=False, title="In the warehouse", title_justify="left")
    table.add_column()
    table.add_column(justify="right")
    for label, count in summary.totals(report):
        table.add_row(label, f"{count:,}")
    out.print(table)
    out.print(plain(f"Snapshot: {report.snapshot}"))
    if report.page:
        out.print(plain(f"Page: {report.page}"))
    if report.something_held or report.night["tests_unmatched"]:
        out.print(plain(f"What is on hold, and what to do: sheetlore held --lab {report.laboratory.root}"))


def show_held(held: list[dict[str, Any]], unmatched: list[dict[str, Any]], zone: str) -> None:
    """Print what is on hold and which sheet numbers are unknown, each with what to do; like rows in one paragraph."""
    out = console()
    if not held and not unmatched:
        out.print("Nothing to do: nothing is on hold, and every result has its sheet.")
        return
    out.print(plain(_held_in_short(held, unmatched)))
    out.print(plain(f"Times are local times of {zone}."))
    out.print()
    for rows in _alike(held, _held_alike):
        _show_held_rows(out, rows, zone)
    for rows in _alike(unmatched, _unmatched_alike):
        _show_unmatched(out, rows)


ORIGINALS_SHOWN = 3
"""Lines of a paragraph that are shown as they stand in the file."""

NAMES_SHOWN = 20
"""Files and sheets of a paragraph that are shown by name."""


def _held_in_short(held: list[dict[str, Any]], unmatched: list[dict[str, Any]]) -> str:
    files = {row["file_hash"] for row in held if row["line_number"] is None}
    lines = {(row["file_hash"], row["line_number"]) for row in held if row["line_number"] is not None}
    others = {file for file, _ in lines} - files
    parts = []
    if files:
        parts.append(_counted(len(files), "file"))
    if lines:
        parts.append(
            f"{_counted(len(lines), 'line')} of {_counted(len(others), 'other file' if files else 'file')}"
        )
    sentences = []
    if parts:
        alone = len(parts) == 1 and len(files or lines) == 1
        sentences.append(f"{' and '.join(parts)} {'is' if alone else 'are'} on hold.")
    if tests := sum(row["tests"] for row in unmatched):
        verb = "has" if tests == 1 else "have"
        sentences.append(f"{_counted(tests, 'result')} {verb} an unknown sheet number.")
    return " ".join(sentences)


def _counted(count: int, noun: str) -> str:
    return f"{count:,} {noun}" + ("" if count == 1 else "s")


def _alike(
    rows: list[dict[str, Any]], key: Callable[[dict[str, Any]], tuple[object, ...]]
) -> list[list[dict[str, Any]]]:
    """Return rows in groups of one key, in the order of each group's first row."""
    groups: dict[tuple[object, ...], list[dict[str, Any]]] = {}
    for row in rows:
        groups.setdefault(key(row), []).append(row)
    return list(groups.values())


def _held_alike(row: dict[str, Any]) -> tuple[object, ...]:
    """Return what like rows have in common: the file, the rule, and what is wrong but for its numbers."""
    what = row["what"].replace(repr(row["cell"]), "") if row["cell"] else row["what"]
    file = None if row["line_number"] is None else row["file_hash"]
    return file, row["rule"], row["column_name"], _without_numbers(what), row["remedy"], row["in_inbox"]


def _unmatched_alike(row: dict[str, Any]) -> tuple[object, ...]:
    """Return what like sheets have in common; one with a suggestion stands alone."""
    return (row["sheet_id"] if row["suggested_sheet_id"] else None,)


def _without_numbers(text: str) -> str:
    return re.sub(r"\d+", "#", text)


def _show_held_rows(out: Console, rows: list[dict[str, Any]], zone: str) -> None:
    first, several = rows[0], len(rows) > 1
    column = f", column {first['column_name'].removesuffix('_utc')}" if first["column_name"] else ""
    closed = "" if first["in_inbox"] else " (closed: the file is no longer in the inbox)"
    if first["line_number"] is None:
        name = _names(row["file_name"] for row in rows)
        where = f"{len(rows)} whole files" if several else "the whole file"
    else:
        name = first["file_name"]
        numbers = sorted({row["line_number"] for row in rows})
        where = f"{'lines' if len(numbers) > 1 else 'line'} {_ranges(numbers)}"
    cell = ""
    if first["cell"] and not several:
        cell = f", cell {(_local_cell(first, zone))!r}"
    out.print(Text.assemble((str(plain(name)), "bold"), plain(f": {where}{column}{cell}{closed}")))
    what = _in_local_time(first["what"], zone)
    example = (
        f" (the first of {len(rows):,})"
        if several and any(row["what"] != first["what"] for row in rows)
        else ""
    )
    out.print(plain(f"  {first['rule']}: {what}{example}"))
    out.print(plain(f"  To do: {first['remedy']}"))
    originals = list(dict.fromkeys(row["original_text"] for row in rows if row["original_text"]))
    if len(originals) == 1:
        out.print(plain(f"  Original text: {originals[0]}"))
    elif originals:
        shown = originals[:ORIGINALS_SHOWN]
        some = f", {len(shown)} of {len(originals):,} lines" if len(shown) < len(originals) else ""
        out.print(f"  Original text{some}:")
        for text in shown:
            out.print(plain(f"    {text}"))
    out.print()


def _show_unmatched(out: Console, rows: list[dict[str, Any]]) -> None:
    first, tests = rows[0], sum(row["tests"] for row in rows)
    kinds = ", ".join(sorted({kind for row in rows for kind in row["kinds"].split(", ")}))
    sheets, verb = ("Sheet", "is") if len(rows) == 1 else ("Sheets", "are")
    names = _names(row["sheet_id"] for row in rows)
    results = f"{_counted(tests, 'result')} {'has this number' if len(rows) == 1 else 'have these numbers'}"
    if tests > 1 and len(rows) == 1:
        results = results.replace("has", "have")
    out.print(
        Text.assemble(
            (str(plain(f"{sheets} {names}")), "bold"),
            plain(
                f" {verb} in no forming log: {results} ({kinds}; first {first['first_file_name']}, "
                f"line {first['first_line_number']})"
            ),
        )
    )
    if first["suggested_sheet_id"]:
        reason = f" ({first['suggestion_reason']})" if first["suggestion_reason"] else ""
        out.print(
            plain(f"  Perhaps meant: {first['suggested_sheet_id']}{reason}. Sheetlore does not change it.")
        )
    out.print("  To do: Import the forming log, or correct the sheet number and export again.")
    out.print()


def _names(names: Iterable[str]) -> str:
    known = list(names)
    more = f" and {len(known) - NAMES_SHOWN:,} more (--json lists all)" if len(known) > NAMES_SHOWN else ""
    return ", ".join(known[:NAMES_SHOWN]) + more


def _ranges(numbers: Sequence[int]) -> str:
    """Return ascending numbers in short: ``2, 210-217``; where there is a gap or more than two, with their count."""
    ranges: list[list[int]] = []
    for number in numbers:
        if ranges and number == ranges[-1][1] + 1:
            ranges[-1][1] = number
        else:
            ranges.append([number, number])
    text = ", ".join(str(low) if low == high else f"{low}-{high}" for low, high in ranges[:NAMES_SHOWN])
    more = ", …" if len(ranges) > NAMES_SHOWN else ""
    return text + more + (f" ({len(numbers):,} lines)" if len(numbers) > 1 else "")


_UTC_TIME = re.compile(r"(?:(_utc) )?(\d{4}-\d\d-\d\d \d\d:\d\d(?::\d\d)?)( UTC)?")


def _in_local_time(text: str, zone: str) -> str:
    """Return a text with its points in time in UTC, which say so, as local time of a zone."""

    def local(found: re.Match[str]) -> str:
        if not (found[1] or found[3]):
            return found[0]
        before = " " if found[1] else ""
        return before + _local(datetime.fromisoformat(found[2]), zone)[: len(found[2])]

    return _UTC_TIME.sub(local, text)


def _local_cell(row: dict[str, Any], zone: str) -> str:
    """Return a cell as it stands; a time that was converted to UTC as local time."""
    cell = str(row["cell"])
    if (row["column_name"] or "").endswith("_utc"):
        return _in_local_time(f"{cell} UTC", zone).removesuffix(" UTC")
    return cell


def _local(moment: datetime, zone: str) -> str:
    """Return a point in time in UTC as local time of a zone, to the second."""
    return f"{moment.replace(tzinfo=UTC).astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M:%S}"


def show_trace(found: dict[str, Any]) -> None:
    """Print a sheet's values, their formulas and the lines they come from."""
    out = console()
    shown: set[str] = set()
    sheet, zone = found["sheet"], found["time_zone"]
    if sheet is None:
        out.print(plain(f"Sheet {found['sheet_id']} is in no forming log; its results are unmatched."))
    else:
        formed = sheet["formed_at_utc"]
        out.print(
            plain(
                f"Sheet {sheet['sheet_id']}: trial {sheet['trial']}, point {sheet['trial_point']}"
                + (f", formed {_local(formed, zone)[:16]}" if formed else "")
            ),
            style="bold",
        )
    out.print(plain(f"Times are local times of {zone}."))
    for layer in found["layers"]:
        out.print(plain(f"Layer {layer['layer_no']}: {layer['furnish'] or 'no furnish given'}"), style="bold")
        _show_derivations(out, layer["derivations"], shown)
    if found["derivations"]:
        out.print("The sheet as a whole", style="bold")
        _show_derivations(out, found["derivations"], shown)
    if found["properties"]:
        _show_rows(out, "Means of valid tests", found["properties"])
    for piece in found["pieces"]:
        name = f"{piece['direction']} {piece['specimen_no']}"
        again = f", replicate {piece['replicate_no']}" if piece["replicate_no"] != 1 else ""
        left_out = "" if piece["in_means"] else f", not in the means: {piece['left_out_because']}"
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
            values = "  ".join(
                f"{name.removesuffix('_utc')} {_value(value, zone)}" for name, value in row["values"].items()
            )
            out.print(plain(f"    {values}"))
            _show_derivations(out, row["derivations"], shown, indent=4)
            if row["atmosphere_verdict"] is not None:
                reason = f": {row['atmosphere_reason']}" if row["atmosphere_reason"] else ""
                out.print(plain(f"    atmosphere {row['atmosphere_verdict']}{reason}"))
            if row["original_text"] is not None:
                out.print(plain(f"    Original text: {row['original_text']}"))
    out.print("Files", style="bold")
    for file in found["files"]:
        out.print(
            plain(
                f"  {file['file_name']} (SHA-256 {file['file_hash']}), changed {_local(file['changed_at_utc'], zone)}"
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
    """Print the results of a raw curve beside those of the instrument."""
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


def _value(value: object, zone: str) -> str:
    if isinstance(value, datetime):
        return _local(value, zone)
    return readable(value) if isinstance(value, float) else str(value)


def _show_derivations(
    out: Console, derivations: list[dict[str, Any]], shown: set[str], indent: int = 2
) -> None:
    """Print how values were computed; each formula in words the first time."""
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
    lines = list(results.table(answer, cells))
    if cells and max(map(cell_len, lines)) > shutil.get_terminal_size().columns:
        cells = cells[: max(1, SHOWN_ROWS // len(answer.names))]
        lines = [
            line
            for number, row in enumerate(cells, start=1)
            for line in _value_by_value(number, answer.names, row)
        ]
    sys.stdout.writelines(lines)
    return total, len(cells)


def _value_by_value(number: int, names: list[str], cells: Sequence[str]) -> Iterator[str]:
    """Return a row as lines, one for each value."""
    names = list(map(readable, names))
    width = max(map(cell_len, names))
    yield f"Row {number}\n"
    for name, cell in zip(names, cells, strict=True):
        yield f"  {name}{' ' * (width - cell_len(name))}  {cell}\n"
