"""The common look of all charts, and how marks show direction, selection, and whether a value is in the means.

Colours are CSS variables (assets/style.css), so that dark mode and print change them without redrawing. Directions
differ in shape and in colour; a mark that is not in the means is hollow; a sheet that is not chosen is pale.
"""

from typing import Any

import altair as alt

INK, SOFT, RULE = "var(--ink)", "var(--soft)", "var(--rule)"
SERIES = tuple(f"var(--series-{place})" for place in range(1, 7))
TONES = tuple(f"var(--tone-{place})" for place in range(1, 6))
"""Greys, for furnishes: on the page of a trial a colour means a direction."""
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down")
DIRECTIONS = ("MD", "CD", "GM", "MD/CD")
PALE = 0.15
HEIGHT = 280

CONFIG: dict[str, Any] = {
    "aria": False,
    "background": None,
    "font": "system-ui, sans-serif",
    "padding": {"left": 4, "right": 8, "top": 8, "bottom": 4},
    "view": {"stroke": None, "continuousHeight": 260, "discreteHeight": {"step": 26}},
    "axis": {
        "domainColor": SOFT,
        "gridColor": RULE,
        "labelColor": INK,
        "labelFontSize": 12,
        "labelLimit": 170,
        "labelOverlap": "greedy",
        "labelSeparation": 8,
        "tickColor": SOFT,
        "titleColor": INK,
        "titleFontSize": 13,
        "titleFontWeight": "normal",
        "titlePadding": 8,
    },
    "axisX": {"grid": False, "tickCount": {"expr": "max(3, width / 70)"}},
    "legend": {
        "labelColor": INK,
        "labelFontSize": 12,
        "labelLimit": 260,
        "orient": "top",
        "symbolStrokeWidth": 2,
        "title": None,
    },
    "header": {"labelColor": INK, "titleColor": INK, "labelFontSize": 12},
    "range": {"category": list(SERIES), "symbol": list(SHAPES)},
    "point": {"size": 55, "strokeWidth": 1.6},
    "rule": {"color": SOFT},
    "text": {"color": INK, "fontSize": 12},
    "line": {"strokeWidth": 2},
}


def direction_color(*directions: str, legend: Any = alt.Undefined) -> alt.Color:
    """Return the colour by direction, the same in every chart; the legend shows ``directions``, by default MD, CD."""
    return alt.Color("direction:N", scale=_by_direction(SERIES, directions), legend=legend)


def direction_shape(*directions: str, legend: Any = alt.Undefined) -> alt.Shape:
    """Return the shape by direction, with the scale of direction_color."""
    return alt.Shape("direction:N", scale=_by_direction(SHAPES, directions), legend=legend)


def direction_of_page_color() -> alt.Color:
    """Return the colour by direction; the page's script sets the legend. Ink if there is no direction."""
    scale = alt.Scale(domain=[*DIRECTIONS, ""], range=[*SERIES[: len(DIRECTIONS)], INK])
    return alt.Color("direction:N", scale=scale, legend=_of_page())


def direction_of_page_shape() -> alt.Shape:
    """Return the shape by direction, with the scale of direction_of_page_color."""
    scale = alt.Scale(domain=[*DIRECTIONS, ""], range=[*SHAPES[: len(DIRECTIONS)], SHAPES[0]])
    return alt.Shape("direction:N", scale=scale, legend=_of_page())


def _of_page() -> alt.Legend:
    return alt.Legend(values=["@directions"], labelExpr="datum.label || 'without direction'")


def _by_direction(marks: tuple[str, ...], directions: tuple[str, ...]) -> alt.Scale:
    shown = directions or DIRECTIONS[:2]
    return alt.Scale(domain=list(shown), range=[marks[DIRECTIONS.index(direction)] for direction in shown])


TIMES = {
    "year": "%Y", "quarter": "%b", "month": "%-d %b", "week": "%-d %b", "date": "%-d %b", "day": "%-d %b",
    "hours": "%H:%M", "minutes": "%H:%M", "seconds": "%H:%M:%S", "milliseconds": "%H:%M:%S",
}  # fmt: skip
"""Tick labels of a time axis, by the largest unit of time that changes at the tick."""


def over_time(column: str, title: str) -> alt.X:
    """Return a time axis in the laboratory's local time, as figures.plain writes it."""
    axis = alt.Axis(title=title, format=TIMES, labelOverlap=True)
    return alt.X(f"{column}:T", axis=axis, scale=alt.Scale(type="utc"))


def chosen() -> alt.Parameter:
    """Return the parameter that holds the sheets chosen on the page: a list of sheet ids, empty for all."""
    return alt.param(name="chosen", value=[])


CHOSEN = "length(chosen) == 0 || indexof(chosen, datum.sheet_id) >= 0"
"""Expression: the sheet is chosen, or no sheet is."""


def pale_unless_chosen(opacity: float = 0.9) -> Any:
    """Return the opacity of marks that belong to a sheet: pale if other sheets are chosen."""
    return alt.when(CHOSEN).then(alt.value(opacity)).otherwise(alt.value(PALE))


def brush() -> alt.Parameter:
    """Return the selection rectangle for choosing sheets; the page's script listens to it."""
    return alt.selection_interval(name="brush", mark=alt.BrushConfig(fill=INK, fillOpacity=0.08, stroke=SOFT))


_WRAPPED = "wrapped(datum.label)"
"""Expression: a name in lines of limited length. ``draw.js`` has the function, and makes room for the lines."""


def names_axis() -> alt.Axis:
    """Return the axis of a chart with one line for each name; a long name is wrapped, never cut."""
    return alt.Axis(title=None, labelExpr=_WRAPPED, labelLimit=0, labelOverlap=False)


def names_legend() -> alt.Legend:
    """Return the legend of names, in as many columns as fit; a long name is wrapped, never cut."""
    columns = alt.ExprRef("max(1, floor(width / 200))")
    return alt.Legend(labelExpr=_WRAPPED, labelLimit=0, columns=columns)


def lines(data: str, field: str, step: int) -> dict[str, Any]:
    """Return the height of a chart for the page's script: at least ``step`` pixels for each name in a field."""
    return {"lines": {"data": data, "field": field, "step": step}}


def finished(chart: Any, usermeta: dict[str, Any] | None = None, height: int = HEIGHT) -> dict[str, Any]:
    """Return a chart as Vega-Lite, as wide as its column, with the common look.

    ``height`` is in pixels; ``usermeta`` is the result of ``lines``, for the page's script.
    """
    spec: dict[str, Any] = chart.properties(width="container", height=height).to_dict()
    return spec | {
        "config": CONFIG,
        "autosize": {"type": "fit-x", "contains": "padding"},
        "usermeta": usermeta or {},
    }
