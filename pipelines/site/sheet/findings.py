"""The titles of a sheet's figures, written from the rows that they draw."""

import math
from collections import Counter
from typing import Any, NamedTuple

from pipelines.physics.trend import Trend, trend
from pipelines.site.labels import counted, moment, number, unit_text, words

Rows = list[dict[str, Any]]

CLEAR = 0.01
"""The p-value below which a title names a trend."""

FEWEST = 5
"""Readings required for a trend."""


class Reading(NamedTuple):
    """A reading in the means: its kind (MD, CD, single sheets, packs), its number and its value."""

    series: str
    number: int
    value: float


def of_curves(curves: Rows) -> str:
    """Compare CD with MD in the valid curves without findings, and name the other curves with the reason."""
    left_out = [row for row in curves if not row["in_means"]]
    doubtful = [row for row in curves if row["in_means"] and row["findings"]]
    sound = [row for row in curves if row["in_means"] and not row["findings"]]
    compared = _compared(
        [row for row in sound if None not in (row["max_x"], row["max_y"])],
        all(row["per_width"] for row in curves),
    )
    return (
        compared
        + _listed(left_out, len(curves), "is not in the means", "are not in the means")
        + _listed(doubtful, len(curves), "is doubtful and not compared", "are doubtful and not compared")
    )


def _listed(curves: Rows, of_all: int, one: str, several: str) -> str:
    if not curves:
        return ""
    named = [f"{piece(row)} ({reasons_of(row)})" for row in curves]
    more = f" and {len(named) - 3} more" if len(named) > 3 else ""
    return f"; {len(curves)} of {of_all} {one if len(curves) == 1 else several}: {', '.join(named[:3])}{more}"


def piece(row: dict[str, Any]) -> str:
    """Return the name of a test piece: its direction and number, and its replicate from the second on."""
    again = f", replicate {row['replicate_no']}" if (row["replicate_no"] or 1) > 1 else ""
    return f"{row['direction']} {row['specimen_no']}{again}"


def reasons_of(row: dict[str, Any]) -> str:
    """Return why a curve is left out or doubtful: the reasons of its test piece, and the findings in the curve."""
    reasons = [*(row["left_out_because"] or "").split(","), *(row["findings"] or "").split(",")]
    text = ", ".join(dict.fromkeys(reason.strip().replace("_", " ") for reason in reasons if reason.strip()))
    return text or "no reason stated"


def _compared(curves: Rows, per_width: bool) -> str:
    quantity = "force per width" if per_width else "force"
    units = ("kN/m", "%") if per_width else ("N", "mm")
    means = {
        direction: (_mean([row["max_y"] for row in of]), _mean([row["max_x"] for row in of]))
        for direction in ("MD", "CD")
        if (of := [row for row in curves if row["direction"] == direction])
    }
    if not means:
        return "No curve to compare"
    if len(means) == 1:
        ((direction, (high, far)),) = means.items()
        return (
            f"The curves in {direction} reach {number(high, 3)} {units[0]} on average, at "
            f"{'a stretch' if per_width else 'an elongation'} of {number(far, 3)} {units[1]}"
        )
    (md_high, md_far), (cd_high, cd_far) = means["MD"], means["CD"]
    if md_high <= 0 or md_far <= 0:
        return "MD and CD cannot be compared: the curves in MD have no force or no elongation"
    return (
        f"CD reaches {number(cd_high / md_high, 2)} of the MD {quantity} ({number(cd_high, 3)} and "
        f"{number(md_high, 3)} {units[0]}) at {number(cd_far / md_far, 2)} times the "
        f"{'stretch' if per_width else 'elongation'} ({number(cd_far, 3)} and {number(md_far, 3)} {units[1]})"
    )


def of_position(name: str, unit: str | None, readings: list[Reading]) -> str:
    """Say whether a property changes with the number or, without a clear trend, which reading is farthest out."""
    text = words(name)
    if not readings:
        return f"{text} has no valid reading"
    kinds = list(dict.fromkeys(reading.series for reading in readings))
    trends = {kind: _trend_of(kind, readings) for kind in kinds}
    clear = {kind: found for kind, found in trends.items() if found is not None and found.p < CLEAR}
    if clear:
        change = " and ".join(_trend_text(kind, found, unit) for kind, found in clear.items())
        unclear = [kind for kind in kinds if kind not in clear]
        rest = f"; no clear trend in {' and '.join(unclear)}" if unclear else ""
        return f"{text} {change}{rest}"
    farthest = _farthest(kinds, readings)
    has_trends = any(found is not None for found in trends.values())
    summary = "shows no clear trend with the number" if has_trends else "has too few readings for a trend"
    return f"{text} {summary}{farthest}"


def _trend_of(kind: str, readings: list[Reading]) -> Trend | None:
    of = [reading for reading in readings if reading.series == kind]
    if len(of) < FEWEST:
        return None
    return trend([reading.number for reading in of], [reading.value for reading in of])


def _trend_text(kind: str, found: Trend, unit: str | None) -> str:
    way = "rises" if found.slope > 0 else "falls"
    chance = "p < 0.001" if found.p < 0.001 else f"p = {number(found.p, 2)}"
    size = f"{number(abs(found.slope), 2)} {unit_text(unit)}".rstrip()
    return f"{way} in {kind} by {size} from one number to the next ({chance})"


def _farthest(kinds: list[str], readings: list[Reading]) -> str:
    outliers: list[tuple[float, Reading]] = []
    for kind in kinds:
        of = [reading for reading in readings if reading.series == kind]
        if len(of) < 3:
            continue
        mean = _mean([reading.value for reading in of])
        s = math.sqrt(math.fsum((reading.value - mean) ** 2 for reading in of) / (len(of) - 1))
        if s > 0:
            outliers.extend(((reading.value - mean) / s, reading) for reading in of)
    if not outliers:
        return ""
    off, reading = max(outliers, key=lambda outlier: abs(outlier[0]))
    side = "above" if off > 0 else "below"
    return (
        f"; farthest out is number {reading.number} in {reading.series}, {number(abs(off), 2)} standard deviations "
        f"{side} the mean"
    )


class Limits(NamedTuple):
    """The limits of temperature or humidity, and their unit for display."""

    lowest: float
    highest: float
    unit: str


def of_air(text: str, limits: Limits, farthest: list[tuple[float, Any, str]], gaps: Rows) -> str:
    """Say whether temperature or humidity was within its limits, or how far outside.

    ``farthest`` are the readings farthest from the middle, per room and unbroken series: value, time and room.
    """
    rooms = {room for *_, room in farthest} | {row["room"] for row in gaps}
    if not farthest:
        return f"{text} has no reading around the tests{_gap_text(gaps, len(rooms) > 1)}"
    value, at, room = max(farthest, key=lambda reading: _outside(reading[0], limits))
    unit, place = limits.unit, f" in {room}" if len(rooms) > 1 else ""
    if _outside(value, limits) > 0:
        limit, side = (limits.highest, "above") if value > limits.highest else (limits.lowest, "below")
        state = (
            f"was {value:.4g} {unit} at {moment(at)}{place}, "
            f"{abs(value - limit):.3g} {unit} {side} the limit of {limit:g} {unit}"
        )
    else:
        state = f"was within {limits.lowest:g} to {limits.highest:g} {unit} in all readings"
    return f"{text} {state}{_gap_text(gaps, len(rooms) > 1)}"


def _outside(value: float, limits: Limits) -> float:
    value = round(value, 9)
    return max(limits.lowest - value, value - limits.highest)


def _gap_text(gaps: Rows, several_rooms: bool) -> str:
    if not gaps:
        return ""
    longest = max(gaps, key=lambda row: row["gap_min"])
    place = f" of {longest['room']}" if several_rooms else ""
    more = f", and {counted(len(gaps) - 1, 'more gap')}" if len(gaps) > 1 else ""
    return f"; no reading{place} for {number(round(longest['gap_min']))} min from {moment(longest['begins_utc'])}{more}"


def of_verdicts(verdicts: list[str]) -> str:
    """Say how many tests were made in the standard atmosphere, outside it, or without a complete climate record."""
    counts = Counter(verdicts)
    if not counts:
        return "No test of this sheet requires the standard atmosphere."
    total = len(verdicts)
    if set(counts) == {"standard"}:
        all_of = f"All {number(total)} tests were" if total > 1 else "The test was"
        return f"{all_of} made in the standard atmosphere."
    parts = ", ".join(
        f"{number(counts[name])} {words}"
        for name, words in (
            ("standard", "in the standard atmosphere"),
            ("off_standard", "outside it"),
            ("unverified", "unverified: climate record incomplete"),
        )
        if counts[name]
    )
    return f"{counted(total, 'test')}: {parts}."


def _mean(values: list[float]) -> float:
    return math.fsum(values) / len(values)
