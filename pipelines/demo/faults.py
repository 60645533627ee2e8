"""Faults planted among the demo laboratory's exports, each at a known place and with a known outcome.

They are what goes wrong in every laboratory: a slipped key, an export cut off while it was copied, a unit
switched at the tester. Each stands in a file of its own beside the regular exports, so that the truth of the
trial points can still be found again.
"""

import pandas as pd

from pipelines.demo import curve_faults, room_faults
from pipelines.demo.bench import Bench, InboxFile, PlantedFault, lines_of
from pipelines.demo.exports import Export


def plant(
    written: list[Export], formed: pd.DataFrame, zone: str
) -> tuple[list[InboxFile], list[PlantedFault]]:
    """Return the files that carry the faults, and the faults.

    ``written`` are the regular exports, ``formed`` the forming records, ``zone`` the laboratory's time zone.
    """
    bench = Bench(written, zone)
    _clamp_breaks(bench)
    _mistyped_sheet_id(bench)
    _overlapping_export(bench)
    _corrected_re_export(bench)
    _retest(bench)
    _contradicting_units_row(bench)
    _truncated_copy(bench)
    _summary_lines(bench)
    _negative_thickness(bench)
    _dated_before_forming(bench, formed)
    _contradiction_within_a_file(bench)
    _no_exports(bench)
    room_faults.plant(bench)
    curve_faults.plant(bench)
    return bench.files, bench.faults


def _clamp_breaks(bench: Bench) -> None:
    records = bench.records("tensile-si", 3)
    records["specimen_no"] += 10
    records["max_force_n"] *= 0.70
    records["elongation_mm"] *= 0.55
    records["energy_j"] *= 0.70 * 0.55
    records["break_position_mm"] = 1.5
    records["remark"] = "clamp_break"
    records["tested_at_utc"] += pd.Timedelta(minutes=60)
    export = bench.export("tensile-si", records)
    what = "Three strips broke at the clamp, at forces too low, and are remarked so."
    bench.plant("clamp breaks", export, what, "left_out")


def _mistyped_sheet_id(bench: Bench) -> None:
    records = bench.records("thickness-si", 5)
    right = str(records["sheet_id"].iloc[0])
    records["position_no"] += 20
    records["sheet_id"] = right.replace("0", "O", 1)
    records["tested_at_utc"] += pd.Timedelta(minutes=90)
    export = bench.export("thickness-si", records)
    what = f"The sheet's number was typed with the letter O for a zero; {right} is meant."
    bench.faults.append(
        PlantedFault(
            "mistyped sheet id", export.name, lines_of(export), what, "unmatched", suggested_sheet_id=right
        )
    )


def _overlapping_export(bench: Bench) -> None:
    original = bench.first["basis-weight-si"]
    head, rows = original.lines[: original.first_line - 1], len(original.records)
    half = original.lines[original.first_line - 1 :][rows // 2 : rows]
    at = original.exported_at + pd.Timedelta(hours=2)
    name = bench.copy("basis-weight-si", [*head, *half], at)
    lines = tuple(range(original.first_line, original.first_line + len(half)))
    what = "Half of an earlier export was exported again."
    bench.faults.append(PlantedFault("overlapping export", name, lines, what, "repeated"))


def _corrected_re_export(bench: Bench) -> None:
    records = bench.records("moisture", 1)
    records["mass_after_g"] -= 0.1
    export = bench.export("moisture", records)
    what = f"A misread mass, exported before the file {bench.first['moisture'].name}, which corrects it."
    bench.plant("corrected re-export", export, what, "superseded")


def _retest(bench: Bench) -> None:
    records = bench.records("tensile-us", 1)
    records["max_force_n"] *= 1.01
    records["tested_at_utc"] += pd.Timedelta(hours=2)
    export = bench.export("tensile-us", records)
    what = "A piece's place was tested again two hours later: a new replicate, not a correction."
    bench.plant("retest", export, what, "new_replicate")


def _contradicting_units_row(bench: Bench) -> None:
    original = bench.first["tensile-si"]
    lines = list(original.lines)
    units_row = original.first_line - 2
    lines[units_row] = lines[units_row].replace(";N;", ";kN;")
    name = bench.copy("tensile-si", lines, original.exported_at + pd.Timedelta(hours=3))
    what = "The units row says kN where the profile says N."
    bench.faults.append(
        PlantedFault("contradicting units row", name, (), what, "held_file", rule="units_row")
    )


def _truncated_copy(bench: Bench) -> None:
    original = bench.first["thickness-us"]
    last = original.first_line + 7
    lines = list(original.lines[:last])
    lines[-1] = lines[-1][: len(lines[-1]) // 2]
    at = original.exported_at - pd.Timedelta(minutes=2)
    name = bench.copy("thickness-us", lines, at, line_end_missing=True)
    what = "The file was copied while it was written and breaks off within a line."
    bench.faults.append(PlantedFault("truncated copy", name, (last,), what, "held_rows", rule="truncated"))


def _summary_lines(bench: Bench) -> None:
    original = bench.first["tensile-si"]
    lines = range(original.first_line + len(original.records), len(original.lines) + 1)
    what = "Means and standard deviations stand below the tests."
    bench.faults.append(PlantedFault("summary lines", original.name, tuple(lines), what, "footer"))


def _negative_thickness(bench: Bench) -> None:
    records = bench.records("thickness-us", 1)
    records["position_no"] += 20
    records["thickness_um"] *= -1
    export = bench.export("thickness-us", records)
    what = "A thickness below zero."
    bench.plant("negative thickness", export, what, "held_rows", rule="range")


def _dated_before_forming(bench: Bench, formed: pd.DataFrame) -> None:
    records = bench.records("basis-weight-us", 1)
    sheet = formed[formed["sheet_id"] == records["sheet_id"].iloc[0]]
    records["specimen_no"] += 20
    records["tested_at_utc"] = sheet["formed_at_utc"].iloc[0] - pd.Timedelta(days=3)
    export = bench.export("basis-weight-us", records)
    what = "Weighed three days before the sheet was formed."
    bench.plant("dated before forming", export, what, "held_rows", rule="dated_before_forming")


def _contradiction_within_a_file(bench: Bench) -> None:
    records = bench.records("thickness-si", 1)
    records["position_no"] += 30
    other = records.assign(thickness_um=records["thickness_um"] + 7)
    export = bench.export("thickness-si", pd.concat([records, other]))
    what = "One reading stands twice in a file, with two values."
    bench.plant("contradiction within a file", export, what, "held_rows", rule="contradiction")


def _no_exports(bench: Bench) -> None:
    """Put files into the inbox that are no exports at all."""
    at = min(export.exported_at for export in bench.first.values())
    notes = b"Item;Ordered;Arrived\r\nblotters;200;150\r\nnozzle 1,2 mm;2;2\r\n"
    for name, file_name, content, what, rule in (
        ("unknown file", "orders.csv", notes, "A list that no profile knows.", "no_profile"),
        ("empty file", "tensile-us_empty.csv", b"", "An export without a single byte.", "empty_file"),
        ("binary rubbish", "image.csv", bytes(range(32)) * 20 + b"\0", "Bytes that are no text.", "binary"),
    ):
        bench.files.append(InboxFile(file_name, content, at))
        bench.faults.append(PlantedFault(name, file_name, (), what, "held_file", rule=rule))
