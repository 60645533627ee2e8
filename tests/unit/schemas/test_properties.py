"""The registry of properties: every entry is sound, and what follows from an entry agrees with units and formulas."""

import pytest

from pipelines.intake.units import registry
from pipelines.warehouse import property_sql
from schemas.properties import DIRECTED, INSTRUMENT, REGISTRY, SHEET_LEVEL, UNDIRECTED, Property
from schemas.units import SUFFIX_OF_UNIT

PINT_UNIT = {"g/m2": "g/m**2", "N.m/g": "N*m/g", "kN.m/g": "kN*m/g", "J/m2": "J/m**2", "kg/m3": "kg/m**3",
             "cm3/g": "cm**3/g", "%": "percent"}  # fmt: skip


def quantity(entry: Property):
    return registry().Quantity(1, PINT_UNIT.get(entry.unit, entry.unit))


@pytest.mark.parametrize("entry", REGISTRY.values(), ids=lambda entry: entry.name)
def test_an_entry_says_what_it_is_and_is_measured_or_made(entry):
    assert entry.unit in SUFFIX_OF_UNIT
    assert entry.description.endswith(".") and entry.source
    assert not (entry.powers and (entry.readings or entry.instrument or entry.direction))
    assert set(entry.instrument) <= set(INSTRUMENT)
    averaged = [name for name in entry.base_powers if REGISTRY[name].readings]
    others = [name for name in entry.base_powers if name not in averaged]
    assert len(averaged) <= 1, (
        "the mean of a product of two averaged properties is not the product of their means"
    )
    assert all(entry.base_powers[name] == 1 for name in averaged), (
        "the mean of a power is not the power of the mean"
    )
    assert not entry.powers or set(others) <= set(SHEET_LEVEL)


@pytest.mark.parametrize(
    "entry", [entry for entry in REGISTRY.values() if entry.powers], ids=lambda entry: entry.name
)
def test_a_factor_is_that_of_the_units(entry):
    """By pint. A breaking length is a length because its divisor is an acceleration."""
    product = registry().Quantity(1, "s**2/m" if entry.name == "breaking_length" else "")
    for name, power in entry.powers.items():
        product *= quantity(REGISTRY[name]) ** power
    assert product.to(quantity(entry).units).magnitude == pytest.approx(entry.factor, rel=1e-12)


def test_properties_are_in_one_list_or_the_other():
    assert {entry.name for entry in (*DIRECTED, *UNDIRECTED)} == set(REGISTRY)


def test_powers_of_made_properties_are_replaced_by_those_of_what_they_are_made_of():
    assert REGISTRY["breaking_length"].base_powers == {"tensile_strength": 1, "grammage": -1}
    assert REGISTRY["breaking_length"].base_factor == pytest.approx(1000 / 9.80665, rel=1e-15)
    assert REGISTRY["elastic_modulus"].instrument_power("elongation") == -1


def test_a_formula_reads_as_it_is_printed_in_a_book():
    assert property_sql.macros()["tensile_index_nm_g"].endswith(
        "    1000.0 * tensile_strength_kn_m / grammage_g_m2;\n"
    )
    assert REGISTRY["bulk"].arguments == ("grammage_g_m2", "thickness_um")
    bending = Property("index", "1", "An index.", powers={"thickness": 2, "grammage": -3}, factor=1e6)
    assert bending.formula == "1000000.0 * thickness_um ** 2 / grammage_g_m2 ** 3"
