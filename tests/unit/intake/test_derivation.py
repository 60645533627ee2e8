"""Completing climate readings: relative humidity from dry and wet bulb."""

import pandas as pd
import pytest

from pipelines.intake.derivation import derive_missing


def climate(**cells) -> pd.DataFrame:
    """One reading of a psychrometer; what is not given is missing."""
    row = {
        "room": "R1",
        "temperature_c": 23.0,
        "relative_humidity_pct": float("nan"),
        "wet_bulb_c": float("nan"),
        "air_pressure_kpa": float("nan"),
    }
    return pd.DataFrame([row | cells])


@pytest.mark.parametrize(
    ("dry", "wet", "pressure", "expected"),
    [
        # Computed from the psychrometric formula of the AMS Glossary with Magnus' formula (WMO-No. 8, from memory).
        (20.0, 12.0, 101.325, 36.8),
        (23.0, 16.0, 101.325, 47.7),
        (27.0, 22.0, 101.325, 64.5),
        (23.0, 16.0, 90.0, 49.6),
    ],
)
def test_humidity_follows_from_the_wet_bulb(dry, wet, pressure, expected) -> None:
    frame = derive_missing("climate", climate(temperature_c=dry, wet_bulb_c=wet, air_pressure_kpa=pressure))
    assert frame["relative_humidity_pct"].item() == pytest.approx(expected, abs=0.05)


def test_a_reported_humidity_is_kept() -> None:
    stated = climate(relative_humidity_pct=50.5, wet_bulb_c=10.0, air_pressure_kpa=101.325)
    assert derive_missing("climate", stated)["relative_humidity_pct"].item() == 50.5


@pytest.mark.parametrize(
    "cells",
    [
        {"wet_bulb_c": 16.0},
        {"air_pressure_kpa": 101.325},
        {"wet_bulb_c": 16.0, "air_pressure_kpa": 1013.25},
        {"wet_bulb_c": 16.0, "air_pressure_kpa": 0.0},
        {"wet_bulb_c": 26.0, "air_pressure_kpa": 101.325},
        {"wet_bulb_c": 16.0, "air_pressure_kpa": 101.325, "temperature_c": float("nan")},
    ],
    ids=["no pressure", "no wet bulb", "hPa as kPa", "no air", "wet bulb warmer", "no dry bulb"],
)
def test_what_cannot_be_computed_stays_missing(cells) -> None:
    assert derive_missing("climate", climate(**cells))["relative_humidity_pct"].isna().all()


def test_rows_are_independent_whatever_the_index() -> None:
    good = climate(wet_bulb_c=16.0, air_pressure_kpa=101.325)
    frame = pd.concat([climate(wet_bulb_c=16.0, air_pressure_kpa=5.0), good, climate()]).set_index(
        pd.Index([7, 3, 3])
    )
    completed = derive_missing("climate", frame)["relative_humidity_pct"]
    assert completed.isna().tolist() == [True, False, True]
    assert completed.iloc[1] == pytest.approx(47.7, abs=0.05)


def test_the_frame_given_is_not_changed() -> None:
    frame = climate(wet_bulb_c=16.0, air_pressure_kpa=101.325)
    derive_missing("climate", frame)
    assert frame["relative_humidity_pct"].isna().all()


def test_other_kinds_are_returned_unchanged() -> None:
    frame = pd.DataFrame({"sheet_id": ["S1"]})
    assert derive_missing("tensile", frame) is frame
