"""The charts of a sheet's page. Curves and readings are texts of numbers; the charts split them."""

from typing import Any

import altair as alt

from pipelines.site import theme

FREE = alt.Scale(zero=False)
EXACT = alt.Scale(nice=False)
ROOM = alt.Color("room:N", scale=alt.Scale(range=[theme.SERIES[5], theme.SERIES[4], theme.INK]))


def _one_row_per_number(chart: alt.Chart, **texts: str) -> alt.Chart:
    """Split texts of numbers into one row per number; ``texts`` gives the field to split for each new field."""
    lists = {f"{name}_list": f"split(datum.{text}, ' ')" for name, text in texts.items()}
    numbers = {name: f"toNumber(datum.{name}_list)" for name in texts}
    return chart.transform_calculate(**lists).transform_flatten(list(lists)).transform_calculate(**numbers)


def curves() -> dict[str, Any]:
    """Return the chart of raw tensile curves with their maxima; dashed, pale and hollow: not in the means."""
    data = alt.Chart(alt.NamedData("curves"))
    x, y = alt.Axis(title="@x_title"), alt.Axis(title="@y_title")
    in_means = alt.when("datum.in_means")
    lines = (
        _one_row_per_number(data, at="x", force="y")
        .mark_line(strokeWidth=1.4, order=False)
        .encode(
            x=alt.X("at:Q", axis=x, scale=EXACT),
            y=alt.Y("force:Q", axis=y, scale=EXACT),
            color=theme.direction_color(),
            detail="piece:N",
            strokeDash=in_means.then(alt.value([1, 0])).otherwise(alt.value([4, 3])),
            opacity=in_means.then(alt.value(0.8)).otherwise(alt.value(0.45)),
        )
    )
    maxima = (
        data.transform_filter("isValid(datum.max_x) && isValid(datum.max_y)")
        .mark_point()
        .encode(
            x=alt.X("max_x:Q", axis=x),
            y=alt.Y("max_y:Q", axis=y),
            color=theme.direction_color(),
            shape=theme.direction_shape(),
            tooltip=[
                alt.Tooltip("piece:N", title="Test piece"),
                alt.Tooltip("max_y:Q", title="@y_title", format=".4~g"),
                alt.Tooltip("max_x:Q", title="@x_title", format=".4~g"),
                alt.Tooltip("remark:N", title="Remark"),
            ],
        )
    )
    counted = maxima.transform_filter("datum.in_means").mark_point(filled=True)
    left_out = maxima.transform_filter("!datum.in_means").mark_point(filled=False)
    return theme.finished(alt.layer(lines, counted, left_out), height=290)


def position() -> dict[str, Any]:
    """Return the chart of a property against the number of the test piece or reading, with means and intervals.

    The page replaces ``@first`` and ``@second`` by the two kinds of readings: MD and CD, for thickness single sheets
    and packs. It also sets their colours.
    """
    kinds = ["@first", "@second"]
    full = alt.Legend(symbolOpacity=1)  # not as pale as the bands
    color = alt.Color(
        "series:N", scale=alt.Scale(domain=kinds, range=["@first_color", "@second_color"]), legend=full
    )
    shape = alt.Shape("series:N", scale=alt.Scale(domain=kinds, range=list(theme.SHAPES[:2])), legend=full)
    axis = alt.Axis(title="@value_title")
    of_property = alt.FieldEqualPredicate(field="property", equal="@property")
    means = alt.Chart(alt.NamedData("means")).transform_filter(of_property)
    bands = (
        means.transform_filter("isValid(datum.interval_low)")
        .mark_rect(opacity=0.16)
        .encode(y=alt.Y("interval_low:Q", axis=axis, scale=FREE), y2="interval_high:Q", color=color)
    )
    lines = means.mark_rule(strokeDash=[6, 3]).encode(y=alt.Y("value:Q", axis=axis), color=color)
    readings = (
        alt.Chart(alt.NamedData("readings"))
        .transform_filter(alt.FieldValidPredicate(field="@field", valid=True))
        .encode(
            x=alt.X(
                "number:Q",
                axis=alt.Axis(title="@number_title", tickMinStep=1, format="d"),
                scale=alt.Scale(zero=False, padding=14, nice=False),
            ),
            y=alt.Y("@field:Q", axis=axis),
            color=color,
            shape=shape,
            tooltip=[
                alt.Tooltip("series:N", title="Kind"),
                alt.Tooltip("number:Q", title="Number"),
                alt.Tooltip("@field:Q", title="@value_title", format=".4~g"),
                alt.Tooltip("left_out_because:N", title="Left out"),
            ],
        )
    )
    counted = readings.transform_filter("datum.in_means").mark_point(filled=True)
    left_out = readings.transform_filter("!datum.in_means").mark_point(filled=False)
    return theme.finished(alt.layer(bands, lines, counted, left_out))


def temperature() -> dict[str, Any]:
    """Return the chart of the temperature around the sheet's tests, with limits, stays, tests and gaps."""
    return _air("temperatures_c", "lowest_temperature_c", "highest_temperature_c")


def humidity() -> dict[str, Any]:
    """Return the chart of the relative humidity around the sheet's tests, over the same time as the temperature."""
    return _air("humidities_pct", "lowest_humidity_pct", "highest_humidity_pct")


def _air(text: str, lowest: str, highest: str) -> dict[str, Any]:
    axis = alt.Axis(title="@value_title", minExtent=44)

    def time(field: str) -> alt.X:
        return theme.over_time(field, "@time_title")

    limits = (
        alt.Chart(alt.NamedData("limits"))
        .mark_rect(opacity=0.16, color="var(--limit)")
        .encode(y=alt.Y(f"{lowest}:Q", axis=axis, scale=FREE), y2=f"{highest}:Q")
    )
    gaps = (
        alt.Chart(alt.NamedData("gaps"))
        .mark_rect(opacity=0.2, color=theme.SOFT)
        .encode(
            x=time("drawn_from_utc"),
            x2="drawn_to_utc:T",
            tooltip=[
                alt.Tooltip("room:N", title="No reading"),
                alt.Tooltip("gap_min:Q", title="for, min", format=".0f"),
            ],
        )
    )
    stays = (
        alt.Chart(alt.NamedData("stays"))
        .mark_rule(strokeWidth=5, strokeOpacity=0.6)
        .encode(x=time("from_utc"), x2="to_utc:T", y=alt.value("height"), color=ROOM)
    )
    tests = (
        alt.Chart(alt.NamedData("tests"))
        .mark_rule(strokeWidth=1, strokeOpacity=0.5)
        .encode(
            x=time("at_utc"),
            strokeDash=alt.when("datum.verdict == 'standard'")
            .then(alt.value([1, 0]))
            .otherwise(alt.value([3, 3])),
            tooltip=[
                alt.Tooltip("tests:N", title="Tests"),
                alt.Tooltip("verdict:N", title="Verdict"),
                alt.Tooltip(
                    "at_utc:T",
                    title="at",
                    timeUnit="utcyearmonthdatehoursminutes",
                    format="%Y-%m-%d %H:%M",
                ),
            ],
        )
    )
    readings = (
        _one_row_per_number(alt.Chart(alt.NamedData("air")), minute="minutes", reading=text)
        .transform_calculate(at="datum.from_ms + 60000 * datum.minute")
        .mark_line(order=False, point=alt.OverlayMarkDef(size=12))
        .encode(x=time("at"), y=alt.Y("reading:Q", axis=axis), color=ROOM, detail="run:N")
    )
    return theme.finished(alt.layer(limits, gaps, tests, readings, stays), height=200)


ALL = {
    "sheet-curves": curves,
    "sheet-position": position,
    "sheet-temperature": temperature,
    "sheet-humidity": humidity,
}
"""The charts by the name that figures use."""
