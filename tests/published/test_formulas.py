"""The macros against published values, remembered ones, and what follows from the definitions.

Each value's origin stands beside it: *published* with the place, *from memory* with the place it is remembered
from, *computed* where it follows from the definition alone.
"""

from typing import Any

import pytest

from pipelines.warehouse.building import create_macros
from pipelines.warehouse.connection import working

N_PER_LBF = 4.4482216152605
"""Exact: 0.45359237 kg times 9.80665 m/s2."""

MM_PER_IN = 25.4
G_M2_PER_LB_1000_FT2 = 4.882427636
"""Computed from the exact pound and inch, to ten digits."""


@pytest.fixture(scope="module")
def evaluate():
    with working() as connection:
        create_macros(connection)

        def value(macro: str, *arguments: Any) -> Any:
            marks = ", ".join("?" for _ in arguments)
            return connection.execute(f"SELECT {macro}({marks})", list(arguments)).fetchall()[0][0]

        yield value


WORKED_CHAIN = {
    "MD": ((63.0, 2.40, 0.1050, 70.0), (4.200, 66.667, 71.685, 6.7981, 2.4, 70.00, 1.1111, 466.667, 7.4074, 5.1852)),
    "CD": ((31.5, 4.20, 0.0900, 26.25), (2.100, 33.333, 35.842, 3.3991, 4.2, 60.00, 0.9524, 175.0, 2.7778, 1.9444)),
}  # fmt: skip
"""Computed from the definitions: force N, elongation mm, energy J, slope N/mm of a piece 15 x 100 mm."""


@pytest.mark.parametrize("direction", WORKED_CHAIN)
def test_worked_chain_from_weighing_to_modulus(evaluate, direction) -> None:
    grammage = evaluate("grammage_g_m2", 3.150, 200.0 * 250.0)
    oven_dry = evaluate("oven_dry_grammage_g_m2", grammage, 7.0)
    (force, elongation, energy, slope), expected = WORKED_CHAIN[direction]
    strength = evaluate("tensile_strength_kn_m", force, 15.0)
    index = evaluate("tensile_index_nm_g", strength, grammage)
    tea = evaluate("tea_j_m2", energy, 15.0, 100.0)
    stiffness = evaluate("tensile_stiffness_kn_m", slope, 100.0, 15.0)
    got = (
        strength,
        index,
        evaluate("tensile_index_nm_g", strength, oven_dry),
        evaluate("breaking_length_km", index),
        evaluate("stretch_pct", elongation, 100.0),
        tea,
        evaluate("tea_index_j_g", tea, grammage),
        stiffness,
        evaluate("tensile_stiffness_index_knm_g", stiffness, grammage),
        evaluate("elastic_modulus_gpa", stiffness, 90.0),
    )
    assert got == pytest.approx(expected, rel=3e-5)


def test_worked_chain_of_the_sheet(evaluate) -> None:
    # Computed from the definitions: a piece of 200 x 250 mm, 3.150 g, 7.0 % moisture, 90.0 um.
    grammage = evaluate("grammage_g_m2", 3.150, 50_000.0)
    assert grammage == pytest.approx(63.00, rel=1e-12)
    assert evaluate("oven_dry_grammage_g_m2", grammage, 7.0) == pytest.approx(58.59, rel=1e-12)
    assert evaluate("conditioned_grammage_g_m2", 58.59, 7.0) == pytest.approx(63.00, rel=1e-12)
    assert evaluate("apparent_density_kg_m3", grammage, 90.0) == pytest.approx(700.0, rel=1e-12)
    assert evaluate("bulk_cm3_g", grammage, 90.0) == pytest.approx(1.4286, abs=5e-5)
    assert evaluate("geometric_mean", 66.667, 33.333) == pytest.approx(47.140, abs=5e-4)
    assert evaluate("geometric_mean", 7.4074, 2.7778) == pytest.approx(4.5361, abs=5e-5)
    # Computed: modulus (GPa) is stiffness index (kN.m/g) times density (g/cm3).
    assert evaluate("elastic_modulus_gpa", 466.667, 90.0) == pytest.approx(7.4074 * 0.7, rel=1e-5)


def test_copy_paper(evaluate) -> None:
    # Published: Chryssou & Lampi 2023, copy paper of nominal 100 g/m2, n = 10: 4.91 and 3.28 kN/m; the indices,
    # breaking lengths, geometric mean and coefficients of variation are computed from these.
    md, cd = (evaluate("tensile_index_nm_g", strength, 100.0) for strength in (4.91, 3.28))
    assert (md, cd) == pytest.approx((49.1, 32.8), rel=1e-12)
    assert evaluate("breaking_length_km", md) == pytest.approx(5.007, abs=5e-4)
    assert evaluate("breaking_length_km", cd) == pytest.approx(3.345, abs=5e-4)
    assert md / cd == pytest.approx(1.497, abs=5e-4)
    assert evaluate("geometric_mean", 4.91, 3.28) == pytest.approx(4.013, abs=5e-4)
    assert evaluate("coefficient_of_variation_pct", 0.191, 4.91) == pytest.approx(3.9, abs=0.05)
    assert evaluate("coefficient_of_variation_pct", 0.238, 3.28) == pytest.approx(7.3, abs=0.05)


def test_curve_with_a_known_answer(evaluate) -> None:
    # Computed: F = 100 tanh(0.8 x) N up to x = 2.5 mm has maximum force 96.4027580 N, energy 165.6253434 N.mm
    # and maximum slope 80 N/mm; piece of 15 x 100 mm, 80 g/m2.
    strength = evaluate("tensile_strength_kn_m", 96.4027580, 15.0)
    tea = evaluate("tea_j_m2", 165.6253434e-3, 15.0, 100.0)
    stiffness = evaluate("tensile_stiffness_kn_m", 80.0, 100.0, 15.0)
    index = evaluate("tensile_index_nm_g", strength, 80.0)
    assert strength == pytest.approx(6.426851, abs=5e-7)
    assert index == pytest.approx(80.33563, abs=5e-6)
    assert evaluate("breaking_length_km", index) == pytest.approx(8.191955, abs=5e-7)
    assert tea == pytest.approx(110.41690, abs=5e-6)
    assert evaluate("tea_index_j_g", tea, 80.0) == pytest.approx(1.380211, abs=5e-7)
    assert stiffness == pytest.approx(533.333, abs=5e-4)
    assert evaluate("tensile_stiffness_index_knm_g", stiffness, 80.0) == pytest.approx(6.66667, abs=5e-6)


def test_index_of_the_uncertainty_example(evaluate) -> None:
    # Computed: 75 N over 15 mm at 80 g/m2.
    strength = evaluate("tensile_strength_kn_m", 75.0, 15.0)
    assert evaluate("tensile_index_nm_g", strength, 80.0) == pytest.approx(62.5, rel=1e-12)


def test_breaking_length_of_a_round_index(evaluate) -> None:
    # Computed with the standard acceleration of gravity, 9.80665 m/s2.
    assert evaluate("breaking_length_km", 70.0) == pytest.approx(7.138013, abs=5e-7)


def test_breaking_length_in_trade_units(evaluate) -> None:
    # Exact, computed: (lbf/in)/(lb/1000 ft2) x 3657.6 is the breaking length in m.
    strength = 24.0 * N_PER_LBF / MM_PER_IN
    index = evaluate("tensile_index_nm_g", strength, 12.0 * G_M2_PER_LB_1000_FT2)
    assert evaluate("breaking_length_km", index) == pytest.approx(24.0 / 12.0 * 3.6576, rel=1e-9)


def test_density_of_an_office_paper(evaluate) -> None:
    # Published conversion, to its rounding: 75 g/m2 and 102 um are 0.74 g/cm3.
    assert evaluate("apparent_density_kg_m3", 75.0, 102.0) == pytest.approx(740.0, abs=5.0)


def test_moisture_on_both_bases(evaluate) -> None:
    # Computed: M = (m0 - m1)/m0 and u = M/(1 - M); the dry basis from the masses is (m0 - m1)/m1.
    moisture = evaluate("moisture_pct", 2.000, 1.860)
    assert moisture == pytest.approx(7.0, rel=1e-12)
    assert evaluate("moisture_regain_pct", moisture) == pytest.approx(100 * 0.140 / 1.860, rel=1e-12)


def test_jet_speed(evaluate) -> None:
    # Computed: 1.5 L/min through one bore of 1.20 mm: 22.10 m/s, 1326 m/min.
    speed = evaluate("jet_speed_m_min", 1.5, 1.20, 1, 1.0)
    assert speed == pytest.approx(1326, abs=0.5)
    assert speed / 60 == pytest.approx(22.10, abs=0.005)
    # Computed: the jet of a contracted stream is faster by 1/C; two bores halve it.
    assert evaluate("jet_speed_m_min", 1.5, 1.20, 1, 0.64) == pytest.approx(speed / 0.64, rel=1e-12)
    assert evaluate("jet_speed_m_min", 1.5, 1.20, 2, 1.0) == pytest.approx(speed / 2, rel=1e-12)


def test_rush_and_drag(evaluate) -> None:
    # Common practice, no source: above 1 rush, below 1 drag. cos 60° is one half.
    assert evaluate("jet_to_wire_ratio", 1326.0, 1000.0, 60.0) == pytest.approx(0.663, rel=1e-12)
    assert evaluate("speed_difference_m_min", 1326.0, 1000.0, 60.0) == pytest.approx(-337.0, rel=1e-12)
    assert [evaluate("rush_or_drag", ratio) for ratio in (1.326, 1.0, 0.663)] == ["rush", "equal", "drag"]


def test_centrifugal_acceleration(evaluate) -> None:
    # Computed: 1000 m/min on a radius of 0.15 m: 1852 m/s2, 189 times standard gravity.
    acceleration = evaluate("centrifugal_acceleration_m_s2", 1000.0, 150.0)
    assert acceleration == pytest.approx(1852, abs=0.5)
    assert acceleration / 9.80665 == pytest.approx(189, abs=0.5)


def test_mass_balance(evaluate) -> None:
    # Computed: 60 g/m2 oven dry on 0.22 x 0.90 m at 0.30 % and 95 % retention needs 4.168 L.
    mass = evaluate("oven_dry_mass_g", 4.168, 0.30, 1000.0)
    assert 0.95 * evaluate("predicted_grammage_g_m2", mass, 0.198) == pytest.approx(60.0, rel=1e-3)
    assert evaluate("apparent_retention_pct", 60.0, 0.198, mass) == pytest.approx(95.0, rel=1e-3)


def test_delivery_time(evaluate) -> None:
    # Common practice, no source: delivery takes volume over flow rate; 5.25 L at 1.5 L/min take 3.5 min.
    assert evaluate("delivery_time_s", 5.25, 1.5) == pytest.approx(210.0, rel=1e-12)


def test_spread_of_an_ill_conditioned_set() -> None:
    # Published: NIST StRD, NumAcc3: mean 1000000.2, sample standard deviation exactly 0.1, of which a naive sum of
    # squares loses all digits. The values themselves are laid out from memory.
    values = [1000000.2] + [1000000.1, 1000000.3] * 500
    with working() as connection:
        create_macros(connection)
        summary = connection.execute(
            "SELECT mean_and_spread(value) FROM (SELECT unnest(?::DOUBLE[]) AS value)", [values]
        ).fetchall()[0][0]
    assert summary["n"] == 1001
    assert summary["mean"] == pytest.approx(1000000.2, rel=1e-15)
    assert summary["s"] == pytest.approx(0.1, rel=1e-8)
