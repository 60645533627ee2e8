"""The air around a sheet's tests in local time."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from pipelines.site.sheet import drawn


@pytest.mark.parametrize(
    ("begins", "ends", "minutes"),
    [
        (datetime(2026, 10, 24, 23, 30), datetime(2026, 10, 25, 2, 0), "0 60 60 90"),
        (datetime(2026, 3, 29, 0, 30), datetime(2026, 3, 29, 3, 0), "0 120 180 210"),
        (datetime(2026, 6, 1, 0, 30), datetime(2026, 6, 1, 3, 0), "0 60 120 150"),
    ],
)
def test_readings_are_in_local_time_across_a_clock_change(begins, ends, minutes):
    zone = ZoneInfo("Europe/Helsinki")
    from_utc, to_utc = (at.replace(tzinfo=UTC).astimezone(zone) for at in (begins, ends))
    shown = drawn._in_local_time({"from_utc": from_utc, "to_utc": to_utc, "minutes": "0 60 120 150"})
    assert shown["minutes"] == minutes
    shown = datetime.fromtimestamp(shown["from_ms"] / 1000, UTC)
    assert shown.replace(tzinfo=None) == from_utc.replace(tzinfo=None)
