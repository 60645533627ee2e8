"""The commands: read arguments, call what does the work, print."""

import io
import logging
import sys
from enum import StrEnum
from importlib.resources import files
from pathlib import Path
from typing import Annotated, NoReturn

import duckdb
import pyarrow.parquet
import typer

from pipelines import __version__, terminal
from pipelines.errors import ExitCode, SheetloreError, UsageError
from pipelines.flows import steps, summary, tracing
from pipelines.settings import Laboratory
from pipelines.warehouse import asking
from pipelines.warehouse.publishing import latest_snapshot

EXIT_CODES = (
    "Exit codes: 0 all taken in; 1 failed, the warehouse is as it was; 2 wrong usage, settings or profile; "
    "3 done, something is held; 4 another run is active."
)

EXAMPLE_QUERY = (
    "SELECT trial, trial_point, jet_to_wire_ratio, tensile_index_md_nm_g, tensile_index_cd_nm_g "
    "FROM trial_point ORDER BY ALL"
)

app = typer.Typer(
    help="From the CSV exports of a paper laboratory's testers to a trial warehouse of indexed sheet properties.",
    epilog=EXIT_CODES,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

Lab = Annotated[Path, typer.Option("--lab", help="The laboratory's folder.", show_default="this folder")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]
Direct = Annotated[bool, typer.Option("--direct", help="Run the same steps without Prefect.")]


def _text(argument: str) -> str:
    if any("\ud800" <= sign <= "\udfff" for sign in argument):
        raise UsageError("An argument holds bytes that are no text in this system's encoding.")
    return argument


class Form(StrEnum):
    """How the result of a query is written."""

    table = "table"
    csv = "csv"
    json = "json"
    markdown = "markdown"
    parquet = "parquet"


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"sheetlore {__version__}")
        raise typer.Exit


@app.callback()
def _common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Set what all commands share."""


@app.command(name="new-lab", epilog="Example: sheetlore new-lab paper-lab")
def new_lab(
    directory: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make; it may exist.")],
) -> None:
    """Make an empty laboratory: its folders and a commented lab.toml."""
    laboratory = Laboratory(directory)
    if laboratory.settings_file.exists():
        raise UsageError(f"{laboratory.settings_file} is there already.", "Nothing was changed.")
    for folder in (laboratory.inbox, laboratory.exports, laboratory.archive, laboratory.published):
        folder.mkdir(parents=True, exist_ok=True)
    template = (files("pipelines") / "templates" / "lab.toml").read_text(encoding="utf-8")
    laboratory.settings_file.write_text(template, encoding="utf-8")
    typer.echo(f"Made {laboratory.root}")
    typer.echo(f"1. Look through {laboratory.settings_file}: the former's measures above all.")
    typer.echo(f"2. Put exports and logs into {laboratory.inbox}.")
    typer.echo(f"3. sheetlore nightly --lab {directory}")


@app.command(epilog=f"Example: sheetlore demo demo-lab --sheets 60 --seed 7\n\n{EXIT_CODES}")
def demo(
    directory: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make; it must not exist.")],
    sheets: Annotated[int, typer.Option(min=12, max=100_000, help="How many sheets are made.")] = 60,
    seed: Annotated[int, typer.Option(min=0, help="Another seed, another laboratory.")] = 1,
    direct: Direct = False,
) -> None:
    """Write an invented laboratory and run the night on it.

    Its faults are planted, so that some files and rows are held; the exit code is 0 all the same.
    """
    from pipelines.demo import laboratory as demo_laboratory

    if directory.exists() and any(directory.iterdir()):
        raise UsageError(f"{directory} is there already and not empty.", "Choose another folder.")
    _show_stages()
    written = demo_laboratory.write(directory, sheets, seed)
    logging.getLogger("sheetlore").info("Written: an invented laboratory of %d sheets", sheets)
    report = _night(Laboratory(directory), direct)
    terminal.show_report(report)
    typer.echo(f"\n{len(written.faults)} faults were planted; what is held is held on purpose. Look at:")
    tested = asking.ask(
        report.snapshot, "SELECT sheet_id FROM sheet WHERE n_pieces_md > 0 ORDER BY formed_at_utc LIMIT 1"
    )
    for command in (
        "held",
        f"trace {tested.column('sheet_id')[0]}",
        f'sql "{EXAMPLE_QUERY}"',
    ):
        typer.echo(f"  sheetlore {command} --lab {directory}")


@app.command(epilog=f"Example: sheetlore nightly --lab paper-lab\n\n{EXIT_CODES}")
def nightly(lab: Lab = Path(), direct: Direct = False, as_json: Json = False) -> None:
    """Take in what the inbox has, join, index and publish. Safe to repeat at any time."""
    _show_stages()
    report = _night(Laboratory(lab), direct)
    if as_json:
        sys.stdout.write(terminal.as_json(summary.as_dict(report)))
    else:
        terminal.show_report(report)
    if report.something_held:
        raise typer.Exit(ExitCode.SOMETHING_HELD)


@app.command(epilog="Example: sheetlore held --lab paper-lab")
def held(
    lab: Lab = Path(),
    closed: Annotated[
        bool,
        typer.Option(
            "--closed", help="Also what is closed: its file was replaced in the inbox or taken out."
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    """Show every held file and row, and every test whose sheet is unknown, with what to do."""
    snapshot = _snapshot(lab)
    rows, unmatched = asking.held_rows(snapshot, closed), asking.unmatched_tests(snapshot, closed)
    if as_json:
        sys.stdout.write(terminal.as_json({"held": rows, "unmatched": unmatched}))
    else:
        terminal.show_held(rows, unmatched)


@app.command(
    epilog=f'Example: sheetlore sql "{EXAMPLE_QUERY}" --lab paper-lab'  # noqa: S608 - a text for people
    "\n\nTables: SHOW TABLES. Columns with their meaning: SELECT column_name, comment FROM duckdb_columns()."
)
def sql(
    query: Annotated[str, typer.Argument(metavar="QUERY", callback=_text, help="One SQL statement.")],
    lab: Lab = Path(),
    form: Annotated[Form, typer.Option("--format", help="How the result is written.")] = Form.table,
    out: Annotated[Path | None, typer.Option("--out", help="Write to this file instead.")] = None,
) -> None:
    """Ask the published snapshot. It is opened read-only, and a query reaches nothing outside it."""
    if form is Form.parquet and out is None:
        raise UsageError("Parquet is no text.", "Name a file: --out result.parquet")
    result = asking.ask(_snapshot(lab), query)
    if form is Form.table and out is None:
        terminal.table_of(result)
    elif form is Form.parquet:
        pyarrow.parquet.write_table(result, out, compression="zstd")
    else:
        text = terminal.as_text(result, "csv" if form is Form.table else form)
        if out is None:
            sys.stdout.write(text)
        else:
            out.write_text(text, encoding="utf-8")


@app.command(epilog="Example: sheetlore trace T1-003 --lab paper-lab")
def trace(
    sheet: Annotated[str, typer.Argument(metavar="SHEET", callback=_text, help="The sheet's number.")],
    lab: Lab = Path(),
    as_json: Json = False,
) -> None:
    """Show one sheet with all its numbers: each back to file, line and content hash, and the formulas."""
    found = tracing.trace(_laboratory(lab), sheet)
    if as_json:
        sys.stdout.write(terminal.as_json(found))
    else:
        terminal.show_trace(found)


def _laboratory(lab: Path) -> Laboratory:
    laboratory = Laboratory(lab)
    laboratory.settings()
    return laboratory


def _snapshot(lab: Path) -> Path:
    return latest_snapshot(_laboratory(lab).published)


def _night(laboratory: Laboratory, direct: bool) -> steps.Report:
    laboratory.settings()
    if direct:
        return steps.run(laboratory)
    with steps.only_run(laboratory):
        pass  # a second run is refused before Prefect is started, which takes a while
    logging.getLogger("sheetlore").info("Starting Prefect, which takes some seconds …")
    from pipelines.flows import prefect_environment

    prefect_environment.prepare(laboratory.root / ".prefect")
    from pipelines.flows import nightly as flow

    return flow.run(laboratory)


def _show_stages() -> None:
    log = logging.getLogger("sheetlore")
    log.setLevel(logging.INFO)
    log.handlers = [terminal.StageHandler()]


def _fail(error: SheetloreError) -> NoReturn:
    out = terminal.console(sys.stderr)
    out.print(terminal.plain_lines(error.what))
    if error.remedy:
        out.print(terminal.plain_lines(error.remedy))
    raise SystemExit(int(error.exit_code))


def main() -> None:
    """Run the command line; every error that a person can mend ends in a message and its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a sign that the stream lacks is no reason to fail
    try:
        app()
    except SheetloreError as error:
        _fail(error)
    except (OSError, duckdb.IOException) as error:
        _fail(
            SheetloreError(
                f"Reading or writing failed: {error}", "The warehouse and its snapshots are as they were."
            )
        )
