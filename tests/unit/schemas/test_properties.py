"""The registry of properties: every entry is sound, and what follows from an entry agrees with units and formulas."""

import pytest

from pipelines.intake.profiles import target_columns
from pipelines.intake.units import _parse
from pipelines.intake.units import registry as units
from pipelines.property_entries import problems
from pipelines.warehouse import property_sql
from schemas.properties import (
    CONDITIONS,
    RAW_UNITS,
    Property,
    Registry,
    cached_by_registry,
    in_force,
    registry,
    shipped,
)

DEFINED_WITH = {
    "breaking_length": "s**2/m",  # an acceleration, as its divisor
    "air_permeance_flow": "1 / (10 cm**2 * 1.47 kPa)",
}
"""What else a made property is defined with, besides the properties in its powers."""

RAW_DEFINED_WITH = {
    "bending_stiffness": "1/3",  # F l^2 / (3 angle b), the angle in radians
    "air_resistance": "100 mL",
}


def quantity(unit: str):
    scale, parsed = _parse(unit)
    return units().Quantity(scale, parsed)


def test_every_shipped_entry_would_be_accepted_from_a_laboratory():
    faults = [f"{name}.{problem}" for name in registry() for problem in problems(name, dict(registry()))]
    unnamed = [name for name, entry in registry().items() if not entry.source]
    assert (faults, unnamed) == ([], [])


@pytest.mark.parametrize(
    "entry",
    # the factor of air_permeance is that of its standard: tests/published
    [entry for entry in registry().values() if entry.powers and entry.name != "air_permeance"],
    ids=lambda entry: entry.name,
)
def test_a_factor_is_that_of_the_units(entry):
    product = units().Quantity(DEFINED_WITH.get(entry.name, "1"))
    for name, power in entry.powers.items():
        product *= quantity(registry()[name].unit) ** power
    assert product.to(quantity(entry.unit).units).magnitude == pytest.approx(entry.factor, rel=1e-12)


@pytest.mark.parametrize(
    "entry", [entry for entry in registry().values() if entry.raw], ids=lambda entry: entry.name
)
def test_a_factor_of_raw_quantities_is_that_of_the_units(entry):
    product = units().Quantity(RAW_DEFINED_WITH.get(entry.name, "1"))
    for name, power in entry.raw.items():
        product *= quantity(RAW_UNITS[name]) ** power
    factor = product.to(quantity(entry.unit).units).magnitude
    assert factor == pytest.approx(entry.factor / entry.divisor, rel=1e-12)


def test_raw_quantities_and_conditions_are_columns_of_the_record():
    columns = target_columns("further")
    assert {name: columns[name].unit for name in RAW_UNITS} == RAW_UNITS
    assert set(CONDITIONS) <= set(columns)


def test_properties_are_in_one_list_or_the_other():
    published = {name for name, entry in registry().items() if not entry.is_read_by("stock")}
    assert {entry.name for entry in (*registry().directed, *registry().undirected)} == published


def test_powers_of_made_properties_are_replaced_by_those_of_what_they_are_made_of():
    assert registry()["breaking_length"].base_powers == {"tensile_strength": 1, "grammage": -1}
    assert registry()["breaking_length"].base_factor == pytest.approx(1000 / 9.80665, rel=1e-15)
    assert registry()["elastic_modulus"].instrument_power("elongation") == -1


def test_a_formula_reads_as_it_is_printed_in_a_book():
    assert property_sql.macros()["tensile_index_nm_g"].endswith(
        "    1000.0 * tensile_strength_kn_m / grammage_g_m2;\n"
    )
    assert registry()["bulk"].arguments == ("grammage_g_m2", "thickness_um")
    index = Property(
        name="index", unit="1", description="An index.", powers={"thickness": 2, "grammage": -3}, factor=1e6
    )
    bending = Registry({**registry(), "index": index})["index"]
    assert bending.formula == "1000000.0 * thickness_um ** 2 / grammage_g_m2 ** 3"


def test_a_registry_of_a_laboratory_is_in_force_in_a_block_alone():
    @cached_by_registry
    def names():
        return list(registry())

    own = Property(name="lint", unit="mg", description="Lint of a sheet.", readings="further", limits=(0, 9))
    with in_force(Registry({**shipped(), "lint": own})):
        assert "lint" in names()
        with in_force(shipped()):
            assert "lint" not in names()
    assert "lint" not in names()


def test_the_text_of_a_registry_makes_the_same_registry():
    again = Registry.from_text(registry().text)
    assert again == registry()
    assert dict(again) == dict(registry())
    assert again["breaking_length"].base_factor == registry()["breaking_length"].base_factor
