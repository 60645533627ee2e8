"""The start page: the work list, then the last run, and the newest trials and sheets."""

from pipelines.site import labels, links
from pipelines.site.figures import Figure, Row, Variant, packed, page_data
from pipelines.site.reading import Published, Rows
from pipelines.site.rendering import render
from pipelines.site.start import findings, work
from pipelines.site.tables import Column, Link, Links, aligned, cells, headed
from pipelines.site.trials import page as trials

LISTED = 30
"""Maximum rows of each list; the page says how many more there are."""

NEWEST_TRIALS = 12
RUNS = 400
"""Maximum runs in the charts, the newest."""


def page(published: Published) -> str:
    """Return the start page."""
    runs, files, zone = published.all("night"), published.all("start_file"), published.zone
    held, unmatched, tests = (published.all(name) for name in ("held", "start_unmatched", "start_test"))
    climate, fills, curves = (published.all(f"start_{name}") for name in ("climate", "tank", "curve"))
    open_tests = [row for row in tests if row["is_open"]]
    left_out = [row for row in climate if not row["admitted"]]
    to_do = {
        "held": findings.of_held(held),
        "tests": findings.of_tests(work.left(open_tests)),
        "unmatched": findings.of_unmatched(unmatched),
        "climate": findings.of_climate(climate),
        "tanks": findings.of_tanks(fills),
        "curves": findings.of_curves(curves),
    }
    shown_runs = runs[:RUNS]
    figures = _figures(shown_runs)
    return render(
        "start",
        links.START,
        published.all("setting")[0],
        next_steps=findings.next_steps(runs[0] if runs else None, tests, climate),
        to_do={anchor: text for anchor, text in to_do.items() if text},
        trials_to_test=work.trials(tests),
        required=work.required(tests),
        older=work.older(tests),
        n_complete_trials=work.n_complete(tests),
        retest_columns=work.RETEST_COLUMNS,
        retests=work.retests(open_tests),
        held=[_cause(row) | {"what": labels.localized(row["what"], zone)} for row in held[:LISTED]],
        held_beyond=len(held) - LISTED,
        unmatched_columns=_UNMATCHED_COLUMNS,
        unmatched=[_unmatched_cells(row) for row in unmatched[:LISTED]],
        unmatched_beyond=len(unmatched) - LISTED,
        climate_columns=_CLIMATE_COLUMNS,
        climate=[_climate_cells(row) for row in left_out],
        admitted=findings.of_admitted(climate),
        tank_columns=_TANK_COLUMNS,
        fills=[_fill_cells(row) for row in fills[:LISTED]],
        fills_beyond=len(fills) - LISTED,
        curve_columns=_CURVE_COLUMNS,
        curves=[_curve_cells(row) for row in curves[:LISTED]],
        curves_beyond=len(curves) - LISTED,
        last_run=findings.of_last_run(runs),
        totals=findings.of_totals(runs),
        file_columns=_FILE_COLUMNS,
        files=[_file_cells(row) for row in files],
        trial_columns=trials.COLUMNS,
        trials=[trials.row_cells(row) for row in published.all("trial")[:NEWEST_TRIALS]],
        n_trials=len(published.all("trial")),
        sheet_columns=_SHEET_COLUMNS,
        sheets=_sheet_cells(published.all("start_sheet"), published.typical_uncertainty("sheet")),
        run_columns=headed("night", _RUN),
        runs=[cells(row) for row in runs[:LISTED]],
        figures=figures,
        content=page_data({"runs": packed(shown_runs, _RUN_POINT)}, figures),
    )


_RUN_POINT = ("night", "began_at_utc", "rows_loaded", "rows_held")
_RUN = (
    "began_at_utc", "files_new", "rows_imported", "curves_imported", "lines_held", "lines_repeated",
    "lines_superseded", "sheets", "test_pieces",
)  # fmt: skip
_FILE_COLUMNS = [
    Column("record", "Kind of record"),
    Column("n_files", "New files", number=True),
    Column("n_held_whole", "Files on hold", number=True),
    Column("loaded_rows", "Lines imported", number=True),
    Column("held_lines", "Lines on hold", number=True),
    Column("repeated_rows", "Repeated", number=True),
    Column("superseded_rows", "Superseded", number=True),
]
_UNMATCHED_COLUMNS = [
    Column("sheet_id", "Sheet"),
    Column("n_records", "Results", number=True),
    Column("kinds", "Tests", long=True),
    Column("first", "First in", long=True),
    Column("suggested", "Perhaps", long=True),
]
_CLIMATE_COLUMNS = [
    Column("reason_code", "Reason"),
    Column("n_tests", "Tests", number=True),
    Column("days", "Tested"),
    Column("reason", "Newest example", long=True),
    Column("remedy", "To do", long=True),
    Column("sheets", "Sheets", long=True),
]
_TANK_COLUMNS = [
    Column("tank", "Tank"),
    *headed(
        "tank_fill", ("filled_at_utc", "furnish", "previous_furnish"), long=("furnish", "previous_furnish")
    ),
    Column("what", "Finding", long=True),
    *headed("tank_fill", ("n_layers", "filled_l", "drawn_l")),
]
_CURVE_COLUMNS = [
    Column("sheet_id", "Sheet"),
    Column("direction", "Direction"),
    Column("specimen_no", "Test piece", number=True),
    *headed("tensile_curve_result", ("tester", "tested_at_utc")),
    Column("findings", "Findings"),
    Column("disagreement", "Likely reason it disagrees with the tester", long=True),
]
_SHEET_COLUMNS = [
    *headed(
        "sheet", ("sheet_id", "trial", "trial_point", "formed_at_utc", "jet_to_wire_ratio", "grammage_g_m2")
    ),
    Column("n_pieces", "Valid test pieces", number=True),
    Column("n_left_out", "Left out", number=True),
]


def _figures(runs: Rows) -> dict[str, Figure]:
    """Return the charts of the runs; none for a single run."""
    if len(runs) < 2:
        return {}
    counts = {
        "loaded": ("rows_loaded", "lines imported", "line imported"),
        "lines-held": ("rows_held", "lines on hold", "line on hold"),
    }
    return {
        key: Figure(
            "start-runs",
            {
                "": Variant(
                    findings.of_runs(runs, count, what, one),
                    "One mark per run that changed anything.",
                    {"@field": count, "@title": labels.column_label("night", count)},
                )
            },
        )
        for key, (count, what, one) in counts.items()
    }


def _cause(row: Row) -> Row:
    """Return a cause of holds with the number of files or lines, and where they are."""
    noun = "file" if row["whole_file"] else "line"
    count = labels.counted(row["n_held"], noun)
    if row["whole_file"] or row["n_files"] > 1:
        more = row["n_files"] - len(row["file_names"])
        where = ", ".join(row["file_names"]) + (f" and {labels.number(more)} more" if more > 0 else "")
    elif row["n_held"] == 1:
        where = f"{row['file_name']}, line {row['first_line']}"
    else:
        where = f"{row['file_name']}, lines {row['first_line']} to {row['last_line']}"
    if row["column_name"]:
        where += f", column {row['column_name']}"
    example = f"{count}, the first of them: " if row["n_held"] > 1 else ""
    return row | {"rule": labels.words(row["rule"]), "count": count, "where": where, "example": example}


def _unmatched_cells(row: Row) -> Row:
    suggestion = filter(None, (row["suggested_sheet_id"], row["suggestion_reason"]))
    return cells(row) | {
        "kinds": row["kinds"].replace("_", " "),
        "first": f"{row['first_file_name']}, line {row['first_line']}",
        "suggested": ": ".join(suggestion) if row["suggested_sheet_id"] else "",
    }


def _climate_cells(row: Row) -> Row:
    first, last = (labels.moment(row[f"{end}_tested_at_utc"]).partition(" ")[0] for end in ("first", "last"))
    more = row["n_sheets"] - len(row["sheets"])
    return cells(row) | {
        "reason_code": labels.words(row["reason_code"] or row["verdict"]),
        "days": first if first == last else f"{first} to {last}",
        "remedy": findings.CLIMATE_REMEDIES.get(row["reason_code"], ""),
        "sheets": Links(
            tuple(_sheet_link(sheet) for sheet in row["sheets"]),
            f" and {labels.number(more)} more" if more > 0 else "",
        ),
    }


def _file_cells(row: Row) -> Row:
    return cells(row) | {"record": labels.words(row["record"]) if row["record"] else "Unknown kind"}


def _fill_cells(row: Row) -> Row:
    problems = []
    if row["carry_over"]:
        problems.append("not both drained and cleaned after another furnish")
    if row["overdrawn_l"]:
        problems.append(f"{labels.number(row['overdrawn_l'], 3)} L drawn more than filled in")
    return cells(row) | {"what": "; ".join(problems)}


def _curve_cells(row: Row) -> Row:
    shown = cells(row) | {
        name: (row[name] or labels.MISSING).replace("_", " ") for name in ("findings", "disagreement")
    }
    return shown | {"sheet_id": _sheet_link(row["sheet_id"]) if row["in_forming_log"] else row["sheet_id"]}


def _sheet_cells(sheets: Rows, typical: dict[str, float]) -> list[Row]:
    def change(row: Row) -> Row:
        return {
            "sheet_id": _sheet_link(row["sheet_id"]),
            "trial": Link(links.trial_page(row["trial"]), row["trial"]),
        }

    return aligned(sheets, ("jet_to_wire_ratio", "grammage_g_m2"), change, typical)


def _sheet_link(sheet_id: str) -> Link:
    return Link(links.sheet_page(sheet_id), sheet_id)
