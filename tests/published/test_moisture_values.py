"""Moisture against published values, and against the macros that say the same in SQL."""

import numpy as np
import pytest

from pipelines.physics import moisture
from pipelines.warehouse.building import create_macros
from pipelines.warehouse.connection import working


def test_equilibrium_moisture_of_wood() -> None:
    # Computed from the published two-hydrate equation of USDA FPL-RN-0268, at 21.1 °C.
    humidity_pct = [10, 25, 40, 50, 65, 80, 90]
    expected_pct = [2.48, 5.36, 7.70, 9.24, 11.96, 15.99, 20.48]
    assert moisture.wood_equilibrium_regain_pct(21.1, humidity_pct) == pytest.approx(expected_pct, abs=0.006)


def test_equilibrium_moisture_of_wood_at_140_f() -> None:
    # Published in the wood handbook of the same laboratory: 8.4 % by the equation at 140 °F (60 °C), 55 % RH.
    assert moisture.wood_equilibrium_regain_pct(60, 55) == pytest.approx(8.4, abs=0.05)


def test_equilibrium_moisture_of_wood_in_the_test_atmospheres() -> None:
    # Computed from the same equation, at 23 °C, 50 % and at 27 °C, 65 %.
    assert moisture.wood_equilibrium_regain_pct([23, 27], [50, 65]) == pytest.approx([9.19, 11.73], abs=0.006)


@pytest.mark.parametrize("moisture_pct", [6.0, 6.5, 7.0, 7.5])
def test_bleached_chemical_pulp_in_the_standard_atmosphere_is_plausible(moisture_pct) -> None:
    # Common practice, no source: such sheets hold 6 to 7.5 %, wet basis, at 23 °C and 50 % RH.
    assert not moisture.is_implausible(moisture_pct, 23, 50)


def test_oven_dry_grammage_of_a_worked_chain() -> None:
    # Computed from the definitions: 63.00 g/m2 at 7.0 % moisture is 58.59 g/m2 oven dry.
    assert moisture.oven_dry_grammage_g_m2(63.0, 7.0) == pytest.approx(58.59, abs=1e-9)


def test_the_macros_say_the_same() -> None:
    before_g, after_g = np.array([3.150, 1.0, 2.2]), np.array([2.9295, 1.0, 2.0])
    moisture_pct = moisture.moisture_content_pct(before_g, after_g)
    with working() as connection:
        create_macros(connection)
        for row, (before, after) in enumerate(zip(before_g, after_g, strict=True)):
            content, regain, oven_dry = connection.execute(
                "SELECT moisture_pct($1, $2) AS m, moisture_regain_pct(m), oven_dry_grammage_g_m2(63.0, m)",
                [before, after],
            ).fetchall()[0]
            assert content == pytest.approx(moisture_pct[row], abs=1e-12)
            assert regain == pytest.approx(moisture.regain_from_moisture_pct(moisture_pct)[row], abs=1e-12)
            assert oven_dry == pytest.approx(moisture.oven_dry_grammage_g_m2(63.0, moisture_pct)[row])
