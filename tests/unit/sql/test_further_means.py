"""Means of further tests: the kind of mean, the atmosphere and what is never pooled follow from the registry."""

import math

import pytest

from pipelines.settings import Settings
from pipelines.warehouse.duplicate_resolution import set_setting


def add(warehouse, name: str, *values: float, **columns: object) -> None:
    """Add the readings of one property of sheet S1, numbered from 1."""
    for number, value in enumerate(values, start=1):
        warehouse.add("further", property=name, value=value, specimen_no=number, **columns)


def means(warehouse, name: str) -> list[dict]:
    return warehouse.rows(f"FROM sheet_property WHERE property = '{name}' ORDER BY ALL")


@pytest.fixture
def weighed(warehouse):
    """Sheet S1 with a grammage of 80 g/m2."""
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=80.0)
    return warehouse


def test_an_index_follows_from_the_mean_and_the_grammage(weighed) -> None:
    add(weighed, "tear", 790.0, 810.0, direction="MD")
    add(weighed, "tear", 890.0, 910.0, direction="CD")
    found = {
        row["direction"]: row["value"]
        for row in means(weighed, "tear_index")
        if row["basis"] == "conditioned"
    }
    assert found == {
        "MD": pytest.approx(10.0),
        "CD": pytest.approx(11.25),
        "GM": pytest.approx(math.sqrt(10 * 11.25)),
        "MD/CD": pytest.approx(800 / 900),
    }
    sheet = weighed.row("FROM sheet")
    assert sheet["tear_index_cd_mnm2_g"] == pytest.approx(11.25)
    assert weighed.row("FROM trial_point")["tear_md_mn"] == pytest.approx(800)


def test_a_logarithmic_mean_is_that_of_the_logarithms(weighed) -> None:
    add(weighed, "air_resistance", 10.0, 40.0)
    (row,) = means(weighed, "air_resistance")
    s = math.log(4) / math.sqrt(2)  # of the logarithms
    assert row["value"] == pytest.approx(20)
    assert row["s"] == pytest.approx(20 * s)
    assert row["cv_pct"] == pytest.approx(100 * s)
    assert row["standard_uncertainty"] == pytest.approx(20 * s / math.sqrt(2))
    (permeance,) = means(weighed, "air_permeance")
    assert permeance["value"] == pytest.approx(135.3 / 20)
    assert permeance["s"] / permeance["value"] == pytest.approx(s)
    assert permeance["standard_uncertainty"] / permeance["value"] == pytest.approx(s / math.sqrt(2))


def test_a_logarithmic_mean_of_sheets(warehouse) -> None:
    for sheet, value in (("S1", 10.0), ("S2", 40.0)):
        warehouse.add("forming", sheet_id=sheet)
        add(warehouse, "double_folds", value, sheet_id=sheet, direction="MD")
    row = warehouse.row("FROM trial_point_property WHERE property = 'double_folds'")
    assert row["value"] == pytest.approx(20)
    assert row["s"] == pytest.approx(20 * math.log(4) / math.sqrt(2))


def test_angles_that_repeat_after_180_degrees_have_a_circular_mean(weighed) -> None:
    add(weighed, "orientation_angle", 80.0, -80.0)
    (row,) = means(weighed, "orientation_angle")
    assert abs(row["value"]) == pytest.approx(90)
    assert row["s"] == pytest.approx(math.degrees(math.sqrt(-2 * math.log(math.cos(math.radians(20))))) / 2)
    assert row["cv_pct"] is None


def test_one_angle_has_no_standard_deviation(weighed) -> None:
    add(weighed, "orientation_angle", -30.0)
    (row,) = means(weighed, "orientation_angle")
    assert row["value"] == pytest.approx(-30)
    assert row["s"] is None


def test_only_a_property_that_depends_on_the_atmosphere_has_a_verdict(weighed) -> None:
    weighed.set(admitted_verdicts="standard")
    add(weighed, "burst", 300.0)
    add(weighed, "brightness", 85.0)
    rows = weighed.rows("FROM reading WHERE kind = 'further' ORDER BY property")
    assert [(row["property"], row["atmosphere_verdict"], row["in_means"]) for row in rows] == [
        ("brightness", None, True),
        ("burst", "unverified", False),
    ]
    assert means(weighed, "burst") == []
    assert len(means(weighed, "brightness")) == 1


def test_a_remark_leaves_a_reading_out(weighed) -> None:
    add(weighed, "burst", 300.0)
    add(weighed, "burst", 100.0, remark="defect", replicate_no=2)
    (row,) = means(weighed, "burst")
    assert (row["value"], row["n"], row["n_left_out"]) == (300, 1, 1)


def test_methods_sides_and_conditions_are_never_pooled(weighed) -> None:
    add(weighed, "water_absorption", 20.0, 22.0, side="top", test_time_s=60.0)
    add(weighed, "water_absorption", 30.0, side="wire", test_time_s=60.0)
    add(weighed, "water_absorption", 40.0, side="top", test_time_s=120.0)
    add(weighed, "water_absorption", 90.0, side="top", test_time_s=60.0, method="other")
    rows = means(weighed, "water_absorption")
    assert sorted((row["side"], row["test_time_s"], row["method"] or "", row["value"]) for row in rows) == [
        ("top", 60, "", pytest.approx(21)),
        ("top", 60, "other", 90),
        ("top", 120, "", 40),
        ("wire", 60, "", 30),
    ]
    assert weighed.row("FROM sheet")["water_absorption_g_m2"] == pytest.approx(21), "most readings"


def test_a_condition_that_a_property_does_not_name_is_pooled(weighed) -> None:
    add(weighed, "tear", 500.0, direction="MD", length_mm=62.0)
    add(weighed, "tear", 700.0, direction="MD", length_mm=63.0, replicate_no=2)
    (row,) = means(weighed, "tear")
    assert (row["n"], row["value"], row["length_mm"]) == (2, 600, None)


def test_a_testers_accuracy_does_not_decrease_with_the_number_of_readings(weighed) -> None:
    settings = Settings.model_validate({"testers": {"any": {"value_pct": {"tear": 1.5}}}})
    set_setting(weighed.connection, weighed.row("FROM setting"), settings.accuracies())
    add(weighed, "tear", 600.0, 600.0, direction="MD")
    add(weighed, "tear", 600.0, 600.0, direction="CD")
    add(weighed, "burst", 300.0, 300.0)
    rows = {(row["property"], row["direction"]): row for row in weighed.rows("FROM sheet_property")}
    stated = 0.015 / math.sqrt(3)  # a largest error, equally likely within its limits
    for direction in ("MD", "CD", "GM"):
        row = rows["tear", direction]
        assert row["standard_uncertainty"] == pytest.approx(600 * stated)
        assert "tester" in row["uncertainty_of"]
    assert rows["tear", "MD/CD"]["systematic_uncertainty"] is None, "it cancels"
    assert rows["burst", None]["systematic_uncertainty"] is None
