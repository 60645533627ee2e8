"""Raw curves beside the testers' records: which belong together, which counts, and why they disagree."""

import numpy as np
import pytest

from pipelines.physics.curves import CurveSettings
from pipelines.warehouse.curve_reduction import reduce_stored
from pipelines.warehouse.statements import statement

X = np.linspace(0, 2.5, 501)
TAIL = np.linspace(2.5, 2.6, 5)[1:]
ELONGATION = [*X, *TAIL]
FORCE = [*(100 * np.tanh(0.8 * X)), *([0.0] * len(TAIL))]
"""100 tanh(0.8 x) N up to 2.5 mm, then the break: maximum 96.4027580 N, energy 165.6253434 N mm, slope 80 N/mm
(all computed from the function)."""


def add_curve(warehouse, elongation=None, force=None, **values) -> None:
    elongation = ELONGATION if elongation is None else elongation
    force = FORCE if force is None else force
    row = {
        "tester": "puller", "sheet_id": "S1", "direction": "MD", "specimen_no": 1, "width_mm": 15.0, "span_mm": 100.0,
        "elongation_mm": list(map(float, elongation)), "force_n": list(map(float, force)),
        "n_points": len(force), "n_lines": len(force), "last_line_number": 900,
    }  # fmt: skip
    warehouse.add("tensile_curve", **row | values)


def add_record(warehouse, **values) -> None:
    row = {"max_force_n": 96.4, "elongation_mm": 2.5, "energy_j": 0.1656, "max_slope_n_mm": 79.5}
    warehouse.add("tensile", **row | values)


@pytest.fixture(autouse=True)
def _sheet(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=80.0)


def build(warehouse) -> None:
    reduce_stored(warehouse.connection, CurveSettings())


def test_a_piece_with_a_curve_alone_gives_the_known_answers(warehouse) -> None:
    add_curve(warehouse)
    build(warehouse)
    piece = warehouse.row("FROM test_piece")
    assert piece["results_origin"] == "curve"
    assert piece["tensile_strength_kn_m"] == pytest.approx(6.426851, rel=1e-6)
    assert piece["tensile_index_nm_g"] == pytest.approx(80.33563, rel=1e-6)
    assert piece["breaking_length_km"] == pytest.approx(8.191955, rel=1e-6)
    assert piece["tea_j_m2"] == pytest.approx(110.41690, rel=1e-3)
    assert piece["tea_index_j_g"] == pytest.approx(1.380211, rel=1e-3)
    assert piece["tensile_stiffness_kn_m"] == pytest.approx(533.333, rel=0.01)
    assert piece["in_means"]


def test_the_tester_counts_unless_the_settings_choose_the_curve(warehouse) -> None:
    add_record(warehouse, max_force_n=97.0)
    add_curve(warehouse)
    build(warehouse)
    piece = warehouse.row("FROM test_piece")
    assert (piece["results_origin"], piece["max_force_n"]) == ("tester", 97.0)
    warehouse.set(curve_results_used=True)
    piece = warehouse.row("FROM test_piece")
    assert piece["results_origin"] == "curve"
    assert piece["max_force_n"] == pytest.approx(96.4027580, abs=1e-6)


def test_an_unusable_curve_leaves_the_testers_results(warehouse) -> None:
    warehouse.set(curve_results_used=True)
    add_record(warehouse)
    add_curve(warehouse, elongation=ELONGATION[:3], force=FORCE[:3])
    build(warehouse)
    piece = warehouse.row("FROM test_piece")
    assert (piece["results_origin"], piece["max_force_n"]) == ("tester", 96.4)
    assert piece["curve_findings"] == "too_few_points"
    assert warehouse.row("FROM tensile_curve_result")["usable"] is False


def test_an_unusable_curve_alone_is_a_piece_without_numbers(warehouse) -> None:
    add_curve(warehouse, elongation=ELONGATION[:3], force=FORCE[:3])
    build(warehouse)
    piece = warehouse.row("FROM test_piece")
    assert (piece["in_means"], piece["left_out_because"]) == (False, "unusable_curve")
    assert piece["tensile_strength_kn_m"] is None


def test_curves_pair_by_time_and_else_by_replicate(warehouse) -> None:
    add_record(warehouse, tested_at_utc="2026-10-01 10:00:00", max_force_n=90.0)
    add_record(warehouse, tested_at_utc="2026-10-01 14:00:00", max_force_n=95.0)
    add_curve(warehouse, tested_at_utc="2026-10-01 14:03:00")
    build(warehouse)
    assert warehouse.row("FROM tensile_curve_result")["instrument_max_force_n"] == 95.0
    assert len(warehouse.rows("FROM test_piece")) == 2


def test_a_curve_of_another_time_is_another_piece(warehouse) -> None:
    add_record(warehouse, tested_at_utc="2026-10-01 10:00:00")
    add_curve(warehouse, tested_at_utc="2026-10-01 14:00:00")
    build(warehouse)
    origins = {row["results_origin"] for row in warehouse.rows("FROM test_piece")}
    assert origins == {"tester", "curve"}
    assert warehouse.row("FROM tensile_curve_result")["instrument_max_force_n"] is None


@pytest.mark.parametrize(
    ("record", "curve", "reason"),
    [
        ({}, {}, None),
        ({"max_force_n": 90.0}, {}, "force: another piece, another unit, or a force zero"),
        ({"elongation_mm": 2.9}, {"elongation": [x + 0.4 for x in ELONGATION]},
         "slack: 0.4 mm not removed by the tester"),
        ({"elongation_mm": 4.5}, {}, "span: 100 mm taken for 180 mm"),
        ({"elongation_mm": 2.5 / 1.8}, {}, "span: 180 mm taken for 100 mm"),
        ({"span_mm": 180.0}, {}, "span: 100 mm with the curve, 180 mm with the result"),
        ({"elongation_mm": 2.8}, {}, "elongation: another end of the slack, or the break instead of the maximum"),
        ({"energy_j": 0.18}, {}, "energy: taken to the break instead of the maximum, or with slack"),
        ({"max_slope_n_mm": 70.0}, {}, "slope: another definition or window"),
    ],
)  # fmt: skip
def test_a_disagreement_has_its_likely_reason(warehouse, record, curve, reason) -> None:
    add_record(warehouse, **record)
    add_curve(warehouse, **curve)
    build(warehouse)
    assert warehouse.row("FROM tensile_curve_result")["disagreement"] == reason


def test_results_per_width_are_compared_too(warehouse) -> None:
    warehouse.add(
        "tensile", max_force_n=None, tensile_strength_kn_m=6.4268, stretch_pct=2.5, tea_j_m2=110.4,
        tensile_stiffness_kn_m=530.0,
    )  # fmt: skip
    add_curve(warehouse)
    build(warehouse)
    row = warehouse.row("FROM tensile_curve_result")
    assert row["instrument_max_force_n"] == pytest.approx(96.402)
    assert row["instrument_elongation_mm"] == pytest.approx(2.5)
    assert row["instrument_energy_j"] == pytest.approx(0.1656)
    assert row["instrument_max_slope_n_mm"] == pytest.approx(79.5)
    assert row["disagreement"] is None


def test_a_finding_leaves_the_piece_out_of_means_as_the_settings_say(warehouse) -> None:
    clipped = np.minimum(FORCE, 80.0)
    add_record(warehouse, max_force_n=80.0)
    add_curve(warehouse, force=clipped)
    build(warehouse)
    piece = warehouse.row("FROM test_piece")
    assert (piece["curve_findings"], piece["left_out_because"]) == ("saturated", "saturated")
    warehouse.set(left_out_findings="")
    assert warehouse.row("FROM test_piece")["in_means"]


def test_a_curve_is_reduced_once_and_again_under_other_settings(warehouse) -> None:
    add_curve(warehouse)
    connection = warehouse.connection
    assert reduce_stored(connection, CurveSettings()) == 1
    assert reduce_stored(connection, CurveSettings()) == 0
    assert reduce_stored(connection, CurveSettings(slope_window_mm=0.5)) == 1
    (row,) = warehouse.rows("FROM ledger.curve_result")
    assert row["max_slope_n_mm"] < 77


def test_results_of_curves_no_longer_in_use_are_deleted(warehouse) -> None:
    add_curve(warehouse)
    reduce_stored(warehouse.connection, CurveSettings())
    warehouse.connection.execute("UPDATE records.tensile_curve SET record_status = 'superseded'")
    assert reduce_stored(warehouse.connection, CurveSettings()) == 0
    assert warehouse.rows("FROM ledger.curve_result") == []


def test_pieces_whose_curves_share_their_lines_stay_apart(warehouse) -> None:
    for specimen in (1, 2, 3):
        add_curve(warehouse, specimen_no=specimen, line_number=7)
    add_curve(warehouse, sheet_id="S2", line_number=7)
    warehouse.add("forming", sheet_id="S2")
    build(warehouse)
    assert len(warehouse.rows("FROM test_piece")) == 4
    assert len(warehouse.rows("FROM tensile_curve_result")) == 4


def test_curves_of_an_unknown_sheet_wait(warehouse) -> None:
    add_curve(warehouse, sheet_id="S-1")
    build(warehouse)
    row = warehouse.row("FROM unmatched_test")
    assert (row["sheet_id"], row["kind"]) == ("S-1", "tensile")


def test_a_raw_curve_of_a_piece_with_results_is_not_a_second_reading(warehouse) -> None:
    add_record(warehouse, tester="puller")
    add_curve(warehouse)
    add_curve(warehouse, specimen_no=2)
    build(warehouse)
    testers = {row["kind"]: row for row in warehouse.rows(statement("pages/tester")) if row["kind"]}
    curves, results = testers["tensile_curve"], testers["tensile"]
    assert (results["n_readings"], results["n_curves"]) == (1, 0)
    assert (curves["n_readings"], curves["n_curves"]) == (1, 2)


def test_pieces_side_by_side_on_one_line_have_a_verdict_each(warehouse) -> None:
    for specimen_no in (1, 2):
        add_curve(warehouse, specimen_no=specimen_no, file_hash="wide", line_number=5)
    build(warehouse)
    rows = warehouse.rows("SELECT sheet_id, kind, line_number FROM test_atmosphere WHERE kind = 'tensile'")
    assert rows == 2 * [{"sheet_id": rows[0]["sheet_id"], "kind": "tensile", "line_number": 5}]
    assert warehouse.row("SELECT count(*) AS n FROM test_piece")["n"] == 2
