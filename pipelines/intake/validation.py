"""Holding a frame of records against its model: which rows may be stored, and why the others may not."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pandera.errors
import pandera.pandas as pa

from pipelines.intake.reading import TextTable
from pipelines.intake.rejection import Reason
from pipelines.intake.type_parsing import TypedRows
from schemas.records import KINDS, STORED
from schemas.records.record import key_of, values_of

REASONS_PER_LINE = 5
"""A line with more faults than this is held for the first of them; the rest show once these are mended."""

FAULTY_LINES_PER_FILE = 10_000
"""A file with more faulty lines than this is held whole: its profile is wrong, not its lines."""

_ROWS_AT_ONCE = 50_000
"""Rows that pandera is given at once, which bounds the failure cases that it gathers."""


@dataclass(frozen=True)
class Fault:
    """A row's fault; without a target column it lies in the row as a whole."""

    row: int
    target: str
    column: str
    cell: str
    rule: str
    what: str
    remedy: str


@dataclass
class Validated:
    """The rows that may be stored, and for each file (by its number in the table) why others are held.

    ``held_whole`` names the files of which nothing may be stored; each has one reason, without a line.
    """

    records: pd.DataFrame
    reasons: dict[int, list[Reason]]
    held_whole: set[int]


def validate(table: TextTable, interpreted: TypedRows) -> Validated:
    """Check a table's records against the model of their kind, all rows and all rules at once."""
    model, frame = KINDS[table.profile.text.record], interpreted.frame
    cases = _failure_cases(model, frame, interpreted)
    faulty = np.zeros(len(frame), dtype=bool)
    faulty[cases["row"].to_numpy(dtype=np.int64)] = True
    for cells in interpreted.faults:
        faulty[cells.rows] = True
    if table.profile.text.wide is not None:
        faulty = _whole_lines(table, faulty)
    # A curve is stored whole, so its points, which share a key, are no contradiction.
    folded = STORED[table.profile.text.record] is not model
    contradictory = np.zeros(len(frame), dtype=bool) if folded else _contradictory(model, frame, ~faulty)
    faulty |= contradictory

    lines = np.bincount(table.file_number[faulty], minlength=len(table.files))
    flooded = {int(number) for number in np.flatnonzero(lines > FAULTY_LINES_PER_FILE)}
    held_whole = flooded | interpreted.open_files.keys()
    of_held_whole = np.isin(table.file_number, list(held_whole))

    told = ~of_held_whole
    faults = [
        *_cell_faults(interpreted, told),
        *_model_faults(model, cases[told[cases["row"].to_numpy(dtype=np.int64)]], interpreted, table),
        *_contradictions(model, frame, contradictory & told, table),
    ]
    reasons = _reasons(table, faults)
    reasons |= {number: [_open_file(cell)] for number, cell in interpreted.open_files.items()}
    for number in flooded - interpreted.open_files.keys():
        reasons[number] = [_flooded_file(int(lines[number]), table.files[number].account.stored)]
    records = frame.loc[~faulty & ~of_held_whole].reset_index(drop=True)
    return Validated(records, reasons, held_whole)


def _whole_lines(table: TextTable, faulty: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return a mask of all rows that come from a line of which one is faulty: a line is held whole."""
    line = table.file_number * (int(table.line_number.max(initial=0)) + 1) + table.line_number
    return np.isin(line, line[faulty])


def _failure_cases(
    model: type[pa.DataFrameModel], frame: pd.DataFrame, interpreted: TypedRows
) -> pd.DataFrame:
    """Return where the model's rules are broken: row, target column (empty for a rule over several), check, value.

    A cell that could not be read breaks no further rule, and neither does a row with such a cell one over
    several columns.
    """
    found = []
    for start in range(0, len(frame), _ROWS_AT_ONCE):
        try:
            model.validate(frame.iloc[start : start + _ROWS_AT_ONCE], lazy=True)
        except pandera.errors.SchemaErrors as errors:
            found.append(errors.failure_cases)
    columns = ["row", "target", "check", "value"]
    if not found:
        return pd.DataFrame({name: pd.Series(dtype=object) for name in columns})
    cases = pd.concat(found, ignore_index=True)
    if cases["index"].isna().any():
        raise AssertionError(
            f"a frame of wrong columns or types reached validation: {cases.iloc[0].to_dict()}"
        )
    over_columns = cases["schema_context"] == "DataFrameSchema"
    cases = pd.DataFrame(
        {
            "row": cases["index"].astype(np.int64),
            "target": cases["column"].astype(object).where(~over_columns, ""),
            "check": cases["check"].astype(str),
            "value": cases["failure_case"],
        }
    )
    # pandera reports a rule over several columns once for each column of the frame.
    cases = cases.drop_duplicates(["row", "target", "check"])
    unread = pd.MultiIndex.from_tuples(
        [(int(row), cells.target) for cells in interpreted.faults for row in cells.rows],
        names=["row", "target"],
    )
    cases = cases[~pd.MultiIndex.from_frame(cases[["row", "target"]]).isin(unread)]
    with_cell = set(cases.loc[cases["target"] != "", "row"]) | set(unread.get_level_values("row"))
    return cases[(cases["target"] != "") | ~cases["row"].isin(with_cell)]


def _cell_faults(interpreted: TypedRows, told: npt.NDArray[np.bool_]) -> Iterator[Fault]:
    for cells in interpreted.faults:
        for row, text in zip(cells.rows, cells.text, strict=True):
            if told[row]:
                what = f"{text!r} {cells.what}."
                yield Fault(int(row), cells.target, cells.column, str(text), cells.rule, what, cells.remedy)


def _model_faults(
    model: type[pa.DataFrameModel], cases: pd.DataFrame, interpreted: TypedRows, table: TextTable
) -> Iterator[Fault]:
    columns = model.to_schema().columns
    for row, target, check, value in cases.itertuples(index=False):
        if target:
            yield _column_fault(int(row), columns[target], check, value, interpreted, table)
        else:
            yield Fault(
                int(row),
                "",
                "",
                "",
                "row_rule",
                f"{check}.",
                "Correct the row in the export, or give what holds for all rows in the profile: { value = … }.",
            )


def _column_fault(
    row: int, column: pa.Column, check: str, value: Any, interpreted: TypedRows, table: TextTable
) -> Fault:
    shown = interpreted.shown_as.get(column.name, column.name)
    in_file = (
        str(table.cells[shown].iloc[row]) if shown in table.cells else ("" if pd.isna(value) else str(value))
    )
    if check == "not_nullable":
        what = f"{column.name} is missing."
        return Fault(
            row,
            column.name,
            shown,
            in_file,
            "required",
            what,
            "Fill it in, in the export; a summary line is named in dialect.footer.",
        )
    rule, bound = _bound(column, check)
    unit = (column.metadata or {}).get("unit")
    in_unit = f" {unit}" if unit not in (None, "1", "UTC") else ""
    given = f"{value:.6g}" if isinstance(value, float) else str(value)
    return Fault(
        row,
        column.name,
        shown,
        in_file,
        rule,
        f"{column.name} must be {bound}{in_unit if rule == 'range' else ''}; it is {given}{in_unit}.",
        "Check the value and its unit: correct the export, or the unit in the profile.",
    )


_WORDS = {
    "greater_than": "greater than {min_value}",
    "greater_than_or_equal_to": "at least {min_value}",
    "less_than": "less than {max_value}",
    "less_than_or_equal_to": "at most {max_value}",
}


def _bound(column: pa.Column, check: str) -> tuple[str, str]:
    """Return the rule's name and its bound in words."""
    for declared in column.checks:
        if check in (declared.error, declared.name) or check.startswith(f"{declared.name}("):
            statistics = declared.statistics or {}
            if declared.name in _WORDS:
                return "range", _WORDS[declared.name].format(**statistics)
            if declared.name == "isin":
                return "code", "one of " + ", ".join(map(str, statistics["allowed_values"]))
            if declared.name == "str_length":
                return "length", "{min_value} to {max_value} characters long".format(**statistics)
    return "rule", f"such that {check}"


def _contradictory(
    model: type[pa.DataFrameModel], frame: pd.DataFrame, sound: npt.NDArray[np.bool_]
) -> npt.NDArray[np.bool_]:
    """Return a mask of the rows whose key stands in the same file with other values.

    Nothing in the file tells which row is right, so none is taken. (Across files the newer export counts.)
    """
    key = ["file_hash", *key_of(model)]
    candidates = frame.loc[sound]
    candidates = candidates[candidates.duplicated(key, keep=False)]
    wrong = np.zeros(len(frame), dtype=bool)
    if candidates.empty:
        return wrong
    group = candidates.groupby(key, dropna=False).ngroup()
    distinct = candidates.assign(group=group).drop_duplicates(["file_hash", *values_of(model)])["group"]
    several = distinct[distinct.duplicated()].unique()
    wrong[group.index[group.isin(several)]] = True
    return wrong


def _contradictions(
    model: type[pa.DataFrameModel], frame: pd.DataFrame, wrong: npt.NDArray[np.bool_], table: TextTable
) -> Iterator[Fault]:
    rows_of = frame.loc[wrong].groupby(["file_hash", *key_of(model)], dropna=False).groups.values()
    for rows in rows_of:
        lines = ", ".join(str(table.line_number[row]) for row in rows[:6]) + (" …" if len(rows) > 6 else "")
        for row in rows:
            yield Fault(
                int(row),
                "",
                "",
                "",
                "contradiction",
                f"Lines {lines} measure the same thing ({_key_in_words(frame, row, key_of(model))}) and "
                "give different values.",
                "Find out which one holds and export it alone; a retest needs a time or a replicate "
                "number of its own.",
            )


def _key_in_words(frame: pd.DataFrame, row: int, key: tuple[str, ...]) -> str:
    given: dict[str, Any] = {name: frame.at[row, name] for name in key}
    return ", ".join(f"{name} {value}" for name, value in given.items() if not pd.isna(value))


def _reasons(table: TextTable, faults: list[Fault]) -> dict[int, list[Reason]]:
    reasons: dict[int, list[Reason]] = {}
    per_line: dict[int, int] = {}
    for fault in sorted(faults, key=lambda fault: fault.row):
        per_line[fault.row] = per_line.get(fault.row, 0) + 1
        if per_line[fault.row] <= REASONS_PER_LINE:
            reasons.setdefault(int(table.file_number[fault.row]), []).append(
                Reason(
                    fault.rule,
                    fault.what,
                    fault.remedy,
                    int(table.line_number[fault.row]),
                    fault.column or None,
                    fault.cell or None,
                    table.original_text(fault.row),
                )
            )
    return reasons


def _open_file(cell: str) -> Reason:
    return Reason(
        "number_marks",
        f"The numbers can be read in two ways: {cell!r} may have a decimal or a thousands mark, and "
        "nothing in the file settles it.",
        "State dialect.decimal (and dialect.thousands) in the profile.",
        value=cell,
    )


def _flooded_file(faulty: int, rows: int) -> Reason:
    return Reason(
        "too_many_faults",
        f"{faulty} of {rows} data rows break a rule: the profile, not the rows, is likely wrong.",
        "Try the profile on a few lines of the file: look at its units, its codes and its decimal mark.",
    )
