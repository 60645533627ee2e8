"""Simulate the demo laboratory's further tests: tear, burst, bending stiffness and short-span compression.

They have a random generator of their own, so that the numbers of the other tests do not depend on them.
"""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from pipelines.demo import truth
from pipelines.demo.truth import FloatArray, Furnish, TrialPoint, unit_mean

TEAR_READINGS, BURST_READINGS, BENDING_READINGS, COMPRESSION_READINGS = 4, 5, 5, 5
LEVER_MM, ANGLE_DEG, BENT_WIDTH_MM, COMPRESSED_WIDTH_MM = 10.0, 15.0, 38.0, 15.0
MINUTES_AFTER_TENSILE = 45


def readings(made: pd.DataFrame, points: tuple[TrialPoint, ...], seed: int) -> pd.DataFrame:
    """Return the readings of all sheets, in the order in which they are tested, for ``made`` of the simulator."""
    rng = np.random.default_rng([seed, 6])
    number = {
        ("strength-1", "tear"): TEAR_READINGS,
        ("strength-1", "burst"): BURST_READINGS,
        ("stiffness-1", "bending_stiffness"): BENDING_READINGS,
        ("stiffness-1", "short_span_compression"): COMPRESSION_READINGS,
    }
    parts = [_of_property(made, points, tester, name, count, rng) for (tester, name), count in number.items()]
    return pd.concat(parts).sort_values(["sheet", "order"], kind="stable").drop(columns=["sheet", "order"])


def stock(components: pd.DataFrame, batches: dict[str, Furnish], seed: int) -> pd.DataFrame:
    """Return two readings of each test of every furnish, for the furnish log of the simulator."""
    rng = np.random.default_rng([seed, 7])
    prepared = components.groupby("furnish", sort=False)["prepared_at_utc"].min()
    rows = []
    for name, at in prepared.items():
        softwood = batches[str(name)].softwood_pct / 100
        true = {
            "schopper_riegler": ("{SR}", batches[str(name)].schopper_riegler_sr, None),
            "fibre_length": ("mm", 0.75 + 1.35 * softwood, "length-weighted"),
            "water_retention": ("g/g", 1.3 + 0.005 * batches[str(name)].refining_energy_kwh_t, None),
        }
        for minute, (quantity, (unit, value, method)) in enumerate(true.items()):
            for reading in (1, 2):
                rows.append(
                    {
                        "tester": "stock-lab",
                        "furnish": name,
                        "property": quantity,
                        "specimen_no": reading,
                        "value": value * rng.normal(1, 0.015),
                        "unit": unit,
                        "method": method,
                        "tested_at_utc": at + pd.Timedelta(minutes=5 + 10 * minute + reading),
                        "operator": "KL",
                    }
                )
    return pd.DataFrame(rows)


def _of_property(
    made: pd.DataFrame,
    points: tuple[TrialPoint, ...],
    tester: str,
    name: str,
    count: int,
    rng: np.random.Generator,
) -> pd.DataFrame:
    return pd.concat(
        _of_direction(made, index, tester, name, count * place, count, rng).assign(direction=direction)
        for place, (direction, index) in enumerate(_true_indices(points, name))
    )


def _true_indices(points: tuple[TrialPoint, ...], name: str) -> Iterator[tuple[str | None, FloatArray]]:
    """Yield each direction of a property with the true index of every trial point."""
    true = [point.further() for point in points]
    for direction in ("MD", "CD", None):
        if (f"{name}_index", direction) in true[0]:
            yield direction, np.array([of_point[f"{name}_index", direction] for of_point in true])


def _of_direction(
    made: pd.DataFrame,
    index: FloatArray,
    tester: str,
    name: str,
    first: int,
    count: int,
    rng: np.random.Generator,
) -> pd.DataFrame:
    sheet = np.repeat(np.arange(len(made)), count)
    of_sheet = np.tile(np.arange(count), len(made))
    between, within = truth.FURTHER_BETWEEN_SHEETS, truth.FURTHER_WITHIN_SHEET[name]
    scatter = rng.normal(0, between, len(made))[sheet] + rng.normal(0, within, len(sheet))
    grammage = made["grammage_g_m2"].to_numpy()[sheet]
    power, factor = (3, 1e-6) if name == "bending_stiffness" else (1, 1.0)
    factor = 1e-3 if name == "short_span_compression" else factor
    value = (
        index[made["point"].to_numpy()][sheet]
        * unit_mean(scatter, between**2 + within**2)
        * factor
        * grammage**power
    )
    minutes = MINUTES_AFTER_TENSILE + (first + of_sheet) // 2
    return pd.DataFrame(
        {
            "sheet": sheet,
            "order": first + of_sheet,
            "tester": tester,
            "sheet_id": made["sheet_id"].to_numpy()[sheet],
            "property": name,
            "specimen_no": of_sheet + 1,
            **_as_measured(name, value),
            "side": np.where(of_sheet % 2 == 0, "top", "wire") if name == "burst" else None,
            "tested_at_utc": made["tested_at_utc"].to_numpy()[sheet] + minutes.astype("timedelta64[m]"),
            "operator": "MR",
        }
    )


def _as_measured(name: str, value: FloatArray) -> dict[str, object]:
    """Return what the tester exports: the value and its unit, or the raw quantities that give it."""
    if name == "bending_stiffness":
        force = value * np.pi * ANGLE_DEG * BENT_WIDTH_MM / (60 * LEVER_MM**2)
        return {"force_n": force, "length_mm": LEVER_MM, "angle_deg": ANGLE_DEG, "width_mm": BENT_WIDTH_MM}
    if name == "short_span_compression":
        return {"force_n": value * COMPRESSED_WIDTH_MM, "width_mm": COMPRESSED_WIDTH_MM}
    return {"value": value, "unit": {"tear": "mN", "burst": "kPa"}[name]}
