"""The tables of the jet-to-wire response: the sheets used, the outcome of each trial, and the demo's true values."""

import numpy as np
import pandas as pd
import pytest

from pipelines.demo.truth import RATIO_OF_MINIMUM_ORIENTATION
from pipelines.physics.response import CURVE_POINTS, fit_responses
from pipelines.warehouse.connection import reading, working
from pipelines.warehouse.jet_to_wire_fit import fit_jet_to_wire
from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import columns_of
from schemas.marts import marts

LADDER = [0.9, 0.9, 1.0, 1.0, 1.1, 1.1, 1.2, 1.2]
MD_CD = [1.62, 1.58, 1.41, 1.39, 1.53, 1.47, 1.92, 1.88]


@pytest.fixture
def connection():
    """A warehouse with the tables that the fit reads and nothing in them."""
    with working() as opened:
        for table, columns in {
            "sheet": "sheet_id VARCHAR, jet_to_wire_ratio DOUBLE",
            "layer": "sheet_id VARCHAR, furnish VARCHAR",
            "sheet_property": (
                "sheet_id VARCHAR, trial VARCHAR, trial_point VARCHAR, direction VARCHAR, property VARCHAR, "
                "preferred BOOLEAN, value DOUBLE"
            ),
        }.items():
            opened.execute(f"CREATE TABLE main.{table} ({columns})")
        yield opened


def add(
    connection,
    trial="T",
    ratios=LADDER,
    md_cd=MD_CD,
    furnishes=("pine",),
    property_name="tensile_index",
    direction="MD/CD",
    preferred=True,
):
    """Add the sheets of a trial, two to a trial point, and a property of theirs."""
    for number, (ratio, value) in enumerate(zip(ratios, md_cd, strict=True)):
        sheet_id = f"{trial}-{number}"
        if not connection.execute("FROM sheet WHERE sheet_id = ?", [sheet_id]).fetchall():
            connection.execute("INSERT INTO sheet VALUES (?, ?)", [sheet_id, ratio])
            for furnish in furnishes:
                connection.execute("INSERT INTO layer VALUES (?, ?)", [sheet_id, furnish])
        connection.execute(
            "INSERT INTO sheet_property VALUES (?, ?, ?, ?, ?, ?, ?)",
            [sheet_id, trial, f"point {number // 2}", direction, property_name, preferred, value],
        )


def responses(connection) -> list[dict]:
    """Fit, and return the rows of jet_to_wire_response."""
    fit_jet_to_wire(connection)
    return (
        connection.execute("FROM jet_to_wire_response ORDER BY trial, property").to_arrow_table().to_pylist()
    )


def test_published_coefficients_equal_the_fit(connection):
    add(connection)
    (row,) = responses(connection)
    found = fit_responses(LADDER, MD_CD, np.repeat(range(4), 2), np.zeros(8, int), 1)
    assert (row["trial"], row["property"], row["furnishes"]) == ("T", "tensile_index", "pine")
    assert (row["n_sheets"], row["n_trial_points"], row["n_ratios"]) == (8, 4, 4)
    assert (row["lowest_jet_to_wire_ratio"], row["highest_jet_to_wire_ratio"]) == (0.9, 1.2)
    assert (row["outcome"], row["reason"]) == ("minimum", None)
    for column, values in {
        "center_jet_to_wire_ratio": found.center,
        "intercept": found.intercept,
        "linear_coefficient": found.linear,
        "quadratic_coefficient": found.quadratic,
        "residual_s": found.residual_s,
        "minimum_jet_to_wire_ratio": found.minimum,
        "minimum_jet_to_wire_ratio_low": found.minimum_low,
        "minimum_jet_to_wire_ratio_high": found.minimum_high,
        "md_cd_ratio_at_minimum": found.at_minimum,
        "md_cd_ratio_at_minimum_low": found.at_minimum_low,
        "md_cd_ratio_at_minimum_high": found.at_minimum_high,
        "lack_of_fit_p": found.lack_of_fit_p,
    }.items():
        assert row[column] == pytest.approx(values[0], rel=1e-9), column
    curve = connection.execute(
        "SELECT jet_to_wire_ratio, md_cd_ratio, band_low, band_high FROM jet_to_wire_response_curve "
        "WHERE trial = 'T' AND property = 'tensile_index' ORDER BY jet_to_wire_ratio"
    ).fetchall()
    expected = zip(found.curve_ratio[0], found.curve[0], found.curve_low[0], found.curve_high[0], strict=True)
    assert np.array(curve) == pytest.approx(np.array(list(expected)), rel=1e-9)


def test_each_trial_and_property_has_a_row_and_only_md_over_cd_on_the_preferred_basis_enters(connection):
    for trial in ("T", "U"):
        for name in ("stretch", "tensile_index"):
            add(connection, trial, property_name=name)
    add(connection, md_cd=[9.0] * 8, direction="GM")
    add(connection, md_cd=[9.0] * 8, preferred=False)
    add(connection, "V", direction="MD")
    rows = responses(connection)
    keys = [("T", "stretch"), ("T", "tensile_index"), ("U", "stretch"), ("U", "tensile_index")]
    assert [(row["trial"], row["property"]) for row in rows] == keys
    assert {row["n_sheets"] for row in rows} == {8}
    assert len({row["minimum_jet_to_wire_ratio"] for row in rows}) == 1
    curves = connection.execute(
        "SELECT trial, property, count(*) FROM jet_to_wire_response_curve GROUP BY ALL ORDER BY ALL"
    ).fetchall()
    assert curves == [(*key, CURVE_POINTS) for key in keys]


def test_a_sheet_without_ratio_or_without_a_usable_value_does_not_enter(connection):
    add(connection)
    add(connection, "U", [*LADDER, None, 1.3, 1.3, 1.3], [*MD_CD, 9.0, np.inf, 0.0, np.nan], ("birch",))
    clean, other = responses(connection)
    assert {**other, "trial": "T", "furnishes": "pine"} == clean


def test_a_trial_without_ratios_has_a_row(connection):
    add(connection, ratios=[None] * 8)
    (row,) = responses(connection)
    known = {name for name, value in row.items() if value is not None}
    assert known == {"trial", "property", "n_sheets", "n_trial_points", "n_ratios", "outcome", "reason"}
    assert (row["n_sheets"], row["n_trial_points"], row["n_ratios"], row["outcome"]) == (
        0,
        0,
        0,
        "not_fitted",
    )
    assert connection.execute("SELECT count(*) FROM jet_to_wire_response_curve").fetchone() == (0,)


def test_furnishes_are_those_of_the_sheets_that_enter_in_order_and_once(connection):
    add(connection, ratios=LADDER, furnishes=("pine", "birch", "pine"))
    add(connection, "U", [0.9, 1.0, 1.1, None], [1.5] * 4, (None,))
    for number, furnish in enumerate(["oak", "ash", "elm", "fir"]):
        connection.execute("INSERT INTO layer VALUES (?, ?)", [f"U-{number}", furnish])
    assert [row["furnishes"] for row in responses(connection)] == ["birch, pine", "ash, elm, oak"]


def test_without_any_trial_the_tables_are_there_and_empty(connection):
    assert responses(connection) == []
    for mart in ("jet_to_wire_response", "jet_to_wire_response_curve"):
        declared = list(columns_of(marts()[mart]))
        assert [name for name, *_ in connection.execute(f"DESCRIBE {mart}").fetchall()] == declared


def test_fitting_again_gives_the_same(connection):
    add(connection)
    assert responses(connection) == responses(connection)


BREAKING = {
    "another coefficient": "UPDATE jet_to_wire_response SET linear_coefficient = linear_coefficient + 1e-6",
    "another curve": "UPDATE jet_to_wire_response_curve SET md_cd_ratio = md_cd_ratio * 1.000001",
    "a curve outside its band": "UPDATE jet_to_wire_response_curve SET band_low = band_high",
    "an endless band": "UPDATE jet_to_wire_response_curve SET band_high = 'inf'",
    "no curve": "DELETE FROM jet_to_wire_response_curve",
    "a curve without response": "DELETE FROM jet_to_wire_response",
    "a curve of no fit": "UPDATE jet_to_wire_response SET outcome = 'not_fitted'",
    "a curve beyond the ratios tried": "UPDATE jet_to_wire_response SET highest_jet_to_wire_ratio = 1.19",
    "a minimum that is none": "UPDATE jet_to_wire_response SET outcome = 'no_minimum'",
    "a minimum beyond its interval": (
        "UPDATE jet_to_wire_response SET minimum_jet_to_wire_ratio_high = minimum_jet_to_wire_ratio_low"
    ),
    "a minimum above the curve": "UPDATE jet_to_wire_response SET md_cd_ratio_at_minimum = 1.5",
}


@pytest.mark.parametrize("change", BREAKING.values(), ids=BREAKING.keys())
def test_the_check_finds_inconsistent_rows(connection, change):
    add(connection)
    fit_jet_to_wire(connection)
    check = statement("checks/response_curve_is_of_its_coefficients")
    assert connection.execute(check).fetchall() == []
    connection.execute(change)
    assert len(connection.execute(check).fetchall()) > 0


@pytest.fixture(scope="module")
def ladder(demo_night) -> pd.DataFrame:
    """The responses of the demo laboratory's ladder, by property."""
    with reading(demo_night.snapshot) as snapshot:
        return (
            snapshot.execute("FROM jet_to_wire_response WHERE trial = 'jet-to-wire ladder'")
            .df()
            .set_index("property")
        )


@pytest.mark.parametrize("name", ["tensile_index", "tensile_strength", "tea_index"])
def test_the_demos_true_minimum_lies_in_its_interval(ladder, name):
    """The true curve is no parabola, which puts the minimum 0.005 off (computed): less than half the interval."""
    row = ladder.loc[name]
    low, high = row["minimum_jet_to_wire_ratio_low"], row["minimum_jet_to_wire_ratio_high"]
    assert row["outcome"] == "minimum"
    assert low < RATIO_OF_MINIMUM_ORIENTATION < high
    assert row["furnishes"] == "softwood 60 refined 60"


def test_stretch_is_most_alike_where_strength_is_so_and_therefore_has_no_minimum(ladder):
    assert ladder.loc["stretch", "outcome"] == "no_minimum"
    assert "bends downwards" in ladder.loc["stretch", "reason"]


def test_the_demos_other_trials_were_made_at_one_ratio(demo_night):
    with reading(demo_night.snapshot) as snapshot:
        found = snapshot.execute(
            "SELECT DISTINCT trial, outcome, n_ratios FROM jet_to_wire_response WHERE trial <> 'jet-to-wire ladder' "
            "ORDER BY ALL"
        ).fetchall()
        unfitted = snapshot.execute(
            "SELECT count(*) FROM jet_to_wire_response_curve WHERE trial <> 'jet-to-wire ladder'"
        ).fetchone()
    trials = ("furnish series", "layered sheets", "refining series")
    assert found == [(trial, "not_fitted", 1) for trial in trials]
    assert unfitted == (0,)
