"""Trial point: mean conditions and properties of every trial point, in one wide table."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.marts import shared


class TrialPoint(pa.DataFrameModel):
    """One row per trial point: means over its sheets and the spread between them."""

    trial: str = columns.trial
    trial_point: str = columns.trial_point
    n_sheets: Integer = column("Number of sheets formed.", unit="1")
    first_formed_at_utc: Timestamp = column(
        "Time at which the first sheet was formed, in UTC.", unit="UTC", nullable=True
    )
    last_formed_at_utc: Timestamp = column(
        "Time at which the last sheet was formed, in UTC.", unit="UTC", nullable=True
    )
    n_layers: float = column("Mean number of layers.", unit="1")
    target_grammage_g_m2: float = column("Mean target grammage.", unit="g/m2", nullable=True)
    wire_speed_m_min: float = column("Mean wire speed.", unit="m/min", nullable=True)
    jet_speed_m_min: float = column("Mean jet speed.", unit="m/min", nullable=True)
    jet_to_wire_ratio: float = column("Mean jet-to-wire ratio of the sheets.", unit="1", nullable=True)
    consistency_pct: float = column("Mean consistency.", unit="%", nullable=True)
    stock_volume_l: float = column("Mean stock volume of a sheet.", unit="L", nullable=True)
    oven_dry_mass_g: float = column("Mean oven-dry mass sprayed for a sheet.", unit="g", nullable=True)
    predicted_grammage_g_m2: float = column(
        "Mean oven-dry grammage of sheets that keep all sprayed fibre on the forming area.",
        unit="g/m2",
        nullable=True,
    )
    n_sheets_with_carry_over: Integer = column(
        "Number of sheets with a layer from a tank that carried another furnish over; missing without a tank "
        "log.",
        unit="1",
        nullable=True,
    )
    furnishes: str = column(
        "Furnishes of the sheets, separated by semicolons where they differ; missing where a sheet's are.",
        nullable=True,
    )
    refining_energy_kwh_t: float = column(
        "Mean net refining energy of the sheets; missing where a sheet's is.", unit="kW.h/t", nullable=True
    )
    schopper_riegler_sr: float = column(
        "Mean Schopper-Riegler value of the sheets; missing where a sheet's is. Drainability does not blend linearly: "
        "the mean is an index of the blend.",
        unit="{SR}",
        source="ISO 5267-1 (from memory); the weighting: common practice, no source",
        nullable=True,
    )
    canadian_freeness_ml: float = column(
        "Mean Canadian standard freeness of the sheets; missing where a sheet's is. Drainability does not blend "
        "linearly: the mean is an index of the blend.",
        unit="mL",
        source="ISO 5267-2 (from memory); the weighting: common practice, no source",
        nullable=True,
    )
    additive_dose_kg_t: float = column(
        "Mean sum of additive doses per tonne of dry fibre; missing where a sheet's is.",
        unit="kg/t",
        nullable=True,
    )
    additives: str = column(
        "Additives of the sheets with their doses, separated by semicolons where they differ; missing where a "
        "sheet's are.",
        nullable=True,
    )
    n_press_passes: float = column(
        "Mean number of passes through the press; missing where a sheet is not in the pressing log.",
        unit="1",
        nullable=True,
    )
    highest_line_load_kn_m: float = column(
        "Mean over sheets of the highest line load of the passes; missing where a sheet's is.",
        unit="kN/m",
        nullable=True,
    )
    highest_press_pressure_kpa: float = column(
        "Mean over sheets of the highest pressure of the passes; missing where a sheet's is.",
        unit="kPa",
        nullable=True,
    )
    drying_methods: str = column(
        "Drying methods of the sheets, separated by semicolons where they differ; missing where a sheet's are.",
        nullable=True,
    )
    highest_drying_temperature_c: float = column(
        "Mean over sheets of the highest temperature of the drying steps; missing where a sheet's is.",
        unit="Cel",
        nullable=True,
    )
    drying_restraints: str = column(
        "Restraints in drying of the sheets, separated by semicolons where they differ; missing where a sheet's are.",
        nullable=True,
    )
    drying_time_s: float = column(
        "Mean drying time of a sheet; missing where a sheet's is.", unit="s", nullable=True
    )
    grammage_basis: str = shared.grammage_basis
    thickness_kind: str = shared.thickness_kind
    admitted_verdicts: str = shared.admitted_verdicts

    class Config:
        name = "trial_point"
        strict = True
