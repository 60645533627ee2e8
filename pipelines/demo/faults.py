"""Faults planted among the demo laboratory's exports, each in a known place and with a known outcome.

They happen in every laboratory: a typing error, an export truncated during copying, a unit changed at the tester.
Each is in a file of its own beside the regular exports, so the trial points keep their true values.
"""

import pandas as pd

from pipelines.demo import curve_faults, room_faults
from pipelines.demo.exports import Export
from pipelines.demo.fault_writer import DemoFile, FaultWriter, PlantedFault, record_lines


def plant(
    written: list[Export], formed: pd.DataFrame, zone: str
) -> tuple[list[DemoFile], list[PlantedFault]]:
    """Return the files that carry the faults, and the faults.

    ``written`` are the regular exports, ``formed`` the forming records, ``zone`` the laboratory's time zone.
    """
    writer = FaultWriter(written, zone)
    _clamp_breaks(writer)
    _mistyped_sheet_id(writer)
    _overlapping_export(writer)
    _corrected_re_export(writer)
    _retest(writer)
    _contradicting_units_row(writer)
    _truncated_copy(writer)
    _summary_lines(writer)
    _negative_thickness(writer)
    _dated_before_forming(writer, formed)
    _contradiction_within_a_file(writer)
    _not_exports(writer)
    room_faults.plant(writer)
    curve_faults.plant(writer)
    return writer.files, writer.faults


def _clamp_breaks(writer: FaultWriter) -> None:
    records = writer.records("tensile-si", 3)
    records["specimen_no"] += 10
    records["max_force_n"] *= 0.70
    records["elongation_mm"] *= 0.55
    records["energy_j"] *= 0.70 * 0.55
    records["break_position_mm"] = 1.5
    records["remark"] = "clamp_break"
    records["tested_at_utc"] += pd.Timedelta(minutes=60)
    export = writer.export("tensile-si", records)
    what = "Three strips broke at the clamp at too low a force; their remark says so."
    writer.plant("clamp breaks", export, what, "left_out")


def _mistyped_sheet_id(writer: FaultWriter) -> None:
    records = writer.records("thickness-si", 5)
    right = str(records["sheet_id"].iloc[0])
    records["position_no"] += 20
    records["sheet_id"] = right.replace("0", "O", 1)
    records["tested_at_utc"] += pd.Timedelta(minutes=90)
    export = writer.export("thickness-si", records)
    what = f"The sheet number was typed with the letter O instead of a zero; it should be {right}."
    writer.faults.append(
        PlantedFault(
            "mistyped sheet id",
            export.name,
            record_lines(export),
            what,
            "unmatched",
            suggested_sheet_id=right,
        )
    )


def _overlapping_export(writer: FaultWriter) -> None:
    original = writer.first["basis-weight-si"]
    head, rows = original.lines[: original.first_line - 1], len(original.records)
    half = original.lines[original.first_line - 1 :][rows // 2 : rows]
    at = original.exported_at + pd.Timedelta(hours=2)
    name = writer.copy("basis-weight-si", [*head, *half], at)
    lines = tuple(range(original.first_line, original.first_line + len(half)))
    what = "Half of an earlier export was exported again."
    writer.faults.append(PlantedFault("overlapping export", name, lines, what, "repeated"))


def _corrected_re_export(writer: FaultWriter) -> None:
    records = writer.records("moisture", 1)
    records["mass_after_g"] -= 0.1
    export = writer.export("moisture", records)
    what = f"A misread mass, exported before the file {writer.first['moisture'].name}, which corrects it."
    writer.plant("corrected re-export", export, what, "superseded")


def _retest(writer: FaultWriter) -> None:
    records = writer.records("tensile-us", 1)
    records["max_force_n"] *= 1.01
    records["tested_at_utc"] += pd.Timedelta(hours=2)
    export = writer.export("tensile-us", records)
    what = "A piece's place was tested again two hours later: a new replicate, not a correction."
    writer.plant("retest", export, what, "new_replicate")


def _contradicting_units_row(writer: FaultWriter) -> None:
    original = writer.first["tensile-si"]
    lines = list(original.lines)
    units_row = original.first_line - 2
    lines[units_row] = lines[units_row].replace(";N;", ";kN;")
    name = writer.copy("tensile-si", lines, original.exported_at + pd.Timedelta(hours=3))
    what = "The units row gives kN; the profile expects N."
    writer.faults.append(
        PlantedFault("contradicting units row", name, (), what, "held_file", rule="units_row")
    )


def _truncated_copy(writer: FaultWriter) -> None:
    original = writer.first["thickness-us"]
    last = original.first_line + 7
    lines = list(original.lines[:last])
    lines[-1] = lines[-1][: len(lines[-1]) // 2]
    at = original.exported_at - pd.Timedelta(minutes=2)
    name = writer.copy("thickness-us", lines, at, line_end_missing=True)
    what = "The file was copied while it was being written, and ends in the middle of a line."
    writer.faults.append(PlantedFault("truncated copy", name, (last,), what, "held_rows", rule="truncated"))


def _summary_lines(writer: FaultWriter) -> None:
    original = writer.first["tensile-si"]
    lines = range(original.first_line + len(original.records), len(original.lines) + 1)
    what = "Means and standard deviations follow the tests."
    writer.faults.append(PlantedFault("summary lines", original.name, tuple(lines), what, "footer"))


def _negative_thickness(writer: FaultWriter) -> None:
    records = writer.records("thickness-us", 1)
    records["position_no"] += 20
    records["thickness_um"] *= -1
    export = writer.export("thickness-us", records)
    what = "A negative thickness."
    writer.plant("negative thickness", export, what, "held_rows", rule="range")


def _dated_before_forming(writer: FaultWriter, formed: pd.DataFrame) -> None:
    records = writer.records("basis-weight-us", 1)
    sheet = formed[formed["sheet_id"] == records["sheet_id"].iloc[0]]
    records["specimen_no"] += 20
    records["tested_at_utc"] = sheet["formed_at_utc"].iloc[0] - pd.Timedelta(days=3)
    export = writer.export("basis-weight-us", records)
    what = "Weighed three days before the sheet was formed."
    writer.plant("dated before forming", export, what, "held_rows", rule="dated_before_forming")


def _contradiction_within_a_file(writer: FaultWriter) -> None:
    records = writer.records("thickness-si", 1)
    records["position_no"] += 30
    other = records.assign(thickness_um=records["thickness_um"] + 7)
    export = writer.export("thickness-si", pd.concat([records, other]))
    what = "A file gives two values for one reading."
    writer.plant("contradiction within a file", export, what, "held_rows", rule="contradiction")


def _not_exports(writer: FaultWriter) -> None:
    """Add files to the inbox that are not exports."""
    at = min(export.exported_at for export in writer.first.values())
    notes = b"Item;Ordered;Arrived\r\nblotters;200;150\r\nnozzle 1,2 mm;2;2\r\n"
    for name, file_name, content, what, rule in (
        ("unknown file", "orders.csv", notes, "A list that matches no profile.", "no_profile"),
        ("empty file", "tensile-us_empty.csv", b"", "An export without any bytes.", "empty_file"),
        ("binary file", "image.csv", bytes(range(32)) * 20 + b"\0", "Bytes that are not text.", "binary"),
    ):
        writer.files.append(DemoFile(file_name, content, at))
        writer.faults.append(PlantedFault(name, file_name, (), what, "held_file", rule=rule))
