"""The air around a sheet's tests as it is drawn: times as the laboratory's clocks showed them."""

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
def test_readings_follow_the_clock_when_it_changes(begins, ends, minutes):
    zone = ZoneInfo("Europe/Helsinki")
    from_utc, to_utc = (at.replace(tzinfo=UTC).astimezone(zone) for at in (begins, ends))
    clocked = drawn._clocked({"from_utc": from_utc, "to_utc": to_utc, "minutes": "0 60 120 150"})
    assert clocked["minutes"] == minutes
    shown = datetime.fromtimestamp(clocked["from_ms"] / 1000, UTC)
    assert shown.replace(tzinfo=None) == from_utc.replace(tzinfo=None)
