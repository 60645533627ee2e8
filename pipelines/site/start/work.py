"""The work list: which tests the sheets of open trials have, and which test pieces are left to test."""

from collections import Counter
from dataclasses import dataclass

from markupsafe import Markup

from pipelines.site import labels, links
from pipelines.site.figures import Row
from pipelines.site.reading import Rows
from pipelines.site.tables import Column, Link

DONE, TOO_FEW, MISSING, NOT_VALID = "done", "too few", "missing", "not valid"
"""States of a test of a sheet."""

SIGNS = {DONE: "●", TOO_FEW: "◐", MISSING: "○", NOT_VALID: "✕"}

RETEST_COLUMNS = [
    Column("sheet_id", "Sheet"),
    Column("trial", "Trial"),
    Column("trial_point", "Trial point"),
    Column("test", "Test"),
    Column("pieces", "To test", number=True),
    Column("why", "Why", long=True),
]


@dataclass(frozen=True)
class Mark:
    """A cell of the matrix: the state of a sheet's test, as a sign and in words."""

    state: str
    text: str

    def __html__(self) -> Markup:
        kind = "done" if self.state == DONE else "to-do"
        return Markup('<span class="{}"><span aria-hidden="true">{}</span> {}</span>').format(
            kind, SIGNS[self.state], self.text
        )


@dataclass(frozen=True)
class Trial:
    """An open trial: one row per sheet with tests left to do, and the number of sheets that have all tests."""

    name: str
    columns: list[Column]
    rows: list[dict[str, str | Link | Mark]]
    n_complete: int


def state_of(row: Row) -> str | None:
    """Return the state of a sheet's test; None if the test is not required and was not made."""
    if row["required"] is None and not row["n_results"]:
        return None
    if not row["n_results"]:
        return MISSING
    if row["n_valid"] >= (row["required"] or 1):
        return DONE
    return TOO_FEW if row["n_valid"] else NOT_VALID


def left(rows: Rows) -> Rows:
    """Return the sheets' tests that are not done."""
    return [row for row in rows if state_of(row) not in (None, DONE)]


def trials(rows: Rows) -> list[Trial]:
    """Return the open trials with tests left to do, each with its matrix of sheets and tests."""
    tests = list(dict.fromkeys(row["test"] for row in rows if state_of(row)))
    columns = [Column("sheet_id", "Sheet"), Column("trial_point", "Trial point")]
    columns += [Column(test, labels.words(test)) for test in tests]
    of_trial: dict[str, dict[str, Rows]] = {}
    for row in rows:
        if row["is_open"]:
            of_trial.setdefault(row["trial"], {}).setdefault(row["sheet_id"], []).append(row)
    found = []
    for name, sheets in of_trial.items():
        incomplete = [tests_of for tests_of in sheets.values() if left(tests_of)]
        if incomplete:
            matrix = [_cells(tests_of, tests) for tests_of in incomplete]
            found.append(Trial(name, columns, matrix, len(sheets) - len(incomplete)))
    return found


def n_complete(rows: Rows) -> int:
    """Return the number of open trials that have all tests."""
    of_open = [row for row in rows if row["is_open"]]
    return len({row["trial"] for row in of_open} - {row["trial"] for row in left(of_open)})


def _cells(tests_of: Rows, tests: list[str]) -> dict[str, str | Link | Mark]:
    sheet = tests_of[0]
    by_test = {row["test"]: row for row in tests_of}
    return {
        "sheet_id": Link(links.sheet_page(sheet["sheet_id"]), sheet["sheet_id"]),
        "trial_point": sheet["trial_point"],
    } | {test: _mark(by_test[test]) for test in tests}


def _mark(row: Row) -> Mark | str:
    state = state_of(row)
    if state is None:
        return labels.MISSING
    if state == DONE:
        return Mark(state, labels.number(row["n_valid"]))
    if state == MISSING:
        return Mark(state, MISSING)
    number = f"{labels.number(row['n_valid'])} of {labels.number(row['required'] or 1)}"
    return Mark(state, f"{number} valid" if state == NOT_VALID else number)


def retests(rows: Rows) -> list[dict[str, str | Link]]:
    """Return the rows of the list of tests to do: sheet, test, number of pieces, and why."""
    return [
        {
            "sheet_id": Link(links.sheet_page(row["sheet_id"]), row["sheet_id"]),
            "trial": row["trial"],
            "trial_point": row["trial_point"],
            "test": labels.words(row["test"]),
            "pieces": labels.number((row["required"] or 1) - row["n_valid"]),
            "why": why(row),
        }
        for row in left(rows)
    ]


def why(row: Row) -> str:
    """Return why a test is not done: no result, too few, or results left out and for which reasons."""
    if not row["n_results"]:
        return f"No result; {labels.number(row['required'])} required"
    required = row["required"] or 1
    valid = f"{labels.number(row['n_valid'])} of {labels.number(required)} valid"
    if not row["reasons"]:
        return valid
    counts = Counter(reason.replace(",", " and").replace("_", " ") for reason in row["reasons"])
    return f"{valid}; left out: " + ", ".join(
        f"{labels.number(count)} {reason}" for reason, count in counts.items()
    )


def older(rows: Rows) -> list[tuple[str, int]]:
    """Return the trials that are not open and have tests left to do, each with its number of sheets."""
    sheets: dict[str, set[str]] = {}
    for row in left([row for row in rows if not row["is_open"]]):
        sheets.setdefault(row["trial"], set()).add(row["sheet_id"])
    return [(trial, len(found)) for trial, found in sheets.items()]


def required(rows: Rows) -> str:
    """Return as text how many results each test of the open trials requires; a range if trials differ."""
    numbers: dict[str, set[int]] = {}
    for row in rows:
        if row["is_open"] and row["required"]:
            numbers.setdefault(row["test"], set()).add(row["required"])
    return ", ".join(
        f"{test} {labels.number(min(of))}" + (f" to {labels.number(max(of))}" if len(of) > 1 else "")
        for test, of in numbers.items()
    )
