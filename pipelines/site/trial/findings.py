"""What the charts of a trial's page show, in words: the titles of its figures, made from the rows that are drawn."""

from collections import Counter
from typing import Any

from pipelines.site.labels import MISSING, counted, number, unit_text, with_unit, words

Rows = list[dict[str, Any]]

DOUBTED = 0.01
"""Probability of the lack-of-fit test below which the interval of a minimum is not to be trusted."""


def of_response(name: str, response: dict[str, Any] | None, ratios: Rows) -> str:
    """Say where MD/CD of a property is lowest; ``ratios`` are the sheets' values of MD/CD."""
    what = f"MD/CD of {_lower(name)}"
    if not ratios:
        return f"{what} was measured on no sheet"
    if response is not None and response["outcome"] == "minimum":
        text = (
            f"{what} is lowest, {number(response['md_cd_ratio_at_minimum'], 3)}, at a jet-to-wire ratio of "
            f"{number(response['minimum_jet_to_wire_ratio'])}"
        )
        if response["lack_of_fit_p"] is not None and response["lack_of_fit_p"] < DOUBTED:
            return f"{text} by the fitted curve, which misses the points by more than their scatter"
        return f"{text} (95 %: {of_minimum(response)})"
    verb = "spans" if len(ratios) > 1 else "is"
    return f"{what} {verb} {_span(ratios)}; no minimum is told"


def of_minimum(response: dict[str, Any]) -> str:
    """Say between which ratios the minimum lies; an end beyond the ratios tried is not known."""
    low, high = response["minimum_jet_to_wire_ratio_low"], response["minimum_jet_to_wire_ratio_high"]
    if response["outcome"] != "minimum":
        return MISSING
    return f"{'below the lowest tried' if low is None else number(low)} to " + (
        "above the highest tried" if high is None else number(high)
    )


def of_density(name: str, unit: str | None, values: Rows) -> str:
    """Say over which densities and which values the sheets are spread."""
    placed = [row for row in values if row["apparent_density_kg_m3"] is not None]
    if not placed:
        return f"No sheet with {_lower(name)} has an apparent density"
    spans = [
        f"{_span(rows, unit)} in {direction}"
        for direction in ("MD", "CD")
        if (rows := [row for row in placed if row["direction"] == direction])
    ]
    lowest, highest = (number(end, 3) for end in _ends(placed, "apparent_density_kg_m3"))
    if lowest == highest:
        return f"{words(name)} is {' and '.join(spans)}, at a density of {lowest} {unit_text('kg/m3')}"
    return (
        f"{words(name)} spans {' and '.join(spans)}, at densities from {lowest} to {highest} "
        f"{unit_text('kg/m3')}"
    )


def of_points(name: str, unit: str | None, means: Rows) -> str:
    """Say which trial point has the highest mean in each direction, and with how many it overlaps."""
    if len({row["trial_point"] for row in means}) == 1:
        values = [
            f"{number(row['value'], 3)} {unit_text(unit)} in {row['direction']}"
            for row in _md_before_cd(means)
        ]
        return f"{words(name)} is {' and '.join(values)}"
    parts = []
    for direction in ("MD", "CD"):
        rows = [row for row in means if row["direction"] == direction]
        if not rows:
            continue
        best = max(rows, key=lambda row: row["value"])
        text = f"{best['trial_point']} in {direction} ({with_unit(number(best['value'], 3), unit).replace(',', '')}"
        if len(rows) > 1:
            text += f", {_overlap(best, rows)}"
        parts.append(text + ")")
    return f"{words(name)} is highest at {' and at '.join(parts)}" if parts else f"{words(name)} has no mean"


def _overlap(best: dict[str, Any], rows: Rows) -> str:
    others = [row for row in rows if row is not best]
    if best["interval_low"] is None:
        return "one sheet, so without an interval"
    unsure = [
        row for row in others if row["interval_high"] is None or row["interval_high"] >= best["interval_low"]
    ]
    if not unsure:
        return "its interval clear of all others"
    return f"its interval overlaps {counted(len(unsure), 'other')}"


def of_strips(pieces: Rows, sheets: int) -> str:
    """Say how many test pieces there are, and how many do not count, and why."""
    text = f"{counted(len(pieces), 'test piece')} of {counted(sheets, 'sheet')}"
    left_out = Counter(row["left_out_because"] for row in pieces if not row["in_means"])
    if not left_out:
        return f"{text}; all count in means"
    most = left_out.most_common(3)
    reasons = [f"{count} {_reason(reason)}" for reason, count in most]
    if others := left_out.total() - sum(count for _, count in most):
        reasons.append(f"{others} for other reasons")
    return f"{text}; {counted(left_out.total(), 'hollow one')} not in means: {', '.join(reasons)}"


def _reason(left_out_because: str | None) -> str:
    return (left_out_because or "for no stated reason").replace("_", " ").replace(", ", " and ")


def of_layers(layers: Rows) -> str:
    """Say how many layers the sheets have and from which furnishes."""
    most = max(row["layer_no"] for row in layers)
    furnishes = {row["furnish"] for row in layers if row["furnish"]}
    if most == 1:
        return f"Sheets of one layer, from {counted(len(furnishes), 'furnish', 'furnishes')}"
    layered = {row["trial_point"] for row in layers if row["layer_no"] > 1}
    points = len({row["trial_point"] for row in layers})
    return (
        f"Up to {number(most)} layers in {len(layered)} of {counted(points, 'trial point')}, from "
        f"{counted(len(furnishes), 'furnish', 'furnishes')}"
    )


def _md_before_cd(rows: Rows) -> Rows:
    return [row for direction in ("MD", "CD") for row in rows if row["direction"] == direction]


def _lower(name: str) -> str:
    text = words(name)
    return text if text.startswith("TEA") else text[:1].lower() + text[1:]


def _ends(rows: Rows, column: str) -> tuple[float, float]:
    values = [row[column] for row in rows]
    return min(values), max(values)


def _span(rows: Rows, unit: str | None = None) -> str:
    lowest, highest = (number(end, 3) for end in _ends(rows, "value"))
    return f"{lowest if lowest == highest else f'{lowest} to {highest}'} {unit_text(unit)}".rstrip()
