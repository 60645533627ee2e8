"""Validate a frame of records against its model: which rows may be stored, and why the others may not."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pandera.errors
import pandera.pandas as pa

from pipelines.dictionary.units import unit_text
from pipelines.intake.reading import TextTable
from pipelines.intake.rejection import RE_EXPORT, Rejection
from pipelines.intake.type_parsing import TypedRows
from schemas.columns import quantity_of
from schemas.records import KINDS, STORED
from schemas.records.record import key_of, values_of

ERRORS_PER_LINE = 5
"""At most this many errors of a line are reported; the others appear once these are corrected."""

INVALID_LINES_PER_FILE = 10_000
"""A file with more invalid lines than this is on hold as a whole: its profile is wrong, not its lines."""

_ROWS_AT_ONCE = 50_000
"""Rows that pandera validates at once, which limits the failure cases that it collects."""


@dataclass(frozen=True)
class RowError:
    """An error of a row; ``target`` is the column of the model, empty when the error concerns several columns."""

    row: int
    target: str
    column: str
    cell: str
    rule: str
    what: str
    remedy: str


@dataclass
class ValidationResult:
    """The records to store, and the rejections of each file by its number in the table.

    ``rejected_files`` are the numbers of the files on hold as a whole; each has one rejection, without a line.
    ``rows`` are the rows of the table that the records come from.
    """

    records: pd.DataFrame
    rows: npt.NDArray[np.int64]
    rejections: dict[int, list[Rejection]]
    rejected_files: set[int]


def validate(table: TextTable, typed: TypedRows) -> ValidationResult:
    """Validate a table's records against the model of their kind, all rows and all rules at once."""
    model, frame = KINDS[table.profile.text.record], typed.frame
    cases = _failure_cases(model, frame, typed)
    invalid = np.zeros(len(frame), dtype=bool)
    invalid[cases["row"].to_numpy(dtype=np.int64)] = True
    for errors in typed.errors:
        invalid[errors.rows] = True
    # The points of a curve share a key without contradicting each other.
    folded = STORED[table.profile.text.record] is not model
    contradictory = np.zeros(len(frame), dtype=bool) if folded else _contradictory(model, frame, ~invalid)
    invalid |= contradictory

    lines = np.bincount(table.file_number[invalid], minlength=len(table.files))
    too_many = {int(number) for number in np.flatnonzero(lines > INVALID_LINES_PER_FILE)}
    rejected_files = too_many | typed.ambiguous_files.keys()
    in_rejected_file = np.isin(table.file_number, list(rejected_files))

    reported = ~in_rejected_file
    row_errors = [
        *_cell_errors(typed, reported),
        *_model_errors(model, cases[reported[cases["row"].to_numpy(dtype=np.int64)]], typed),
        *_contradictions(model, frame, contradictory & reported, table, typed),
    ]
    if folded:
        incomplete = _incomplete_curves(table, frame, typed, key_of(model), invalid)
        row_errors += [
            _curve_error(found, frame, key_of(model), typed)
            for found in incomplete
            if reported[found.rows[0]]
        ]
        for found in incomplete:
            invalid[found.rows] = True
    rejections = _rejections(table, row_errors)
    rejections |= {number: [_ambiguous_numbers(cell)] for number, cell in typed.ambiguous_files.items()}
    for number in too_many - typed.ambiguous_files.keys():
        rejections[number] = [_too_many_errors(int(lines[number]), table.files[number].account.stored)]
    rows = np.flatnonzero(~invalid & ~in_rejected_file)
    records = frame.iloc[rows].reset_index(drop=True)
    return ValidationResult(records, rows, rejections, rejected_files)


def _failure_cases(model: type[pa.DataFrameModel], frame: pd.DataFrame, typed: TypedRows) -> pd.DataFrame:
    """Return the broken rules of a model: row, target column (empty for a rule over several), check, value.

    A cell that could not be parsed breaks no further rule, and its row breaks no rule over several columns.
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
    unparsed = pd.MultiIndex.from_tuples(
        [(int(row), errors.target) for errors in typed.errors for row in errors.rows],
        names=["row", "target"],
    )
    cases = cases[~pd.MultiIndex.from_frame(cases[["row", "target"]]).isin(unparsed)]
    with_cell_error = set(cases.loc[cases["target"] != "", "row"]) | set(unparsed.get_level_values("row"))
    return cases[(cases["target"] != "") | ~cases["row"].isin(with_cell_error)]


def _cell_errors(typed: TypedRows, reported: npt.NDArray[np.bool_]) -> Iterator[RowError]:
    for errors in typed.errors:
        for row, text in zip(errors.rows, errors.text, strict=True):
            if reported[row]:
                what = f"{text!r} {errors.what}."
                yield RowError(
                    int(row), errors.target, errors.column, str(text), errors.rule, what, errors.remedy
                )


def _model_errors(
    model: type[pa.DataFrameModel], cases: pd.DataFrame, typed: TypedRows
) -> Iterator[RowError]:
    columns = model.to_schema().columns
    for row, target, check, value in cases.itertuples(index=False):
        if target:
            yield _column_error(int(row), columns[target], check, value, typed)
        else:
            remedy = (
                f"Correct the line and {RE_EXPORT} If a value is the same for all lines, give it in the profile as "
                "{ value = … }."
            )
            what = f"{check[:1].upper()}{check[1:]}{'' if check.endswith('?') else '.'}"
            yield RowError(int(row), "", "", "", "row_rule", what, remedy)


def _column_error(row: int, column: pa.Column, check: str, value: Any, typed: TypedRows) -> RowError:
    name = typed.export_names.get(column.name, column.name)
    cells = typed.original_cells.get(column.name)
    cell = "" if cells is None else str(cells.iloc[row])
    unit = (column.metadata or {}).get("unit")
    quantity = quantity_of(column.name, unit).replace("_", " ").capitalize()
    if check == "not_nullable":
        rule, what = "required", f"{quantity} is missing."
        remedy = f"Fill it in and {RE_EXPORT} If this is a summary line, describe it in dialect.footer of the profile."
    else:
        rule, expected, given = _broken_rule(column, check, value, unit)
        what = f"{quantity} must be {expected}; it is {given}."
        remedy = (
            f"Check the value and its unit. Correct it and {RE_EXPORT} Or correct the unit in the profile."
        )
        if rule != "range":
            remedy = f"Correct the cell and {RE_EXPORT}"
    return RowError(row, column.name, name, cell, rule, what, remedy)


_BOUNDS = {
    "greater_than": "greater than {min_value}",
    "greater_than_or_equal_to": "at least {min_value}",
    "less_than": "less than {max_value}",
    "less_than_or_equal_to": "at most {max_value}",
}


def _broken_rule(column: pa.Column, check: str, value: Any, unit: str | None) -> tuple[str, str, str]:
    """Return the code of a broken rule, what it demands and what the cell gives, in words with units."""
    with_unit = f" {unit_text(unit)}" if unit_text(unit) else ""
    given = f"{_plain(value)}{with_unit}"
    for declared in column.checks:
        if check in (declared.error, declared.name) or check.startswith(f"{declared.name}("):
            statistics = declared.statistics or {}
            if declared.name in _BOUNDS:
                return "range", f"{_BOUNDS[declared.name].format(**statistics)}{with_unit}", given
            if declared.name == "isin":
                return "code", f"one of {', '.join(map(str, statistics['allowed_values']))}", repr(value)
            if declared.name == "str_length":
                limit = "at most {max_value} characters long".format(**statistics)
                return "length", limit, f"{len(value)} characters long"
    return "rule", f"such that {check}", given


def _plain(value: Any) -> str:
    """Return a number with six digits and no exponent; any other value as text."""
    if not isinstance(value, float):
        return str(value)
    return np.format_float_positional(float(f"{value:.6g}"), trim="-")


def _contradictory(
    model: type[pa.DataFrameModel], frame: pd.DataFrame, valid: npt.NDArray[np.bool_]
) -> npt.NDArray[np.bool_]:
    """Return a mask of the valid rows whose key occurs again in the same file with other values.

    Nothing in the file shows which row is correct, so none is imported. (Across files the newer export counts.)
    """
    key = ["file_hash", *key_of(model)]
    candidates = frame.loc[valid]
    candidates = candidates[candidates.duplicated(key, keep=False)]
    mask = np.zeros(len(frame), dtype=bool)
    if candidates.empty:
        return mask
    group = candidates.groupby(key, dropna=False).ngroup()
    distinct = candidates.assign(group=group).drop_duplicates(["file_hash", *values_of(model)])["group"]
    contradicting = distinct[distinct.duplicated()].unique()
    mask[group.index[group.isin(contradicting)]] = True
    return mask


def _contradictions(
    model: type[pa.DataFrameModel],
    frame: pd.DataFrame,
    mask: npt.NDArray[np.bool_],
    table: TextTable,
    typed: TypedRows,
) -> Iterator[RowError]:
    groups = frame.loc[mask].groupby(["file_hash", *key_of(model)], dropna=False).groups.values()
    for rows in groups:
        lines = _enumerate([str(table.line_number[row]) for row in rows])
        for row in rows:
            yield RowError(
                int(row),
                "",
                "",
                "",
                "contradiction",
                f"Lines {lines} give different values for the same measurement "
                f"({_describe_key(frame, row, key_of(model), typed)}).",
                f"Delete all but the correct line and {RE_EXPORT} If one line is a retest, give it its own time or "
                "replicate number.",
            )


@dataclass(frozen=True)
class _IncompleteCurve:
    """The valid rows of a curve, a line on hold, and whether this line names the curve or is only beside it."""

    rows: npt.NDArray[np.int64]
    held_line: int
    named: bool


def _incomplete_curves(
    table: TextTable,
    frame: pd.DataFrame,
    typed: TypedRows,
    key: tuple[str, ...],
    invalid: npt.NDArray[np.bool_],
) -> list[_IncompleteCurve]:
    """Return the curves with a line on hold: what is left of a curve gives other results.

    Where a line names no curve, because its key or its cells could not be read, it may belong to the curves on the
    lines before and after it.
    """
    if not invalid.any() and not any(file.rejections for file in table.files):
        return []
    curve = (
        frame.groupby([table.file_number, *(frame[name] for name in key)], dropna=False).ngroup().to_numpy()
    )
    unnamed = np.zeros(len(frame), dtype=bool)
    for errors in typed.errors:
        if errors.target in key:
            unnamed[errors.rows] = True
    first: dict[int, tuple[int, bool]] = {}
    for number, file in enumerate(table.files):
        rows = np.flatnonzero(table.file_number == number)
        named_rows = rows[~unnamed[rows]]
        curves_of = pd.Series(curve[named_rows]).groupby(table.line_number[named_rows]).unique()
        for row in rows[invalid[rows] & ~unnamed[rows]]:
            first.setdefault(int(curve[row]), (int(table.line_number[row]), True))
        lost = set(table.line_number[rows[invalid[rows] & unnamed[rows]]].tolist())
        lost |= {rejection.line_number for rejection in file.rejections if rejection.line_number is not None}
        for line in sorted(lost):
            place = int(curves_of.index.searchsorted(line))
            for beside in curves_of.iloc[max(place - 1, 0) : place + 1]:
                for one in beside:
                    first.setdefault(int(one), (line, False))
    incomplete = (
        _IncompleteCurve(np.flatnonzero((curve == one) & ~invalid), line, named)
        for one, (line, named) in first.items()
    )
    return [found for found in incomplete if found.rows.size]


def _curve_error(
    found: _IncompleteCurve, frame: pd.DataFrame, key: tuple[str, ...], typed: TypedRows
) -> RowError:
    row, others = int(found.rows[0]), len(found.rows)
    piece = _describe_key(frame, row, key, typed)
    return RowError(
        row,
        "",
        "",
        "",
        "incomplete_curve",
        f"The curve{f' of {piece}' if piece else ''} {'is' if found.named else 'may be'} incomplete: line "
        f"{found.held_line} is on hold. So {'its other point is' if others == 1 else f'its other {others} points are'} "
        "on hold too.",
        f"Correct line {found.held_line} and {RE_EXPORT}",
    )


def _enumerate(words: list[str]) -> str:
    if len(words) > 6:
        return ", ".join(words[:6]) + " …"
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _describe_key(frame: pd.DataFrame, row: int, key: tuple[str, ...], typed: TypedRows) -> str:
    """Return the key of a row in the words of the export: its column names and cells."""
    given: dict[str, Any] = {name: frame.at[row, name] for name in key if name in typed.export_names}
    return ", ".join(
        f"{typed.export_names[name]} {typed.original_cells[name].iloc[row].strip() or value}"
        for name, value in given.items()
        if not pd.isna(value)
    )


def _rejections(table: TextTable, errors: list[RowError]) -> dict[int, list[Rejection]]:
    """Return the rejections of each file, at most ERRORS_PER_LINE different ones per line."""
    by_line: dict[tuple[int, int], dict[Rejection, None]] = {}
    for error in sorted(errors, key=lambda error: error.row):
        line = int(table.file_number[error.row]), int(table.line_number[error.row])
        place = table.place(error.row, error.column)
        rejection = Rejection(
            error.rule,
            f"{error.what} ({place[:1].upper()}{place[1:]}.)" if place else error.what,
            error.remedy,
            line[1],
            table.wide_header_cell(error.column, error.row) or error.column or None,
            error.cell or None,
            table.original_text(error.row, error.column),
        )
        rejections = by_line.setdefault(line, {})
        if len(rejections) < ERRORS_PER_LINE:
            rejections[rejection] = None
    by_file: dict[int, list[Rejection]] = {}
    for (file_number, _), rejections in by_line.items():
        by_file.setdefault(file_number, []).extend(rejections)
    return by_file


def _ambiguous_numbers(cell: str) -> Rejection:
    return Rejection(
        "number_marks",
        f"The numbers are ambiguous: the mark in {cell!r} may be a decimal or a thousands mark, and nothing in the "
        "file decides which.",
        "Set dialect.decimal (and dialect.thousands) in the profile.",
        cell=cell,
    )


def _too_many_errors(invalid: int, rows: int) -> Rejection:
    return Rejection(
        "too_many_faults",
        f"{invalid} of {rows} data lines break a rule. Probably the profile is wrong, not the lines.",
        "Compare the profile's units, codes and decimal mark with a few lines of the file.",
    )
