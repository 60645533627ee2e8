"""A whole run on a demo laboratory of 240 sheets: it finds every trial point's true values and every planted fault.

The truth is looked for as a reader of the published tables would: the mean of the sheets' values, and
Student's t interval with the sheets as replicates. All comparisons together are made at 99.9 % (Bonferroni),
so that the test does not hang on a lucky seed. That the intervals say something is tested too: they shut out
an error of 7 %, as from an oven-dry grammage taken for a conditioned one.
"""

import math
from datetime import datetime

import numpy as np
import pytest
from laboratories import demo_night
from scipy import stats

from pipelines.demo.simulator import GRAMMAGE_CV_WITHIN
from pipelines.demo.truth import BETWEEN_SHEETS, WITHIN_SHEET, trial_points
from pipelines.warehouse.connection import reading

SHEETS = 240
CONFIDENCE_OF_ALL = 0.999
TRUTH = {
    (point.trial, point.trial_point, *key): value
    for point in trial_points()
    for key, value in point.properties().items()
}
"""The true value of each property, by trial, trial point, direction, property and basis."""
FAULTS = (
    "clamp breaks",
    "mistyped sheet id",
    "overlapping export",
    "corrected re-export",
    "retest",
    "contradicting units row",
    "truncated copy",
    "summary lines",
    "negative thickness",
    "dated before forming",
    "contradiction within a file",
    "unknown file",
    "empty file",
    "binary file",
    "ambiguous hour",
    "restarted logger",
    "air conditioning down",
    "air conditioning just repaired",
    "dead logger",
    "short stay",
    "log not exported",
    "straight from the dryer",
    "taken out before",
    "test without a time",
    "slip in the clamp",
    "stopped early",
    "saturated load cell",
    "elongation stepping back",
    "wrong span",
    "slack left in",
)


@pytest.fixture(scope="module")
def demo(made_once):
    return made_once("demo of 240 sheets", lambda folder: demo_night(folder, sheets=SHEETS, seed=11))


@pytest.fixture(scope="module")
def snapshot(demo):
    with reading(demo.snapshot) as connection:
        yield connection


@pytest.fixture(scope="module")
def intervals(snapshot):
    """Mean and half-width of the interval, by trial point and property."""
    rows = snapshot.execute(
        "SELECT trial, trial_point, direction, property, basis, n_sheets, value, s FROM trial_point_property"
    ).fetchall()
    quantile = 1 - (1 - CONFIDENCE_OF_ALL) / len(TRUTH) / 2
    return {
        (trial, point, direction, name, basis): (value, stats.t.ppf(quantile, n - 1) * s / math.sqrt(n))
        for trial, point, direction, name, basis, n, value, s in rows
    }


@pytest.fixture(params=FAULTS)
def fault(request, demo):
    (found,) = (fault for fault in demo.faults if fault.name == request.param)
    return found


def _lines(snapshot, query, *parameters):
    return sorted(line for (line,) in snapshot.execute(query, parameters).fetchall())


def _kind(snapshot, file_name):
    return snapshot.execute("SELECT record FROM export_file WHERE file_name = ?", [file_name]).fetchone()[0]


def test_the_true_value_of_every_property_of_every_trial_point_is_found(intervals):
    missed = {
        key: (true_value, *intervals[key])
        for key, true_value in TRUTH.items()
        if not abs(intervals[key][0] - true_value) < intervals[key][1]
    }
    assert len(TRUTH) == 21 * len(trial_points())
    assert missed == {}


@pytest.mark.parametrize("error", [0.93, 1.07])
def test_an_error_of_seven_percent_in_tensile_index_would_be_seen(intervals, error):
    indices = {
        key: (error * true_value, *intervals[key])
        for key, true_value in TRUTH.items()
        if key[2] in ("MD", "CD") and key[3:] == ("tensile_index", "conditioned")
    }
    assert len(indices) == 2 * len(trial_points())
    assert {key: found for key, found in indices.items() if not abs(found[1] - found[0]) > found[2]} == {}


def test_the_spread_between_sheets_is_found_again(snapshot):
    """The spread of sheet means: from sheet to sheet, and what ten pieces leave of the spread within."""
    spreads = snapshot.execute(
        "SELECT s / value, n_sheets - 1 FROM trial_point_property "
        "WHERE property = 'tensile_index' AND direction IN ('MD', 'CD') AND basis = 'conditioned'"
    ).fetchall()
    freedom = sum(degrees for _, degrees in spreads)
    pooled_variance = sum(spread**2 * degrees for spread, degrees in spreads) / freedom
    true_variance = BETWEEN_SHEETS["tensile_index"] ** 2 + WITHIN_SHEET["tensile_index"] ** 2 / 10
    low, high = stats.chi2.interval(0.999, freedom) / np.array(freedom)
    weighing = GRAMMAGE_CV_WITHIN**2 / 4  # three to five weighed pieces a sheet
    assert low < pooled_variance / (true_variance + weighing) < high
    assert low > BETWEEN_SHEETS["tensile_index"] ** 2 / true_variance, "must tell the two spreads apart"


def test_every_sheet_counts_once_in_its_trial_point(snapshot):
    n_sheets = snapshot.execute(
        "SELECT DISTINCT n_sheets FROM trial_point_property WHERE property = 'tensile_index'"
    ).fetchall()
    assert n_sheets == [(SHEETS / len(trial_points()),)]


def test_orientation_is_least_near_a_jet_to_wire_ratio_of_one(snapshot):
    ladder = snapshot.execute(
        "SELECT trial_point, value FROM trial_point_property WHERE trial = 'jet-to-wire ladder' "
        "AND property = 'tensile_index' AND direction = 'MD/CD' AND basis = 'conditioned' ORDER BY value"
    ).fetchall()
    assert [point for point, _ in ladder] == ["ratio 1.00", "ratio 1.15", "ratio 0.85", "ratio 1.35"]


def test_no_layer_came_from_the_wrong_stock(snapshot):
    assert snapshot.execute(
        "SELECT count(*), count(*) FILTER (carry_over OR furnish_differs_from_tank) FROM layer"
    ).fetchone() == (SHEETS + 2 * SHEETS // 6, 0)  # two of twelve trial points have three layers
    assert snapshot.execute("SELECT max(overdrawn_l) FROM tank_fill").fetchone() == (0,)


def test_the_faults_are_all_looked_for(demo):
    assert sorted(fault.name for fault in demo.faults) == sorted(FAULTS)


def test_a_planted_fault_is_found_with_its_outcome(snapshot, fault):
    check = {
        "held_file": _held_file,
        "held_rows": _held_rows,
        "footer": _footer,
        "repeated": _repeated,
        "superseded": _superseded,
        "unmatched": _unmatched,
        "left_out": _left_out,
        "new_replicate": _new_replicate,
        "off_standard": _verdict,
        "unverified": _verdict,
        "curve_flag": _curve_flag,
    }[fault.outcome]
    check(snapshot, fault)


def _held_file(snapshot, fault):
    lines, held = snapshot.execute(
        "SELECT lines, held_lines FROM export_file WHERE file_name = ?", [fault.file_name]
    ).fetchone()
    assert held == lines
    rules = snapshot.execute("SELECT rule FROM held_row WHERE file_name = ?", [fault.file_name]).fetchall()
    assert rules == [(fault.rule,)]


def _held_rows(snapshot, fault):
    query = "SELECT line_number FROM held_row WHERE file_name = ? AND rule = ?"
    assert _lines(snapshot, query, fault.file_name, fault.rule) == sorted(fault.lines)


def _footer(snapshot, fault):
    query = "SELECT footer_lines FROM export_file WHERE file_name = ?"
    assert snapshot.execute(query, [fault.file_name]).fetchone() == (len(fault.lines),)


def _with_fate(snapshot, fault, record_status):
    query = (
        f"SELECT line_number FROM records.{_kind(snapshot, fault.file_name)} "
        "JOIN export_file USING (file_hash) WHERE file_name = ? AND record_status = ?"
    )
    return _lines(snapshot, query, fault.file_name, record_status)


def _repeated(snapshot, fault):
    assert _with_fate(snapshot, fault, "repeated") == sorted(fault.lines)


def _superseded(snapshot, fault):
    assert _with_fate(snapshot, fault, "superseded") == sorted(fault.lines)
    kind = _kind(snapshot, fault.file_name)
    successor = snapshot.execute(
        f"SELECT successor.record_status FROM records.{kind} AS old JOIN export_file USING (file_hash) "
        f"JOIN records.{kind} AS successor "
        "ON old.superseded_by = successor.file_hash || ':' || successor.line_number WHERE file_name = ?",
        [fault.file_name],
    ).fetchall()
    assert successor == [("loaded",)]


def _unmatched(snapshot, fault):
    found = snapshot.execute(
        "SELECT line_number, suggested_sheet_id FROM unmatched_test ORDER BY line_number"
    ).fetchall()
    assert found == [(line, fault.suggested_sheet_id) for line in fault.lines]


def _left_out(snapshot, fault):
    query = (
        "SELECT line_number FROM test_piece JOIN export_file USING (file_hash) WHERE file_name = ? "
        "AND NOT in_means AND left_out_because = 'clamp_break'"
    )
    assert _lines(snapshot, query, fault.file_name) == sorted(fault.lines)
    left_out = "SELECT count(*) FROM test_piece WHERE left_out_because = 'clamp_break'"
    assert snapshot.execute(left_out).fetchone() == (len(fault.lines),)


def _new_replicate(snapshot, fault):
    query = (
        "SELECT line_number FROM test_piece JOIN export_file USING (file_hash) WHERE file_name = ? "
        "AND replicate_no = 2 AND in_means"
    )
    assert _lines(snapshot, query, fault.file_name) == sorted(fault.lines)
    assert snapshot.execute("SELECT count(*) FROM test_piece WHERE replicate_no > 1").fetchone() == (1,)


def _verdict(snapshot, fault):
    found = snapshot.execute(
        "SELECT kind, line_number, verdict, reason FROM test_atmosphere JOIN export_file USING (file_hash) "
        "WHERE file_name = ? ORDER BY line_number",
        [fault.file_name],
    ).fetchall()
    assert [(line, verdict) for _, line, verdict, _ in found] == [
        (line, fault.outcome) for line in fault.lines
    ]
    assert all(fault.reason in reason for *_, reason in found)
    if found[0][0] == "tensile":
        left_out = (
            "SELECT DISTINCT in_means, left_out_because FROM test_piece JOIN export_file USING (file_hash) "
            "WHERE file_name = ?"
        )
        assert snapshot.execute(left_out, [fault.file_name]).fetchall() == [(False, fault.outcome)]


def _curve_flag(snapshot, fault):
    """The file holds one curve, which is found to have this fault, and nothing else."""
    found = snapshot.execute(
        "SELECT line_number, last_line_number, findings, disagreement FROM tensile_curve_result "
        "JOIN export_file USING (file_hash) WHERE file_name = ?",
        [fault.file_name],
    ).fetchall()
    ((first, last, findings, disagreement),) = found
    assert (first, last) == (fault.lines[0], fault.lines[-1])
    assert findings == fault.rule
    if fault.reason is not None:
        assert fault.reason in disagreement


def test_only_planted_curves_are_noticeable_or_disagree_with_their_tester(snapshot, demo):
    noticeable = snapshot.execute(
        "SELECT file_name FROM tensile_curve_result JOIN export_file USING (file_hash) "
        "WHERE findings IS NOT NULL OR disagreement IS NOT NULL ORDER BY file_name"
    ).fetchall()
    planted = sorted(fault.file_name for fault in demo.faults if fault.outcome == "curve_flag")
    assert [name for (name,) in noticeable] == planted


def test_every_exported_curve_stands_beside_the_result_of_its_piece(snapshot, demo):
    n_curves, n_paired, n_from_curve = snapshot.execute(
        "SELECT count(*), count(instrument_max_force_n), count(*) FILTER (results_origin = 'curve') "
        "FROM tensile_curve_result"
    ).fetchone()
    n_planted = sum(fault.outcome == "curve_flag" for fault in demo.faults)
    assert n_curves == n_paired == SHEETS // 10 * 20 + n_planted
    assert n_from_curve == 0


def test_only_planted_tests_lack_the_standard_atmosphere(snapshot, demo):
    others = snapshot.execute(
        "SELECT DISTINCT file_name, verdict FROM test_atmosphere JOIN export_file USING (file_hash) "
        "WHERE verdict <> 'standard'"
    ).fetchall()
    planted = {
        (fault.file_name, fault.outcome)
        for fault in demo.faults
        if fault.outcome in ("off_standard", "unverified")
    }
    assert set(others) == planted


def test_nothing_is_held_but_what_was_planted(snapshot, demo):
    held = {name for (name,) in snapshot.execute("SELECT DISTINCT file_name FROM held_row").fetchall()}
    assert held == {fault.file_name for fault in demo.faults if fault.outcome in ("held_file", "held_rows")}


def test_only_planted_files_hold_superseded_rows(snapshot, demo):
    names = snapshot.execute("SELECT file_name FROM export_file WHERE superseded_rows > 0").fetchall()
    assert names == [(fault.file_name,) for fault in demo.faults if fault.outcome == "superseded"]


def test_a_record_dated_before_forming_is_reported_in_local_time(snapshot):
    query = "SELECT what, original_text FROM held_row WHERE rule = 'dated_before_forming'"
    ((what, original_text),) = snapshot.execute(query).fetchall()
    date, clock = original_text.split(",")[3:5]
    local = datetime.strptime(f"{date} {clock}", "%m/%d/%Y %I:%M %p")
    assert what.startswith(f"The record is dated {local:%Y-%m-%d %H:%M}, before sheet JW-002 was formed (")
    assert what.endswith("; times in Europe/Helsinki).")
