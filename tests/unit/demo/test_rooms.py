"""The rooms' logs: standard air wherever a regular test is made, and what was planted where it was planted."""

import numpy as np
import pandas as pd
import pytest

from pipelines.demo import rooms
from pipelines.demo.rooms import ROOM_SI, ROOM_US
from pipelines.demo.simulator import simulate
from pipelines.demo.timetable import AIR_CONDITIONING_DOWN, LOGGER_DEAD, LOGS, ZONE
from pipelines.physics import atmosphere

HOUR = pd.Timedelta(hours=1)


@pytest.fixture(scope="module")
def simulation():
    return simulate(240, seed=5)


@pytest.fixture(scope="module")
def logs(simulation):
    """Each room's readings, with the humidity from its log."""
    climate = simulation.records["climate"]
    from_wet_bulb = atmosphere.relative_humidity_from_wet_bulb_pct(
        climate["temperature_c"], climate["wet_bulb_c"], climate["air_pressure_kpa"].fillna(101.325)
    )
    with_humidity = climate.assign(
        relative_humidity_pct=climate["relative_humidity_pct"].fillna(pd.Series(from_wet_bulb, climate.index))
    )
    return dict(list(with_humidity.groupby("room")))


def _is_standard(readings):
    """23 ± 1 °C and 50 ± 2 % RH (ASTM D685)."""
    return readings["temperature_c"].between(22, 24) & readings["relative_humidity_pct"].between(48, 52)


@pytest.mark.parametrize("room", [ROOM_SI, ROOM_US])
def test_every_regular_test_has_standard_air_for_twelve_hours_without_a_gap(simulation, logs, room):
    log = logs[room].set_index("read_at_utc")
    is_si = room == ROOM_SI
    tests = simulation.records["tensile"]
    tested_at = tests.loc[(tests["tester"] == "tensile-si") == is_si, "tested_at_utc"]
    for at in tested_at.dt.floor("h").unique():
        before = log.loc[at - 12 * HOUR : at + HOUR]
        assert _is_standard(before).all()
        assert before.index.to_series().diff().max() <= pd.Timedelta(minutes=15)
        assert before.index[0] <= at - 11.7 * HOUR


def test_only_one_room_is_ever_off_standard_and_only_when_the_air_conditioning_is_down(logs):
    assert _is_standard(logs[ROOM_US]).all()
    off = logs[ROOM_SI].loc[~_is_standard(logs[ROOM_SI]), "read_at_utc"]
    assert AIR_CONDITIONING_DOWN.begin < off.min() < AIR_CONDITIONING_DOWN.begin + 2 * HOUR
    assert AIR_CONDITIONING_DOWN.end < off.max() < AIR_CONDITIONING_DOWN.end + 2 * HOUR
    assert len(off) > 0.95 * (AIR_CONDITIONING_DOWN.end - AIR_CONDITIONING_DOWN.begin) / (HOUR / 4)


def test_warm_air_keeps_its_vapour(logs):
    readings = logs[ROOM_SI]
    vapour = atmosphere.vapour_pressure_kpa(readings["temperature_c"], readings["relative_humidity_pct"])
    kept = atmosphere.vapour_pressure_kpa(23.0, 50.0)
    assert readings["temperature_c"].max() > 27
    assert np.all(np.abs(vapour / kept - 1) < 0.05)


def test_the_dead_logger_leaves_the_only_gap(logs):
    read_at = logs[ROOM_SI]["read_at_utc"]
    gaps = read_at.diff()
    assert gaps.max() == LOGGER_DEAD.end - LOGGER_DEAD.begin
    assert (gaps > pd.Timedelta(minutes=15)).sum() == 1
    assert read_at[gaps.idxmax()] == LOGGER_DEAD.end


def test_the_logs_include_the_clock_change(logs):
    for log in logs.values():
        assert log["read_at_utc"].min() <= LOGS.begin
        offsets = log["read_at_utc"].dt.tz_localize("UTC").dt.tz_convert(ZONE).dt.strftime("%z").unique()
        assert sorted(offsets) == ["+0200", "+0300"]


def test_the_wet_bulb_is_the_psychrometer_formula_turned_round():
    temperature = np.array([21.0, 23.0, 23.0, 27.0])
    humidity = np.array([30.0, 41.3, 50.0, 65.0])
    pressure = np.array([90.0, 101.325, 101.325, 103.0])
    wet = rooms.wet_bulb_c(temperature, humidity, pressure)
    back = atmosphere.relative_humidity_from_wet_bulb_pct(temperature, wet, pressure)
    assert back == pytest.approx(humidity, abs=1e-6)
    # Computed from the formula by hand: 23 °C over a wet bulb of 15 °C at 1013.25 hPa is 41.3 %.
    assert wet[1] == pytest.approx(15.0, abs=0.01)
