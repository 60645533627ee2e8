"""Explore a laboratory's snapshot: means of trial points, the sheets behind them, and any SQL.

Open it with ``sheetlore notebook --lab DIR``. As a program: ``python explore.py -- --lab DIR``.
"""

import marimo

__generated_with = "0.25.2"
app = marimo.App(width="medium", app_title="Sheetlore: explore")

with app.setup:
    from collections.abc import Callable
    from pathlib import Path
    from typing import Any

    import altair as alt
    import marimo as mo
    import polars as pl

    from pipelines.errors import SheetloreError, UsageError
    from pipelines.notebooks.answers import query_frame
    from pipelines.site.labels import property_label, words
    from pipelines.warehouse.pointer import latest_snapshot, night_of


@app.cell
def _():
    newest = mo.ui.button(label="Look for a newer run")
    return (newest,)


@app.cell
def _(newest):
    newest  # a click runs this cell again, and with it all that reads the snapshot
    published = Path(str(mo.cli_args().get("lab") or ".")) / "published"
    try:
        snapshot = latest_snapshot(published)
    except SheetloreError as error:
        mo.stop(True, error_callout(error))
    mo.vstack([mo.md("# Explore"), mo.hstack([mo.plain_text(f"Run {night_of(snapshot)}"), newest])])
    return (snapshot,)


@app.cell
def _(snapshot):
    shown = query_frame(
        snapshot,
        """
        SELECT DISTINCT trial, property, direction
        FROM trial_point_property
        WHERE preferred AND value IS NOT NULL AND assumption IS NULL
        ORDER BY
            trial,
            property,
            list_position(['MD', 'CD', 'GM', 'MD/CD'], direction)
        """,
    )
    mo.stop(
        shown.is_empty(),
        mo.callout(
            "No trial point has a mean yet. The table test_piece says which tests are left out, and why."
        ),
    )
    return (shown,)


@app.cell
def _(shown):
    trial = chooser("Trial", shown["trial"])
    return (trial,)


@app.cell
def _(shown, trial):
    of_trial = shown.filter(pl.col("trial") == trial.value)
    return (of_trial,)


@app.cell
def _(of_trial):
    quantity = chooser("Property", of_trial["property"], "tensile_index", words)
    return (quantity,)


@app.cell
def _(of_trial, quantity):
    of_property = of_trial.filter(pl.col("property") == quantity.value)
    return (of_property,)


@app.cell
def _(of_property):
    direction = chooser("Direction", of_property["direction"], "CD", lambda name: name or "none")
    return (direction,)


@app.cell
def _(direction, quantity, trial):
    mo.hstack([trial, quantity, direction], justify="start", wrap=True)
    return


@app.cell
def _(direction, quantity, snapshot, trial):
    chosen = {"trial": trial.value, "property": quantity.value, "direction": direction.value}
    points = query_frame(
        snapshot,
        """
        SELECT
            mean.trial_point,
            mean.value,
            mean.unit,
            mean.interval_low,
            mean.interval_high,
            mean.s,
            mean.cv_pct,
            mean.n_sheets,
            mean.n_readings,
            mean.n_left_out,
            mean.atmosphere_verdict,
            mean.flags
        FROM trial_point_property AS mean
        INNER JOIN trial_point AS point ON mean.trial = point.trial AND mean.trial_point = point.trial_point
        WHERE
            mean.preferred
            AND mean.trial = $trial
            AND mean.property = $property
            AND mean.direction IS NOT DISTINCT FROM $direction
        ORDER BY point.first_formed_at_utc, mean.trial_point
        """,
        chosen,
    )
    sheets = query_frame(
        snapshot,
        """
        SELECT value.sheet_id, value.trial_point, value.value, value.unit, value.s, value.n, value.flags
        FROM sheet_property AS value
        INNER JOIN sheet ON value.sheet_id = sheet.sheet_id
        WHERE
            value.preferred
            AND value.trial = $trial
            AND value.property = $property
            AND value.direction IS NOT DISTINCT FROM $direction
        ORDER BY sheet.formed_at_utc, value.sheet_id
        """,
        chosen,
    )
    return points, sheets


@app.cell
def _(direction, points, quantity, sheets):
    means_chart(points, sheets, property_label(quantity.value, direction.value))
    return


@app.cell
def _(points, sheets):
    mo.ui.tabs({"Trial points": table(points), "Sheets": table(sheets)})
    return


@app.cell
def _():
    mo.md("""
    ## Ask

    One SQL statement, read-only, that reaches nothing outside the snapshot. `SHOW ALL TABLES` lists the tables;
    `SELECT column_name, comment FROM duckdb_columns()` says what each column means.
    """)
    return


@app.cell
def _():
    example = """SELECT trial, trial_point, jet_to_wire_ratio, tensile_index_md_nm_g, tensile_index_cd_nm_g
FROM trial_point
ORDER BY ALL"""
    query = mo.ui.text_area(value=example, rows=6, full_width=True).form(submit_button_label="Ask")
    query
    return example, query


@app.cell
def _(example, query, snapshot):
    show_result(snapshot, example if query.value is None else query.value)
    return


@app.function
def show_result(snapshot: Path, query: str) -> mo.Html:
    """Show the result of a query, or what is wrong with the query."""
    try:
        return table(query_frame(snapshot, query))
    except UsageError as error:
        return error_callout(error)


@app.function
def chooser(
    label: str,
    names: pl.Series,
    preferred: str | None = None,
    written: Callable[[Any], str] = str,
) -> mo.ui.dropdown:
    """Return a drop-down of the different names in their order, each formatted by ``written``."""
    options = {written(name): name for name in names.unique(maintain_order=True)}
    first = written(preferred) if preferred in options.values() else next(iter(options))
    return mo.ui.dropdown(options, value=first, label=label)


@app.function
def means_chart(points: pl.DataFrame, sheets: pl.DataFrame, title: str) -> alt.LayerChart | alt.FacetChart:
    """Return the chart of trial points: means with 95 % intervals between sheets, and each sheet's value."""
    place = alt.Y("trial_point:N", title="Trial point", sort=points["trial_point"].to_list())
    value = alt.X("value:Q", title=title, scale=alt.Scale(zero=False, padding=12))
    number = ".4~g"
    behind = (
        alt.Chart(sheets)
        .mark_tick(size=18, thickness=1.5, opacity=0.5)
        .encode(x=value, y=place, tooltip=["sheet_id:N", alt.Tooltip("value:Q", title=title, format=number)])
    )
    means = alt.Chart(points)
    intervals = means.mark_rule(strokeWidth=2).encode(
        x=alt.X("interval_low:Q", title=title), x2="interval_high:Q", y=place
    )
    dots = means.mark_point(filled=True, size=90, opacity=1).encode(
        x=value,
        y=place,
        tooltip=[
            "trial_point:N",
            alt.Tooltip("value:Q", title=title, format=number),
            alt.Tooltip("interval_low:Q", title="from (95 %)", format=number),
            alt.Tooltip("interval_high:Q", title="to (95 %)", format=number),
            alt.Tooltip("n_sheets:Q", title="Sheets"),
        ],
    )
    caption = alt.Title(
        "Points: means of sheets with 95 % intervals. Ticks: sheets.", fontWeight="normal", anchor="start"
    )
    return alt.layer(behind, intervals, dots).properties(
        title=caption, width="container", height=44 * max(1, points.height)
    )


@app.function
def table(rows: pl.DataFrame) -> mo.ui.table:
    """Show rows in pages; a download has all digits."""
    rounded: dict[str, str | Callable[..., Any]] = {
        name: "{:.5g}" for name, kind in rows.schema.items() if kind.is_float()
    }
    return mo.ui.table(rows, selection=None, format_mapping=rounded)


@app.function
def error_callout(error: SheetloreError) -> mo.Html:
    """Show an error that a person can correct: what is wrong, and what to do."""
    return mo.callout(mo.plain_text("\n".join(filter(None, (error.what, error.remedy)))), kind="danger")


if __name__ == "__main__":
    app.run()
