"""The commands: read arguments, call the function that does the work, print its result.

This module imports nothing heavy at the top, so that help, ``held`` and ``sql`` start fast: a command imports what it
needs inside ``loading``, which also ends the command cleanly when Ctrl-C comes meanwhile.
"""

import io
import logging
import sys
from contextlib import AbstractContextManager, nullcontext
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, TypeVar

import typer
from typer.core import TyperGroup

from pipelines import results, signals
from pipelines.errors import ExitCode, SheetloreError, UsageError
from pipelines.results import Form
from pipelines.signals import loading
from pipelines.warehouse.pointer import latest_snapshot

if TYPE_CHECKING:
    import duckdb

    from pipelines.flows.report import Report
    from pipelines.settings import Laboratory

EXIT_CODES = (
    "Exit codes: 0 done; 1 failed, the warehouse is unchanged; 2 wrong usage, settings or profile; 3 done, something "
    "is on hold; 4 another run is active; 130 stopped by Ctrl-C; 143 stopped by SIGTERM."
)

EXAMPLE_QUERY = (
    "SELECT trial, trial_point, jet_to_wire_ratio, tensile_index_md_nm_g, tensile_index_cd_nm_g "
    "FROM trial_point ORDER BY ALL"
)

SQL_EXAMPLES = """\b
List the tables: SHOW TABLES. List the columns with their meaning:
SELECT column_name, comment FROM duckdb_columns()

\b
The stiffest trial points in CD within a range of density.
Example: sheetlore sql "
    SELECT trial, trial_point, apparent_density_kg_m3, tensile_stiffness_index_cd_knm_g
    FROM trial_point
    WHERE apparent_density_kg_m3 BETWEEN \\$low AND \\$high
    ORDER BY tensile_stiffness_index_cd_knm_g DESC
    " -p low=580 -p high=640

\b
MD/CD ratio against the jet-to-wire ratio.
Example: sheetlore sql "
    SELECT trial, jet_to_wire_ratio, tensile_stiffness_index_md_cd_ratio, n_sheets
    FROM trial_point
    ORDER BY trial, jet_to_wire_ratio
    "

\b
Test pieces that are not in the means, and why.
Example: sheetlore sql "
    SELECT trial, trial_point, left_out_because, count(*) AS pieces
    FROM test_piece
    WHERE NOT in_means
    GROUP BY ALL
    ORDER BY ALL
    "

\b
The file and line that each value of a sheet comes from.
Example: sheetlore sql "
    SELECT direction, specimen_no, tensile_index_nm_g, file_name, line_number
    FROM test_piece INNER JOIN export_file USING (file_hash)
    WHERE sheet_id = \\$sheet
    ORDER BY ALL
    " -p sheet=JW-001

\b
A formula in a query: the tensile index on the oven-dry basis.
Example: sheetlore sql "
    SELECT sheet_id, tensile_index_nm_g(tensile_strength_md_kn_m, grammage_oven_dry_g_m2) AS index_nm_g
    FROM sheet
    ORDER BY sheet_id
    "

\b
Means with 95 % intervals, written to a spreadsheet.
Example: sheetlore sql "
    SELECT trial, trial_point, direction, value, unit, interval_low, interval_high, n_sheets
    FROM trial_point_property
    WHERE property = 'tensile_index' AND preferred
    ORDER BY ALL
    " --out tensile-index.xlsx
"""


class _Commands(TyperGroup):
    """The commands; Ctrl-C and SIGTERM end each of them in one line."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as stop:
            signals.end(stop)


app = typer.Typer(
    cls=_Commands,
    help="Turn the CSV exports and logs of a paper laboratory into a warehouse of comparable sheet properties.",
    epilog=f"Start with: sheetlore demo demo-lab\n\n{EXIT_CODES}",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

Argument = TypeVar("Argument", str, str | None)

Lab = Annotated[Path, typer.Option("--lab", help="The laboratory's folder.", show_default="this folder")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]
Direct = Annotated[bool, typer.Option("--direct", help="Run the same steps without Prefect; starts faster.")]


def _text(argument: Argument) -> Argument:
    if argument and any("\ud800" <= sign <= "\udfff" for sign in argument):
        raise UsageError(
            "An argument has bytes that are not text in this system's encoding.", "Type it again."
        )
    return argument


def _version(wanted: bool) -> None:
    if wanted:
        from pipelines import __version__

        typer.echo(f"sheetlore {__version__}")
        raise typer.Exit


@app.callback()
def _common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Handle the options that come before a command."""


@app.command(name="new-lab", epilog="Example: sheetlore new-lab paper-lab")
def new_lab(
    directory: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to create; it may exist.")],
) -> None:
    """Create a laboratory folder.

    It gets lab.toml with all settings, empty logs to fill in, and the profiles that read them.
    """
    from pipelines.settings import Laboratory

    laboratory = Laboratory(directory)
    if laboratory.settings_file.exists():
        raise UsageError(
            f"{laboratory.settings_file} exists already.", "Nothing was changed. Choose another folder."
        )
    templates, logs = laboratory.root / "templates", files("pipelines") / "templates" / "logs"
    for folder in (laboratory.inbox, laboratory.exports, laboratory.archive, laboratory.published, templates):
        folder.mkdir(parents=True, exist_ok=True)
    for entry in logs.iterdir():
        place = laboratory.exports if entry.name.endswith(".toml") else templates
        if not (place / entry.name).exists():
            (place / entry.name).write_bytes(entry.read_bytes())
    settings = (files("pipelines") / "templates" / "lab.toml").read_text(encoding="utf-8")
    laboratory.settings_file.write_text(settings, encoding="utf-8")
    typer.echo(f"Made the laboratory {laboratory.root}")
    typer.echo("Next:")
    typer.echo(
        f"1. Open {laboratory.settings_file}. Set the time zone, and give the measures of your sheet former under "
        "[former]."
    )
    typer.echo(
        f"2. Copy the logs you keep from {templates}, fill them in, and put them with the testers' exports into "
        f"{laboratory.inbox}. The forming log is required: it says which sheet belongs to which trial."
    )
    typer.echo(f"3. Start a run: sheetlore nightly --lab {directory}")


@app.command(epilog=f"Example: sheetlore demo demo-lab --sheets 60 --seed 7\n\n{EXIT_CODES}")
def demo(
    directory: Annotated[
        Path, typer.Argument(metavar="DIR", help="The folder to create; it must be new or empty.")
    ],
    sheets: Annotated[int, typer.Option(min=12, max=100_000, help="Number of sheets.")] = 60,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the random numbers.")] = 1,
    direct: Direct = False,
) -> None:
    """Create a demo laboratory and import it.

    Its exports and logs are invented. Some faults are planted on purpose, so some files and lines are on hold; the
    exit code is still 0.
    """
    if directory.exists() and any(directory.iterdir()):
        raise UsageError(f"{directory} is not empty.", "Choose a new or empty folder.")
    with loading():
        from pipelines import terminal
        from pipelines.demo import laboratory as demo_laboratory
        from pipelines.settings import Laboratory
        from pipelines.warehouse import querying
    _show_stages()
    written = demo_laboratory.write(directory, sheets, seed)
    logging.getLogger("sheetlore").info("Created: an invented laboratory with %d sheets", sheets)
    report = _night(Laboratory(directory), direct)
    terminal.show_report(report)
    typer.echo(f"\n{len(written.faults)} faults were planted on purpose; they explain what is on hold. Try:")
    tested = querying.ask(
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
    """Import new files and publish the results.

    All results are recomputed. A run completes or changes nothing; it is safe to repeat at any time.
    """
    with loading():
        from pipelines import terminal
        from pipelines.flows import summary
        from pipelines.settings import Laboratory
    _show_stages()
    report = _night(Laboratory(lab), direct)
    if as_json:
        sys.stdout.write(results.as_json(summary.as_dict(report)))
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
            "--closed", help="Also show closed entries: files replaced in the inbox or removed from it."
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    """Show what is on hold, and what to do.

    Lists files and lines on hold and unknown sheet numbers. Times are local times of the laboratory.
    """
    with loading():
        from pipelines import terminal
        from pipelines.warehouse import querying
    snapshot = _snapshot(lab)
    rows, unmatched = querying.held_rows(snapshot, closed), querying.unmatched_tests(snapshot, closed)
    if as_json:
        sys.stdout.write(results.as_json({"held": rows, "unmatched": unmatched}))
    else:
        terminal.show_held(rows, unmatched, querying.time_zone(snapshot))


@app.command(epilog=SQL_EXAMPLES)
def sql(
    query: Annotated[
        str | None, typer.Argument(metavar="QUERY", callback=_text, help="One SQL statement.")
    ] = None,
    lab: Lab = Path(),
    file: Annotated[
        str | None, typer.Option("--file", help="Read the query from this file; - reads standard input.")
    ] = None,
    parameters: Annotated[
        list[str] | None,
        typer.Option(
            "--parameter",
            "-p",
            metavar="NAME=VALUE",
            help="Set $NAME in the query; repeatable. A value that looks like a number is a number; put single quotes "
            "around it for text: sheet='104'. Anything else is text. Text compared with a time is converted; elsewhere "
            "write $NAME::DATE.",
        ),
    ] = None,
    form: Annotated[
        Form | None,
        typer.Option(
            "--format", help="Format of the result.", show_default="from the name of --out, else table"
        ),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write to this file instead of the terminal.")
    ] = None,
) -> None:
    """Query the published snapshot with SQL.

    The snapshot opens read-only; a query cannot read or change anything else. In a terminal without a query, it opens a
    prompt with completion and history.
    """
    if query is None and file is None and sys.stdin.isatty() and sys.stdout.isatty():
        if parameters or form or out:
            raise UsageError("--parameter, --format and --out need a query.", "Give a query, or --file.")
        with loading():
            from pipelines import prompt
        prompt.run(_laboratory(lab).published)
        return
    with loading():
        from pipelines.warehouse import querying
        from pipelines.warehouse.connection import reading
    text = _query(query, file)
    form = form or (results.form_of(out) if out else Form.table)
    if form in results.BINARY and out is None:
        raise UsageError(f"{form.capitalize()} is not text.", f"Write it to a file: --out result.{form}")
    bound = _bound(parameters or [])
    with (
        reading(_snapshot(lab)) as connection,
        _columns_explained(connection, form),
        querying.answer(connection, text, bound) as answer,
    ):
        if form is Form.table and out is None and sys.stdout.isatty():
            from pipelines import terminal

            total, shown = terminal.show_answer(answer)
            if total > shown:
                typer.echo(
                    f"The first {shown} of {total:,} rows. To get all rows: --out FILE.csv",
                    err=True,
                )
            return
        with results.opened(out) as stream:
            if form is Form.xlsx:
                from pipelines import spreadsheet

                spreadsheet.write(answer, text, stream)
            else:
                results.write(answer, form, stream)


def _columns_explained(connection: "duckdb.DuckDBPyConnection", form: Form) -> AbstractContextManager[object]:
    """Return a context in which a spreadsheet can explain the columns of the laboratory's own properties."""
    if form is not Form.xlsx:
        return nullcontext()
    from pipelines.warehouse.property_table import stored_registry
    from schemas.properties import in_force

    return in_force(stored_registry(connection))


def _query(query: str | None, file: str | None) -> str:
    if query is not None and file is not None:
        raise UsageError("A query and --file exclude each other.", "Give only one of them.")
    if file is not None:
        try:
            content = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
            query = content.decode("utf-8-sig")
        except OSError as error:
            raise UsageError(
                f"The query cannot be read: {error}", "Give the path of a file with SQL."
            ) from None
        except UnicodeDecodeError:
            raise UsageError(f"{file} is not UTF-8 text.", "Save it as UTF-8.") from None
    if query is None:
        raise UsageError(
            "There is no query, and no terminal to ask for one.",
            "Give a query, or --file FILE.sql, or --file - to read standard input.",
        )
    if "\0" in query:
        raise UsageError("The query contains a NUL character.", "Save it as plain text.")
    from pipelines.warehouse import query_text

    if not query_text.statements(query):
        raise UsageError("The query is empty.", 'Tables: sheetlore sql "SHOW TABLES"')
    return query


def _bound(parameters: list[str]) -> dict[str, int | float | str]:
    from pipelines.warehouse import query_text

    bound: dict[str, int | float | str] = {}
    for text in parameters:
        try:
            name, value = query_text.parameter(_text(text))
        except ValueError:
            raise UsageError(f"--parameter {text} has no name.", "Write NAME=VALUE.") from None
        if name in bound:
            raise UsageError(f"--parameter {name} is given twice.", "Give it once.")
        bound[name] = value
    return bound


@app.command(epilog="Example: sheetlore page --lab paper-lab\n\nOpen published/site/index.html in a browser.")
def page(lab: Lab = Path()) -> None:
    """Write the web page again.

    Every run does this too. Unchanged files are not rewritten.
    """
    laboratory = _laboratory(lab)
    with loading():
        from pipelines.flows import steps
    with steps.exclusive_run(laboratory):
        written, unchanged = steps.write_page(laboratory, rebuild=True)
    typer.echo(f"{laboratory.site / 'index.html'}: {written} files written, {unchanged} unchanged")


@app.command(epilog="Example: sheetlore notebook --lab paper-lab\n\nCtrl-C ends it.")
def notebook(
    lab: Lab = Path(),
    edit: Annotated[
        bool,
        typer.Option("--edit", help="Edit the laboratory's own copy, notebook.py; create it if missing."),
    ] = False,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Print the address; do not open a browser.")
    ] = False,
) -> None:
    """Explore the snapshot in a notebook.

    Needs marimo, polars and altair, the extra «notebook».
    """
    with loading():
        from pipelines.notebooks.opening import open_notebook
    if open_notebook(_laboratory(lab), edit, browser=not no_browser) != 0:
        raise typer.Exit(ExitCode.FAILED)


@app.command(epilog="Example: sheetlore trace T1-003 --lab paper-lab")
def trace(
    sheet: Annotated[str, typer.Argument(metavar="SHEET", callback=_text, help="The sheet's number.")],
    lab: Lab = Path(),
    as_json: Json = False,
) -> None:
    """Show where a sheet's values come from.

    Every value has its formula, and the file and line it comes from. Times are local times of the laboratory.
    """
    with loading():
        from pipelines import terminal
        from pipelines.flows import tracing
    found = tracing.trace(_laboratory(lab), sheet)
    if as_json:
        sys.stdout.write(results.as_json(found))
    else:
        terminal.show_trace(found)


def _laboratory(lab: Path) -> "Laboratory":
    from pipelines.settings import Laboratory

    laboratory = Laboratory(lab)
    laboratory.settings()
    return laboratory


def _snapshot(lab: Path) -> Path:
    return latest_snapshot(_laboratory(lab).published)


def _night(laboratory: "Laboratory", direct: bool) -> "Report":
    laboratory.settings()
    with loading():
        from pipelines.flows import steps
    if direct:
        return steps.run(laboratory)
    with steps.exclusive_run(laboratory):
        pass  # refuse a second run before Prefect starts, which takes a while
    logging.getLogger("sheetlore").info("Starting Prefect; this takes a few seconds …")
    from pipelines.flows import prefect_environment

    prefect_environment.prepare(laboratory.root / ".prefect")
    with loading():
        from pipelines.flows import nightly as flow
    return flow.run(laboratory)


def _show_stages() -> None:
    from pipelines import terminal

    log = logging.getLogger("sheetlore")
    log.setLevel(logging.INFO)
    log.handlers = [terminal.StageHandler()]


def _fail(error: SheetloreError) -> NoReturn:
    from pipelines import terminal

    terminal.show_error(error)
    raise SystemExit(int(error.exit_code))


def main() -> None:
    """Run the command line; an error that a person can correct ends in a message and its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # characters that the stream cannot encode
    try:
        app()
    except SheetloreError as error:
        _fail(error)
    except Exception as error:
        import duckdb

        if not isinstance(error, OSError | duckdb.IOException):
            raise
        _fail(
            SheetloreError(
                f"Reading or writing failed: {error}", "The warehouse and its snapshots are unchanged."
            )
        )
