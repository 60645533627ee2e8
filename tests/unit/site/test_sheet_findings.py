"""Titles of a sheet's figures: the sentence for a few rows, no rows, and rows with gaps."""

from datetime import datetime

import pytest

from pipelines.site.sheet import findings
from pipelines.site.sheet.findings import Limits, Reading

TEMPERATURE = Limits(22, 24, "°C")
NOON = datetime(2026, 10, 1, 12, 0)
LATER = datetime(2026, 10, 1, 15, 30)


def curve(direction, max_y, max_x, **values):
    return {
        "direction": direction, "specimen_no": 1, "replicate_no": 1, "max_y": max_y, "max_x": max_x,
        "per_width": True, "in_means": True, "left_out_because": None, "findings": None,
    } | values  # fmt: skip


def test_curves_in_both_directions_are_compared():
    curves = [curve("MD", 4.02, 2.02), curve("MD", 3.00, 2.02), curve("CD", 1.755, 3.03)]
    assert findings.of_curves(curves) == (
        "CD reaches 0.50 of the MD force per width (1.75 and 3.51 kN/m) at 1.5 times the stretch (3.03 and 2.02 %)"
    )


def test_without_width_or_span_forces_are_compared():
    curves = [curve("MD", 60.4, 2.02, per_width=False), curve("CD", 30.2, 3.03, per_width=False)]
    assert findings.of_curves(curves) == (
        "CD reaches 0.50 of the MD force (30.2 and 60.4 N) at 1.5 times the elongation (3.03 and 2.02 mm)"
    )


@pytest.mark.parametrize(
    ("curves", "text"),
    [
        ([curve("MD", 3.51, 2.02)], "The curves in MD reach 3.51 kN/m on average, at a stretch of 2.02 %"),
        (
            [curve("CD", 30.2, 3.03, per_width=False)],
            "The curves in CD reach 30.2 N on average, at an elongation of 3.03 mm",
        ),
        (
            [curve("MD", 3.5, 2.0, in_means=False, left_out_because="clamp_slip", findings="clamp_slip")],
            "No curve to compare; 1 of 1 is not in the means: MD 1 (clamp slip)",
        ),
        (
            [curve("MD", None, None, in_means=False)],
            "No curve to compare; 1 of 1 is not in the means: MD 1 (no reason stated)",
        ),
        (
            [curve("MD", 0.0, 0.0), curve("CD", 1.0, 1.0)],
            "MD and CD cannot be compared: the curves in MD have no force or no elongation",
        ),
    ],
)
def test_curves_of_one_direction_or_none(curves, text):
    assert findings.of_curves(curves) == text


def test_left_out_and_doubtful_curves_are_named_and_counted():
    bad = [
        curve("MD", 3.0, 1.0, specimen_no=place, replicate_no=2, in_means=False, left_out_because="off_standard")
        for place in range(1, 6)
    ]  # fmt: skip
    doubtful = curve("MD", 3.51, 2.02, specimen_no=9, findings="early_stop")
    assert findings.of_curves([*bad, doubtful]) == (
        "No curve to compare; 5 of 6 are not in the means: "
        "MD 1, replicate 2 (off standard), MD 2, replicate 2 (off standard), MD 3, replicate 2 (off standard) "
        "and 2 more; 1 of 6 is doubtful and not compared: MD 9 (early stop)"
    )


def readings(series, *values):
    return [Reading(series, number, value) for number, value in enumerate(values, 1)]


def test_a_clear_trend_has_its_size_and_p():
    md = readings("MD", 60.0, 59.1, 57.9, 57.1, 56.0, 55.0)
    cd = readings("CD", 30.0, 31.0, 29.5, 30.5, 30.2, 30.1)
    assert findings.of_position("tensile_index", "N.m/g", md + cd) == (
        "Tensile index falls in MD by 1.0 N·m/g from one number to the next (p < 0.001); no clear trend in CD"
    )


def test_two_trends_are_both_reported():
    up, down = readings("MD", 1.0, 2.1, 2.9, 4.0, 5.1), readings("CD", 5.0, 4.1, 2.9, 2.0, 1.1)
    assert findings.of_position("stretch", "%", up + down) == (
        "Stretch rises in MD by 1.0 % from one number to the next (p < 0.001) and "
        "falls in CD by 0.99 % from one number to the next (p < 0.001)"
    )


def test_without_a_trend_the_farthest_reading_is_reported():
    md = readings("MD", 60.0, 61.0, 59.0, 60.0, 70.0, 60.0, 59.0, 61.0)
    assert findings.of_position("tensile_index", "N.m/g", md) == (
        "Tensile index shows no clear trend with the number; farthest out is number 5 in MD, "
        "2.4 standard deviations above the mean"
    )


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ([], "Thickness has no valid reading"),
        (readings("single sheets", 100.0), "Thickness has too few readings for a trend"),
        (readings("single sheets", 100.0, 100.0, 100.0), "Thickness has too few readings for a trend"),
        (
            readings("single sheets", 100.0, 100.0, 97.0),
            "Thickness has too few readings for a trend; farthest out is number 3 in single sheets, "
            "1.2 standard deviations below the mean",
        ),
        (readings("packs", *[90.0] * 5), "Thickness shows no clear trend with the number"),
    ],
)
def test_few_readings_give_no_trend(values, text):
    assert findings.of_position("thickness", "um", values) == text


def gap(minutes, room="R1"):
    return {"room": room, "begins_utc": NOON, "gap_min": minutes}


@pytest.mark.parametrize(
    ("farthest", "gaps", "text"),
    [
        ([(22.6, NOON, "R1")], [], "Temperature was within 22 to 24 °C in all readings"),
        ([(24.0, NOON, "R1")], [], "Temperature was within 22 to 24 °C in all readings"),
        ([(24.0 + 1e-12, NOON, "R1")], [], "Temperature was within 22 to 24 °C in all readings"),
        (
            [(22.6, NOON, "R1"), (23.9, LATER, "R1")],
            [gap(360.0)],
            "Temperature was within 22 to 24 °C in all readings; no reading for 360 min from 2026-10-01 12:00",
        ),
        (
            [(22.6, NOON, "R1"), (27.3, LATER, "R1")],
            [],
            "Temperature was 27.3 °C at 2026-10-01 15:30, 3.3 °C above the limit of 24 °C",
        ),
        (
            [(20.5, NOON, "R1"), (25.0, LATER, "R2")],
            [gap(40.0), gap(61.0, "R2")],
            "Temperature was 20.5 °C at 2026-10-01 12:00 in R1, 1.5 °C below the limit of 22 °C; "
            "no reading of R2 for 61 min from 2026-10-01 12:00, and 1 more gap",
        ),
        (
            [],
            [gap(240.0)],
            "Temperature has no reading around the tests; no reading for 240 min from 2026-10-01 12:00",
        ),
    ],
)
def test_air_within_and_outside_its_limits(farthest, gaps, text):
    assert findings.of_air("Temperature", TEMPERATURE, farthest, gaps) == text


@pytest.mark.parametrize(
    ("verdicts", "text"),
    [
        ([], "No test of this sheet requires the standard atmosphere."),
        (["standard"], "The test was made in the standard atmosphere."),
        (["standard"] * 3, "All 3 tests were made in the standard atmosphere."),
        (
            ["unverified", "standard", "off_standard", "standard"],
            "4 tests: 2 in the standard atmosphere, 1 outside it, 1 unverified: climate record incomplete.",
        ),
        (["off_standard"], "1 test: 1 outside it."),
    ],
)
def test_verdicts_are_counted(verdicts, text):
    assert findings.of_verdicts(verdicts) == text


def test_a_doubtful_curve_is_named_and_left_out_of_the_comparison():
    sound = [curve("MD", 3.51, 2.02), curve("CD", 1.755, 3.03)]
    doubtful = curve("MD", 9.0, 9.0, specimen_no=7, findings="early_stop")
    assert findings.of_curves([*sound, doubtful]) == (
        findings.of_curves(sound) + "; 1 of 3 is doubtful and not compared: MD 7 (early stop)"
    )


def test_a_curve_in_doubt_does_not_enter_the_title():
    curves = [curve("MD", 3.51, 2.02), curve("MD", 1.0, 0.5, specimen_no=9, findings="early_stop")]
    assert findings.of_curves(curves) == (
        "The curves in MD reach 3.51 kN/m on average, at a stretch of 2.02 %; 1 of 2 is doubtful and not compared: "
        "MD 9 (early stop)"
    )
