"""Simulate the demo laboratory: sheets formed, pressed, dried, conditioned and tested, with known true values.

One random generator draws every number, so the seed determines everything. The records have the columns of
schemas/records, in the models' units and in UTC; exports.py writes them as each tester would.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from pipelines.demo import curves, further_tests, rooms, truth
from pipelines.demo.timetable import LAST_DAY, ZONE
from pipelines.demo.truth import BETWEEN_SHEETS, FloatArray, Furnish, TrialPoint, unit_mean
from pipelines.physics import forming

CONTRACTION_COEFFICIENT = 0.95
DRUM_RADIUS_MM, FORMING_LENGTH_MM, FORMING_WIDTH_MM = 150.0, 900.0, 220.0
WIRE_SPEED_M_MIN = 1100.0
NOZZLE_ORIFICE_MM, SPRAY_ANGLE_DEG = 1.2, 20.0
CONSISTENCY_PCT = 0.30

PIECES_PER_DIRECTION, THICKNESS_READINGS, MOISTURE_PAIRS = 10, 10, 2
SHEETS_IN_PACK, PACK_READINGS, STACKED_EVERY = 5, 3, 4
STACK_TO_SINGLE_THICKNESS = 0.96

GRAMMAGE_CV, GRAMMAGE_CV_WITHIN = 0.010, 0.008
DENSITY_CV, THICKNESS_CV_WITHIN = 0.012, 0.015
MOISTURE_SD_PCT, MOISTURE_SD_WITHIN_PCT = 0.10, 0.05
"""Standard deviations from sheet to sheet and, WITHIN, from piece to piece of a sheet."""

SHEETS_PER_DAY, MINUTES_PER_SHEET = 24, 20


@dataclass(frozen=True)
class Simulation:
    """Records by kind, and the true values by trial point.

    ``profile_of_record`` gives the export profile of each record, for kinds where the tester does not determine it.
    """

    records: dict[str, pd.DataFrame]
    profile_of_record: dict[str, pd.Series]
    truth: tuple[TrialPoint, ...]


def simulate(sheets: int, seed: int) -> Simulation:
    """Simulate a number of sheets, spread evenly over the trial points.

    Raises ValueError when there are fewer sheets than trial points.
    """
    points = truth.trial_points()
    if sheets < len(points):
        raise ValueError(f"the demo laboratory has {len(points)} trial points and needs a sheet for each")
    rng = np.random.default_rng(seed)
    made = _sheets(points, sheets, rng)
    layers = _forming(made, points, rng)
    tank_fills = _tank_fills(layers)
    batches = {layer.furnish.name: layer.furnish for point in points for layer in point.layers}
    records = {
        "forming": layers,
        "furnish": _furnish(tank_fills, batches),
        "recipe": _recipe(points),
        "tank": _tank(tank_fills, rng),
        "pressing": _pressing(made),
        "drying": _drying(made),
        "conditioning": rooms.stays(made),
        "basis_weight": _basis_weight(made, rng),
        "moisture": _moisture(made, rng),
        "thickness": _thickness(made, rng),
        "tensile": _tensile(made, points, rng),
        "climate": rooms.climate(made["formed_at_utc"].min(), rng),
    }
    sheet_of_piece = np.repeat(np.arange(sheets), 2 * PIECES_PER_DIRECTION)
    records["tensile_curve"] = curves.exported(records["tensile"], sheet_of_piece, rng)
    records["further"] = further_tests.readings(made, points, seed)
    records["stock"] = further_tests.stock(records["furnish"], batches, seed)
    profile_of_record = {
        "conditioning": records["conditioning"]["room"].map(rooms.CONDITIONING_PROFILES),
        "climate": records["climate"]["room"].map(rooms.CLIMATE_PROFILES),
        "tensile_curve": records["tensile_curve"].pop("profile"),
    }
    return Simulation(records, profile_of_record, points)


def _sheets(points: tuple[TrialPoint, ...], count: int, rng: np.random.Generator) -> pd.DataFrame:
    """Return one row per sheet: its trial point, its true properties, its times of forming and testing (UTC)."""
    point = np.arange(count) * len(points) // count
    series = np.array([p.series for p in points])[point]
    number = pd.Series(series).groupby(series).cumcount().to_numpy() + 1
    day, slot = np.divmod(np.arange(count), SHEETS_PER_DAY)
    minutes = (slot * MINUTES_PER_SHEET).astype("timedelta64[m]")

    def of_point(name: str) -> FloatArray:
        return np.array([getattr(p, name) for p in points])[point]

    moisture_pct = of_point("moisture_pct") + rng.normal(0, MOISTURE_SD_PCT, count)
    oven_dry = of_point("grammage_oven_dry_g_m2") * _factors(rng, GRAMMAGE_CV, count)
    formed_on = np.busday_offset(LAST_DAY, day - day[-1])
    tested_on = np.busday_offset(formed_on, 1)
    grammage = oven_dry / (1 - moisture_pct / 100)
    density = of_point("apparent_density_kg_m3") * _factors(rng, DENSITY_CV, count)
    return pd.DataFrame(
        {
            "sheet_id": [f"{prefix}-{n:03d}" for prefix, n in zip(series, number, strict=True)],
            "point": point,
            "is_si": np.arange(count) % 2 == 0,
            "moisture_pct": moisture_pct,
            "grammage_g_m2": grammage,
            "thickness_um": 1000 * grammage / density,
            "formed_at_utc": _utc(formed_on, 8) + minutes,
            "tested_at_utc": _utc(tested_on, 9) + minutes,
        }
    )


def _forming(made: pd.DataFrame, points: tuple[TrialPoint, ...], rng: np.random.Generator) -> pd.DataFrame:
    rows = [
        (number, point.trial, point.trial_point, layer_no, layer)
        for number, point in enumerate(points[index] for index in made["point"])
        for layer_no, layer in enumerate(point.layers, start=1)
    ]
    sheet, trial, trial_point, layer_no, layer = (list(column) for column in zip(*rows, strict=True))
    count = len(rows)
    ratio = np.array([each.jet_to_wire_ratio for each in layer])
    share = np.array([each.share for each in layer])
    return pd.DataFrame(
        {
            "sheet_id": made["sheet_id"].to_numpy()[sheet],
            "trial": trial,
            "trial_point": trial_point,
            "layer_no": layer_no,
            "formed_at_utc": made["formed_at_utc"].to_numpy()[sheet]
            + 4 * (np.array(layer_no) - 1).astype("timedelta64[m]"),
            "tank": [each.furnish.tank for each in layer],
            "furnish": [each.furnish.name for each in layer],
            "consistency_pct": CONSISTENCY_PCT,
            "stock_volume_l": _stock_volume_l(share),
            "flow_rate_l_min": _flow_rate_l_min(ratio) * _factors(rng, 0.003, count),
            "wire_speed_m_min": WIRE_SPEED_M_MIN * _factors(rng, 0.001, count),
            "nozzle_orifice_mm": NOZZLE_ORIFICE_MM,
            "nozzle_count": 1,
            "spray_angle_deg": SPRAY_ANGLE_DEG,
            "sweeps": np.round(100 * share).astype(int),
            "water_wall_l": np.where(np.array(layer_no) == 1, 2.0, np.nan),
            "dewatering_time_s": 30.0,
            "compaction_speed_m_min": 1250.0,
            "fabric": "plain weave 80",
            "recipe": [f"{a}: {b}" for a, b in zip(trial, trial_point, strict=True)],
            "recipe_version": "1",
            "target_grammage_g_m2": truth.TARGET_GRAMMAGE_G_M2,
            "operator": "TN",
        }
    )


def _tank_fills(layers: pd.DataFrame) -> pd.DataFrame:
    """Return one row per tank, batch and day: times of the first and last layer, volume of stock used."""
    return (
        layers.assign(day=layers["formed_at_utc"].dt.date)
        .groupby(["tank", "furnish", "day"], sort=False)
        .agg(
            first=("formed_at_utc", "min"),
            last=("formed_at_utc", "max"),
            drawn_l=("stock_volume_l", "sum"),
        )
        .reset_index()
    )


def _furnish(tank_fills: pd.DataFrame, batches: dict[str, Furnish]) -> pd.DataFrame:
    prepared = tank_fills.groupby("furnish", sort=False)["first"].min() - pd.Timedelta(hours=1)
    rows = []
    for name, prepared_at in prepared.items():
        batch = batches[str(name)]
        pulps = {"bleached softwood": batch.softwood_pct, "bleached hardwood": 100 - batch.softwood_pct}
        for component, share in pulps.items():
            if share > 0:
                rows.append(
                    {
                        "furnish": name,
                        "component": component,
                        "share_pct": share,
                        "refining_energy_kwh_t": batch.refining_energy_kwh_t,
                        "schopper_riegler_sr": batch.schopper_riegler_sr,
                        "prepared_at_utc": prepared_at,
                    }
                )
        rows.append(
            {"furnish": name, "component": "starch", "dose_kg_t": 5.0, "prepared_at_utc": prepared_at}
        )
    return pd.DataFrame(rows)


def _recipe(points: tuple[TrialPoint, ...]) -> pd.DataFrame:
    one_layer = np.array([len(point.layers) == 1 for point in points])
    ratio = np.array([point.layers[0].jet_to_wire_ratio for point in points])
    return pd.DataFrame(
        {
            "recipe": [f"{point.trial}: {point.trial_point}" for point in points],
            "recipe_version": "1",
            "wire_speed_m_min": WIRE_SPEED_M_MIN,
            "flow_rate_l_min": _flow_rate_l_min(ratio),
            "jet_to_wire_ratio": ratio,
            "stock_volume_l": np.where(one_layer, _stock_volume_l(np.ones(len(points))), np.nan),
            "nozzle_orifice_mm": NOZZLE_ORIFICE_MM,
            "dewatering_time_s": 30.0,
            "compaction_speed_m_min": 1250.0,
            "target_grammage_g_m2": truth.TARGET_GRAMMAGE_G_M2,
        }
    )


def _tank(tank_fills: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return the events of each tank fill: filled, consistency checked, drained, cleaned."""

    def events(event: str, at: pd.Series, **values: object) -> pd.DataFrame:
        return pd.DataFrame({"tank": tank_fills["tank"], "event": event, "happened_at_utc": at, **values})

    minute = pd.Timedelta(minutes=1)
    count = len(tank_fills)
    return (
        pd.concat(
            [
                events(
                    "filled",
                    tank_fills["first"] - 4 * minute,
                    furnish=tank_fills["furnish"],
                    volume_l=np.ceil(1.1 * tank_fills["drawn_l"] + 5),
                    consistency_pct=CONSISTENCY_PCT,
                    temperature_c=23 + rng.normal(0, 0.5, count),
                    ph=7.5 + rng.normal(0, 0.1, count),
                ),
                events(
                    "consistency_checked",
                    tank_fills["first"] - 2 * minute,
                    furnish=tank_fills["furnish"],
                    consistency_pct=CONSISTENCY_PCT * _factors(rng, 0.005, count),
                ),
                events("drained", tank_fills["last"] + 5 * minute),
                events("cleaned", tank_fills["last"] + 6 * minute),
            ]
        )
        .sort_values(["happened_at_utc", "tank"], kind="stable")
        .reset_index(drop=True)
    )


def _pressing(made: pd.DataFrame) -> pd.DataFrame:
    passes = _repeated(made, 2)
    return pd.DataFrame(
        {
            "sheet_id": passes["sheet_id"],
            "pass_no": passes["of_sheet"] + 1,
            "speed_m_min": 2.0,
            "line_load_kn_m": np.where(passes["of_sheet"] == 0, 8.0, 16.0),
            "felts": "two blotters",
            "pressed_at_utc": passes["formed_at_utc"] + _minutes(18 + passes["of_sheet"]),
        }
    )


def _drying(made: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "sheet_id": made["sheet_id"],
            "step_no": 1,
            "method": "cylinder",
            "temperature_c": 95.0,
            "drying_time_s": 420.0,
            "restraint": "full",
            "dried_at_utc": made["formed_at_utc"] + pd.Timedelta(minutes=21),
        }
    )


def _basis_weight(made: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return three to five weighed pieces per sheet, with mass and sides or with the grammage."""
    pieces = _repeated(made, rng.integers(3, 6, len(made)))
    is_si = pieces["is_si"].to_numpy()
    side_mm = 100.0
    grammage = pieces["grammage_g_m2"].to_numpy() * _factors(rng, GRAMMAGE_CV_WITHIN, len(pieces))
    return pd.DataFrame(
        {
            "tester": np.where(is_si, "balance-si", "balance-us"),
            "sheet_id": pieces["sheet_id"],
            "specimen_no": pieces["of_sheet"] + 1,
            "state": "conditioned",
            "mass_g": np.where(is_si, grammage * side_mm**2 / 1e6, np.nan),
            "length_mm": np.where(is_si, side_mm, np.nan),
            "width_mm": np.where(is_si, side_mm, np.nan),
            "grammage_g_m2": np.where(is_si, np.nan, grammage),
            "tested_at_utc": pieces["tested_at_utc"] + _minutes(pieces["of_sheet"]),
            "operator": _operator(is_si),
        }
    )


def _moisture(made: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    pairs = _repeated(made, MOISTURE_PAIRS)
    before_g = rng.uniform(1.8, 2.2, len(pairs))
    moisture_pct = pairs["moisture_pct"] + rng.normal(0, MOISTURE_SD_WITHIN_PCT, len(pairs))
    return pd.DataFrame(
        {
            "tester": "oven",
            "sheet_id": pairs["sheet_id"],
            "specimen_no": pairs["of_sheet"] + 1,
            "mass_before_g": before_g,
            "mass_after_g": before_g * (1 - moisture_pct / 100),
            "tested_at_utc": pairs["tested_at_utc"] + _minutes(30),
            "operator": "KL",
        }
    )


def _thickness(made: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return ten single readings per sheet, and for some sheets readings in packs, which are slightly lower."""
    stacked = (np.arange(len(made)) % STACKED_EVERY) < 2
    readings = _repeated(made, THICKNESS_READINGS + PACK_READINGS * stacked)
    in_pack = readings["of_sheet"].to_numpy() >= THICKNESS_READINGS
    is_si = readings["is_si"].to_numpy()
    thickness = readings["thickness_um"].to_numpy() * _factors(rng, THICKNESS_CV_WITHIN, len(readings))
    return pd.DataFrame(
        {
            "tester": np.where(is_si, "thickness-si", "thickness-us"),
            "sheet_id": readings["sheet_id"],
            "position_no": readings["of_sheet"] - THICKNESS_READINGS * in_pack + 1,
            "thickness_um": thickness * np.where(in_pack, SHEETS_IN_PACK * STACK_TO_SINGLE_THICKNESS, 1.0),
            "sheets_in_pack": np.where(in_pack, SHEETS_IN_PACK, 1),
            "pressure_kpa": 100.0,
            "tested_at_utc": readings["tested_at_utc"] + _seconds(10 * readings["of_sheet"]),
            "operator": _operator(is_si),
        }
    )


def _tensile(made: pd.DataFrame, points: tuple[TrialPoint, ...], rng: np.random.Generator) -> pd.DataFrame:
    """Return ten pieces per direction: strength, stretch and stiffness with scatter, energy from the curve's shape."""
    pieces = _repeated(made, 2 * PIECES_PER_DIRECTION)
    is_cd = pieces["of_sheet"].to_numpy() >= PIECES_PER_DIRECTION
    is_si = pieces["is_si"].to_numpy()
    means = np.array([(point.md.as_array(), point.cd.as_array()) for point in points])
    between_sd = np.array(list(BETWEEN_SHEETS.values()))
    between = rng.normal(0, between_sd, (len(made), 2, 3))[pieces["sheet"], is_cd.astype(int)]
    covariance = truth.within_sheet_log_covariance()
    within = rng.multivariate_normal(np.zeros(3), covariance, len(pieces))
    scatter = unit_mean(between + within, between_sd**2 + np.diag(covariance))
    index, stretch_pct, stiffness_index = (means[pieces["point"], is_cd.astype(int)] * scatter).T

    grammage = pieces["grammage_g_m2"].to_numpy()
    width_mm, span_mm = np.where(is_si, 15.0, 25.4), np.where(is_si, 100.0, 101.6)
    force_n = index * grammage * width_mm / 1000
    elongation_mm = stretch_pct / 100 * span_mm
    stiffness_kn_m = stiffness_index * grammage
    share = truth.curve_shape(index, stretch_pct, stiffness_index)
    return pd.DataFrame(
        {
            "tester": np.where(is_si, "tensile-si", "tensile-us"),
            "sheet_id": pieces["sheet_id"],
            "direction": np.where(is_cd, "CD", "MD"),
            "specimen_no": pieces["of_sheet"] % PIECES_PER_DIRECTION + 1,
            "width_mm": width_mm,
            "span_mm": span_mm,
            "rate_mm_min": span_mm,
            "max_force_n": force_n,
            "elongation_mm": elongation_mm,
            "energy_j": share * force_n * elongation_mm / 1000,
            "max_slope_n_mm": np.where(is_si, stiffness_kn_m * width_mm / span_mm, np.nan),
            "tensile_stiffness_kn_m": np.where(is_si, np.nan, stiffness_kn_m),
            "break_position_mm": np.where(is_si, rng.uniform(12, 50, len(pieces)), np.nan),
            "remark": "normal",
            "tested_at_utc": pieces["tested_at_utc"] + _minutes(pieces["of_sheet"]),
            "operator": _operator(is_si),
        }
    )


def _repeated(made: pd.DataFrame, times: int | npt.NDArray[np.int64]) -> pd.DataFrame:
    """Return each sheet's row repeated; ``sheet`` is its number, ``of_sheet`` counts the repetitions from 0."""
    sheet = np.repeat(np.arange(len(made)), times)
    repeated = made.iloc[sheet].reset_index(drop=True).assign(sheet=sheet)
    return repeated.assign(of_sheet=repeated.groupby("sheet").cumcount())


def _factors(rng: np.random.Generator, relative_sd: float, count: int) -> FloatArray:
    return unit_mean(rng.normal(0, relative_sd, count), relative_sd**2)


def _stock_volume_l(share: FloatArray) -> FloatArray:
    area_m2 = FORMING_LENGTH_MM * FORMING_WIDTH_MM / 1e6
    grammage = share * truth.TARGET_GRAMMAGE_G_M2
    return forming.stock_volume_for_grammage_l(grammage, area_m2, CONSISTENCY_PCT, truth.PLANNED_RETENTION)


def _flow_rate_l_min(ratio: FloatArray) -> FloatArray:
    jet_m_min = forming.jet_speed_for_ratio_m_min(ratio, WIRE_SPEED_M_MIN, SPRAY_ANGLE_DEG)
    return forming.flow_rate_for_jet_speed_l_min(jet_m_min, NOZZLE_ORIFICE_MM, 1, CONTRACTION_COEFFICIENT)


def _operator(is_si: npt.NDArray[np.bool_]) -> npt.NDArray[np.str_]:
    return np.where(is_si, "KL", "MR")


def _utc(days: npt.NDArray[np.datetime64], local_hour: int) -> pd.DatetimeIndex:
    local = pd.DatetimeIndex(days.astype("datetime64[us]") + np.timedelta64(local_hour, "h"))
    return local.tz_localize(ZONE).tz_convert("UTC").tz_localize(None)


def _minutes(count: int | pd.Series) -> pd.Timedelta | pd.Series:
    return pd.to_timedelta(count, unit="min")


def _seconds(count: pd.Series) -> pd.Series:
    return pd.to_timedelta(count, unit="s")
