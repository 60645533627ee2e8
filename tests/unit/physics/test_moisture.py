"""Moisture: round trips, limits, and readings that no paper can have."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.physics import moisture


@given(st.floats(0, 99))
def test_moisture_content_and_regain_are_inverses(moisture_pct) -> None:
    regain_pct = moisture.regain_from_moisture_pct(moisture_pct)
    assert regain_pct >= moisture_pct * (1 - 1e-12)
    assert moisture.moisture_from_regain_pct(regain_pct) == pytest.approx(moisture_pct, rel=1e-9, abs=1e-12)


@given(st.floats(1, 500), st.floats(0, 60))
def test_a_piece_weighed_before_and_after_gives_its_oven_dry_grammage(grammage_g_m2, moisture_pct) -> None:
    dry_g_m2 = moisture.oven_dry_grammage_g_m2(grammage_g_m2, moisture_pct)
    content_pct = moisture.moisture_content_pct(grammage_g_m2, dry_g_m2)
    assert content_pct == pytest.approx(moisture_pct, rel=1e-9, abs=1e-9)


def test_half_water_is_a_regain_of_a_hundred() -> None:
    assert moisture.moisture_content_pct(2.0, 1.0) == pytest.approx(50)
    assert moisture.regain_from_moisture_pct(50.0) == pytest.approx(100)


@given(st.floats(-1, 130), st.floats(0, 99), st.floats(0.1, 1))
def test_wood_holds_more_in_damper_air(temperature_c, humidity_pct, more_pct) -> None:
    drier, damper = moisture.wood_equilibrium_regain_pct(
        temperature_c, [humidity_pct, humidity_pct + more_pct]
    )
    assert damper > drier >= 0


@pytest.mark.parametrize(
    "function, readings",
    [
        (moisture.moisture_content_pct, (1.0, 1.1)),
        (moisture.moisture_content_pct, (1.0, 0.0)),
        (moisture.moisture_content_pct, (np.inf, 1.0)),
        (moisture.moisture_content_pct, (np.nan, 1.0)),
        (moisture.regain_from_moisture_pct, (100.0,)),
        (moisture.regain_from_moisture_pct, (-0.1,)),
        (moisture.moisture_from_regain_pct, (-0.1,)),
        (moisture.moisture_from_regain_pct, (np.inf,)),
        (moisture.oven_dry_grammage_g_m2, (63.0, np.nan)),
        (moisture.wood_equilibrium_regain_pct, (23, 101)),
        (moisture.wood_equilibrium_regain_pct, (-5, 50)),
        (moisture.wood_equilibrium_regain_pct, (np.nan, 50)),
    ],
)
def test_impossible_readings_give_nan(function, readings) -> None:
    assert np.isnan(function(*readings))


def test_a_moisture_is_judged_by_the_air_around_it() -> None:
    # A share of 0.4 and 1.2 of wood's regain at 23 °C, 50 % is 3.5 and 9.9 % moisture content.
    assert moisture.is_implausible([3.0, 4.0, 9.5, 10.5], 23, 50).tolist() == [True, False, False, True]
    assert moisture.is_implausible([7.0, 12.0], 23, 90).tolist() == [True, False]


def test_a_moisture_that_is_no_number_is_implausible_and_unknown_air_proves_nothing() -> None:
    assert moisture.is_implausible([np.nan, -1.0, 100.0], 23, 50).all()
    assert not moisture.is_implausible(7.0, [np.nan, 23], [50, np.nan]).any()
