"""Further tests against published values, remembered ones, and what follows from the definitions.

Each value's origin stands beside it, as in test_formulas.
"""

from typing import Any

import numpy as np
import pandas as pd
import pytest

from pipelines.intake.further_readings import complete_readings
from pipelines.intake.profiles import load_profiles
from pipelines.intake.type_parsing import TypedRows
from pipelines.intake.units import conversion
from pipelines.warehouse.building import create_macros
from pipelines.warehouse.connection import working
from schemas.records.further import Further


@pytest.fixture(scope="module")
def evaluate():
    with working() as connection:
        create_macros(connection)

        def value(macro: str, *arguments: Any) -> Any:
            marks = ", ".join("?" for _ in arguments)
            return connection.execute(f"SELECT {macro}({marks})", list(arguments)).fetchall()[0][0]

        yield value


KRAFT_PAPER = (
    # lb per 500 sheets of 24 x 36 in, g/m2; burst in psi and kPa; tear in gf and mN
    ((40, 65), (28, 190), (70, 680)),
    ((50, 80), (34, 230), (90, 880)),
    ((60, 100), (38, 260), (110, 1070)),
    ((70, 115), (42, 290), (130, 1270)),
    ((80, 130), (47, 320), (150, 1470)),
)
"""Published: a government's purchase specification of kraft paper, which rounds to 5 g/m2 and to 10 kPa and mN."""


@pytest.mark.parametrize(("grammage", "burst", "tear"), KRAFT_PAPER)
def test_conversions_of_a_purchase_specification(grammage, burst, tear):
    for (given, published), unit, target, rounding in (
        (grammage, "lb/ream(24x36 in, 500)", "g/m2", 5),
        (burst, "psi", "kPa", 10),
        (tear, "gf", "mN", 10),
    ):
        assert abs(conversion(unit, target).factor * given - published) <= rounding / 2 + 0.01 * published


def test_indices_of_that_paper(evaluate):
    """Computed from the definitions ISO 1974 and ISO 2758 (from memory): 1070 mN and 260 kPa at 100 g/m2."""
    assert evaluate("tear_index_mnm2_g", 1070.0, 100.0) == pytest.approx(10.7, rel=1e-12)
    assert evaluate("burst_index_kpam2_g", 260.0, 100.0) == pytest.approx(2.6, rel=1e-12)


def test_an_index_per_mass_has_two_names_of_one_unit(evaluate):
    """Computed: 2.0 kN/m at 80 g/m2 is 25 kN.m/kg, which is 25 N.m/g."""
    for name in ("zero_span", "wet_tensile", "short_span_compression", "ring_crush"):
        assert evaluate(f"{name}_index_nm_g", 2.0, 80.0) == pytest.approx(25.0, rel=1e-12)
    assert conversion("kN.m/kg", "N.m/g").factor == pytest.approx(1, rel=1e-12)


def test_the_bending_stiffness_index_of_a_homogeneous_sheet(evaluate):
    """Computed: S = E t^3 / 12, so the index is E / (12 density^3); E 5.1852 GPa, 90 um, 63 g/m2, 700 kg/m3."""
    stiffness_mn_m = 5.1852e9 * (90e-6) ** 3 / 12 * 1000
    assert stiffness_mn_m == pytest.approx(0.31500, abs=5e-6)
    index = evaluate("bending_stiffness_index_nm7_kg3", stiffness_mn_m, 63.0)
    assert index == pytest.approx(5.1852e9 / (12 * 700**3), rel=1e-9)
    assert index == pytest.approx(1.2598, abs=5e-5)


def test_air_permeance(evaluate):
    """From memory of ISO 5636-5: 135.3 over the seconds for 100 mL. Computed: 1 mL/min through 10 cm2 at 1.47 kPa."""
    assert evaluate("air_permeance_um_pa_s", 20.0) == pytest.approx(6.765, rel=1e-12)
    assert evaluate("air_permeance_flow_um_pa_s", 1.0) == pytest.approx(0.01134, abs=5e-6)


def test_the_fracture_toughness_index(evaluate):
    """Computed: 1 J/m over 100 g/m2 is 10 J.m/kg."""
    assert evaluate("fracture_toughness_index_jm_kg", 1.0, 100.0) == pytest.approx(10.0, rel=1e-12)


def from_raw(name: str, **raw: float) -> float:
    """Return the value that a reading with these raw quantities gets."""
    frame = pd.DataFrame({column: [None] for column in Further.to_schema().columns})
    for column, dtype in Further.to_schema().dtypes.items():
        frame[column] = frame[column].astype("float64" if str(dtype) == "float64" else "object")
    frame = frame.assign(property=name, direction="MD", **{key: [value] for key, value in raw.items()})
    (profile,) = (profile for profile in load_profiles(None) if profile.name == "further-raw")
    typed = TypedRows(frame)
    complete_readings(profile, typed)
    assert typed.errors == []
    return float(typed.frame["value"].iloc[0])


def test_bending_stiffness_follows_from_the_force_on_a_cantilever():
    """Computed: a beam's end moves by F l^3 / (3 S b) and turns, seen from the clamp, by that over l."""
    stiffness_mn_m, length_mm, width_mm, angle_deg = 0.315, 10.0, 38.0, 7.5
    moved_mm = np.deg2rad(angle_deg) * length_mm
    force_n = 3 * stiffness_mn_m * width_mm * moved_mm / length_mm**3
    found = from_raw(
        "bending_stiffness", force_n=force_n, length_mm=length_mm, width_mm=width_mm, angle_deg=angle_deg
    )
    assert found == pytest.approx(stiffness_mn_m, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "raw", "expected"),
    [
        ("tear", {"force_n": 2.72, "plies": 4}, 680.0),  # four sheets torn together
        ("short_span_compression", {"force_n": 30.0, "width_mm": 15.0}, 2.0),
        ("ring_crush", {"force_n": 152.4, "length_mm": 152.4}, 1.0),
        ("internal_bond", {"energy_j": 0.129, "area_mm2": 25.4**2}, 199.9504),
        ("z_direction_strength", {"force_n": 300.0, "area_mm2": 1000.0}, 300.0),
        ("air_resistance", {"test_time_s": 30.0, "volume_ml": 300.0}, 10.0),
        ("water_absorption", {"mass_gain_g": 0.25, "area_mm2": 10_000.0}, 25.0),
        ("hygroexpansion", {"extension_mm": 0.3, "length_mm": 100.0}, 0.3),
        ("ash", {"ash_mass_g": 0.2, "dry_mass_g": 2.0}, 10.0),
    ],
)
def test_values_follow_from_raw_quantities(name, raw, expected):
    """Computed from the definitions."""
    assert from_raw(name, **raw) == pytest.approx(expected, rel=1e-6)
