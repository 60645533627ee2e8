"""The charts of a trial's page. The page's script gives them tidy rows and replaces texts that begin with ``@``.

Rows have ``value``, ``low`` and ``high`` (its 95 % interval) of the chosen property, and ``x``, the x value.
"""

from typing import Any

import altair as alt

from pipelines.site import theme

SHEET = [alt.Tooltip("sheet_id:N", title="Sheet"), alt.Tooltip("trial_point:N", title="Trial point")]
DIRECTION = alt.Tooltip("direction:N", title="Direction")
FREE = alt.Scale(zero=False, padding=8)
BY_PLACE = alt.EncodingSortField("place", op="min")


def _value(channel: str = "value", name: str = "value_text") -> alt.Tooltip:
    return alt.Tooltip(f"{name}:N", title=f"@{channel}_title")


def response() -> dict[str, Any]:
    """Return the chart of MD/CD against the jet-to-wire ratio, with the fitted curve, its 95 % band and its minimum."""
    x = alt.X("x:Q", title="@x_title", scale=FREE)
    title = alt.Axis(title="@value_title")
    fit = alt.Chart(alt.NamedData("curve"))
    band = fit.mark_area(opacity=0.18, color=theme.SOFT).encode(
        x=x, y=alt.Y("band_low:Q", axis=title, scale=FREE), y2="band_high:Q"
    )
    line = fit.mark_line(color=theme.INK).encode(x=x, y=alt.Y("md_cd_ratio:Q", axis=title))
    minimum = (
        alt.Chart(alt.NamedData("minimum"))
        .mark_rule(strokeDash=[4, 3])
        .encode(x="x:Q", tooltip=alt.Tooltip("text:N", title="Fitted minimum at"))
    )
    sheets = (
        alt.Chart(alt.NamedData("sheets"))
        .mark_point(filled=True, cursor="pointer")
        .encode(
            x=x,
            y=alt.Y("value:Q", axis=title),
            color=theme.direction_color("MD/CD", legend=None),
            shape=theme.direction_shape("MD/CD", legend=None),
            opacity=theme.pale_unless_chosen(),
            tooltip=[*SHEET, _value("x", "x_text"), _value()],
        )
        .add_params(theme.brush())
    )
    return theme.finished(alt.layer(band, line, minimum, sheets).add_params(theme.chosen()))


def against() -> dict[str, Any]:
    """Return the chart of the property of each sheet against a number, with 95 % intervals."""
    x = alt.X("x:Q", axis=alt.Axis(title="@x_title"), scale=FREE)
    low, value = (alt.Y(f"{field}:Q", axis=alt.Axis(title="@value_title"), scale=FREE) for field in _ENDS)
    intervals, sheets = _of_sheets()
    intervals = intervals.encode(x=x, y=low, y2="high:Q")
    sheets = sheets.encode(x=x, y=value).add_params(theme.brush())
    return theme.finished(alt.layer(intervals, sheets).add_params(theme.chosen()))


def against_names() -> dict[str, Any]:
    """Return the chart of the property of each sheet by a condition that is a name, such as the furnish."""
    y = alt.Y("x:N", axis=theme.names_axis(), sort=BY_PLACE)
    offset = alt.YOffset("direction:N", sort=list(theme.DIRECTIONS))
    axis = alt.Axis(title="@value_title", grid=True)
    low, value = (alt.X(f"{field}:Q", axis=axis, scale=FREE) for field in _ENDS)
    intervals, sheets = _of_sheets()
    layers = alt.layer(
        intervals.encode(x=low, x2="high:Q", y=y, yOffset=offset), sheets.encode(x=value, y=y, yOffset=offset)
    )
    return theme.finished(layers.add_params(theme.chosen()), theme.lines("sheets", "x", 40))


_ENDS = ("low", "value")


def _of_sheets() -> tuple[alt.Chart, alt.Chart]:
    """Return the intervals and the marks of sheets, without their places."""
    base = alt.Chart(alt.NamedData("sheets"))
    intervals = (
        base.transform_filter("isValid(datum.low)")
        .mark_rule(strokeWidth=1)
        .encode(color=theme.direction_of_page_color(), opacity=theme.pale_unless_chosen(0.6))
    )
    sheets = base.mark_point(filled=True, cursor="pointer").encode(
        color=theme.direction_of_page_color(),
        shape=theme.direction_of_page_shape(),
        opacity=theme.pale_unless_chosen(),
        tooltip=[*SHEET, DIRECTION, _value("x", "x_text"), _value()],
    )
    return intervals, sheets


def points() -> dict[str, Any]:
    """Return the chart that compares trial points: means with 95 % intervals between sheets, and each sheet's value."""
    y = alt.Y("trial_point:N", axis=theme.names_axis(), sort=BY_PLACE)
    offset = alt.YOffset("direction:N", sort=list(theme.DIRECTIONS))
    title = alt.Axis(title="@value_title", grid=True)
    sheets = (
        alt.Chart(alt.NamedData("sheets"))
        .mark_tick(size=9, thickness=1.4, cursor="pointer")
        .encode(
            x=alt.X("value:Q", axis=title, scale=FREE),
            y=y,
            yOffset=offset,
            color=theme.direction_of_page_color(),
            opacity=theme.pale_unless_chosen(0.55),
            tooltip=[*SHEET, DIRECTION, _value()],
        )
    )
    means = alt.Chart(alt.NamedData("means"))
    intervals = (
        means.transform_filter("isValid(datum.low)")
        .mark_rule(strokeWidth=2)
        .encode(
            x=alt.X("low:Q", axis=title),
            x2="high:Q",
            y=y,
            yOffset=offset,
            color=theme.direction_of_page_color(),
        )
    )
    marks = means.mark_point(filled=True, size=80).encode(
        x=alt.X("value:Q", axis=title),
        y=y,
        yOffset=offset,
        color=theme.direction_of_page_color(),
        shape=theme.direction_of_page_shape(),
        tooltip=[
            alt.Tooltip("trial_point:N", title="Trial point"),
            DIRECTION,
            _value(),
            alt.Tooltip("interval:N", title="95 % interval"),
            alt.Tooltip("n_sheets:Q", title="Sheets"),
        ],
    )
    layers = alt.layer(sheets, intervals, marks).add_params(theme.chosen())
    return theme.finished(layers, theme.lines("means", "trial_point", 40))


def strips() -> dict[str, Any]:
    """Return the chart of every test piece, one line per sheet; hollow: not in the means."""
    base = alt.Chart(alt.NamedData("pieces")).encode(
        x=alt.X("value:Q", axis=alt.Axis(title="@value_title", grid=True), scale=FREE),
        y=alt.Y("sheet_id:N", axis=theme.names_axis(), sort=BY_PLACE),
        color=theme.direction_color(),
        shape=theme.direction_shape(),
        opacity=theme.pale_unless_chosen(0.75),
        tooltip=[
            *SHEET,
            DIRECTION,
            alt.Tooltip("specimen_no:Q", title="Test piece"),
            alt.Tooltip("value:Q", title="@value_title", format=".4~g"),
            alt.Tooltip("left_out_because:N", title="Left out because"),
        ],
    )
    counted = base.transform_filter("datum.in_means").mark_point(filled=True, size=34, cursor="pointer")
    left_out = base.transform_filter("!datum.in_means").mark_point(filled=False, size=44, cursor="pointer")
    layers = alt.layer(counted, left_out).add_params(theme.chosen())
    return theme.finished(layers, theme.lines("pieces", "sheet_id", 20))


def layers() -> dict[str, Any]:
    """Return the chart of the mean oven-dry mass per layer of each trial point, from the wire up, by furnish."""
    bars = (
        alt.Chart(alt.NamedData("layers"))
        .mark_bar(stroke="var(--paper)", strokeWidth=2)
        .encode(
            x=alt.X("oven_dry_mass_g:Q", axis=alt.Axis(title="@value_title", grid=True), stack="zero"),
            y=alt.Y("trial_point:N", axis=theme.names_axis(), sort=BY_PLACE),
            color=alt.Color(
                "furnish:N", scale=alt.Scale(range=list(theme.TONES)), legend=theme.names_legend()
            ),
            order=alt.Order("layer_no:Q"),
            tooltip=[
                alt.Tooltip("trial_point:N", title="Trial point"),
                alt.Tooltip("layer_no:Q", title="Layer"),
                alt.Tooltip("furnish:N", title="Furnish"),
                alt.Tooltip("oven_dry_mass_g:Q", title="@value_title", format=".3~g"),
            ],
        )
    )
    return theme.finished(bars, theme.lines("layers", "trial_point", 26))


ALL = {
    "trial-response": response,
    "trial-against": against,
    "trial-against-names": against_names,
    "trial-points": points,
    "trial-strips": strips,
    "trial-layers": layers,
}
"""The charts by the name that figures use."""
