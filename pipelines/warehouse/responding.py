"""Fitting what SQL cannot: how MD/CD answers to the jet-to-wire ratio, once a night for every trial and property."""

from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa

from pipelines.physics.response import Responses, fit_responses, reasons
from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import create_table
from schemas.marts.jet_to_wire_response import JetToWireResponse
from schemas.marts.jet_to_wire_response_curve import JetToWireResponseCurve


def respond(connection: duckdb.DuckDBPyConnection) -> None:
    """Rebuild main.jet_to_wire_response and main.jet_to_wire_response_curve from the marts of sheets and layers."""
    trials = connection.execute(statement("fitted/jet_to_wire_response")).to_arrow_table()
    n_sheets = np.array([len(sheets) for sheets in trials.column("md_cd_ratio").to_pylist()], np.int64)
    found = fit_responses(
        _of_sheets(trials, "jet_to_wire_ratio"),
        _of_sheets(trials, "md_cd_ratio"),
        _of_sheets(trials, "trial_point_no"),
        group=np.repeat(np.arange(trials.num_rows), n_sheets),
        n_groups=trials.num_rows,
    )
    named = trials.select(["trial", "property", "furnishes"]).to_pandas()
    for mart, model, rows in (
        ("jet_to_wire_response", JetToWireResponse, _responses(named, found)),
        ("jet_to_wire_response_curve", JetToWireResponseCurve, _curves(named, found)),
    ):
        create_table(connection, f"main.{mart}", model)
        connection.register("rows", rows)
        connection.execute(f"INSERT INTO main.{mart} BY NAME SELECT * FROM rows")
        connection.unregister("rows")


def _of_sheets(trials: pa.Table, name: str) -> npt.NDArray[Any]:
    """Return the elements of a column of lists, one trial after the other."""
    elements: npt.NDArray[Any] = trials.column(name).combine_chunks().flatten().to_numpy(zero_copy_only=False)
    return elements


def _responses(named: pd.DataFrame, found: Responses) -> pd.DataFrame:
    return named.assign(
        n_sheets=found.n_sheets,
        n_trial_points=found.n_trial_points,
        n_ratios=found.n_ratios,
        lowest_jet_to_wire_ratio=found.lowest,
        highest_jet_to_wire_ratio=found.highest,
        center_jet_to_wire_ratio=found.center,
        intercept=found.intercept,
        linear_coefficient=found.linear,
        quadratic_coefficient=found.quadratic,
        residual_s=found.residual_s,
        minimum_jet_to_wire_ratio=found.minimum,
        minimum_jet_to_wire_ratio_low=found.minimum_low,
        minimum_jet_to_wire_ratio_high=found.minimum_high,
        md_cd_ratio_at_minimum=found.at_minimum,
        md_cd_ratio_at_minimum_low=found.at_minimum_low,
        md_cd_ratio_at_minimum_high=found.at_minimum_high,
        lack_of_fit_p=found.lack_of_fit_p,
        outcome=found.outcome.astype(object),
        reason=pd.Series(reasons(found), dtype=object),
    )


def _curves(named: pd.DataFrame, found: Responses) -> pd.DataFrame:
    fitted = np.flatnonzero(found.outcome != "not_fitted")
    rows = named[["trial", "property"]].iloc[np.repeat(fitted, found.curve.shape[1])]
    return rows.assign(
        jet_to_wire_ratio=found.curve_ratio[fitted].ravel(),
        md_cd_ratio=found.curve[fitted].ravel(),
        band_low=found.curve_low[fitted].ravel(),
        band_high=found.curve_high[fitted].ravel(),
    )
