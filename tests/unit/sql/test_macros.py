"""The macros against the same formulas in pint, whatever the values; and NULL in gives NULL out."""

import inspect
import math
from collections.abc import Callable

import numpy
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.warehouse.building import create_macros
from pipelines.warehouse.connection import working
from pipelines.warehouse.statements import names

UNITS = pint.UnitRegistry()
Q = UNITS.Quantity

# USDA FPL-RN-0268: molar mass of dry wood, equilibrium constant of dissolved water and of the two hydrates,
# as polynomials in the temperature in degrees Celsius.
WOOD = (
    (349, 1.29, 0.0135),
    (0.805, 0.000736, -0.00000273),
    (6.27, -0.00938, -0.000303),
    (1.91, 0.0407, -0.000293),
)


def two_hydrates(h: float, w: float, k: float, k1: float, k2: float) -> float:
    """The equation in the form it is printed in, in % of the dry mass."""
    hydrated = k1 * k * h + 2 * k1 * k2 * k**2 * h**2
    return 1800 / w * (k * h / (1 - k * h) + hydrated / (1 + k1 * k * h + k1 * k2 * k**2 * h**2))


FORMULAS: dict[str, Callable[..., float]] = {
    "grammage_g_m2": lambda mass, area: (Q(mass, "g") / Q(area, "mm**2")).m_as("g/m**2"),
    "moisture_pct": lambda before, after: ((Q(before, "g") - Q(after, "g")) / Q(before, "g")).m_as("percent"),
    "moisture_regain_pct": lambda wet: 100 * (wet / 100) / (1 - wet / 100),
    "oven_dry_grammage_g_m2": lambda grammage, wet: grammage - grammage * Q(wet, "percent").m_as(""),
    "moisture_from_regain_pct": lambda regain: 100 - 100 / (1 + regain / 100),
    "at_reference_moisture": lambda value, moisture, reference, change: (
        value + value * Q(change, "percent").m_as("") * (reference - moisture)
    ),
    "wood_equilibrium_regain_pct": lambda t, h: two_hydrates(h / 100, *(
        numpy.polynomial.Polynomial(coefficients)(t) for coefficients in WOOD
    )),
    "conditioned_grammage_g_m2": lambda grammage, wet: grammage / (1 - Q(wet, "percent").m_as("")),
    "apparent_density_kg_m3": lambda w, t: (Q(w, "g/m**2") / Q(t, "um")).m_as("kg/m**3"),
    "bulk_cm3_g": lambda w, t: (Q(t, "um") / Q(w, "g/m**2")).m_as("cm**3/g"),
    "tensile_strength_kn_m": lambda force, width: (Q(force, "N") / Q(width, "mm")).m_as("kN/m"),
    "tensile_index_nm_g": lambda strength, w: (Q(strength, "kN/m") / Q(w, "g/m**2")).m_as("N*m/g"),
    "breaking_length_km": lambda index: (Q(index, "N*m/g") / UNITS.standard_gravity).m_as("km"),
    "stretch_pct": lambda elongation, span: (Q(elongation, "mm") / Q(span, "mm")).m_as("percent"),
    "tea_j_m2": lambda energy, width, span: (Q(energy, "J") / Q(width, "mm") / Q(span, "mm")).m_as("J/m**2"),
    "tea_index_j_g": lambda tea, w: (Q(tea, "J/m**2") / Q(w, "g/m**2")).m_as("J/g"),
    "tensile_stiffness_kn_m": lambda slope, span, width: (
        Q(slope, "N/mm") * Q(span, "mm") / Q(width, "mm")
    ).m_as("kN/m"),
    "tensile_stiffness_index_knm_g": lambda stiffness, w: (Q(stiffness, "kN/m") / Q(w, "g/m**2")).m_as("kN*m/g"),
    "wet_tensile_index_nm_g": lambda strength, w: (Q(strength, "kN/m") / Q(w, "g/m**2")).m_as("N*m/g"),
    "zero_span_index_nm_g": lambda strength, w: (Q(strength, "kN/m") / Q(w, "g/m**2")).m_as("N*m/g"),
    "short_span_compression_index_nm_g": lambda strength, w: (Q(strength, "kN/m") / Q(w, "g/m**2")).m_as("N*m/g"),
    "ring_crush_index_nm_g": lambda strength, w: (Q(strength, "kN/m") / Q(w, "g/m**2")).m_as("N*m/g"),
    "fracture_toughness_index_jm_kg": lambda work, w: (Q(work, "J/m") / Q(w, "g/m**2")).m_as("J*m/kg"),
    "tear_index_mnm2_g": lambda force, w: (Q(force, "mN") / Q(w, "g/m**2")).m_as("mN*m**2/g"),
    "burst_index_kpam2_g": lambda pressure, w: (Q(pressure, "kPa") / Q(w, "g/m**2")).m_as("kPa*m**2/g"),
    "bending_stiffness_index_nm7_kg3": lambda stiffness, w: (
        Q(stiffness, "mN*m") / Q(w, "g/m**2") ** 3
    ).m_as("N*m**7/kg**3"),
    "bending_stiffness_resonance_index_nm7_kg3": lambda stiffness, w: (
        Q(stiffness, "mN*m") / Q(w, "g/m**2") ** 3
    ).m_as("N*m**7/kg**3"),
    # a falling cylinder: 1.22 kPa on 6.42 cm2, and its factor 135.3 as rounded (ISO 5636-5, from memory)
    "air_permeance_um_pa_s": lambda time: 135.3 / time,
    # 1.47 kPa on 10 cm2 (ISO 5636-3, from memory)
    "air_permeance_flow_um_pa_s": lambda flow: (
        Q(flow, "mL/min") / (Q(10, "cm**2") * Q(1.47, "kPa"))
    ).m_as("um/Pa/s"),
    "elastic_modulus_gpa": lambda stiffness, t: (Q(stiffness, "kN/m") / Q(t, "um")).m_as("GPa"),
    "geometric_mean": lambda a, b: math.exp((math.log(a) + math.log(b)) / 2),
    "coefficient_of_variation_pct": lambda s, mean: Q(s / mean, "").m_as("percent"),
    "delivery_time_s": lambda volume, flow: (Q(volume, "L") / Q(flow, "L/min")).m_as("s"),
    "jet_speed_m_min": lambda flow, bore, count, contraction: (
        Q(flow, "L/min") / (count * math.pi * (Q(bore, "mm") / 2) ** 2 * contraction)
    ).m_as("m/min"),
    "jet_to_wire_ratio": lambda jet, wire, angle: jet * math.cos(Q(angle, "deg").m_as("rad")) / wire,
    "speed_difference_m_min": lambda jet, wire, angle: jet * math.cos(Q(angle, "deg").m_as("rad")) - wire,
    "centrifugal_acceleration_m_s2": lambda speed, radius: (Q(speed, "m/min") ** 2 / Q(radius, "mm")).m_as("m/s**2"),
    "oven_dry_mass_g": lambda volume, consistency, density: (
        Q(volume, "L") * Q(density, "kg/m**3") * Q(consistency, "percent")
    ).m_as("g"),
    "predicted_grammage_g_m2": lambda mass, area: (Q(mass, "g") / Q(area, "m**2")).m_as("g/m**2"),
    "standard_uncertainty": lambda a: math.sqrt((2 * a) ** 2 / 12),
    "error_of_mean": lambda s, n: math.sqrt(s**2 / n),
    "expanded_uncertainty": lambda u: u + u,
    "moisture_uncertainty_pct": lambda m0, m1, u: 100 * math.hypot(u * m1 / m0**2, u / m0),
    "apparent_retention_pct": lambda w, area, mass: (
        Q(w, "g/m**2") * Q(area, "m**2") / Q(mass, "g")
    ).m_as("percent"),
}  # fmt: skip

TEXT = {
    "rush_or_drag": 1,
    "folded_sheet_id": 1,
    "without_character": 2,
    "outside_limits": 4,
    "minutes_between": 2,
    "local_minute": 2,
}
SOME = {
    "folded_sheet_id": ["'AB-1'"],
    "without_character": ["'AB-1'", "2"],
    "minutes_between": ["TIMESTAMP '2026-10-03 10:00:00'", "TIMESTAMP '2026-10-03 11:00:00'"],
    "local_minute": ["TIMESTAMP '2026-10-03 10:00:00'", "'Europe/Helsinki'"],
}
"""Arguments that give something, where numbers do not."""

NULL = {"minutes_between": "NULL::TIMESTAMP"}
"""NULL with its type, where a function of several types would not know which is meant."""

AGGREGATE = {
    "mean_and_spread",
    "mean_of_all",
    "sum_of_all",
    "texts_of_all",
    "weighted_mean_of_all",
}

KNOWN_PARTS_ONLY = {
    "combined_uncertainty",
    "coverage_factor_95",
    "error_of_both_directions",
    "interval_half_width",
}
"""Of lists, of whole numbers, or with NULL for what is not known: tested with the uncertainties."""

PART = {
    *("on_basis", "two_hydrate_share", "verdict_of_rank", "verdict_rank"),
    *("summand_of_mean", "sine_of_angle", "cosine_of_angle", "mean_of_kind", "spread_of_kind"),
}
"""Parts of other macros or models, which are tested with them."""


@pytest.fixture(scope="module")
def connection():
    with working() as opened:
        create_macros(opened)
        yield opened


def arity(macro: str) -> int:
    return TEXT[macro] if macro in TEXT else len(inspect.signature(FORMULAS[macro]).parameters)


def evaluate(connection, macro: str, arguments):
    marks = ", ".join("?" for _ in arguments)
    return connection.execute(f"SELECT {macro}({marks})", list(arguments)).fetchall()[0][0]


def test_every_macro_has_its_counterpart() -> None:
    assert {name.removeprefix("macros/") for name in names("macros")} == set(FORMULAS) | set(
        TEXT
    ) | AGGREGATE | KNOWN_PARTS_ONLY | PART


@pytest.mark.parametrize("macro", FORMULAS)
@given(data=st.data())
def test_a_macro_agrees_with_pint(connection, macro, data) -> None:
    # Between 0.5 and 50 all arguments are possible: moistures below 100 %, angles below 90 degrees.
    number = st.floats(0.5, 50.0, allow_subnormal=False)
    arguments = [data.draw(number) for _ in range(arity(macro))]
    scale = max(arguments) if macro in ("moisture_pct", "speed_difference_m_min") else 0
    assert evaluate(connection, macro, arguments) == pytest.approx(
        FORMULAS[macro](*arguments), rel=1e-12, abs=1e-11 * scale
    )


@pytest.mark.parametrize("macro", [*FORMULAS, *(macro for macro in TEXT if macro != "outside_limits")])
def test_null_in_null_out(connection, macro) -> None:
    count = arity(macro)
    some = SOME.get(macro, ["2.0"] * count)
    assert connection.execute(f"SELECT {macro}({', '.join(some[:count])})").fetchall() != [(None,)]
    for missing in range(count):
        arguments = [*some[:missing], NULL.get(macro, "NULL"), *some[missing + 1 : count]]
        query = f"SELECT {macro}({', '.join(arguments)})"
        assert connection.execute(query).fetchall() == [(None,)], query


def test_a_column_without_values_has_no_mean(connection) -> None:
    ((summary,),) = connection.execute(
        "SELECT mean_and_spread(value) FROM (VALUES (NULL::DOUBLE)) AS one (value)"
    ).fetchall()
    assert summary == {"n": 0, "mean": None, "s": None, "n_left_out": 0}
    ((summary,),) = connection.execute(
        "SELECT mean_and_spread(value) FROM (VALUES (3.5::DOUBLE), (NULL)) AS one (value)"
    ).fetchall()
    assert summary == {"n": 1, "mean": 3.5, "s": None, "n_left_out": 0}


def aggregate(connection, expression: str, *columns: list) -> object:
    """Return an aggregate over rows whose columns are named a, b, ... in order."""
    names = "abc"[: len(columns)]
    rows = ", ".join(f"unnest(?::{'VARCHAR' if isinstance(column[0], str) else 'DOUBLE'}[]) AS {name}"
                     for name, column in zip(names, columns, strict=True))  # fmt: skip
    return connection.execute(f"SELECT {expression} FROM (SELECT {rows})", list(columns)).fetchall()[0][0]


@given(rows=st.lists(st.tuples(st.floats(0.1, 1e4), st.floats(0.1, 1e4)), min_size=1, max_size=8))
def test_a_weighted_mean_agrees_with_numpy_and_lies_between_its_values(connection, rows) -> None:
    values, weights = map(list, zip(*rows, strict=True))
    mean = aggregate(connection, "weighted_mean_of_all(a, b)", values, weights)
    assert mean == pytest.approx(numpy.average(values, weights=weights), rel=1e-12)
    assert min(values) * (1 - 1e-12) <= mean <= max(values) * (1 + 1e-12)
    assert aggregate(connection, "mean_of_all(a)", values) == pytest.approx(numpy.mean(values), rel=1e-12)
    assert aggregate(connection, "sum_of_all(a)", values) == pytest.approx(math.fsum(values), rel=1e-12)


@pytest.mark.parametrize("macro", ["sum_of_all(a)", "mean_of_all(a)", "weighted_mean_of_all(a, b)"])
def test_a_partial_input_never_gives_a_total(connection, macro) -> None:
    assert aggregate(connection, macro, [2.0, None], [1.0, 1.0]) is None


def test_equal_values_need_no_weights_and_different_ones_do(connection) -> None:
    assert aggregate(connection, "weighted_mean_of_all(a, b)", [2.5, 2.5], [1.0, None]) == 2.5
    assert aggregate(connection, "weighted_mean_of_all(a, b)", [2.5, 2.6], [1.0, None]) is None
    assert aggregate(connection, "weighted_mean_of_all(a, b)", [2.5, 2.6], [0.0, 0.0]) is None


def test_different_texts_are_joined_once_each(connection) -> None:
    assert aggregate(connection, "texts_of_all(a)", ["plate", "air", "plate"]) == "air; plate"
    assert aggregate(connection, "texts_of_all(a)", ["plate", None]) is None


def test_a_mean_of_zero_has_no_coefficient_of_variation(connection) -> None:
    assert evaluate(connection, "coefficient_of_variation_pct", [1.0, 0.0]) is None


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (24.6, "24.6 °C (limit 24 °C)"),
        (21.25, "21.25 °C (limit 22 °C)"),
        (24.0, None),
        (22.0, None),
        (None, None),
    ],
)
def test_a_value_outside_its_limits_is_put_into_words(connection, value, words) -> None:
    assert evaluate(connection, "outside_limits", [value, 22.0, 24.0, "°C"]) == words


def test_a_local_minute_follows_the_zones_clock_change(connection) -> None:
    # Helsinki: UTC+3 in summer, UTC+2 from 25 October 2026, 01:00 UTC.
    for at_utc, local in (
        ("2026-10-25 00:59:59", "2026-10-25 03:59"),
        ("2026-10-25 01:00:00", "2026-10-25 03:00"),
    ):
        query = "SELECT local_minute(?::TIMESTAMP, 'Europe/Helsinki')"
        assert connection.execute(query, [at_utc]).fetchall() == [(local,)]


def test_minutes_between_keep_their_fraction(connection) -> None:
    query = "SELECT minutes_between(TIMESTAMP '2026-10-03 23:59:30', TIMESTAMP '2026-10-04 01:00:00')"
    assert connection.execute(query).fetchall() == [(60.5,)]


def test_those_that_do_not_count_are_counted_apart(connection) -> None:
    rows = "(VALUES (1.0::DOUBLE, TRUE), (3.0, TRUE), (99.0, FALSE), (NULL, FALSE)) AS row (value, counts)"
    ((summary,),) = connection.execute(f"SELECT mean_and_spread(value, counts) FROM {rows}").fetchall()
    assert summary == {"n": 2, "mean": 2.0, "s": pytest.approx(2**0.5), "n_left_out": 1}


@given(a=st.text("aB1-Oo0é", max_size=6), b=st.text("aB1-Oo0é", max_size=6))
def test_ids_one_edit_apart_share_a_shape(connection, a, b) -> None:
    if one_edit(a, b):
        assert shapes(connection, a) & shapes(connection, b)


def shapes(connection, text: str) -> set[str]:
    return {evaluate(connection, "without_character", [text, place]) for place in range(len(text) + 1)}


def one_edit(a: str, b: str) -> bool:
    shorter, longer = sorted((a, b), key=len)
    if len(longer) == len(shorter) + 1:
        return any(longer[:i] + longer[i + 1 :] == shorter for i in range(len(longer)))
    if len(longer) != len(shorter):
        return False
    differing = [i for i in range(len(a)) if a[i] != b[i]]
    swapped = (
        len(differing) == 2
        and differing[1] == differing[0] + 1
        and a[differing[0]] == b[differing[1]]
        and a[differing[1]] == b[differing[0]]
    )
    return len(differing) == 1 or swapped
