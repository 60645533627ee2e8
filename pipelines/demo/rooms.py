"""The demo laboratory's two test rooms: the readings of their loggers, and the stays of the sheets.

Both rooms are controlled at 23 °C and 50 %. The room of the SI testers has a logger of temperature and humidity,
the other an aspirated psychrometer. When the air conditioning of the first room fails, its air warms up at constant
vapour pressure, so its relative humidity falls.
"""

import numpy as np
import pandas as pd

from pipelines.demo.timetable import AIR_CONDITIONING_DOWN, LOGGER_DEAD, LOGS
from pipelines.demo.truth import FloatArray
from pipelines.physics import atmosphere

ROOM_SI, ROOM_US = "room 1", "room 2"

CLIMATE_PROFILES = {ROOM_SI: "climate-humidity", ROOM_US: "climate-wet-bulb"}
CONDITIONING_PROFILES = {ROOM_SI: "conditioning", ROOM_US: "conditioning-plain"}
"""The export profiles of each room's logs."""

TEMPERATURE_C, HUMIDITY_PCT = 23.0, 50.0
MINUTES_BETWEEN_READINGS = {ROOM_SI: 15, ROOM_US: 10}

WARMING_C, WARMING_HOURS, RECOVERY_HOURS = 4.5, 6.0, 0.5
"""Final warming of a room without air conditioning, and the time constants of warming and recovery."""

HOUR = pd.Timedelta(hours=1)
FROM_TEST_TO_LEAVING = 3 * HOUR


def climate(first_sheet_at: pd.Timestamp, rng: np.random.Generator) -> pd.DataFrame:
    """Return one row per reading of both loggers, from the day before the first sheet to the end of the logs."""
    begin = min(LOGS.begin, first_sheet_at.normalize() - pd.Timedelta(days=1))
    return pd.concat([_with_humidity(begin, rng), _with_wet_bulb(begin, rng)], ignore_index=True)


def stays(made: pd.DataFrame) -> pd.DataFrame:
    """Return one row per sheet: in its test room from after drying until after its tests.

    ``made`` has one row per sheet with sheet_id, is_si, formed_at_utc and tested_at_utc.
    """
    is_si = made["is_si"].to_numpy()
    return pd.DataFrame(
        {
            "sheet_id": made["sheet_id"],
            "room": np.where(is_si, ROOM_SI, ROOM_US),
            "preconditioned": made["is_si"].map({True: "dry_side"}).astype("str"),
            "in_at_utc": made["formed_at_utc"] + pd.Timedelta(minutes=40),
            "out_at_utc": made["tested_at_utc"] + FROM_TEST_TO_LEAVING,
        }
    )


def warming_c(at: pd.Series) -> FloatArray:
    """Return the temperature above the set point, °C, of the room without air conditioning, at times in UTC."""
    down = AIR_CONDITIONING_DOWN
    hours_down = _hours(at - down.begin).clip(0, (down.end - down.begin) / HOUR)
    hours_since = _hours(at - down.end).clip(0)
    warm: FloatArray = WARMING_C * (1 - np.exp(-hours_down / WARMING_HOURS))
    return warm * np.exp(-hours_since / RECOVERY_HOURS)


def _with_humidity(begin: pd.Timestamp, rng: np.random.Generator) -> pd.DataFrame:
    readings = _controlled(ROOM_SI, begin, rng)
    controlled_c = readings["temperature_c"].to_numpy()
    warm_c = controlled_c + warming_c(readings["read_at_utc"])
    humidity_pct = atmosphere.relative_humidity_at_pct(
        warm_c, controlled_c, readings["relative_humidity_pct"]
    )
    readings = readings.assign(temperature_c=warm_c.round(2), relative_humidity_pct=humidity_pct.round(1))
    dead = readings["read_at_utc"].between(LOGGER_DEAD.begin, LOGGER_DEAD.end, inclusive="neither")
    return readings[~dead]


def _with_wet_bulb(begin: pd.Timestamp, rng: np.random.Generator) -> pd.DataFrame:
    readings = _controlled(ROOM_US, begin, rng)
    days = _days(readings["read_at_utc"])
    pressure_kpa = 100.6 + 0.8 * np.sin(2 * np.pi * days / 5.3) + rng.normal(0, 0.01, len(readings))
    humidity_pct = readings.pop("relative_humidity_pct").to_numpy()
    wet_bulb = wet_bulb_c(readings["temperature_c"].to_numpy(), humidity_pct, pressure_kpa)
    return readings.assign(wet_bulb_c=wet_bulb, air_pressure_kpa=pressure_kpa)


def wet_bulb_c(
    temperature_c: FloatArray, relative_humidity_pct: FloatArray, pressure_kpa: FloatArray
) -> FloatArray:
    """Return the wet-bulb temperature, °C, from temperature, °C, relative humidity, %, and air pressure, kPa.

    Bisection of the psychrometric formula from 20 °C below the dry bulb to the dry bulb; NaN counts as too cold.
    """
    low, high = temperature_c - 20.0, temperature_c.copy()
    for _ in range(40):
        middle = (low + high) / 2
        found = atmosphere.relative_humidity_from_wet_bulb_pct(temperature_c, middle, pressure_kpa)
        too_warm = found > relative_humidity_pct
        low, high = np.where(too_warm, low, middle), np.where(too_warm, middle, high)
    return (low + high) / 2


def _controlled(room: str, begin: pd.Timestamp, rng: np.random.Generator) -> pd.DataFrame:
    """Return a room's readings with working air conditioning: a daily cycle and noise."""
    every = pd.Timedelta(minutes=MINUTES_BETWEEN_READINGS[room])
    read_at = pd.Series(pd.date_range(begin, LOGS.end, freq=every, inclusive="left", unit="us"))
    wave = np.sin(2 * np.pi * _days(read_at))
    noise = rng.normal(0, 1, (2, len(read_at)))
    return pd.DataFrame(
        {
            "room": room,
            "read_at_utc": read_at,
            "temperature_c": TEMPERATURE_C + 0.15 * wave + 0.06 * noise[0],
            "relative_humidity_pct": HUMIDITY_PCT - 0.5 * wave + 0.15 * noise[1],
        }
    )


def _hours(durations: pd.Series) -> FloatArray:
    seconds: FloatArray = durations.dt.total_seconds().to_numpy()
    return seconds / 3600


def _days(times: pd.Series) -> FloatArray:
    return _hours(times - LOGS.begin) / 24
