"""Holding a frame of records against its model: which rows may be stored, and why the others may not."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pandera.errors
import pandera.pandas as pa

from pipelines.intake.holding import Reason
from pipelines.intake.interpreting import Fault, Interpreted
from pipelines.intake.reading import TextTable
from schemas.records import KINDS
from schemas.records.record import key_of, values_of

REASONS_PER_LINE = 5
"""A line with more faults than this is held for the first of them; the rest show once these are mended."""


@dataclass
class Validated:
    """The rows that may be stored, and for each file (by its number in the table) why others are held."""

    records: pd.DataFrame
    reasons: dict[int, list[Reason]]


def validate(table: TextTable, interpreted: Interpreted) -> Validated:
    """Check a table's records against the model of their kind, all rows and all rules at once."""
    model = KINDS[table.profile.text.record]
    faults = list(interpreted.faults)
    cells = {(fault.row, fault.target) for fault in faults}
    found = [
        fault for fault in _model_faults(model, interpreted, table) if (fault.row, fault.target) not in cells
    ]
    # A rule over several columns says nothing of a row in which one of them could not be read.
    rows = {fault.row for fault in [*faults, *found] if fault.target}
    faults += [fault for fault in found if fault.target or fault.row not in rows]
    frame = interpreted.frame
    held = np.zeros(len(frame), dtype=bool)
    held[[fault.row for fault in faults]] = True
    held |= np.isin(table.file_number, list(interpreted.open_files))
    faults += _contradictions(model, frame, ~held, table)
    held[[fault.row for fault in faults]] = True
    records = frame.loc[~held].reset_index(drop=True)
    return Validated(records, _reasons(table, interpreted, faults))


def _model_faults(model: type[pa.DataFrameModel], interpreted: Interpreted, table: TextTable) -> list[Fault]:
    try:
        model.validate(interpreted.frame, lazy=True)
    except pandera.errors.SchemaErrors as errors:
        cases = errors.failure_cases
    else:
        return []
    if cases["index"].isna().any():
        raise AssertionError(f"a frame of wrong columns or types reached validation: {cases.head(3)}")
    columns = model.to_schema().columns
    faults = []
    seen: set[tuple[int, str]] = set()
    for case in cases.itertuples(index=False):
        row, check = int(case.index), str(case.check)
        is_row_rule = case.schema_context == "DataFrameSchema"
        target = "" if is_row_rule else str(case.column)
        # pandera reports a rule over several columns once for each column of the frame.
        mark = (row, check if is_row_rule else f"{target} {check}")
        if mark in seen:
            continue
        seen.add(mark)
        if is_row_rule:
            faults.append(Fault(row, "", "", "", "row_rule", f"{check}.", "Correct the row in the export."))
        else:
            faults.append(_column_fault(row, columns[target], check, case.failure_case, interpreted, table))
    return faults


def _column_fault(
    row: int, column: pa.Column, check: str, value: Any, interpreted: Interpreted, table: TextTable
) -> Fault:
    shown = interpreted.shown_as.get(column.name, column.name)
    raw = (
        str(table.cells[shown].iloc[row]) if shown in table.cells else ("" if pd.isna(value) else str(value))
    )
    if check == "not_nullable":
        return Fault(
            row,
            column.name,
            shown,
            raw,
            "required",
            f"{column.name} is missing.",
            "Fill it in, in the export.",
        )
    rule, bound = _bound(column, check)
    unit = (column.metadata or {}).get("unit")
    in_unit = f" {unit}" if unit not in (None, "1", "UTC") else ""
    given = f"{value:.6g}" if isinstance(value, float) else str(value)
    return Fault(
        row,
        column.name,
        shown,
        raw,
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


def _contradictions(
    model: type[pa.DataFrameModel], frame: pd.DataFrame, sound: npt.NDArray[np.bool_], table: TextTable
) -> list[Fault]:
    """Return a fault for every row whose key stands in the same file with other values.

    Nothing in the file tells which row is right, so none is taken. (Across files the newer export counts.)
    """
    key = ["file_hash", *key_of(model)]
    values = ["file_hash", *values_of(model)]
    candidates = frame.loc[sound]
    candidates = candidates[candidates.duplicated(key, keep=False)]
    if candidates.empty:
        return []
    different = candidates.drop_duplicates(values)
    contradictory = different[different.duplicated(key, keep=False)]
    if contradictory.empty:
        return []
    keys = pd.MultiIndex.from_frame(contradictory[key].astype(object).where(contradictory[key].notna(), None))
    wrong = candidates[
        pd.MultiIndex.from_frame(candidates[key].astype(object).where(candidates[key].notna(), None)).isin(
            keys
        )
    ]
    faults = []
    for _, rows in wrong.groupby(key, dropna=False):
        lines = ", ".join(str(table.line_number[row]) for row in rows.index[:6])
        for row in rows.index:
            faults.append(
                Fault(
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
            )
    return faults


def _key_in_words(frame: pd.DataFrame, row: int, key: tuple[str, ...]) -> str:
    given: dict[str, Any] = {name: frame.at[row, name] for name in key}
    return ", ".join(f"{name} {value}" for name, value in given.items() if not pd.isna(value))


def _reasons(table: TextTable, interpreted: Interpreted, faults: list[Fault]) -> dict[int, list[Reason]]:
    reasons: dict[int, list[Reason]] = {}
    per_line: dict[int, int] = {}
    for fault in sorted(faults, key=lambda fault: fault.row):
        number = int(table.file_number[fault.row])
        if number in interpreted.open_files:
            continue
        per_line[fault.row] = per_line.get(fault.row, 0) + 1
        if per_line[fault.row] <= REASONS_PER_LINE:
            reasons.setdefault(number, []).append(
                Reason(
                    fault.rule,
                    fault.what,
                    fault.remedy,
                    int(table.line_number[fault.row]),
                    fault.column or None,
                    fault.value or None,
                    table.original_text(fault.row),
                )
            )
    for number, cell in interpreted.open_files.items():
        reasons[number] = [
            Reason(
                "number_marks",
                f"The numbers can be read in two ways: {cell!r} may have a decimal or a thousands mark, and "
                "nothing in the file settles it.",
                "State dialect.decimal (and dialect.thousands) in the profile.",
                value=cell,
            )
        ]
    return reasons
