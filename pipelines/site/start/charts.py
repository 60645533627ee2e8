"""The chart of the start page. The page replaces texts that begin with ``@``."""

from typing import Any

import altair as alt

from pipelines.site import theme

WHOLE = "datum.value % 1 ? '' : format(datum.value, '~s')"
"""Axis labels of counts: whole numbers only."""


def runs() -> dict[str, Any]:
    """Return the chart of a count over time: what the warehouse held after each run, until the next."""
    base = alt.Chart(alt.NamedData("runs")).encode(
        x=theme.over_time("began_at_utc", "Start of the run"),
        y=alt.Y("@field:Q", axis=alt.Axis(title="@title", labelExpr=WHOLE)),
    )
    line = base.mark_line(interpolate="step-after", color=theme.SOFT, strokeWidth=1.5)
    points = base.mark_point(filled=True, color=theme.INK, size=34).encode(
        tooltip=[alt.Tooltip("night:N", title="Run"), alt.Tooltip("@field:Q", title="@title", format=",")]
    )
    return theme.finished(alt.layer(line, points), height=150)


ALL = {"start-runs": runs}
"""The charts by the name that figures use."""
