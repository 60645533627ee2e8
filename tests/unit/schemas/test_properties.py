"""The registry of properties: every entry is sound, and what follows from an entry agrees with units and formulas."""

import pytest

from pipelines.intake.units import registry as units
from pipelines.property_entries import problems
from pipelines.warehouse import property_sql
from schemas.properties import Property, Registry, cached_by_registry, in_force, registry, shipped

PINT_UNIT = {"g/m2": "g/m**2", "N.m/g": "N*m/g", "kN.m/g": "kN*m/g", "J/m2": "J/m**2", "kg/m3": "kg/m**3",
             "cm3/g": "cm**3/g", "%": "percent"}  # fmt: skip


def quantity(entry: Property):
    return units().Quantity(1, PINT_UNIT.get(entry.unit, entry.unit))


def test_every_shipped_entry_would_be_accepted_from_a_laboratory():
    faults = [f"{name}.{problem}" for name in registry() for problem in problems(name, dict(registry()))]
    unnamed = [name for name, entry in registry().items() if not entry.source]
    assert (faults, unnamed) == ([], [])


@pytest.mark.parametrize(
    "entry", [entry for entry in registry().values() if entry.powers], ids=lambda entry: entry.name
)
def test_a_factor_is_that_of_the_units(entry):
    """By pint. A breaking length is a length because its divisor is an acceleration."""
    product = units().Quantity(1, "s**2/m" if entry.name == "breaking_length" else "")
    for name, power in entry.powers.items():
        product *= quantity(registry()[name]) ** power
    assert product.to(quantity(entry).units).magnitude == pytest.approx(entry.factor, rel=1e-12)


def test_properties_are_in_one_list_or_the_other():
    assert {entry.name for entry in (*registry().directed, *registry().undirected)} == set(registry())


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
