"""The charts of a trial's page. Texts that begin with ``@`` are put in by the page for the property it shows."""

from typing import Any

import altair as alt

from pipelines.site import theme

SHEET = [alt.Tooltip("sheet_id:N", title="Sheet"), alt.Tooltip("trial_point:N", title="Trial point")]
FREE = alt.Scale(zero=False, padding=8)


def _of_property(data: str, *directions: str) -> alt.Chart:
    chart = alt.Chart(alt.NamedData(data)).transform_filter(
        alt.FieldEqualPredicate(field="property", equal="@property")
    )
    return (
        chart.transform_filter(alt.FieldOneOfPredicate("direction", list(directions)))
        if directions
        else chart
    )


def response() -> dict[str, Any]:
    """MD/CD of each sheet against its jet-to-wire ratio, with the fitted curve, its 95 % band and its minimum."""
    x = alt.X("jet_to_wire_ratio:Q", title="Jet-to-wire ratio", scale=FREE)
    title = alt.Axis(title="@ratio_title")
    fit = _of_property("curve")
    band = fit.mark_area(opacity=0.18, color=theme.SOFT).encode(
        x=x, y=alt.Y("band_low:Q", axis=title, scale=FREE), y2="band_high:Q"
    )
    line = fit.mark_line(color=theme.INK).encode(x=x, y=alt.Y("md_cd_ratio:Q", axis=title))
    minimum = (
        _of_property("response")
        .transform_filter(alt.FieldEqualPredicate(field="outcome", equal="minimum"))
        .mark_rule(strokeDash=[4, 3])
        .encode(
            x="minimum_jet_to_wire_ratio:Q",
            tooltip=[
                alt.Tooltip("minimum_jet_to_wire_ratio:Q", title="Fitted minimum at", format=".3f"),
                alt.Tooltip("minimum_jet_to_wire_ratio_low:Q", title="from (95 %)", format=".3f"),
                alt.Tooltip("minimum_jet_to_wire_ratio_high:Q", title="to (95 %)", format=".3f"),
            ],
        )
    )
    sheets = (
        _of_property("values", "MD/CD")
        .mark_point(filled=True, color=theme.SERIES[0])
        .encode(
            x=x,
            y=alt.Y("value:Q", axis=title),
            opacity=theme.pale_unless_chosen(),
            tooltip=[
                *SHEET,
                alt.Tooltip("jet_to_wire_ratio:Q", title="Jet-to-wire ratio", format=".3f"),
                alt.Tooltip("value:Q", title="MD/CD", format=".3f"),
            ],
        )
        .add_params(theme.brush())
    )
    chart = alt.layer(band, line, minimum, sheets).add_params(theme.chosen())
    brushes = theme.brushes("values", property=["@property"], direction=["MD/CD"])
    return theme.finished(chart, brushes)


def density() -> dict[str, Any]:
    """The property of each sheet in MD and CD against its apparent density, with its 95 % intervals."""
    x = alt.X("apparent_density_kg_m3:Q", title="@density_title", scale=FREE)
    base = _of_property("values", "MD", "CD").transform_filter("isValid(datum.apparent_density_kg_m3)")
    title = alt.Axis(title="@value_title")
    intervals = base.mark_rule(strokeWidth=1).encode(
        x=x,
        y=alt.Y("interval_low:Q", axis=title, scale=FREE),
        y2="interval_high:Q",
        color=theme.direction_color(),
        opacity=theme.pale_unless_chosen(0.6),
    )
    sheets = (
        base.mark_point(filled=True)
        .encode(
            x=x,
            y=alt.Y("value:Q", axis=title),
            color=theme.direction_color(),
            shape=theme.direction_shape(),
            opacity=theme.pale_unless_chosen(),
            tooltip=[
                *SHEET,
                alt.Tooltip("direction:N", title="Direction"),
                alt.Tooltip("apparent_density_kg_m3:Q", title="@density_title", format=".4~g"),
                alt.Tooltip("value:Q", title="@value_title", format=".4~g"),
            ],
        )
        .add_params(theme.brush())
    )
    chart = alt.layer(intervals, sheets).add_params(theme.chosen())
    brushes = theme.brushes("values", property=["@property"], direction=["MD", "CD"])
    return theme.finished(chart, brushes)


def points() -> dict[str, Any]:
    """Trial points side by side: their means with 95 % intervals between sheets, and each sheet's value behind."""
    y = alt.Y("trial_point:N", title=None, sort=alt.EncodingSortField("place", op="min"))
    offset = alt.YOffset("direction:N", sort=["MD", "CD"])
    title = alt.Axis(title="@value_title", grid=True)
    sheets = (
        _of_property("values", "MD", "CD")
        .mark_tick(size=9, thickness=1.4)
        .encode(
            x=alt.X("value:Q", axis=title, scale=FREE),
            y=y,
            yOffset=offset,
            color=theme.direction_color(),
            opacity=theme.pale_unless_chosen(0.55),
            tooltip=[*SHEET, alt.Tooltip("value:Q", title="@value_title", format=".4~g")],
        )
    )
    means = _of_property("points", "MD", "CD")
    intervals = means.mark_rule(strokeWidth=2).encode(
        x=alt.X("interval_low:Q", axis=title),
        x2="interval_high:Q",
        y=y,
        yOffset=offset,
        color=theme.direction_color(),
    )
    marks = means.mark_point(filled=True, size=80).encode(
        x=alt.X("value:Q", axis=title),
        y=y,
        yOffset=offset,
        color=theme.direction_color(),
        shape=theme.direction_shape(),
        tooltip=[
            alt.Tooltip("trial_point:N", title="Trial point"),
            alt.Tooltip("direction:N", title="Direction"),
            alt.Tooltip("value:Q", title="@value_title", format=".4~g"),
            alt.Tooltip("interval_low:Q", title="from (95 %)", format=".4~g"),
            alt.Tooltip("interval_high:Q", title="to (95 %)", format=".4~g"),
            alt.Tooltip("n_sheets:Q", title="Sheets"),
        ],
    )
    chart = alt.layer(sheets, intervals, marks).add_params(theme.chosen())
    return theme.finished(chart, theme.lines("points", "trial_point", 44))


def strips() -> dict[str, Any]:
    """Every test piece, a line for each sheet; hollow where it does not count in means."""
    base = (
        alt.Chart(alt.NamedData("pieces"))
        .transform_filter(alt.FieldValidPredicate(field="@field", valid=True))
        .encode(
            x=alt.X("@field:Q", axis=alt.Axis(title="@value_title", grid=True), scale=FREE),
            y=alt.Y("sheet_id:N", title=None, sort=alt.EncodingSortField("place", op="min")),
            shape=theme.direction_shape(),
            opacity=theme.pale_unless_chosen(0.75),
            tooltip=[
                *SHEET,
                alt.Tooltip("direction:N", title="Direction"),
                alt.Tooltip("specimen_no:Q", title="Test piece"),
                alt.Tooltip("@field:Q", title="@value_title", format=".4~g"),
                alt.Tooltip("left_out_because:N", title="Left out because"),
            ],
        )
    )
    counted = (
        base.transform_filter("datum.in_means")
        .mark_point(filled=True, size=34)
        .encode(color=theme.direction_color())
    )
    left_out = (
        base.transform_filter("!datum.in_means")
        .mark_point(filled=False, size=44)
        .encode(color=theme.direction_color())
    )
    chart = alt.layer(counted, left_out).add_params(theme.chosen())
    return theme.finished(chart, theme.lines("pieces", "sheet_id", 20))


def layers() -> dict[str, Any]:
    """Mean oven-dry mass sprayed for each layer of a trial point's sheets, in order from the wire, by furnish."""
    bars = (
        alt.Chart(alt.NamedData("layers"))
        .mark_bar(stroke="var(--paper)", strokeWidth=2)
        .encode(
            x=alt.X("oven_dry_mass_g:Q", axis=alt.Axis(title="@mass_title", grid=True), stack="zero"),
            y=alt.Y("trial_point:N", title=None, sort=alt.EncodingSortField("place", op="min")),
            color=alt.Color("furnish:N"),
            order=alt.Order("layer_no:Q"),
            tooltip=[
                alt.Tooltip("trial_point:N", title="Trial point"),
                alt.Tooltip("layer_no:Q", title="Layer"),
                alt.Tooltip("furnish:N", title="Furnish"),
                alt.Tooltip("oven_dry_mass_g:Q", title="@mass_title", format=".3~g"),
            ],
        )
    )
    return theme.finished(bars, theme.lines("layers", "trial_point", 30))


ALL = {
    "trial-response": response,
    "trial-density": density,
    "trial-points": points,
    "trial-strips": strips,
    "trial-layers": layers,
}
"""The charts by the name that figures call them."""
