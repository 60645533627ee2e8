"""Reduce stored tensile curves that are new or were reduced with other settings.

A reduction is a pure function of a curve and the settings. It is the only step that a run does not repeat for unchanged
data, because that would read millions of points again.
"""

import hashlib
from dataclasses import fields

import duckdb
import numpy as np
import pandas as pd
import pyarrow as pa

from pipelines.physics.curves import CurveResults, CurveSettings, reduce_curves
from pipelines.warehouse.statements import statement

REDUCTION_VERSION = "1"
"""To be raised when the same curve under the same settings comes out otherwise: all are reduced again."""

CURVES_AT_ONCE = 4_000

FINDINGS = (
    "too_few_points",
    "non_finite",
    "non_monotone_elongation",
    "no_rise",
    "saturated",
    "clamp_slip",
    "early_stop",
)


def fingerprint(settings: CurveSettings) -> str:
    """Return a digest that changes when curves come out otherwise."""
    parts = [
        REDUCTION_VERSION,
        *(f"{field.name} {getattr(settings, field.name)}" for field in fields(settings)),
    ]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def reduce_stored(connection: duckdb.DuckDBPyConnection, settings: CurveSettings) -> int:
    """Bring ledger.curve_result up to date with the loaded curves; returns how many were reduced."""
    under = fingerprint(settings)
    connection.execute(statement("records/delete_curve_results"), {"reduced_under": under})
    reduced = 0
    while True:
        curves = connection.execute(
            statement("records/curves_to_reduce"), {"at_once": CURVES_AT_ONCE}
        ).to_arrow_table()
        if curves.num_rows == 0:
            return reduced
        rows = _reduced(curves, settings).assign(reduced_under=under)
        connection.register("rows", rows)
        connection.execute("INSERT INTO ledger.curve_result BY NAME SELECT * FROM rows")
        connection.unregister("rows")
        reduced += curves.num_rows


def _reduced(curves: pa.Table, settings: CurveSettings) -> pd.DataFrame:
    """Reduce curves given with list columns; returns a row for each, in the form of ledger.curve_result."""
    elongation = curves.column("elongation_mm").combine_chunks()
    force = curves.column("force_n").combine_chunks()
    offsets = np.concatenate([[0], np.cumsum(np.asarray(curves.column("n_points")))]).astype(np.int64)
    results = reduce_curves(
        elongation.flatten().to_numpy(zero_copy_only=False),
        force.flatten().to_numpy(zero_copy_only=False),
        offsets,
        settings,
    )
    return pd.DataFrame(
        {
            "record_key": curves.column("record_key").to_pandas(),
            "record_digest": curves.column("record_digest").to_pandas(),
            "n_points": results.n_points,
            "usable": results.usable,
            "findings": _findings(results),
            "max_force_n": results.max_force_n,
            "elongation_at_max_mm": results.elongation_at_max_mm,
            "elongation_at_break_mm": results.elongation_at_break_mm,
            "energy_to_max_j": results.energy_to_max_j,
            "max_slope_n_mm": results.max_slope_n_mm,
            "slack_removed_mm": results.slack_removed_mm,
            "force_zero_n": results.force_zero_n,
            "bend_elongation_mm": results.bend_elongation_mm,
            "bend_force_n": results.bend_force_n,
        }
    )


def _findings(results: CurveResults) -> list[str | None]:
    flags = np.array([getattr(results, name) for name in FINDINGS])
    return [", ".join(np.array(FINDINGS)[column]) or None for column in flags.T]
