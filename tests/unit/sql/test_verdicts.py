"""Verdicts on the atmosphere of tests, and what they leave out of means."""

from datetime import datetime, timedelta

import pytest

TEST = datetime(2026, 10, 3, 12)
"""When the tests here are made, unless they say otherwise; the sheet was brought in five hours before."""


def at(minutes: float) -> datetime:
    """So many minutes before the test; negative after it."""
    return TEST - timedelta(minutes=minutes)


def logged(warehouse, *, first=360, last=-60, every=10, without=(), room="R1", **values) -> None:
    """Add readings from so many minutes before the test to so many after it, without some of them."""
    for minutes in range(first, last - 1, -every):
        if minutes not in without:
            warehouse.add("climate", room=room, read_at_utc=at(minutes), **values)


def tested(warehouse, *, stayed=300, target=60.0, **stay) -> None:
    """Add a sheet, its stay and one tensile test."""
    warehouse.add("forming", target_grammage_g_m2=target)
    warehouse.add("conditioning", in_at_utc=at(stayed), **stay)
    warehouse.add("tensile", tested_at_utc=TEST)


def verdict(warehouse) -> tuple[str, str | None]:

    row = warehouse.row("FROM test_atmosphere")
    return row["verdict"], row["reason"]


def test_a_stay_among_readings_within_limits_is_standard(warehouse) -> None:
    tested(warehouse)
    logged(warehouse)

    row = warehouse.row("FROM test_atmosphere")
    assert (row["verdict"], row["reason"], row["room"], row["kind"]) == ("standard", None, "R1", "tensile")
    assert (row["stayed_h"], row["required_stay_h"], row["in_at_utc"]) == (5.0, 4.0, at(300))
    assert (row["temperature_c"], row["relative_humidity_pct"], row["since_reading_min"]) == (23.0, 50.0, 0.0)


@pytest.mark.parametrize("temperature", [22.0, 24.0])
@pytest.mark.parametrize("humidity", [48.0, 52.0])
def test_the_limits_themselves_pass(warehouse, temperature, humidity) -> None:
    # 23 ± 1 °C, 50 ± 2 % RH: ASTM D685 and TAPPI T 402.
    tested(warehouse)
    logged(warehouse, temperature_c=temperature, relative_humidity_pct=humidity)
    assert verdict(warehouse) == ("standard", None)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ({"temperature_c": 24.6}, "Temperature 24.6 °C (limit 24 °C)"),
        ({"temperature_c": 21.9}, "Temperature 21.9 °C (limit 22 °C)"),
        ({"relative_humidity_pct": 52.1}, "Humidity 52.1 % RH (limit 52 % RH)"),
        ({"relative_humidity_pct": 45.0}, "Humidity 45 % RH (limit 48 % RH)"),
        (
            {"temperature_c": 25.0, "relative_humidity_pct": 47.0},
            "Temperature 25 °C (limit 24 °C) and humidity 47 % RH (limit 48 % RH)",
        ),
    ],
)
def test_one_reading_out_of_limits_is_off_standard_and_given_as_reason(warehouse, reading, words) -> None:
    tested(warehouse)
    logged(warehouse, without=(40,))
    warehouse.add("climate", read_at_utc=at(40), **reading)
    assert verdict(warehouse) == ("off_standard", f"{words} at 2026-10-03 11:20, 40 min before the test")


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [(5, "off_standard"), (0, "off_standard"), (240, "off_standard"), (241, "standard"), (-1, "standard")],
)
def test_only_the_required_hours_up_to_the_test_count(warehouse, minutes, expected) -> None:
    tested(warehouse)
    logged(warehouse, without=(minutes,))
    warehouse.add("climate", read_at_utc=at(minutes), temperature_c=30.0)
    assert verdict(warehouse)[0] == expected


def test_of_several_readings_out_the_last_is_the_reason(warehouse) -> None:
    tested(warehouse)
    logged(warehouse, temperature_c=24.5)
    assert verdict(warehouse)[1] == (
        "Temperature 24.5 °C (limit 24 °C) at 2026-10-03 12:00, 0 min before the test"
    )


def test_a_gap_of_the_allowed_length_passes(warehouse) -> None:
    tested(warehouse)
    logged(warehouse, without=(110, 100))
    assert verdict(warehouse) == ("standard", None)


@pytest.mark.parametrize(
    ("missing", "words"),
    [
        (range(100, 141, 10), "2026-10-03 09:30 to 2026-10-03 10:30 (60 min"),
        (range(220, 271, 10), "2026-10-03 07:20 to 2026-10-03 08:30 (70 min"),
        (range(210, 361, 10), "2026-10-03 08:00 to 2026-10-03 08:40 (40 min"),
        (range(-20, 31, 10), "2026-10-03 11:20 to 2026-10-03 12:30 (70 min"),
        (range(-60, 31, 10), "2026-10-03 11:20 to the test (40 min"),
    ],
    ids=["middle", "beginning", "first reading after the beginning", "over the test", "end of the log"],
)
def test_a_longer_gap_is_unverified_and_given_as_reason(warehouse, missing, words) -> None:
    tested(warehouse)
    logged(warehouse, without=tuple(missing))
    assert verdict(warehouse) == (
        "unverified",
        f"Climate record incomplete: no reading of R1 from {words}; at most 30 min allowed)",
    )


@pytest.mark.parametrize("missing", [range(250, 301, 10), range(-50, 0, 10)], ids=["before", "after"])
def test_a_gap_outside_the_required_hours_does_not_matter(warehouse, missing) -> None:
    tested(warehouse)
    logged(warehouse, without=tuple(missing))
    assert verdict(warehouse) == ("standard", None)


def test_a_log_that_ends_shortly_before_the_test_still_proves_it(warehouse) -> None:
    tested(warehouse)
    logged(warehouse, last=30)
    assert verdict(warehouse) == ("standard", None)


def test_a_room_without_readings_is_unverified(warehouse) -> None:
    tested(warehouse)
    logged(warehouse, room="R2")
    assert verdict(warehouse) == (
        "unverified",
        "No climate record of R1 before the test",
    )


def test_a_reading_out_of_limits_goes_before_a_gap_and_both_are_reasons(warehouse) -> None:
    tested(warehouse)
    logged(warehouse, without=tuple(range(60, 121, 10)))
    warehouse.add("climate", read_at_utc=at(125), temperature_c=21.0)
    assert verdict(warehouse) == (
        "off_standard",
        "Temperature 21 °C (limit 22 °C) at 2026-10-03 09:55, 125 min before the test. "
        "Climate record incomplete: no reading of R1 from 2026-10-03 09:55 to 2026-10-03 11:10 "
        "(75 min; at most 30 min allowed)",
    )


def test_a_restarted_logger_is_as_good_as_an_unbroken_log(warehouse) -> None:
    tested(warehouse)
    logged(warehouse, last=100)
    logged(warehouse, first=77, every=7)
    assert verdict(warehouse) == ("standard", None)


def test_readings_that_do_not_count_prove_nothing(warehouse) -> None:
    tested(warehouse)
    logged(warehouse)
    for record_status in ("superseded", "repeated", "held"):
        warehouse.add("climate", read_at_utc=at(30), temperature_c=40.0, record_status=record_status)
    assert verdict(warehouse) == ("standard", None)


def test_a_superseded_stay_does_not_count(warehouse) -> None:
    tested(warehouse, record_status="superseded")
    logged(warehouse)
    assert verdict(warehouse)[0] == "unverified"


@pytest.mark.parametrize(
    ("stayed", "expected"),
    [
        (240, ("standard", None)),
        (150, ("off_standard", "Conditioned 2.5 h; 4 h required")),
        (239.99, ("off_standard", "Conditioned 3.99 h; 4 h required")),
    ],
)
def test_a_stay_must_be_long_enough(warehouse, stayed, expected) -> None:
    tested(warehouse, stayed=stayed)
    logged(warehouse)
    assert verdict(warehouse) == expected


def test_what_the_room_was_before_the_sheet_came_does_not_matter(warehouse) -> None:
    tested(warehouse, stayed=150)
    logged(warehouse, first=500, last=160, temperature_c=30.0)
    logged(warehouse, first=150)
    assert verdict(warehouse) == ("off_standard", "Conditioned 2.5 h; 4 h required")


@pytest.mark.parametrize(
    ("target", "weighed", "hours"), [(225.0, None, 8), (224.9, None, 4), (60.0, 300.0, 8), (None, None, 8)]
)
def test_the_grammage_decides_on_the_stay(warehouse, target, weighed, hours) -> None:
    # Weighed goes before the target; without either the longest stay is asked for.
    tested(warehouse, target=target)
    if weighed:
        warehouse.add("basis_weight", grammage_g_m2=weighed, state="oven_dry")

    assert warehouse.row("FROM test_atmosphere")["required_stay_h"] == hours


@pytest.mark.parametrize(
    ("out", "expected"),
    [
        (0, ("standard", None)),
        (1, ("unverified", "Taken out of R1 before the test, at 2026-10-03 11:59")),
        (-30, ("standard", None)),
    ],
)
def test_the_stay_must_contain_the_test(warehouse, out, expected) -> None:
    tested(warehouse, out_at_utc=at(out))
    logged(warehouse)
    assert verdict(warehouse) == expected


@pytest.mark.parametrize("stayed", [None, -10])
def test_no_stay_is_unverified(warehouse, stayed) -> None:
    warehouse.add("forming")
    if stayed:
        warehouse.add("conditioning", in_at_utc=at(stayed))
    warehouse.add("conditioning", sheet_id="S2", in_at_utc=at(300))
    warehouse.add("tensile", tested_at_utc=TEST)
    logged(warehouse)
    assert verdict(warehouse) == ("unverified", "No conditioning recorded before the test")


@pytest.mark.parametrize(
    ("time", "reason"),
    [
        (None, "No test time recorded"),
        ("2026-10-02 21:00:00", "Test date recorded without a time of day"),
    ],
)
def test_without_a_time_of_day_nothing_is_proven(warehouse, time, reason) -> None:
    warehouse.set(time_zone="Europe/Helsinki")  # three hours ahead of UTC then
    warehouse.add("forming")
    warehouse.add("conditioning", in_at_utc=at(300))
    logged(warehouse)
    warehouse.add("tensile", tested_at_utc=time)
    assert verdict(warehouse) == ("unverified", reason)


def test_each_room_has_its_own_air(warehouse) -> None:
    warehouse.add("forming", target_grammage_g_m2=60.0)
    warehouse.add("conditioning", in_at_utc=at(600), out_at_utc=at(300), room="R2")
    warehouse.add("conditioning", in_at_utc=at(300), room="R1")
    logged(warehouse, first=700)
    logged(warehouse, first=700, room="R2", temperature_c=30.0)
    warehouse.add("tensile", tested_at_utc=TEST)
    warehouse.add("tensile", specimen_no=2, tested_at_utc=at(310))

    rows = warehouse.rows("FROM test_atmosphere ORDER BY tested_at_utc DESC")
    assert [(row["room"], row["verdict"], row["temperature_c"]) for row in rows] == [
        ("R1", "standard", 23.0),
        ("R2", "off_standard", 30.0),
    ]


def test_the_room_it_was_brought_to_last_is_where_a_sheet_is(warehouse) -> None:
    tested(warehouse, stayed=600)
    warehouse.add("conditioning", in_at_utc=at(60), room="R2")
    logged(warehouse, room="R2")
    assert verdict(warehouse) == ("off_standard", "Conditioned 1 h; 4 h required")


def test_two_rooms_at_once_are_no_room(warehouse) -> None:
    tested(warehouse)
    warehouse.add("conditioning", in_at_utc=at(300), room="R2")
    logged(warehouse)
    assert verdict(warehouse) == ("unverified", "Recorded in several rooms at once: R1, R2")


@pytest.mark.parametrize(
    ("side", "required", "expected"),
    [
        ("dry_side", True, ("standard", None)),
        ("wet_side", True, ("off_standard", "Conditioned from the wet side")),
        (None, True, ("unverified", "No preconditioning recorded")),
        ("wet_side", False, ("standard", None)),
    ],
)
def test_the_side_it_came_from_counts_where_required(warehouse, side, required, expected) -> None:
    warehouse.set(preconditioning_required=required)
    tested(warehouse, preconditioned=side)
    logged(warehouse)
    assert verdict(warehouse) == expected


def test_a_mean_over_the_averaging_time_is_held_against_the_limits(warehouse) -> None:
    tested(warehouse)
    logged(warehouse, without=(60,), temperature_c=23.5)
    warehouse.add("climate", read_at_utc=at(60), temperature_c=24.4)
    assert verdict(warehouse)[0] == "off_standard"
    warehouse.set(averaging_min=10.0)  # the mean of 23.5 and 24.4 is 23.95
    assert verdict(warehouse) == ("standard", None)
    warehouse.add("climate", read_at_utc=at(55), temperature_c=24.4)
    assert verdict(warehouse) == (
        "off_standard",
        "Temperature 24.1 °C (limit 24 °C) as mean of 10 min at 2026-10-03 11:10, 50 min before the test",
    )


@pytest.mark.parametrize(
    ("limits", "air"),
    [
        # The tropical alternative 27 ± 1 °C, 65 ± 2 % RH is from memory of ISO 187.
        ((26.0, 28.0, 63.0, 67.0), (28.0, 63.0)),
        ((19.9, 20.3, 64.0, 66.0), (20.3, 66.0)),
    ],
)
def test_other_atmospheres_have_other_limits(warehouse, limits, air) -> None:
    names = ("lowest_temperature_c", "highest_temperature_c", "lowest_humidity_pct", "highest_humidity_pct")
    warehouse.set(**dict(zip(names, limits, strict=True)))
    tested(warehouse)
    logged(warehouse, temperature_c=air[0], relative_humidity_pct=air[1])
    assert verdict(warehouse) == ("standard", None)
    warehouse.add("climate", read_at_utc=at(1), temperature_c=23.0, relative_humidity_pct=50.0)
    assert verdict(warehouse)[0] == "off_standard"


def test_a_clock_change_is_no_gap(warehouse) -> None:
    # Times are in UTC: the hour that Helsinki's clocks go back on 25 October 2026 is an hour like any other.
    warehouse.set(time_zone="Europe/Helsinki")
    test = datetime(2026, 10, 25, 2, 30)
    warehouse.add("forming", target_grammage_g_m2=60.0)
    warehouse.add("conditioning", in_at_utc=test - timedelta(hours=4))
    warehouse.add("tensile", tested_at_utc=test)
    for minutes in range(0, 241, 30):
        warehouse.add("climate", read_at_utc=test - timedelta(minutes=minutes))
    assert verdict(warehouse) == ("standard", None)


@pytest.mark.parametrize(
    ("code", "stay", "reading"),
    [
        ("no_conditioning", None, {}),
        ("taken_out", {"out_at_utc": at(10)}, {}),
        ("wet_side", {"preconditioned": "wet_side"}, {"temperature_c": 30.0}),
        ("stay_too_short", {"preconditioned": "dry_side", "in_at_utc": at(60)}, {"temperature_c": 30.0}),
        ("temperature_out", {"preconditioned": "dry_side"}, {"temperature_c": 30.0, "relative_humidity_pct": 10.0}),
        ("humidity_out", {"preconditioned": "dry_side"}, {"relative_humidity_pct": 10.0}),
        ("no_climate_record", {"preconditioned": "dry_side"}, None),
        ("climate_gap", {"preconditioned": "dry_side"}, {"read_at_utc": at(200)}),
        ("no_preconditioning", {}, {}),
        (None, {"preconditioned": "dry_side"}, {}),
    ],
)  # fmt: skip
def test_the_reason_code_is_that_of_the_first_reason(warehouse, code, stay, reading) -> None:
    warehouse.set(preconditioning_required=True)
    warehouse.add("forming", target_grammage_g_m2=60.0)
    if stay is not None:
        warehouse.add("conditioning", **{"in_at_utc": at(300)} | stay)
    warehouse.add("tensile", tested_at_utc=TEST)
    if reading is not None and "read_at_utc" in reading:
        warehouse.add("climate", **reading)
    elif reading is not None:
        logged(warehouse, **reading)
    warehouse.build()
    row = warehouse.row("FROM test_atmosphere")
    assert (row["reason_code"], row["reason"] is None) == (code, code is None)


@pytest.mark.parametrize(
    ("time", "code"), [(None, "no_test_time"), ("2026-10-03 00:00:00", "no_time_of_day")]
)
def test_a_test_without_a_time_has_its_own_reason_code(warehouse, time, code) -> None:
    tested(warehouse)
    warehouse.add("thickness", thickness_um=90.0, tested_at_utc=time)
    logged(warehouse)
    warehouse.build()
    assert warehouse.row("FROM test_atmosphere WHERE kind = 'thickness'")["reason_code"] == code


def test_the_times_of_a_reason_are_local(warehouse) -> None:
    warehouse.set(time_zone="Europe/Helsinki")  # UTC+3 on that day
    tested(warehouse)
    logged(warehouse, without=(40,))
    warehouse.add("climate", read_at_utc=at(40), temperature_c=25.0)
    assert (
        verdict(warehouse)[1] == "Temperature 25 °C (limit 24 °C) at 2026-10-03 14:20, 40 min before the test"
    )


def every_kind(warehouse) -> None:
    """One test of each kind an hour after the sheet was brought in, and one long after."""
    warehouse.add("forming", target_grammage_g_m2=60.0)
    warehouse.add("conditioning", in_at_utc=at(300))
    logged(warehouse)
    for number, (minutes, more) in enumerate(((240, 10.0), (0, 0.0)), start=1):
        time = {"tested_at_utc": at(minutes)}
        warehouse.add("basis_weight", specimen_no=number, grammage_g_m2=63.0 + more, **time)
        warehouse.add("basis_weight", specimen_no=number, grammage_g_m2=58.0 + more, state="oven_dry", **time)
        warehouse.add(
            "basis_weight", specimen_no=number, grammage_g_m2=65.0 + more, state="as_received", **time
        )
        warehouse.add(
            "moisture", specimen_no=number, mass_before_g=1.0, mass_after_g=0.93 - more / 1000, **time
        )
        warehouse.add("thickness", position_no=number, thickness_um=90.0 + more, **time)
        for direction in ("MD", "CD"):
            warehouse.add("tensile", specimen_no=number, direction=direction, max_force_n=63.0 + more, **time)


def test_only_admitted_tests_enter_means_and_both_are_counted(warehouse) -> None:
    warehouse.set(admitted_verdicts="standard")
    every_kind(warehouse)

    row = warehouse.row("FROM sheet")
    assert (row["grammage_g_m2"], row["thickness_um"]) == (63.0, 90.0)
    assert row["moisture_pct"] == pytest.approx(7.0)
    assert row["tensile_strength_md_kn_m"] == pytest.approx(4.2)
    assert (row["n_moisture"], row["n_thickness"], row["n_pieces_md"], row["n_pieces_cd"]) == (1, 1, 1, 1)
    left_out = (
        "n_left_out_grammage", "n_left_out_moisture", "n_left_out_thickness", "n_left_out_md", "n_left_out_cd",
    )  # fmt: skip
    assert [row[name] for name in left_out] == [1, 1, 1, 1, 1]
    assert row["admitted_verdicts"] == "standard"
    tidy = {
        (each["property"], each["direction"], each["basis"]): (each["n"], each["n_left_out"], each["value"])
        for each in warehouse.rows("FROM sheet_property WHERE property NOT IN ('apparent_density', 'bulk')")
    }
    assert tidy["grammage", None, "conditioned"] == (1, 1, 63.0)
    assert tidy["grammage", None, "oven_dry"] == (2, 0, 63.0), "needs no atmosphere"
    assert tidy["grammage", None, "as_received"] == (2, 0, 70.0), "needs no atmosphere"
    assert tidy["moisture", None, None][:2] == (1, 1)
    assert tidy["thickness", None, None] == (1, 1, 90.0)
    assert tidy["tensile_strength", "MD", None][:2] == (1, 1)
    assert tidy["tensile_strength", "GM", None][:2] == (2, 2)
    pooled = warehouse.row("FROM trial_point_property WHERE property = 'thickness'")
    assert (pooled["n_readings"], pooled["n_left_out"], pooled["admitted_verdicts"]) == (1, 1, "standard")


def test_a_piece_says_why_it_is_left_out(warehouse) -> None:
    warehouse.set(admitted_verdicts="standard")
    tested(warehouse, stayed=60)
    warehouse.add("tensile", specimen_no=2, tested_at_utc=TEST, remark="clamp_break")
    warehouse.add("tensile", specimen_no=3)
    logged(warehouse)

    pieces = warehouse.rows("FROM test_piece ORDER BY specimen_no")
    assert [(piece["in_means"], piece["left_out_because"]) for piece in pieces] == [
        (False, "off_standard"),
        (False, "clamp_break, off_standard"),
        (False, "unverified"),
    ]
    assert (pieces[0]["atmosphere_verdict"], pieces[0]["atmosphere_reason"]) == (
        "off_standard",
        "Conditioned 1 h; 4 h required",
    )


@pytest.mark.parametrize(
    ("admitted", "count"),
    [
        ("standard", 1),
        ("standard,off_standard", 2),
        ("unverified,standard", 2),
        ("standard,off_standard,unverified", 3),
    ],
)
def test_the_settings_admit_verdicts(warehouse, admitted, count) -> None:
    warehouse.set(admitted_verdicts=admitted)
    tested(warehouse)
    warehouse.add("tensile", specimen_no=2, tested_at_utc=at(240))
    warehouse.add("tensile", specimen_no=3)
    logged(warehouse)

    assert warehouse.row("FROM sheet")["n_pieces_md"] == count
    assert warehouse.row("SELECT count(*) AS n FROM test_atmosphere WHERE admitted")["n"] == count


def test_without_any_log_means_are_empty_and_the_sheet_says_how_many_tests_wait_for_proof(warehouse) -> None:
    warehouse.set(admitted_verdicts="standard")
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    warehouse.add("thickness", thickness_um=90.0)
    warehouse.add("tensile")

    assert warehouse.rows("FROM sheet_property") == []
    assert warehouse.rows("FROM trial_point_property") == []
    row = warehouse.row("FROM sheet")
    assert (row["grammage_g_m2"], row["thickness_um"], row["tensile_strength_md_kn_m"]) == (None, None, None)
    assert (row["n_left_out_grammage"], row["n_left_out_thickness"], row["n_left_out_md"]) == (1, 1, 1)


def test_a_sheet_of_which_all_is_left_out_still_counts_there_in_its_trial_point(warehouse) -> None:
    warehouse.set(admitted_verdicts="standard")
    tested(warehouse)
    logged(warehouse)
    warehouse.add("forming", sheet_id="S2")
    warehouse.add("tensile", sheet_id="S2", tested_at_utc=TEST)

    pooled = warehouse.row("FROM trial_point_property WHERE property = 'tensile_strength'")
    assert (pooled["n_sheets"], pooled["n_readings"], pooled["n_left_out"]) == (1, 1, 1)


def test_a_pressure_with_readings_that_count_goes_before_the_preferred_one(warehouse) -> None:
    warehouse.set(admitted_verdicts="standard")
    tested(warehouse)
    logged(warehouse)
    warehouse.add("thickness", thickness_um=90.0, pressure_kpa=100.0)
    warehouse.add("thickness", thickness_um=95.0, pressure_kpa=50.0, tested_at_utc=TEST)

    row = warehouse.row("FROM sheet")
    assert (row["thickness_um"], row["thickness_pressure_kpa"]) == (95.0, 50.0)


def test_tests_of_unknown_sheets_have_no_verdict_yet(warehouse) -> None:
    tested(warehouse)
    logged(warehouse)
    warehouse.add("tensile", sheet_id="S9", tested_at_utc=TEST)
    warehouse.add("conditioning", sheet_id="S9", in_at_utc=at(300))

    assert warehouse.row("SELECT count(*) AS n FROM test_atmosphere")["n"] == 1
    waiting = warehouse.rows("FROM unmatched_test ORDER BY kind")
    assert [row["kind"] for row in waiting] == ["conditioning", "tensile"]


@pytest.mark.parametrize(
    ("masses", "constant", "change"),
    [
        (((90, 3.0), (30, 3.007)), True, 100 * 0.007 / 3.0),
        (((90, 3.0), (30, 3.008)), False, 100 * 0.008 / 3.0),
        (((150, 3.0), (90, 3.1), (30, 3.101)), True, 100 * 0.001 / 3.1),
        (((89, 3.0), (30, 3.1)), None, None),
        (((60, 3.0), (-30, 3.1)), None, None),
    ],
    ids=["constant", "changing", "the last pair counts", "less than an hour apart", "after the test"],
)
def test_a_mass_that_still_changes_is_a_reason(warehouse, masses, constant, change) -> None:
    # Not more than 0.25 % between weighings at least an hour apart: ISO 187, from memory.
    tested(warehouse)
    logged(warehouse)
    for minutes, mass in masses:
        warehouse.add("basis_weight", mass_g=mass, area_mm2=50_000.0, tested_at_utc=at(minutes))

    row = warehouse.row("FROM test_atmosphere WHERE kind = 'tensile'")
    assert (row["mass_constant"], row["verdict"]) == (constant, "standard")
    assert row["mass_change_pct"] == (None if change is None else pytest.approx(change))
    assert row["reason"] == ("Mass not constant: +0.27 % in 60 min" if constant is False else None)


def test_of_several_pieces_the_one_that_changed_most_is_the_reason(warehouse) -> None:
    tested(warehouse)
    logged(warehouse)
    for piece, later in ((1, 2.97), (2, 3.001)):
        warehouse.add("basis_weight", specimen_no=piece, mass_g=3.0, area_mm2=5e4, tested_at_utc=at(100))
        warehouse.add("basis_weight", specimen_no=piece, mass_g=later, area_mm2=5e4, tested_at_utc=at(10))

    row = warehouse.row("FROM test_atmosphere WHERE kind = 'tensile'")
    assert (row["mass_constant"], row["mass_change_pct"]) == (False, pytest.approx(-1.0))
