"""Force-elongation curves of the demo laboratory's test pieces, sampled by crosshead position.

A piece is clamped with some slack, follows force = a tanh(k elongation) up to its break, and then loses its force.
The curve has exactly the strength, stretch and stiffness that the tester reports.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from pipelines.demo import truth

STEP_MM = 0.016
"""Elongation between two points: 100 mm/min, sampled about a hundred times a second."""

MINIMUM_SLACK_MM = 0.1
FORCE_NOISE_N = 0.002
AFTER_BREAK = np.array([0.55, 0.12, 0.02, 0.0])
"""Fraction of the force at the points after the break."""

PIECES_PER_DIRECTION = {"tensile-curve-long": 4, "tensile-curve-wide": 4, "tensile-curve-piece": 2}
SHEET_OF_TEN = {0: "tensile-curve-long", 4: "tensile-curve-wide", 5: "tensile-curve-piece"}
"""Sheets, of each ten, whose curves are exported, with the profile of the export."""

_PIECE = ["tester", "sheet_id", "direction", "specimen_no", "tested_at_utc", "width_mm", "span_mm", "profile"]


def exported(tensile: pd.DataFrame, sheet: npt.NDArray[np.int64], rng: np.random.Generator) -> pd.DataFrame:
    """Return the points of the exported curves, with the ``profile`` of each export.

    ``tensile`` are the tensile records, ``sheet`` the number of the sheet of each record.
    """
    profile = pd.Series(sheet % 10, index=tensile.index).map(SHEET_OF_TEN)
    chosen = tensile["specimen_no"] <= profile.map(PIECES_PER_DIRECTION)
    found = points(tensile.assign(profile=profile)[chosen], rng)
    # Only the export of single pieces gives strain instead of elongation, and the time of the test.
    single = found["profile"] == "tensile-curve-piece"
    return found.assign(
        strain_pct=(100 * found["elongation_mm"] / found["span_mm"]).where(single),
        elongation_mm=found["elongation_mm"].mask(single),
        tested_at_utc=found["tested_at_utc"].where(single),
    )


def points(
    pieces: pd.DataFrame, rng: np.random.Generator, minimum_slack_mm: float = MINIMUM_SLACK_MM
) -> pd.DataFrame:
    """Return the points of the curves of tensile records, piece by piece.

    Slack is increased so that the break falls on a point. Raises ValueError when a curve would not be concave.
    """
    force_n = pieces["max_force_n"].to_numpy()
    elongation_mm = pieces["elongation_mm"].to_numpy()
    stiffness = pieces["tensile_stiffness_kn_m"] * pieces["width_mm"] / pieces["span_mm"]
    slope_n_mm = pieces["max_slope_n_mm"].fillna(stiffness).to_numpy()
    x = truth.curve_parameter(elongation_mm * slope_n_mm / force_n)

    break_at = np.ceil((elongation_mm + minimum_slack_mm) / STEP_MM).astype(np.int64)
    slack_mm = break_at * STEP_MM - elongation_mm
    count = break_at + 1 + len(AFTER_BREAK)
    piece = np.repeat(np.arange(len(pieces)), count)
    point = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    fraction = np.maximum(point * STEP_MM - slack_mm[piece], 0) / elongation_mm[piece]
    force = force_n[piece] * np.tanh(x[piece] * fraction) / np.tanh(x[piece])
    after_break = point - break_at[piece]
    force = np.where(after_break > 0, force_n[piece] * AFTER_BREAK[np.maximum(after_break - 1, 0)], force)
    return (
        pieces.filter(items=_PIECE)
        .iloc[piece]
        .reset_index(drop=True)
        .assign(elongation_mm=point * STEP_MM, force_n=force + rng.normal(0, FORCE_NOISE_N, len(force)))
    )
