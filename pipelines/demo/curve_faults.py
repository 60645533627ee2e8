"""Faults of raw tensile curves: what the results do not show, and the curve does.

They stand in curves of pieces whose results are regular, but for one piece of which the tester itself was wrong.
"""

from collections.abc import Callable

import numpy as np
import pandas as pd

from pipelines.demo import curves
from pipelines.demo.bench import Bench
from pipelines.demo.exports import Export

LEFT_SLACK_MM = 0.35


def plant(bench: Bench) -> None:
    """Put the faults of raw curves among the exports."""
    rng = np.random.default_rng(1)
    faults: tuple[tuple[str, str, Callable[[pd.DataFrame], pd.DataFrame], str], ...] = (
        ("slip in the clamp", "clamp_slip", slipped, "The clamp let the piece go three times."),
        ("stopped early", "early_stop", stopped_early, "The record ends on the way up, before any break."),
        ("saturated load cell", "saturated", saturated, "The load cell could not show more."),
        ("elongation stepping back", "non_monotone_elongation", stepped_back, "The gauge slipped."),
    )
    pieces = bench.records("tensile-si", len(faults) + 1, sheet=1)
    for place, (name, finding, spoil, what) in enumerate(faults):
        curve = curves.points(pieces.iloc[[place]], rng)
        bench.plant(name, _export(bench, spoil(curve)), what, "curve_flag", rule=finding)
    _other_span(bench, curves.points(pieces.iloc[[-1]], rng))
    _slack_left_in(bench, rng)


def _export(bench: Bench, curve: pd.DataFrame) -> Export:
    return bench.export("tensile-curve-long", curve.drop(columns="tested_at_utc"))


def slipped(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve that three times falls back by some points and is gone through again from there."""
    back, count = 10, len(curve)
    slips = (np.array([0.25, 0.35, 0.45]) * count).astype(int)
    starts, ends = np.append(0, slips - back), np.append(slips, count)
    order = np.concatenate([np.arange(start, end) for start, end in zip(starts, ends, strict=True)])
    return curve.iloc[order].assign(elongation_mm=curves.STEP_MM * np.arange(len(order)))


def stopped_early(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve that ends on its way up."""
    return curve.iloc[: int(0.6 * len(curve))]


def saturated(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve of which the force above four fifths is cut off."""
    return curve.assign(force_n=curve["force_n"].clip(upper=0.8 * curve["force_n"].max()))


def stepped_back(curve: pd.DataFrame) -> pd.DataFrame:
    """Return a curve whose elongation jumps back half-way."""
    late = np.arange(len(curve)) >= len(curve) // 2
    return curve.assign(elongation_mm=curve["elongation_mm"] - 0.3 * late)


def _other_span(bench: Bench, curve: pd.DataFrame) -> None:
    export = _export(bench, curve.assign(span_mm=180.0))
    what = "The curve's heading has another span than the results."
    reason = "span: 180 mm with the curve, 100 mm with the result"
    bench.plant("wrong span", export, what, "curve_flag", reason=reason)


def _slack_left_in(bench: Bench, rng: np.random.Generator) -> None:
    """Plant a further piece of which the tester counted the slack as elongation."""
    piece = bench.records("tensile-si", 1, sheet=1)
    piece["specimen_no"] += 30
    piece["tested_at_utc"] += pd.Timedelta(minutes=80)
    curve = curves.points(piece, rng, LEFT_SLACK_MM)
    bench.export("tensile-si", piece.assign(elongation_mm=piece["elongation_mm"] + LEFT_SLACK_MM))
    what = "The tester counted the slack of the piece as elongation: its stretch is too high."
    reason = "mm not removed by the tester"
    bench.plant("slack left in", _export(bench, curve), what, "curve_flag", reason=reason)
