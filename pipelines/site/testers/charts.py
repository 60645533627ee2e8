"""The charts of the page of testers. The page replaces texts that begin with ``@``."""

from typing import Any

import altair as alt

from pipelines.site import theme

FREE = alt.Scale(zero=False)
BY_TESTER = alt.Scale(range=[theme.SERIES[4], theme.SERIES[5], theme.INK])
LIMIT, ROOM = "var(--limit)", theme.SERIES[5]


def _moment(column: str, title: str) -> alt.Tooltip:
    return alt.Tooltip(
        f"{column}:T", title=title, timeUnit="utcyearmonthdatehoursminutes", format="%Y-%m-%d %H:%M"
    )


def readings() -> dict[str, Any]:
    """Return the chart of the means per sheet and tester with 95 % intervals over time; hollow: not in the means."""
    base = alt.Chart(alt.NamedData("readings")).transform_filter(
        alt.FieldEqualPredicate(field="key", equal="@key")
    )
    title = alt.Axis(title="@value_title")
    x = theme.over_time("tested_at_utc", "Time of the test")
    intervals = base.mark_rule(strokeWidth=1, opacity=0.6).encode(
        x=x, y=alt.Y("interval_low:Q", axis=title, scale=FREE), y2="interval_high:Q"
    )
    marks = base.encode(
        x=x,
        y=alt.Y("value:Q", axis=title),
        color=alt.Color("tester:N", scale=BY_TESTER, legend=theme.names_legend()),
        shape=alt.Shape("tester:N", legend=theme.names_legend()),
        tooltip=[
            alt.Tooltip("sheet_id:N", title="Sheet"),
            alt.Tooltip("tester:N", title="Tester"),
            _moment("tested_at_utc", "Tested at"),
            alt.Tooltip("value:Q", title="@value_title", format=".4~g"),
            alt.Tooltip("interval_low:Q", title="from (95 %)", format=".4~g"),
            alt.Tooltip("interval_high:Q", title="to (95 %)", format=".4~g"),
            alt.Tooltip("n:Q", title="Readings"),
            alt.Tooltip("n_left_out:Q", title="Left out"),
        ],
    )
    counting = marks.transform_filter("datum.counts").mark_point(filled=True, size=40, opacity=0.85)
    others = marks.transform_filter("!datum.counts").mark_point(filled=False, size=50)
    return theme.finished(alt.layer(intervals, counting, others), height=300)


def held() -> dict[str, Any]:
    """Return the chart of the files and lines on hold by rule and kind of record; pale: closed."""
    whole = alt.ExprRef("max(1, min(width / 70, domain('x')[1]))")
    bars = (
        alt.Chart(alt.NamedData("held"))
        .mark_bar(color="var(--warn)", stroke="var(--paper)", strokeWidth=1)
        .encode(
            x=alt.X(
                "n_held:Q",
                axis=alt.Axis(title="Lines on hold", grid=True, format="d", tickCount=whole),
                stack="zero",
            ),
            y=alt.Y(
                "label:N",
                axis=theme.names_axis(),
                sort=alt.EncodingSortField("place", op="min"),
            ),
            opacity=alt.when("datum.closed").then(alt.value(0.3)).otherwise(alt.value(1)),
            order=alt.Order("closed:O"),
            tooltip=[
                alt.Tooltip("rule:N", title="Rule"),
                alt.Tooltip("record:N", title="Kind of record"),
                alt.Tooltip("n_held:Q", title="On hold"),
                alt.Tooltip("n_files:Q", title="Files"),
                alt.Tooltip("closed:N", title="Closed"),
            ],
        )
    )
    return theme.finished(bars, theme.lines("held", "label", 26))


def climate() -> dict[str, Any]:
    """Return the chart of a room's temperature or humidity over time: mean, lowest, highest, and the limits."""
    title = alt.Axis(title="@value_title")
    limits = alt.Chart(alt.NamedData("limits"))
    within = limits.mark_rect(opacity=0.12, color=LIMIT).encode(
        y=alt.Y("@lowest:Q", axis=title, scale=FREE), y2=alt.Y2("@highest")
    )
    edges = [
        limits.mark_rule(color=LIMIT, strokeDash=[5, 3]).encode(y=f"{limit}:Q")
        for limit in ("@lowest", "@highest")
    ]
    base = (
        alt.Chart(alt.NamedData("hours"))
        .transform_filter(alt.FieldEqualPredicate(field="room", equal="@room"))
        .encode(x=theme.over_time("from_utc", "Time"), detail="stretch:N")
    )
    spread = base.mark_area(opacity=0.3, color=ROOM).encode(
        y=alt.Y("@lowest:Q", axis=title, scale=FREE), y2=alt.Y2("@highest")
    )
    mean = base.mark_line(color=ROOM, strokeWidth=1.2).encode(y=alt.Y("@mean:Q", axis=title))
    # a line of one point is invisible, so each point has a mark; the mark also shows the tooltip
    marks = base.mark_point(filled=True, size=5, color=ROOM, opacity=1).encode(
        y=alt.Y("@mean:Q", axis=title),
        tooltip=[
            _moment("from_utc", "From"),
            alt.Tooltip("hours:Q", title="Hours"),
            alt.Tooltip("n_readings:Q", title="Readings"),
            alt.Tooltip("@mean:Q", title="Mean", format=".4~g"),
            alt.Tooltip("@lowest:Q", title="Lowest", format=".4~g"),
            alt.Tooltip("@highest:Q", title="Highest", format=".4~g"),
        ],
    )
    return theme.finished(alt.layer(within, *edges, spread, mean, marks), height=220)


ALL = {"tester-readings": readings, "tester-held": held, "room-climate": climate}
"""The charts by the name that figures use."""
