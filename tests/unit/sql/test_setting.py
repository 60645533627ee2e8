"""The settings as the statements see them."""

import pytest

from pipelines.settings import Settings
from schemas.marts.setting import Setting


def snapshot(**sections) -> dict:
    return Settings.model_validate(sections).for_snapshot()


def test_every_setting_of_the_snapshot_is_declared_and_given() -> None:
    assert set(snapshot()) == set(Setting.to_schema().columns)


def test_the_settings_can_be_written_and_the_defaults_are_the_standards(warehouse) -> None:
    warehouse.set(**snapshot())
    row = warehouse.row("FROM setting")
    # ISO 187 and TAPPI T 402: 23 ± 1 °C, 50 ± 2 % RH.
    assert (row["lowest_temperature_c"], row["highest_temperature_c"]) == (22.0, 24.0)
    assert (row["lowest_humidity_pct"], row["highest_humidity_pct"]) == (48.0, 52.0)
    assert (row["stay_from_grammage_g_m2"], row["stay_h"]) == ([0.0, 225.0], [4.0, 8.0])
    assert (row["longest_gap_min"], row["averaging_min"]) == (30.0, 0.0)
    assert row["admitted_verdicts"] == "standard"
    assert (row["reference_moisture_pct"], row["corrected_properties"], row["corrections_pct"]) == (
        None,
        "",
        [],
    )


def test_the_tropical_atmosphere(warehouse) -> None:
    # 27 ± 1 °C, 65 ± 2 % RH: from memory of ISO 187.
    row = snapshot(atmosphere={"standard": "27/65"})
    assert (row["lowest_temperature_c"], row["highest_temperature_c"]) == (26.0, 28.0)
    assert (row["lowest_humidity_pct"], row["highest_humidity_pct"]) == (63.0, 67.0)


def test_own_limits_are_the_numbers_that_readings_are() -> None:
    own = {
        "standard": "own",
        "temperature_c": 20.1,
        "temperature_tolerance_c": 0.1,
        "humidity_pct": 65.1,
        "humidity_tolerance_pct": 0.3,
    }
    row = snapshot(atmosphere=own)
    assert 20.1 + 0.1 != 20.2, "in floating point"
    assert (row["lowest_temperature_c"], row["highest_temperature_c"]) == (20.0, 20.2)
    assert (row["lowest_humidity_pct"], row["highest_humidity_pct"]) == (64.8, 65.4)


def test_stays_come_in_order_of_grammage() -> None:
    stays = [{"from_grammage_g_m2": 225.0, "hours": 8.0}, {"from_grammage_g_m2": 0.0, "hours": 4.0}]
    row = snapshot(atmosphere={"stays": stays})
    assert (row["stay_from_grammage_g_m2"], row["stay_h"]) == ([0.0, 225.0], [4.0, 8.0])


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ({"percent_per_point": {"tensile_indx": -4.0}, "reference_moisture_pct": 7.0}, "'tensile_index'"),
        ({"percent_per_point": {"tensile_index": -4.0}}, "needs both"),
        ({"reference_moisture_pct": 7.0}, "needs both"),
        (
            {"percent_per_point": {"tensile_index": -400.0}, "reference_moisture_pct": 7.0},
            "greater than or equal",
        ),
    ],
)
def test_a_moisture_correction_that_cannot_be_is_refused(section, words) -> None:
    with pytest.raises(ValueError, match=words):
        snapshot(moisture_correction=section)


def test_a_moisture_correction_reaches_the_statements() -> None:
    row = snapshot(
        moisture_correction={
            "reference_moisture_pct": 7.0,
            "percent_per_point": {"tensile_index": -4.0, "stretch": 3.0},
        }
    )
    assert (row["corrected_properties"], row["corrections_pct"]) == ("tensile_index,stretch", [-4.0, 3.0])
    assert row["reference_moisture_pct"] == 7.0
