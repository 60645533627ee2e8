"""Fit MD/CD against the jet-to-wire ratio for every trial and property, in each run; SQL cannot do this."""

from collections.abc import Mapping
from typing import Any

import duckdb
import numpy as np
import pyarrow as pa

from pipelines.physics.response import CURVE_POINTS, Responses, fit_responses, reasons
from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import create_table
from schemas.marts.jet_to_wire_response import JetToWireResponse
from schemas.marts.jet_to_wire_response_curve import JetToWireResponseCurve


def fit_jet_to_wire(connection: duckdb.DuckDBPyConnection) -> None:
    """Rebuild main.jet_to_wire_response and main.jet_to_wire_response_curve from the marts of sheets and layers."""
    trials = connection.execute(statement("fitted/jet_to_wire_response")).to_arrow_table()
    lists = trials.column("sheets").combine_chunks()
    sheets = lists.flatten()
    found = fit_responses(
        sheets.field("jet_to_wire_ratio").to_numpy(),
        sheets.field("md_cd_ratio").to_numpy(),
        sheets.field("trial_point_no").to_numpy(),
        group=np.repeat(np.arange(trials.num_rows), lists.value_lengths()),
        n_groups=trials.num_rows,
    )
    for mart, model, rows in (
        ("jet_to_wire_response", JetToWireResponse, _responses(trials, found)),
        ("jet_to_wire_response_curve", JetToWireResponseCurve, _curves(trials, found)),
    ):
        create_table(connection, f"main.{mart}", model)
        connection.register("rows", rows)
        connection.execute(f"INSERT INTO main.{mart} BY NAME SELECT * FROM rows")
        connection.unregister("rows")


def _responses(trials: pa.Table, found: Responses) -> pa.Table:
    columns = {
        "n_sheets": found.n_sheets,
        "n_trial_points": found.n_trial_points,
        "n_ratios": found.n_ratios,
        "lowest_jet_to_wire_ratio": found.lowest,
        "highest_jet_to_wire_ratio": found.highest,
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
        "outcome": found.outcome,
        "reason": reasons(found),
    }
    return _with(trials.select(["trial", "property", "furnishes"]), columns)


def _curves(trials: pa.Table, found: Responses) -> pa.Table:
    fitted = np.flatnonzero(found.outcome != "not_fitted")
    columns = {
        "jet_to_wire_ratio": found.curve_ratio[fitted].ravel(),
        "md_cd_ratio": found.curve[fitted].ravel(),
        "band_low": found.curve_low[fitted].ravel(),
        "band_high": found.curve_high[fitted].ravel(),
    }
    return _with(trials.select(["trial", "property"]).take(np.repeat(fitted, CURVE_POINTS)), columns)


def _with(table: pa.Table, columns: Mapping[str, Any]) -> pa.Table:
    """Return a table with further columns, given as arrays or lists; NaN in them becomes missing."""
    for name, values in columns.items():
        table = table.append_column(name, pa.array(values, from_pandas=True))
    return table
