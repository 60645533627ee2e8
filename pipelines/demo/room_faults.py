"""Faults of the test rooms: loggers that stop or start again, air that gets warm, sheets that stay too briefly.

The tests are made anew on sheets that have their regular tests behind them, mostly after these were brought in
once more, so that the means over tests in the standard atmosphere stay what they were.
"""

import numpy as np
import pandas as pd

from pipelines.demo.bench import Bench, PlantedFault
from pipelines.demo.rooms import HOUR, ROOM_SI
from pipelines.demo.timetable import AIR_CONDITIONING_DOWN, LOGGER_DEAD, LOGS

_MINUTE = pd.Timedelta(minutes=1)


def plant(bench: Bench) -> None:
    """Put the faults of the test rooms among the exports."""
    _hour_that_occurred_twice(bench)
    _restarted_logger(bench)
    stays = [
        _air_conditioning_down(bench),
        _air_conditioning_just_mended(bench),
        _dead_logger(bench),
        _short_stay(bench),
        _log_not_brought_in(bench),
    ]
    bench.export("conditioning", pd.concat(stays))
    _tested_before_the_stay(bench)
    _tested_after_the_stay(bench)
    _test_without_a_time(bench)


def _hour_that_occurred_twice(bench: Bench) -> None:
    for export in bench.written:
        if export.profile.name != "climate-humidity":
            continue
        at = export.records["read_at_utc"].dt.tz_localize("UTC").dt.tz_convert(bench.zone)
        twice = at.dt.tz_localize(None).dt.tz_localize(bench.zone, ambiguous="NaT").isna()
        if twice.any():
            lines = tuple((np.flatnonzero(twice) + export.first_line).tolist())
            what = (
                "The clocks were put back: the logger's local time does not tell which of two hours is meant."
            )
            bench.faults.append(
                PlantedFault(
                    "hour that occurred twice", export.name, lines, what, "held_rows", rule="clock_change"
                )
            )


def _restarted_logger(bench: Bench) -> None:
    original = bench.first["climate-wet-bulb"]
    head, readings = original.lines[: original.first_line - 1], original.lines[original.first_line - 1 :]
    again = readings[-12:]
    name = bench.copy("climate-wet-bulb", [*head, *again], original.exported_at + HOUR)
    lines = tuple(range(original.first_line, original.first_line + len(again)))
    what = "The logger was started anew and wrote its last two hours once more."
    bench.faults.append(PlantedFault("restarted logger", name, lines, what, "repeated"))


def _air_conditioning_down(bench: Bench) -> pd.DataFrame:
    at = AIR_CONDITIONING_DOWN.begin + 19 * HOUR
    records = _tested_again(bench, "tensile-si", 3, at)
    # Warm, dry air: stronger, stiffer and less extensible (common practice), by amounts of our own.
    records["max_force_n"] *= 1.03
    records["max_slope_n_mm"] *= 1.06
    records["elongation_mm"] *= 0.93
    records["energy_j"] *= 1.03 * 0.93
    export = bench.export("tensile-si", records)
    what = "Strips pulled on the Saturday on which the air conditioning was down."
    bench.plant("air conditioning down", export, what, "off_standard", reason="°C (limit 24 °C)")
    return _stay(records, at - 20 * HOUR)


def _air_conditioning_just_mended(bench: Bench) -> pd.DataFrame:
    at = AIR_CONDITIONING_DOWN.end + 2.5 * HOUR
    records = _tested_again(bench, "basis-weight-si", 2, at)
    records["mass_g"] *= 0.993
    export = bench.export("basis-weight-si", records)
    what = "Weighed when the room was right again, but had not been for the whole of the required stay."
    bench.plant("air conditioning just mended", export, what, "off_standard", reason="% RH (limit 48 % RH)")
    return _stay(records, at - 12 * HOUR)


def _dead_logger(bench: Bench) -> pd.DataFrame:
    at = LOGGER_DEAD.begin + 4 * HOUR
    records = _tested_again(bench, "thickness-si", 3, at)
    export = bench.export("thickness-si", records)
    what = "Measured while the logger had no battery: nobody knows what the air was like."
    bench.plant("dead logger", export, what, "unverified", reason=f"no reading of {ROOM_SI} from")
    return _stay(records, at - 18 * HOUR)


def _short_stay(bench: Bench) -> pd.DataFrame:
    at = LOGGER_DEAD.begin - 12 * HOUR
    records = _tested_again(bench, "tensile-si", 1, at, sheet=2)
    export = bench.export("tensile-si", records)
    what = "Tested two hours and a half after the sheet was brought in; four hours are required."
    reason = "Conditioned 2.5 h; 4 h required"
    bench.plant("short stay", export, what, "off_standard", reason=reason)
    return _stay(records, at - 2.5 * HOUR)


def _log_not_brought_in(bench: Bench) -> pd.DataFrame:
    at = LOGS.end + 10 * HOUR
    records = _tested_again(bench, "tensile-si", 1, at, sheet=2)
    export = bench.export("tensile-si", records)
    what = "Tested after the last reading that has been exported so far."
    bench.plant("log not brought in", export, what, "unverified", reason="to the test")
    return _stay(records, at - 18 * HOUR)


def _tested_before_the_stay(bench: Bench) -> None:
    records = bench.records("tensile-us", 1)
    stay = bench.records("conditioning-plain", 1)
    records["specimen_no"] += 40
    records["tested_at_utc"] = stay["in_at_utc"].iloc[0] - 5 * _MINUTE
    export = bench.export("tensile-us", records)
    what = "Tested straight from the dryer: the sheet had not been in any test room yet."
    bench.plant("straight from the dryer", export, what, "unverified", reason="No conditioning recorded")


def _tested_after_the_stay(bench: Bench) -> None:
    records = bench.records("basis-weight-us", 2)
    records["specimen_no"] += 40
    records["tested_at_utc"] += 5 * HOUR
    export = bench.export("basis-weight-us", records)
    what = "Weighed after the sheet had been taken out of its room."
    bench.plant("taken out before", export, what, "unverified", reason="Taken out of")


def _test_without_a_time(bench: Bench) -> None:
    records = bench.records("thickness-us", 2)
    records["position_no"] += 40
    records["tested_at_utc"] = pd.NaT
    export = bench.export("thickness-us", records)
    what = "The tester's clock had stopped: no time was exported."
    bench.plant("test without a time", export, what, "unverified", reason="No test time recorded")


def _tested_again(bench: Bench, profile: str, count: int, at: pd.Timestamp, sheet: int = 1) -> pd.DataFrame:
    """Return further pieces or readings of a sheet, a minute after one another from a time in UTC on."""
    records = bench.records(profile, count, sheet)
    number = "position_no" if "position_no" in records else "specimen_no"
    records[number] += 40 + 10 * len(bench.faults)
    records["tested_at_utc"] = at + _MINUTE * np.arange(count)
    return records


def _stay(records: pd.DataFrame, in_at: pd.Timestamp) -> pd.DataFrame:
    """Return the stay in which records were tested, from a time in UTC on."""
    stay = records[["sheet_id"]].iloc[:1].assign(room=ROOM_SI, preconditioned="dry_side", in_at_utc=in_at)
    return stay.assign(out_at_utc=records["tested_at_utc"].max() + HOUR)
