"""The start page: what came in, what is held and what to do, which tests' air is not proven, and what is newest."""

from pipelines.site import labels, links
from pipelines.site.figures import Figure, Row, Variant, packed, page_data
from pipelines.site.reading import Published, Rows
from pipelines.site.rendering import render
from pipelines.site.start import findings
from pipelines.site.tables import Column, Link, cells, headed
from pipelines.site.trials import page as trials

LISTED = 30
"""Rows of each list at most; what is beyond is counted."""

NEWEST_TRIALS = 12
RUNS = 400
"""Runs in the charts of runs at most, the newest."""


def page(published: Published) -> str:
    """Return the start page."""
    nights, files = published.all("night"), published.all("start_file")
    held, unmatched = published.all("held"), published.all("start_unmatched")
    tests, fills, curves = (published.all(f"start_{name}") for name in ("climate", "tank", "curve"))
    needs = {
        "held": findings.of_held(held),
        "unmatched": findings.of_unmatched(unmatched),
        "climate": findings.of_climate(tests),
        "tanks": findings.of_tanks(fills),
        "curves": findings.of_curves(curves),
    }
    shown_nights = nights[:RUNS]
    figures = _figures(shown_nights)
    return render(
        "start",
        links.START,
        published.all("setting")[0],
        lead=findings.of_night(nights, files),
        needs={anchor: said for anchor, said in needs.items() if said},
        file_columns=_FILE_COLUMNS,
        files=[_file_cells(row) for row in files],
        held=[row | {"where": _where(row)} for row in held[:LISTED]],
        held_beyond=len(held) - LISTED,
        unmatched=unmatched[:LISTED],
        unmatched_beyond=len(unmatched) - LISTED,
        tests=tests[:LISTED],
        tests_beyond=sum(row["n_tests"] for row in tests[LISTED:]),
        tank_columns=_TANK_COLUMNS,
        fills=[_fill_cells(row) for row in fills[:LISTED]],
        fills_beyond=len(fills) - LISTED,
        curve_columns=_CURVE_COLUMNS,
        curves=[_curve_cells(row) for row in curves[:LISTED]],
        curves_beyond=len(curves) - LISTED,
        trial_columns=trials.COLUMNS,
        trials=[trials.row_cells(row) for row in published.all("trial")[:NEWEST_TRIALS]],
        n_trials=len(published.all("trial")),
        sheet_columns=_SHEET_COLUMNS,
        sheets=[_sheet_cells(row) for row in published.all("start_sheet")],
        run_columns=headed("night", _RUN),
        runs=[cells(row) for row in nights[:LISTED]],
        figures=figures,
        content=page_data({"nights": packed(shown_nights, _NIGHT)}, figures),
    )


_NIGHT = ("night", "began_at_utc", "rows_loaded", "rows_held")
_RUN = ("began_at_utc", "files_read", "rows_read", "rows_loaded", "rows_held", "tests_unmatched", "sheets")
_FILE_COLUMNS = [
    Column("record", "Kind of record"),
    Column("n_files", "New files", number=True),
    Column("n_held_whole", "Held whole", number=True),
    Column("loaded_rows", "Rows that count", number=True),
    Column("held_lines", "Lines held", number=True),
    Column("repeated_rows", "Repeated", number=True),
    Column("superseded_rows", "Superseded", number=True),
]
_TANK_COLUMNS = [
    Column("tank", "Tank"),
    *headed(
        "tank_fill", ("filled_at_utc", "furnish", "previous_furnish"), long=("furnish", "previous_furnish")
    ),
    Column("what", "What is wrong", long=True),
    *headed("tank_fill", ("n_layers", "filled_l", "drawn_l")),
]
_CURVE_COLUMNS = [
    Column("sheet_id", "Sheet"),
    Column("direction", "Direction"),
    Column("specimen_no", "Test piece", number=True),
    *headed("tensile_curve_result", ("tester", "tested_at_utc")),
    Column("findings", "What it shows"),
    Column("disagreement", "Why it disagrees with the tester, likely", long=True),
]
_SHEET_COLUMNS = [
    *headed(
        "sheet", ("sheet_id", "trial", "trial_point", "formed_at_utc", "jet_to_wire_ratio", "grammage_g_m2")
    ),
    Column("n_pieces", "Pieces in means", number=True),
    Column("n_left_out", "Left out", number=True),
]


def _figures(nights: Rows) -> dict[str, Figure]:
    """Return the charts of the runs; of a single run there is nothing to draw."""
    if len(nights) < 2:
        return {}
    counts = {
        "loaded": ("rows_loaded", "rows count", "row counts"),
        "lines-held": ("rows_held", "lines are held", "line is held"),
    }
    return {
        key: Figure(
            "start-runs",
            {
                "": Variant(
                    findings.of_runs(nights, count, what, one),
                    "A mark for each run that changed anything.",
                    {"@field": count, "@title": labels.column_label("night", count)},
                )
            },
        )
        for key, (count, what, one) in counts.items()
    }


def _where(row: Row) -> str:
    """Say which lines and which column of a file something is held of."""
    if row["whole_file"]:
        where = "the whole file"
    elif row["n_lines"] == 1:
        where = f"line {row['first_line']}"
    else:
        where = f"{labels.counted(row['n_lines'], 'line')}, {row['first_line']} to {row['last_line']}"
    return f"{where}, column {row['column_name']}" if row["column_name"] else where


def _file_cells(row: Row) -> Row:
    return cells(row) | {"record": labels.words(row["record"]) if row["record"] else "Kind not known"}


def _fill_cells(row: Row) -> Row:
    wrong = []
    if row["carry_over"]:
        wrong.append("not both drained and cleaned after another furnish")
    if row["overdrawn_l"]:
        wrong.append(f"{labels.number(row['overdrawn_l'], 3)} L drawn beyond what was filled in")
    return cells(row) | {"what": "; ".join(wrong)}


def _curve_cells(row: Row) -> Row:
    shown = cells(row) | {"findings": (row["findings"] or labels.MISSING).replace("_", " ")}
    return shown | {"sheet_id": _sheet_link(row["sheet_id"]) if row["in_forming_log"] else row["sheet_id"]}


def _sheet_cells(row: Row) -> Row:
    return cells(row) | {
        "sheet_id": _sheet_link(row["sheet_id"]),
        "trial": Link(links.trial_page(row["trial"]), row["trial"]),
    }


def _sheet_link(sheet_id: str) -> Link:
    return Link(links.sheet_page(sheet_id), sheet_id)
