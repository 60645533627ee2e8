"""Faults of raw tensile curves, which the curve shows and the tester's results do not.

The results of these pieces are regular, except for one piece with a wrong result of the tester.
"""

from collections.abc import Callable

import numpy as np
import pandas as pd

from pipelines.demo import curves
from pipelines.demo.exports import Export
from pipelines.demo.fault_writer import FaultWriter

LEFT_SLACK_MM = 0.35


def plant(writer: FaultWriter) -> None:
    """Add the faults of raw curves to the exports."""
    rng = np.random.default_rng(1)
    faults: tuple[tuple[str, str, Callable[[pd.DataFrame], pd.DataFrame], str], ...] = (
        ("slip in the clamp", "clamp_slip", slipped, "The piece slipped in the clamp three times."),
        ("stopped early", "early_stop", stopped_early, "The record ends before the break."),
        ("saturated load cell", "saturated", saturated, "The force exceeded the range of the load cell."),
        ("elongation stepping back", "non_monotone_elongation", stepped_back, "The gauge slipped."),
    )
    pieces = writer.records("tensile-si", len(faults) + 1, sheet=1)
    for place, (name, finding, damage, what) in enumerate(faults):
        curve = curves.points(pieces.iloc[[place]], rng)
        writer.plant(name, _export(writer, damage(curve)), what, "curve_flag", rule=finding)
    _other_span(writer, curves.points(pieces.iloc[[-1]], rng))
    _slack_not_removed(writer, rng)


def _export(writer: FaultWriter, curve: pd.DataFrame) -> Export:
    return writer.export("tensile-curve-long", curve.drop(columns="tested_at_utc"))


def slipped(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve that slips three times: each time it repeats some points."""
    back, count = 10, len(curve)
    slips = (np.array([0.25, 0.35, 0.45]) * count).astype(int)
    starts, ends = np.append(0, slips - back), np.append(slips, count)
    order = np.concatenate([np.arange(start, end) for start, end in zip(starts, ends, strict=True)])
    return curve.iloc[order].assign(elongation_mm=curves.STEP_MM * np.arange(len(order)))


def stopped_early(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve that ends before its maximum."""
    return curve.iloc[: int(0.6 * len(curve))]


def saturated(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve with the force clipped at 80 % of its maximum."""
    return curve.assign(force_n=curve["force_n"].clip(upper=0.8 * curve["force_n"].max()))


def stepped_back(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve whose elongation jumps back halfway."""
    late = np.arange(len(curve)) >= len(curve) // 2
    return curve.assign(elongation_mm=curve["elongation_mm"] - 0.3 * late)


def _other_span(writer: FaultWriter, curve: pd.DataFrame) -> None:
    export = _export(writer, curve.assign(span_mm=180.0))
    what = "The curve's file gives another span than the results."
    reason = "span: 180 mm with the curve, 100 mm with the result"
    writer.plant("wrong span", export, what, "curve_flag", reason=reason)


def _slack_not_removed(writer: FaultWriter, rng: np.random.Generator) -> None:
    """Plant a piece whose tester counted the slack as elongation."""
    piece = writer.records("tensile-si", 1, sheet=1)
    piece["specimen_no"] += 30
    piece["tested_at_utc"] += pd.Timedelta(minutes=80)
    curve = curves.points(piece, rng, LEFT_SLACK_MM)
    writer.export("tensile-si", piece.assign(elongation_mm=piece["elongation_mm"] + LEFT_SLACK_MM))
    what = "The tester counted the slack of the piece as elongation: its stretch is too high."
    reason = "mm not removed by the tester"
    writer.plant("slack left in", _export(writer, curve), what, "curve_flag", reason=reason)
