"""Faults of the test rooms: loggers that stop or restart, warm air, sheets conditioned too briefly.

They concern additional tests of sheets after their regular tests, most of them after another conditioning. So the
means over tests in the standard atmosphere do not change.
"""

import numpy as np
import pandas as pd

from pipelines.demo.fault_writer import FaultWriter, PlantedFault
from pipelines.demo.rooms import HOUR, ROOM_SI
from pipelines.demo.timetable import AIR_CONDITIONING_DOWN, LOGGER_DEAD, LOGS

_MINUTE = pd.Timedelta(minutes=1)


def plant(writer: FaultWriter) -> None:
    """Add the faults of the test rooms to the exports."""
    _ambiguous_hour(writer)
    _restarted_logger(writer)
    stays = [
        _air_conditioning_down(writer),
        _air_conditioning_just_repaired(writer),
        _dead_logger(writer),
        _short_stay(writer),
        _log_not_exported(writer),
    ]
    writer.export("conditioning", pd.concat(stays))
    _tested_before_the_stay(writer)
    _tested_after_the_stay(writer)
    _test_without_a_time(writer)


def _ambiguous_hour(writer: FaultWriter) -> None:
    for export in writer.written:
        if export.profile.name != "climate-humidity":
            continue
        at = export.records["read_at_utc"].dt.tz_localize("UTC").dt.tz_convert(writer.zone)
        twice = at.dt.tz_localize(None).dt.tz_localize(writer.zone, ambiguous="NaT").isna()
        if twice.any():
            lines = tuple((np.flatnonzero(twice) + export.first_line).tolist())
            what = "The clocks went back: the logger's local time is ambiguous for an hour."
            writer.faults.append(
                PlantedFault("ambiguous hour", export.name, lines, what, "held_rows", rule="clock_change")
            )


def _restarted_logger(writer: FaultWriter) -> None:
    original = writer.first["climate-wet-bulb"]
    head, readings = original.lines[: original.first_line - 1], original.lines[original.first_line - 1 :]
    again = readings[-12:]
    name = writer.copy("climate-wet-bulb", [*head, *again], original.exported_at + HOUR)
    lines = tuple(range(original.first_line, original.first_line + len(again)))
    what = "The logger was restarted and wrote its last two hours again."
    writer.faults.append(PlantedFault("restarted logger", name, lines, what, "repeated"))


def _air_conditioning_down(writer: FaultWriter) -> pd.DataFrame:
    at = AIR_CONDITIONING_DOWN.begin + 19 * HOUR
    records = _additional_tests(writer, "tensile-si", 3, at)
    # Warm, dry air makes paper stronger, stiffer and less extensible (common practice); the amounts are invented.
    records["max_force_n"] *= 1.03
    records["max_slope_n_mm"] *= 1.06
    records["elongation_mm"] *= 0.93
    records["energy_j"] *= 1.03 * 0.93
    export = writer.export("tensile-si", records)
    what = "Strips tested on the Saturday when the air conditioning was down."
    writer.plant("air conditioning down", export, what, "off_standard", reason="°C (limit 24 °C)")
    return _stay(records, at - 20 * HOUR)


def _air_conditioning_just_repaired(writer: FaultWriter) -> pd.DataFrame:
    at = AIR_CONDITIONING_DOWN.end + 2.5 * HOUR
    records = _additional_tests(writer, "basis-weight-si", 2, at)
    records["mass_g"] *= 0.993
    export = writer.export("basis-weight-si", records)
    what = "Weighed when the room was within its limits again, but not for the whole required conditioning."
    writer.plant(
        "air conditioning just repaired", export, what, "off_standard", reason="% RH (limit 48 % RH)"
    )
    return _stay(records, at - 12 * HOUR)


def _dead_logger(writer: FaultWriter) -> pd.DataFrame:
    at = LOGGER_DEAD.begin + 4 * HOUR
    records = _additional_tests(writer, "thickness-si", 3, at)
    export = writer.export("thickness-si", records)
    what = "Measured while the logger had no battery: the climate is unknown."
    writer.plant("dead logger", export, what, "unverified", reason=f"no reading of {ROOM_SI} from")
    return _stay(records, at - 18 * HOUR)


def _short_stay(writer: FaultWriter) -> pd.DataFrame:
    at = LOGGER_DEAD.begin - 12 * HOUR
    records = _additional_tests(writer, "tensile-si", 1, at, sheet=2)
    export = writer.export("tensile-si", records)
    what = "Tested after 2.5 h of conditioning; 4 h are required."
    reason = "Conditioned 2.5 h; 4 h required"
    writer.plant("short stay", export, what, "off_standard", reason=reason)
    return _stay(records, at - 2.5 * HOUR)


def _log_not_exported(writer: FaultWriter) -> pd.DataFrame:
    at = LOGS.end + 10 * HOUR
    records = _additional_tests(writer, "tensile-si", 1, at, sheet=2)
    export = writer.export("tensile-si", records)
    what = "Tested after the last reading exported so far."
    writer.plant("log not exported", export, what, "unverified", reason="to the test")
    return _stay(records, at - 18 * HOUR)


def _tested_before_the_stay(writer: FaultWriter) -> None:
    records = writer.records("tensile-us", 1)
    stay = writer.records("conditioning-plain", 1)
    records["specimen_no"] += 40
    records["tested_at_utc"] = stay["in_at_utc"].iloc[0] - 5 * _MINUTE
    export = writer.export("tensile-us", records)
    what = "Tested straight from the dryer, without conditioning."
    writer.plant("straight from the dryer", export, what, "unverified", reason="No conditioning recorded")


def _tested_after_the_stay(writer: FaultWriter) -> None:
    records = writer.records("basis-weight-us", 2)
    records["specimen_no"] += 40
    records["tested_at_utc"] += 5 * HOUR
    export = writer.export("basis-weight-us", records)
    what = "Weighed after the sheet was taken out of its room."
    writer.plant("taken out before", export, what, "unverified", reason="Taken out of")


def _test_without_a_time(writer: FaultWriter) -> None:
    records = writer.records("thickness-us", 2)
    records["position_no"] += 40
    records["tested_at_utc"] = pd.NaT
    export = writer.export("thickness-us", records)
    what = "The tester's clock had stopped: the export has no times."
    writer.plant("test without a time", export, what, "unverified", reason="No test time recorded")


def _additional_tests(
    writer: FaultWriter, profile: str, count: int, at: pd.Timestamp, sheet: int = 1
) -> pd.DataFrame:
    """Return additional pieces or readings of a sheet, one per minute from a time in UTC."""
    records = writer.records(profile, count, sheet)
    number = "position_no" if "position_no" in records else "specimen_no"
    records[number] += 40 + 10 * len(writer.faults)
    records["tested_at_utc"] = at + _MINUTE * np.arange(count)
    return records


def _stay(records: pd.DataFrame, in_at: pd.Timestamp) -> pd.DataFrame:
    """Return the conditioning stay of the records' sheet, from a time in UTC."""
    stay = records[["sheet_id"]].iloc[:1].assign(room=ROOM_SI, preconditioned="dry_side", in_at_utc=in_at)
    return stay.assign(out_at_utc=records["tested_at_utc"].max() + HOUR)
