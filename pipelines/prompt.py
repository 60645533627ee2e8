"""The prompt: queries on one snapshot, with completion and history."""

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path

import duckdb
import typer
from prompt_toolkit import PromptSession
from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document
from prompt_toolkit.history import FileHistory, History, InMemoryHistory
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.lexers import PygmentsLexer
from pygments.lexers.sql import SqlLexer

from pipelines import terminal
from pipelines.completion import suggestions
from pipelines.errors import SheetloreError, UsageError
from pipelines.warehouse import catalogue, querying
from pipelines.warehouse.catalogue import Catalogue
from pipelines.warehouse.connection import reading
from pipelines.warehouse.pointer import latest_snapshot
from pipelines.warehouse.query_text import is_complete, statements

HELP = {
    "tables": "list the tables and what one row of each is",
    "columns TABLE": "list the columns of a table with meaning, unit and source",
    "leave": "end; so does Ctrl-D",
    "SELECT …;": "a query; it can span several lines and ends with a semicolon",
    "Tab": "complete the word; columns of the tables in the query come first",
    "Up, Ctrl-R": "earlier queries; Ctrl-R searches them",
    "Ctrl-C": "discard the typed text, or interrupt a running query",
}


def run(published: Path) -> None:
    """Read queries and print their results, all from the snapshot that was the newest at the start."""
    snapshot = announced = latest_snapshot(published)
    with reading(snapshot) as connection:
        known = catalogue.read(connection)
        session = _session(known)
        typer.echo(
            f"Snapshot {snapshot.name}. End a query with a semicolon. Type help for help, leave to end."
        )
        while True:
            newest = _newest(published, announced)
            if newest != announced:
                announced = newest
                typer.echo(
                    f"{announced.name} is newer. This prompt keeps its snapshot; leave and start again to use it."
                )
            try:
                text = session.prompt("sheetlore> ")
            except KeyboardInterrupt:
                continue
            except EOFError:
                return
            if own := own_words(text):
                if own[0] == "leave":
                    return
                _obey(own, known)
                continue
            for statement in statements(text):
                if not _answer(connection, statement):
                    break


def own_words(text: str) -> list[str]:
    """Return the words of a line that is a command of the prompt, such as ``columns sheet``; else none."""
    words = text.lower().replace(";", " ").split()
    expected = {"help": 1, "tables": 1, "leave": 1, "columns": 2}
    return words if words and len(words) == expected.get(words[0]) else []


def is_finished(text: str) -> bool:
    """Return whether Enter ends a text rather than starting its next line."""
    return not text.strip() or bool(own_words(text)) or is_complete(text)


def history() -> History:
    """Return the history of queries in the user's state folder, or one in memory where that is not writable."""
    state = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    path = state / "sheetlore" / "queries"
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        path.touch(mode=0o600)
        with path.open("ab"):
            return FileHistory(path)
    except OSError:
        return InMemoryHistory()


class SqlCompleter(Completer):
    """Shows ``completion.suggestions`` at the cursor."""

    def __init__(self, known: Catalogue) -> None:
        self.known = known

    def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterator[Completion]:
        """Return the suggestions, each with its meaning beside it."""
        for found in suggestions(self.known, document.text_before_cursor, document.text_after_cursor):
            yield Completion(found.text, start_position=-found.replaces, display_meta=found.meaning)


def _session(known: Catalogue) -> PromptSession[str]:
    keys = KeyBindings()

    @keys.add("enter")
    def _enter(event: KeyPressEvent) -> None:
        buffer = event.current_buffer
        if buffer.complete_state and buffer.complete_state.current_completion:
            buffer.complete_state = None
        elif is_finished(buffer.text):
            buffer.validate_and_handle()
        else:
            buffer.insert_text("\n")

    return PromptSession(
        history=history(),
        completer=SqlCompleter(known),
        lexer=PygmentsLexer(SqlLexer),
        key_bindings=keys,
        multiline=True,
        prompt_continuation="         > ",
    )


def _newest(published: Path, otherwise: Path) -> Path:
    try:
        return latest_snapshot(published)
    except SheetloreError:  # the pointer is being changed, or gone
        return otherwise


def _obey(words: list[str], known: Catalogue) -> None:
    match words:
        case ["help"]:
            terminal.show_meanings(HELP)
        case ["tables"]:
            terminal.show_meanings(known.tables)
        case ["columns", table] if table in known.columns:
            terminal.show_meanings(known.columns[table])
        case _:
            terminal.show_error(UsageError(f"Unknown table {words[1]}.", "List the tables: tables"))


def _answer(connection: duckdb.DuckDBPyConnection, query: str) -> bool:
    """Print the result of a query, its number of rows and its time; return whether it succeeded."""
    began = time.monotonic()
    try:
        with querying.answer(connection, query) as answer:
            total, shown = terminal.show_answer(answer)
    except SheetloreError as error:
        terminal.show_error(error)
        _leave_transaction(connection)
        return False
    except KeyboardInterrupt:
        typer.echo("\nInterrupted.")
        return False
    rows = "1 row" if total == 1 else f"{total:,} rows"
    first = f", the first {shown} shown" if total > shown else ""
    typer.echo(f"{rows}{first}, in {time.monotonic() - began:.2f} s")
    return True


def _leave_transaction(connection: duckdb.DuckDBPyConnection) -> None:
    """End an open transaction, which would refuse every query after an error."""
    with contextlib.suppress(duckdb.Error):
        connection.rollback()
