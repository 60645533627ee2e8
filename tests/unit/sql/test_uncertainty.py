"""How sure published values are: by propagation in another program, by simulation, and by what must hold."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat
from uncertainties.umath import sqrt

from pipelines.settings import Settings
from pipelines.warehouse.building import create_macros
from pipelines.warehouse.connection import working
from pipelines.warehouse.duplicate_resolution import set_setting

TESTERS = {
    "tensile": {"force_pct": 1.0, "elongation_mm": 0.05, "width_mm": 0.1, "span_mm": 0.5},
    "balance": {"mass_g": 0.002, "area_pct": 0.2},
    "micrometer": {"thickness_um": 1.0},
    "oven": {"mass_g": 0.003},
}
DRAWS = 200_000

WIDTH, SPAN, AREA = 15.0, 100.0, 10_000.0
FORCES = {"MD": (61.0, 63.0, 66.0, 64.5), "CD": (30.5, 31.0, 33.0, 32.0)}
ELONGATIONS = {"MD": (2.3, 2.4, 2.5, 2.45), "CD": (4.1, 4.2, 4.4, 4.0)}
MASSES = (0.631, 0.628, 0.634)
PAIRS = ((2.0, 1.860), (2.0, 1.866), (2.0, 1.858))
READINGS = (89.0, 90.0, 92.0, 91.0)


def full_sheet(warehouse, sheet_id: str = "S1", factor: float = 1.0, **forming) -> None:
    """Add a sheet; factor changes all its tensile results alike."""
    warehouse.add("forming", sheet_id=sheet_id, **forming)
    for number, mass in enumerate(MASSES, 1):
        warehouse.add("basis_weight", sheet_id=sheet_id, specimen_no=number, mass_g=mass, area_mm2=AREA)
    for number, (before, after) in enumerate(PAIRS, 1):
        warehouse.add(
            "moisture", sheet_id=sheet_id, tester="oven", specimen_no=number, mass_before_g=before, mass_after_g=after
        )  # fmt: skip
    for number, thickness in enumerate(READINGS, 1):
        warehouse.add("thickness", sheet_id=sheet_id, position_no=number, thickness_um=thickness)
    for direction, forces in FORCES.items():
        for number, (force, elongation) in enumerate(zip(forces, ELONGATIONS[direction], strict=True), 1):
            warehouse.add(
                "tensile", sheet_id=sheet_id, direction=direction, specimen_no=number, max_force_n=factor * force,
                elongation_mm=elongation, energy_j=factor * 7e-4 * force * elongation,
                max_slope_n_mm=factor * 2.5 * force / elongation,
            )  # fmt: skip


def built(warehouse, testers=TESTERS, **setting) -> None:
    stated = Settings.model_validate({"testers": testers}).accuracies()
    set_setting(warehouse.connection, warehouse.row("FROM setting") | setting, stated)


def published(warehouse, name: str, direction: str | None = None, basis: str | None = None, **of) -> dict:
    table = "trial_point_property" if "trial_point" in of else "sheet_property"
    where = "".join(f" AND {column} = '{value}'" for column, value in of.items())
    return warehouse.row(
        f"FROM {table} WHERE property = ? AND direction IS NOT DISTINCT FROM ? AND basis IS NOT DISTINCT FROM ?{where}",
        name,
        direction,
        basis,
    )


def standard_error(values) -> float:
    return float(np.std(values, ddof=1) / math.sqrt(len(values)))


def index_scatter(direction: str) -> float:
    return standard_error(FORCES[direction]) / float(np.mean(FORCES[direction]))


def normal(generator, mean: float, deviation: float):
    return generator.normal(mean, deviation, DRAWS)


def within(generator, largest: float):
    return generator.uniform(-largest, largest, DRAWS)


@pytest.fixture(scope="module")
def simulated():
    """The sheet of full_sheet drawn many times over, errors as they would be: its properties as arrays."""
    draw = np.random.default_rng(20261125)
    grammage_factor = 1e6 / AREA / (1 + within(draw, 0.002))
    grammage = grammage_factor * (normal(draw, np.mean(MASSES), standard_error(MASSES)) + within(draw, 0.002))
    moisture_mean = np.mean([100 * (1 - after / before) for before, after in PAIRS])
    moisture_scatter = standard_error([100 * (1 - after / before) for before, after in PAIRS])
    dry = 2.0 * (1 - moisture_mean / 100)
    moisture = normal(draw, 0, moisture_scatter) + 100 * (
        1 - (dry + within(draw, 0.003)) / (2.0 + within(draw, 0.003))
    )
    thickness = normal(draw, np.mean(READINGS), standard_error(READINGS)) + within(draw, 1.0)
    force_error, elongation_error = 1 + within(draw, 0.01), within(draw, 0.05)
    width, span = WIDTH + within(draw, 0.1), SPAN + within(draw, 0.5)
    drawn = {}
    for direction, forces in FORCES.items():
        elongations = np.array(ELONGATIONS[direction])
        values = {
            "index": np.array(forces),
            "stretch": elongations,
            "tea": 7e-4 * np.array(forces) * elongations,
            "slope": 2.5 * np.array(forces) / elongations,
        }
        mean = {key: normal(draw, np.mean(value), standard_error(value)) for key, value in values.items()}
        stretched = 1 + elongation_error / np.mean(elongations)
        strength = mean["index"] * force_error / width
        tea = 1e6 * mean["tea"] * force_error * stretched / (width * span)
        stiffness = mean["slope"] * force_error / stretched * span / width
        drawn |= {
            ("tensile_index", direction, "conditioned"): 1000 * strength / grammage,
            ("tensile_index", direction, "oven_dry"): 1000 * strength / (grammage * (1 - moisture / 100)),
            ("stretch", direction, None): 100 * mean["stretch"] * stretched / span,
            ("tea_index", direction, "conditioned"): tea / grammage,
            ("tensile_stiffness_index", direction, "conditioned"): stiffness / grammage,
            ("elastic_modulus", direction, None): stiffness / thickness,
        }
    for name, basis in [(name, basis) for name, direction, basis in drawn if direction == "MD"]:
        md, cd = drawn[name, "MD", basis], drawn[name, "CD", basis]
        drawn |= {(name, "GM", basis): np.sqrt(md * cd), (name, "MD/CD", basis): md / cd}
    drawn |= {
        ("apparent_density", None, "conditioned"): 1000 * grammage / thickness,
        ("apparent_density", None, "oven_dry"): 1000 * grammage * (1 - moisture / 100) / thickness,
        ("bulk", None, "conditioned"): thickness / grammage,
        ("grammage", None, "conditioned"): grammage,
        ("grammage", None, "oven_dry"): grammage * (1 - moisture / 100),
        ("moisture", None, None): moisture,
        ("thickness", None, None): thickness,
    }
    return drawn


@pytest.fixture
def sheet_rows(warehouse):
    full_sheet(warehouse)
    built(warehouse)
    rows = warehouse.rows("FROM sheet_property")
    return {(row["property"], row["direction"], row["basis"]): row for row in rows}


def test_every_property_agrees_with_simulation(simulated, sheet_rows) -> None:
    # 200,000 draws tell a standard deviation to 0.2 %; what first order leaves out is a few parts in a thousand here.
    got = {key: sheet_rows[key]["standard_uncertainty"] for key in simulated}
    expected = {key: pytest.approx(float(np.std(values)), rel=0.01) for key, values in simulated.items()}
    assert got == expected


def test_propagation_agrees_with_another_program(sheet_rows) -> None:
    third = 1 / math.sqrt(3)
    force = ufloat(1, 0.01 * third)
    width, area = ufloat(WIDTH, 0.1 * third), ufloat(1, 0.002 * third)
    mass = ufloat(np.mean(MASSES), standard_error(MASSES)) + ufloat(0, 0.002 * third)
    grammage = 1e6 / AREA * mass / area
    index = {
        direction: 1000 * ufloat(np.mean(forces), standard_error(forces)) * force / width / grammage
        for direction, forces in FORCES.items()
    }
    together = {
        "MD": index["MD"],
        "CD": index["CD"],
        "GM": sqrt(index["MD"] * index["CD"]),
        "MD/CD": index["MD"] / index["CD"],
    }
    for direction, expected in together.items():
        row = sheet_rows["tensile_index", direction, "conditioned"]
        assert row["value"] == pytest.approx(expected.nominal_value, rel=1e-9)
        # The mass error is propagated piece by piece, so to a part in a thousand.
        assert row["standard_uncertainty"] == pytest.approx(expected.std_dev, rel=1e-3), direction


def test_what_md_and_cd_share_cancels_in_their_ratio(sheet_rows) -> None:
    ratio = sheet_rows["tensile_index", "MD/CD", "conditioned"]
    assert ratio["standard_uncertainty"] / ratio["value"] == pytest.approx(
        math.hypot(index_scatter("MD"), index_scatter("CD"))
    )
    assert ratio["systematic_uncertainty"] == pytest.approx(0, abs=1e-12)
    # An error of so many mm is a larger part of the smaller elongation.
    stretch = sheet_rows["stretch", "MD/CD", None]
    apart = 1 / np.mean(ELONGATIONS["MD"]) - 1 / np.mean(ELONGATIONS["CD"])
    assert stretch["systematic_uncertainty"] / stretch["value"] == pytest.approx(0.05 / math.sqrt(3) * apart)


def test_the_parts_are_named(sheet_rows) -> None:
    named = {key: row["uncertainty_of"] for key, row in sheet_rows.items()}
    assert (
        named["tensile_index", "MD", "conditioned"] == "scatter, scatter of grammage, force, width, grammage"
    )
    assert named["tensile_index", "GM", "oven_dry"] == (
        "scatter, scatter of grammage, scatter of moisture, force, width, grammage, moisture"
    )
    assert named["tensile_index", "MD/CD", "oven_dry"] == "scatter, force, width"
    assert named["elastic_modulus", "CD", None] == (
        "scatter, scatter of thickness, force, elongation, width, span, thickness"
    )
    assert named["stretch", "MD", None] == "scatter, elongation, span"
    assert named["thickness", None, None] == "scatter of thickness, thickness"


def test_without_stated_accuracies_scatter_alone_counts(warehouse) -> None:
    full_sheet(warehouse)
    built(warehouse, {"another": {"force_pct": 5.0}})
    row = published(warehouse, "tensile_strength", "MD")
    assert row["standard_uncertainty"] == pytest.approx(standard_error(FORCES["MD"]) / WIDTH)
    assert (row["systematic_uncertainty"], row["uncertainty_of"]) == (None, "scatter")
    assert row["expanded_uncertainty"] == pytest.approx(2 * row["standard_uncertainty"])


def test_where_nothing_is_known_nothing_is_said(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("tensile")
    built(warehouse, {})
    for row in (
        published(warehouse, "tensile_strength", "MD"),
        published(warehouse, "tensile_strength", "MD", trial_point="A"),
    ):
        assert [row[name] for name in ("standard_uncertainty", "interval_low", "interval_high", "uncertainty_of")] == [
            None, None, None, None,
        ]  # fmt: skip


def test_no_scatter_and_no_error_is_no_uncertainty(warehouse) -> None:
    for sheet_id in ("S1", "S2"):
        warehouse.add("forming", sheet_id=sheet_id)
        for number in (1, 2):
            warehouse.add("basis_weight", sheet_id=sheet_id, specimen_no=number, mass_g=0.6, area_mm2=AREA)
            warehouse.add("thickness", sheet_id=sheet_id, position_no=number, thickness_um=90.0)
            warehouse.add(
                "tensile", sheet_id=sheet_id, specimen_no=number, elongation_mm=2.0, max_slope_n_mm=70.0
            )
    built(warehouse, {name: dict.fromkeys(errors, 0.0) for name, errors in TESTERS.items()})
    for table in ("sheet_property", "trial_point_property"):
        rows = warehouse.rows(f"FROM {table}")
        assert rows
        assert {row["standard_uncertainty"] for row in rows} == {0.0}


def test_of_several_testers_the_largest_error_counts(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("tensile", tester="old")
    warehouse.add("tensile", tester="new", specimen_no=2)
    warehouse.add("tensile", tester="unknown", specimen_no=3)
    built(warehouse, {"old": {"force_pct": 3.0}, "new": {"force_pct": 1.0}})
    row = published(warehouse, "tensile_strength", "MD")
    assert row["systematic_uncertainty"] == pytest.approx(4.2 * 0.03 / math.sqrt(3))


def test_errors_of_two_testers_do_not_cancel(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("tensile", tester="old")
    warehouse.add("tensile", tester="new", direction="CD")
    built(warehouse, {"old": {"force_pct": 3.0}, "new": {"force_pct": 4.0}})
    for direction, relative in (("MD/CD", 0.05), ("GM", 0.025)):
        row = published(warehouse, "tensile_strength", direction)
        assert row["standard_uncertainty"] / row["value"] == pytest.approx(relative / math.sqrt(3)), direction


def test_between_sheets_scatter_averages_out_and_errors_do_not(warehouse) -> None:
    factors = (0.97, 1.0, 1.02, 1.04)
    for number, factor in enumerate(factors):
        full_sheet(warehouse, f"S{number}", factor)
    full_sheet(warehouse, "single", trial_point="B")
    built(warehouse)
    point = published(warehouse, "tensile_index", "MD", "conditioned", trial_point="A")
    sheets = [published(warehouse, "tensile_index", "MD", "conditioned", sheet_id=f"S{i}") for i in range(4)]
    values = [row["value"] for row in sheets]
    systematic = np.mean([row["systematic_uncertainty"] for row in sheets])
    assert point["systematic_uncertainty"] == pytest.approx(systematic)
    assert point["standard_uncertainty"] == pytest.approx(math.hypot(standard_error(values), systematic))
    low, high = stats.t.interval(0.95, 3, np.mean(values), standard_error(values))
    assert (point["interval_low"], point["interval_high"]) == pytest.approx((low, high))
    assert point["uncertainty_of"] == "scatter between sheets, force, width, grammage"

    single = published(warehouse, "tensile_index", "MD", "conditioned", trial_point="B")
    sheet = published(warehouse, "tensile_index", "MD", "conditioned", sheet_id="single")
    for column in ("standard_uncertainty", "systematic_uncertainty", "uncertainty_of"):
        assert single[column] == sheet[column]
    assert (single["s"], single["interval_low"], single["interval_high"]) == (None, None, None)


def test_a_moisture_from_the_trial_point_may_be_off_by_the_spread_between_sheets(warehouse) -> None:
    for number, after in enumerate((0.925, 0.935), 1):
        warehouse.add("forming", sheet_id=f"S{number}")
        warehouse.add("moisture", sheet_id=f"S{number}", mass_before_g=1.0, mass_after_g=after)
    warehouse.add("forming", sheet_id="S3")
    warehouse.add("basis_weight", sheet_id="S3", grammage_g_m2=60.0)
    built(warehouse, {})
    row = published(warehouse, "grammage", None, "oven_dry", sheet_id="S3")
    spread = np.std([7.5, 6.5], ddof=1) * math.sqrt(1 + 1 / 2)
    assert row["standard_uncertainty"] == pytest.approx(60 * spread / 100)
    assert row["uncertainty_of"] == "moisture"


def test_an_estimate_has_the_moisture_in_it(warehouse) -> None:
    full_sheet(warehouse)
    built(
        warehouse, reference_moisture_pct=8.0, corrected_properties="tensile_strength", corrections_pct=[-4.0]
    )
    measured, moisture = published(warehouse, "tensile_strength", "MD"), published(warehouse, "moisture")
    estimate = published(warehouse, "tensile_strength_estimated", "MD")
    value = ufloat(measured["value"], measured["standard_uncertainty"])
    expected = value * (1 - 0.04 * (8.0 - ufloat(moisture["value"], moisture["standard_uncertainty"])))
    assert estimate["standard_uncertainty"] == pytest.approx(expected.std_dev, rel=1e-9)


def test_a_packs_reading_is_shared_by_its_sheets(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("thickness", thickness_um=430.0, sheets_in_pack=5)
    built(warehouse)
    row = published(warehouse, "thickness_stack")
    assert row["standard_uncertainty"] == pytest.approx(1 / math.sqrt(3) / 5)


@pytest.fixture(scope="module")
def connection():
    with working() as opened:
        create_macros(opened)
        yield opened


def evaluate(connection, text: str, *arguments):
    return connection.execute(f"SELECT {text}", list(arguments)).fetchall()[0][0]


def test_the_coverage_factor_is_students_t(connection) -> None:
    for degrees in (*range(1, 60), 100, 1000, 100_000):
        got = evaluate(connection, "coverage_factor_95(?)", degrees)
        assert got == pytest.approx(stats.t.ppf(0.975, degrees), rel=3e-6), degrees
    assert evaluate(connection, "coverage_factor_95(0)") is None
    assert evaluate(connection, "coverage_factor_95(NULL)") is None


def test_an_interval_covers_the_truth_in_95_of_100_sheets(connection) -> None:
    # 20,000 simulated sheets tell the coverage to 0.15 %: five of these are allowed.
    for n in (2, 5, 14):
        readings = np.random.default_rng(n).normal(62.0, 3.0, (20_000, n))
        half = evaluate(connection, "interval_half_width(1.0, ?)", n)
        covered = np.abs(readings.mean(axis=1) - 62.0) <= half * readings.std(axis=1, ddof=1)
        assert covered.mean() == pytest.approx(0.95, abs=0.0078)


@given(s=st.floats(0, 1e6), n=st.integers(2, 10_000))
@settings(max_examples=60)
def test_more_pieces_never_widen_what_is_random(connection, s, n) -> None:
    for text in ("error_of_mean(?, ?)", "interval_half_width(?, ?)"):
        assert evaluate(connection, text, s, n + 1) <= evaluate(connection, text, s, n)


@given(
    parts=st.lists(st.sampled_from([None, 0.0]) | st.floats(1e-6, 1e6), min_size=1, max_size=8),
    scale=st.floats(1e-3, 1e3),
)
@settings(max_examples=60)
def test_parts_combine_in_any_unit_and_none_makes_less(connection, parts, scale) -> None:
    def combined(values):
        squares = [None if value is None else value**2 for value in values]
        return evaluate(connection, "combined_uncertainty(?::DOUBLE[])", squares)

    whole, known = combined(parts), [part for part in parts if part is not None]
    if not known:
        assert whole is None
        return
    assert whole == pytest.approx(math.hypot(*known), rel=1e-9)
    assert whole >= max(known) * (1 - 1e-9)
    assert combined([None if part is None else scale * part for part in parts]) == pytest.approx(
        scale * whole, rel=1e-9
    )


@pytest.mark.parametrize(
    ("md", "cd", "sign", "same", "expected"),
    [
        (0.03, 0.02, 1, True, 0.05), (0.03, 0.02, -1, True, 0.01), (0.02, 0.03, -1, True, 0.01),
        (0.03, 0.04, 1, False, 0.05), (0.03, 0.04, -1, False, 0.05), (0.03, None, -1, True, 0.03),
        (None, 0.03, 1, False, 0.03), (None, None, 1, True, None),
    ],
)  # fmt: skip
def test_errors_of_both_directions(connection, md, cd, sign, same, expected) -> None:
    got = evaluate(connection, "error_of_both_directions(?::DOUBLE, ?::DOUBLE, ?, ?)", md, cd, sign, same)
    assert got == (None if expected is None else pytest.approx(expected))
