"""The work list: which tests the sheets of open trials have, and which test pieces are left to test."""

from collections import Counter
from dataclasses import dataclass

from markupsafe import Markup

from pipelines.site import labels, links
from pipelines.site.figures import Row
from pipelines.site.reading import Rows
from pipelines.site.tables import Column, Link

DONE, TOO_FEW, MISSING, NOT_VALID = "done", "too few", "missing", "not valid"
"""What a sheet may have of a test."""

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
    """A cell of the matrix: what a sheet has of a test, as a sign and in words."""

    state: str
    text: str

    def __html__(self) -> Markup:
        kind = "done" if self.state == DONE else "to-do"
        return Markup('<span class="{}"><span aria-hidden="true">{}</span> {}</span>').format(
            kind, SIGNS[self.state], self.text
        )


@dataclass(frozen=True)
class Trial:
    """An open trial: a row for each sheet with something left to test, and how many sheets have all tests."""

    name: str
    columns: list[Column]
    rows: list[dict[str, str | Link | Mark]]
    n_complete: int


def state_of(row: Row) -> str | None:
    """Return what a sheet has of a test; None where the test is not required and was not made."""
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
    """Return the open trials that have something left to test, with their matrices of sheets and tests."""
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
    """Return how many open trials have nothing left to test."""
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
    """Return the cells of the list of tests to make: which sheet, which test, how many pieces, and why."""
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
    """Return why results are left to be made: none were, fewer than required, or some are not valid and for what."""
    if not row["n_results"]:
        return f"No result; {labels.number(row['required'])} required"
    required = row["required"] or 1
    said = f"{labels.number(row['n_valid'])} of {labels.number(required)} valid"
    if not row["reasons"]:
        return said
    counts = Counter(reason.replace(",", " and").replace("_", " ") for reason in row["reasons"])
    return f"{said}; left out: " + ", ".join(
        f"{labels.number(count)} {reason}" for reason, count in counts.items()
    )


def older(rows: Rows) -> list[tuple[str, int]]:
    """Return the trials that are not open and have sheets with something left to test, with the number of sheets."""
    sheets: dict[str, set[str]] = {}
    for row in left([row for row in rows if not row["is_open"]]):
        sheets.setdefault(row["trial"], set()).add(row["sheet_id"])
    return [(trial, len(found)) for trial, found in sheets.items()]


def required(rows: Rows) -> str:
    """Return the numbers of results that the sheets of open trials require, as a text; where trials differ, a range."""
    numbers: dict[str, set[int]] = {}
    for row in rows:
        if row["is_open"] and row["required"]:
            numbers.setdefault(row["test"], set()).add(row["required"])
    return ", ".join(
        f"{test} {labels.number(min(of))}" + (f" to {labels.number(max(of))}" if len(of) > 1 else "")
        for test, of in numbers.items()
    )
