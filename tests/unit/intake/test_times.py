"""Local times to UTC, against zoneinfo, with the hours that a clock change skips or repeats."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.intake.parsing import parse_times

FORMAT = "%d.%m.%Y %H:%M:%S"
ZONES = [
    "UTC", "Europe/Helsinki", "America/New_York", "America/St_Johns", "Asia/Kathmandu", "Australia/Lord_Howe",
    "Asia/Kolkata", "America/Sao_Paulo", "Africa/Casablanca", "Pacific/Apia",
]  # fmt: skip


def read(local: str, zone: str, time_format: str = FORMAT):
    found = parse_times(pd.Series([local], dtype="str"), time_format, zone)
    (utc,) = found.utc
    return utc, {name for name in ("invalid", "nonexistent", "ambiguous") if getattr(found, name)[0]}


def meanings(local: datetime, zone: str) -> set[datetime]:
    """The points in time that a local time can stand for: none, one or two, found by converting to UTC and back."""
    found = set()
    for fold in (0, 1):
        utc = local.replace(tzinfo=ZoneInfo(zone), fold=fold).astimezone(UTC)
        if utc.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == local:
            found.add(utc.replace(tzinfo=None))
    return found


def changes_of(zone: str, year: int) -> list[datetime]:
    """The hours, in UTC, after which a zone's offset differs."""
    hours = [datetime(year, 1, 1, tzinfo=UTC) + timedelta(hours=hour) for hour in range(366 * 24)]
    offsets = [hour.astimezone(ZoneInfo(zone)).utcoffset() for hour in hours]
    return [hour for hour, one, other in zip(hours, offsets, offsets[1:], strict=False) if one != other]


CHANGES = [(zone, change) for zone in ZONES for year in (2024, 2026) for change in changes_of(zone, year)]
LIFETIME = st.datetimes(datetime(1975, 1, 1), datetime(2037, 1, 1)).map(
    lambda time: time.replace(microsecond=0)
)
ANY_TIME = st.tuples(st.sampled_from(ZONES), LIFETIME)


@st.composite
def time_near_a_change(draw):
    """A zone, and a local time within hours of a clock change there, by the clock before the change."""
    zone, change = draw(st.sampled_from(CHANGES))
    before = change.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
    return zone, before + timedelta(seconds=draw(st.integers(-7200, 10800)))


@given(st.one_of(time_near_a_change(), ANY_TIME))
def test_local_times_agree_with_zoneinfo_or_are_held(case):
    zone, local = case
    utc, faults = read(local.strftime(FORMAT), zone)
    can_mean = meanings(local, zone)
    if len(can_mean) == 1:
        assert {utc.to_pydatetime()} == can_mean
        assert faults == set()
    else:
        assert pd.isna(utc)
        assert faults == ({"ambiguous"} if can_mean else {"nonexistent"})


def test_all_errors_in_one_column_are_distinguished():
    cells = ["01.07.2026 12:00:00", "29.03.2026 03:30:00", "25.10.2026 03:30:00", "31.02.2026 12:00:00", ""]
    found = parse_times(pd.Series(cells, dtype="str"), FORMAT, "Europe/Helsinki")
    assert found.utc.isna().tolist() == [False, True, True, True, True]
    assert found.utc[0] == pd.Timestamp("2026-07-01 09:00:00")
    assert found.nonexistent.tolist() == [False, True, False, False, False]
    assert found.ambiguous.tolist() == [False, False, True, False, False]
    assert found.invalid.tolist() == [False, False, False, True, False]


def test_with_an_offset_an_hour_that_occurs_twice_is_unambiguous():
    for offset, hour in (("+0300", 0), ("+0200", 1), ("Z", 3)):
        utc, faults = read(f"2026-10-25 03:30 {offset}", "Europe/Helsinki", "%Y-%m-%d %H:%M %z")
        assert utc == pd.Timestamp(2026, 10, 25, hour, 30)
        assert faults == set()


@given(st.datetimes(datetime(1975, 1, 1), datetime(2037, 1, 1)), st.integers(-14 * 60, 14 * 60))
def test_any_offset_counts(local, minutes):
    local = local.replace(second=0, microsecond=0)
    sign, (hours, rest) = "-" if minutes < 0 else "+", divmod(abs(minutes), 60)
    utc, _ = read(f"{local:%Y-%m-%d %H:%M} {sign}{hours:02}{rest:02}", "Europe/Helsinki", "%Y-%m-%d %H:%M %z")
    assert utc == pd.Timestamp(local - timedelta(minutes=minutes))


@pytest.mark.parametrize(
    "cell",
    [
        "1.7.26 12:00:00", "2026-07-01 12:00:00", "01.13.2026 12:00:00", "01.07.2026", "01.07.2026 12:00",
        "01.07.2026 24:00:00", "01.07.2026 12:00:00 Uhr", "yesterday", "46204",
    ],
)  # fmt: skip
def test_other_formats_are_invalid(cell):
    utc, faults = read(cell, "UTC")
    assert pd.isna(utc)
    assert faults == {"invalid"}


def test_times_are_kept_to_the_microsecond():
    utc, _ = read("2026-07-01 12:00:00.123456", "UTC", "%Y-%m-%d %H:%M:%S.%f")
    assert utc == pd.Timestamp("2026-07-01 12:00:00.123456")


@pytest.mark.parametrize("cells", [[], ["", ""]])
def test_a_column_without_times_has_its_type_all_the_same(cells):
    for time_format in (FORMAT, "%Y-%m-%dT%H:%M:%S%z"):
        found = parse_times(pd.Series(cells, dtype="str"), time_format, "UTC")
        assert str(found.utc.dtype) == "datetime64[us]"
        assert not found.invalid.any()
