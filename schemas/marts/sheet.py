"""Sheet: how every sheet was made, with its properties, in one wide table."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Flag, Integer, Timestamp, column
from schemas.marts import shared


class Sheet(pa.DataFrameModel):
    """One row per sheet of the forming log, with or without tests."""

    sheet_id: str = columns.sheet_id
    trial: str = columns.trial
    trial_point: str = columns.trial_point
    formed_at_utc: Timestamp = column(
        "Time at which the sheet's first layer was formed, in UTC.", unit="UTC", nullable=True
    )
    n_layers: Integer = column("Number of layers of the sheet.", unit="1")
    target_grammage_g_m2: float = column(
        "Target grammage of the sheet, from the log, else from the recipe.", unit="g/m2", nullable=True
    )
    oven_dry_mass_g: float = shared.oven_dry_mass_g
    predicted_grammage_g_m2: float = shared.predicted_grammage_g_m2
    stock_volume_l: float = column(
        "Stock sprayed for all layers; missing where a layer's is missing.", unit="L", nullable=True
    )
    delivery_time_s: float = shared.delivery_time_s
    wire_speed_m_min: float = column("Mean wire speed of the layers.", unit="m/min", nullable=True)
    jet_speed_m_min: float = column("Mean jet speed of the layers.", unit="m/min", nullable=True)
    jet_to_wire_ratio: float = column(
        "Mean jet-to-wire ratio of the layers, weighted by oven-dry mass; missing where a layer's is missing.",
        unit="1",
        source="common practice, no source",
        nullable=True,
    )
    consistency_pct: float = column("Mean consistency of the layers' stock.", unit="%", nullable=True)
    furnishes: str = column("Furnishes of the layers, separated by commas.", nullable=True)
    refining_energy_kwh_t: float = column(
        "Net refining energy of the layers' furnishes as the mean weighted by oven-dry mass; missing where a layer's "
        "is.",
        unit="kW.h/t",
        nullable=True,
    )
    schopper_riegler_sr: float = column(
        "Schopper-Riegler value of the layers' furnishes as the mean weighted by oven-dry mass; missing where a "
        "layer's is. Drainability does not blend linearly: the mean is an index of the blend.",
        unit="{SR}",
        source="ISO 5267-1 (from memory); the weighting: common practice, no source",
        nullable=True,
    )
    canadian_freeness_ml: float = column(
        "Canadian standard freeness of the layers' furnishes as the mean weighted by oven-dry mass; missing where a "
        "layer's is. Drainability does not blend linearly: the mean is an index of the blend.",
        unit="mL",
        source="ISO 5267-2 (from memory); the weighting: common practice, no source",
        nullable=True,
    )
    additive_dose_kg_t: float = column(
        "Sum of the additive doses per tonne of dry fibre as the layers' mean weighted by oven-dry mass; 0 where the "
        "furnish log lists no additive.",
        unit="kg/t",
        nullable=True,
    )
    additives: str = column(
        "Additives with their doses, different layers separated by semicolons; missing where a layer's furnish is not "
        "in the furnish log.",
        nullable=True,
    )
    carry_over: Flag = column(
        "Whether the tank of a layer held another furnish before and was not both drained and cleaned in "
        "between; missing where the tank log is incomplete.",
        nullable=True,
    )
    furnish_differs_from_tank: Flag = column(
        "Whether forming log and tank log give different furnishes for a layer.", nullable=True
    )
    n_press_passes: Integer = column("Number of passes through the press.", unit="1", nullable=True)
    highest_line_load_kn_m: float = column("Highest line load of the passes.", unit="kN/m", nullable=True)
    highest_press_pressure_kpa: float = column("Highest pressure of the passes.", unit="kPa", nullable=True)
    drying_methods: str = column("Drying methods in the order of the steps.", nullable=True)
    highest_drying_temperature_c: float = column(
        "Highest temperature of the drying steps.", unit="Cel", nullable=True
    )
    drying_restraints: str = column("Restraints in the order of the drying steps.", nullable=True)
    drying_time_s: float = column(
        "Sum of the times of the drying steps; missing where a step's is.", unit="s", nullable=True
    )
    grammage_basis: str = shared.grammage_basis
    grammage_g_m2: float = shared.grammage_g_m2
    grammage_conditioned_g_m2: float = shared.grammage_conditioned_g_m2
    grammage_conditioned_derived: Flag = column(
        "Whether the conditioned grammage is computed from the oven-dry grammage and the moisture.",
        nullable=True,
    )
    grammage_oven_dry_g_m2: float = shared.grammage_oven_dry_g_m2
    grammage_oven_dry_derived: Flag = column(
        "Whether the oven-dry grammage is computed from the conditioned grammage and the moisture.",
        nullable=True,
    )
    grammage_as_received_g_m2: float = shared.grammage_as_received_g_m2
    n_left_out_grammage: Integer = column(
        "Number of weighings and oven-dry pairs left out of grammage_g_m2 because of their atmosphere.",
        unit="1",
    )
    moisture_pct: float = column(
        "Mean moisture content from the oven-dry pairs, wet basis.",
        unit="%",
        source="definition",
        nullable=True,
    )
    n_moisture: Integer = column("Number of oven-dry pairs in the mean.", unit="1")
    n_left_out_moisture: Integer = column(
        "Number of oven-dry pairs left out because of their atmosphere.", unit="1"
    )
    moisture_warning: str = column(
        "Why the sheet's moisture is implausible: above the equilibrium moisture of wood in the same air, "
        "which bleached pulp does not exceed, or below two fifths of it (common practice, no source).",
        source="USDA FPL-RN-0268 for wood",
        nullable=True,
    )
    moisture_origin: str = column(
        "Moisture with which a grammage that was not weighed is computed. sheet: mean of the sheet's own "
        "oven-dry pairs; trial_point: mean of the sheets of its trial point, where it has no pair. Missing where no "
        "grammage is computed.",
        isin=("sheet", "trial_point"),
        nullable=True,
    )
    basis_moisture_pct: float = column(
        "Moisture content with which a grammage that was not weighed is computed, wet basis. Missing where no "
        "grammage is computed.",
        unit="%",
        source="definition",
        nullable=True,
    )
    retention_pct: float = column(
        "Apparent retention: oven-dry grammage times forming area, over the oven-dry mass sprayed.",
        unit="%",
        source="mass balance",
        nullable=True,
    )
    thickness_um: float = column(
        "Mean thickness of the single sheet at one pressure.", unit="um", source="ISO 534", nullable=True
    )
    thickness_pressure_kpa: float = column(
        "Pressure of the thickness readings, to the nearest kPa.", unit="kPa", nullable=True
    )
    n_thickness: Integer = column("Number of thickness readings in the mean.", unit="1")
    n_left_out_thickness: Integer = column(
        "Number of thickness readings at this pressure left out because of their atmosphere.", unit="1"
    )
    thickness_stack_um: float = column(
        "Mean thickness of a pack divided by its number of sheets, at one pressure.",
        unit="um",
        source="ISO 534",
        nullable=True,
    )
    thickness_stack_pressure_kpa: float = column(
        "Pressure of the thickness readings, to the nearest kPa.", unit="kPa", nullable=True
    )
    n_thickness_stack: Integer = column("Number of thickness readings in the mean.", unit="1")
    n_left_out_thickness_stack: Integer = column(
        "Number of thickness readings at this pressure left out because of their atmosphere.", unit="1"
    )
    thickness_kind: str = shared.thickness_kind
    apparent_density_kg_m3: float = shared.apparent_density_kg_m3
    bulk_cm3_g: float = column(
        "Mean thickness of the sheet, of the kind in thickness_kind, over its mean grammage.",
        unit="cm3/g",
        source="ISO 534",
        nullable=True,
    )
    admitted_verdicts: str = shared.admitted_verdicts
    n_pieces_md: Integer = column("Number of MD test pieces in the means.", unit="1")
    n_pieces_cd: Integer = column("Number of CD test pieces in the means.", unit="1")
    n_left_out_md: Integer = column("Number of MD test pieces left out of the means.", unit="1")
    n_left_out_cd: Integer = column("Number of CD test pieces left out of the means.", unit="1")

    class Config:
        name = "sheet"
        strict = True
