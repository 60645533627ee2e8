"""The titles of the figures of the testers page, written from the rows that they draw."""

from collections import defaultdict
from datetime import datetime
from typing import Any

from pipelines.site.labels import counted, moment, number, unit_text, words

Row = dict[str, Any]
Rows = list[Row]


def of_testers(testers: Rows) -> str:
    """Say how many readings and testers there are, and how many testers have an accuracy in the settings."""
    reading = {row["tester"] for row in testers if row["n_readings"] or row["n_curves"]}
    if not reading:
        return "No reading yet."
    newest = max((row["last_tested_at_utc"] for row in testers if row["last_tested_at_utc"]), default=None)
    last = f", the last on {moment(newest)}" if newest else ""
    stated = reading & {row["tester"] for row in testers if row["accuracy_stated"]}
    accuracy = (
        "the settings state the accuracy of all of them"
        if stated == reading
        else f"the settings state the accuracy of {number(len(stated)) if stated else 'none'} of them"
    )
    readings = sum(row["n_readings"] or 0 for row in testers)
    return f"{counted(readings, 'reading')} by {counted(len(reading), 'tester')}{last}; {accuracy}."


def of_readings(what: str, unit: str | None, readings: Rows) -> str:
    """Say the range of the sheet means of each tester, and how many are not valid."""
    by_tester = defaultdict(list)
    for row in readings:
        by_tester[row["tester"]].append(row)
    spans = []
    for tester, rows in list(by_tester.items())[:3]:
        lowest, highest = (number(end(row["value"] for row in rows), 3) for end in (min, max))
        values = f"{lowest} to {highest}" if lowest != highest else lowest
        spans.append(f"{values} {unit_text(unit)} by {tester} ({counted(len(rows), 'sheet')})")
    more = len(by_tester) - len(spans)
    text = f"{what}: " + ", ".join(spans) + (f" and by {counted(more, 'other tester')}" if more else "")
    left_out = sum(not row["counts"] for row in readings)
    return f"{text}; {counted(left_out, 'mean is', 'means are')} not valid" if left_out else text


def of_held(rules: Rows) -> str:
    """Say how many files and lines are on hold and by which rule most; closed ones apart."""
    on_hold = [row for row in rules if not row["closed"]]
    closed = sum(row["n_held"] for row in rules if row["closed"])
    closed_text = f"; {number(closed)} more closed" if closed else ""
    if not on_hold:
        return f"Nothing is on hold{closed_text}"
    files = sum(row["n_whole_files"] for row in on_hold)
    lines = sum(row["n_held"] for row in on_hold) - files
    parts = []
    if files:
        parts.append(counted(files, "file"))
    if lines:
        parts.append(counted(lines, "line"))
    by_rule: dict[str, int] = defaultdict(int)
    for row in on_hold:
        by_rule[row["rule"]] += row["n_held"]
    most = max(by_rule, key=lambda rule: (by_rule[rule], rule))
    verb = "is" if files + lines == 1 else "are"
    text = f"{' and '.join(parts)} {verb} on hold"
    if len(by_rule) > 1:
        text += f", most by the rule {words(most).lower()} ({number(by_rule[most])})"
    else:
        text += f" by the rule {words(most).lower()}"
    return text + closed_text


def of_room(room: Row, limits: str) -> str:
    """Say what share of the logged time a room was outside the limits, and when last."""
    return _outside(room, "the climate", limits, room["out_pct"], room["last_out_at_utc"])


def of_temperature(room: Row, limits: str) -> str:
    """Say what share of the logged time a room's temperature was outside its limits, and when last."""
    share, last = room["temperature_out_pct"], room["last_temperature_out_at_utc"]
    return _outside(room, "the temperature", limits, share, last)


def of_humidity(room: Row, limits: str) -> str:
    """Say what share of the logged time a room's relative humidity was outside its limits, and when last."""
    share, last = room["humidity_out_pct"], room["last_humidity_out_at_utc"]
    return _outside(room, "the relative humidity", limits, share, last)


def _outside(room: Row, what: str, limits: str, share_pct: float | None, last: datetime | None) -> str:
    text = f"In {room['room']} {what} was"
    if share_pct is None:
        once = f"outside {limits} last at {moment(last)}" if last else f"never read outside {limits}"
        return f"{text} {once}; the readings are too far apart to know for how long"
    if last is None:
        return f"{text} not outside {limits} in any reading"
    if share_pct == 0:
        return f"{text} outside {limits} at {moment(last)}; the next reading is too late to know for how long"
    share = number(share_pct, 3) if share_pct >= 0.01 else "less than 0.01"
    return f"{text} outside {limits} for {share} % of the logged time, last at {moment(last)}"


def of_gaps(room: Row, longest_min: float) -> str:
    """Say how often and for how long readings of a room are missing."""
    if not room["n_gaps"]:
        return f"No two readings are further apart than {longest_min:g} min."
    return (
        f"{counted(room['n_gaps'], 'gap')} of more than {longest_min:g} min, {number(room['gap_h'], 3)} h in total, "
        f"the longest {number(room['longest_gap_h'], 3)} h from {moment(room['longest_gap_from_utc'])}."
    )
