"""The properties of a sheet as tables: what a value was measured under stands beside it."""

import pytest

from pipelines.site import labels
from pipelines.site.sheet import properties


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ({}, ""),
        ({"conditions": "top side, 60 s"}, "top side, 60 s"),
        (
            {"basis": "oven_dry", "pressure_kpa": 100.0, "conditions": "wire side"},
            "oven dry, 100 kPa, wire side",
        ),
    ],
)
def test_basis_and_conditions_stand_beside_a_value(given, shown):
    row = {
        "property": "burst", "direction": None, "is_main": True, "value": 220.0, "n": 3, "n_left_out": 0, "basis": None,
        "pressure_kpa": None, "conditions": None, "assumption": None, "flags": None, "atmosphere_verdict": "standard",
        "standard_uncertainty": 13.0, "expanded_uncertainty": 26.0,
    }  # fmt: skip
    (cells,) = properties.whole([row | given])
    assert cells["made_with"] == shown


def test_further_tests_come_after_tensile_tests():
    order = labels.properties()
    assert order.index("tensile_index") < order.index("grammage") < order.index("bending_stiffness")
    assert order.index("tear_index") < order.index("burst")
