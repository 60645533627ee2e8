"""Layer: how each layer of a sheet was formed, with computed values."""

from schemas.columns import Flag, Integer, column
from schemas.marts import shared
from schemas.records.forming import Forming

RECIPE = "Set point of the recipe: "
DEVIATION = "Logged value minus set point of the recipe: "


class Layer(Forming):
    """One row per layer of a sheet: the forming log and the values computed from it."""

    jet_speed_m_min: float = column(
        "Jet speed computed from flow rate, bores and contraction coefficient; the logged jet speed where "
        "flow rate or bores are missing.",
        unit="m/min",
        source="continuity of flow",
        nullable=True,
    )
    contraction_coefficient: float = column(
        "Area of the jet over the area of the orifice, from the log, else from the settings.", unit="1"
    )
    spray_angle_deg: float = column(
        "Angle between the jet and the running direction of the wire; 0 where the log gives none.",
        unit="deg",
    )
    jet_speed_origin: str = column(
        "nozzle: the jet speed is computed from flow rate and nozzle; log: it comes from the log.",
        isin=("nozzle", "log"),
        nullable=True,
    )
    jet_to_wire_ratio: float = shared.jet_to_wire_ratio
    rush_or_drag: str = column(
        "rush: the jet is faster than the wire; drag: it is slower; equal: both are equally fast.",
        source="common practice, no source",
        isin=("rush", "drag", "equal"),
        nullable=True,
    )
    speed_difference_m_min: float = column(
        "Jet speed along the wire minus wire speed.",
        unit="m/min",
        source="common practice, no source",
        nullable=True,
    )
    centrifugal_acceleration_m_s2: float = column(
        "Centrifugal acceleration at the wire.", unit="m/s2", source="definition", nullable=True
    )
    oven_dry_mass_g: float = shared.oven_dry_mass_g
    predicted_grammage_g_m2: float = shared.predicted_grammage_g_m2
    delivery_time_s: float = shared.delivery_time_s
    furnish_composition: str = column(
        "Components of the furnish with their shares or doses, the largest share first.", nullable=True
    )
    refining_energy_kwh_t: float = column(
        "Net refining energy of the furnish: as logged for the whole blend, else the pulps' mean weighted by their "
        "shares.",
        unit="kW.h/t",
        nullable=True,
    )
    schopper_riegler_sr: float = column(
        "Schopper-Riegler value of the furnish: as logged for the whole blend, else the pulps' mean weighted by their "
        "shares, which is an index of the blend because drainability does not blend linearly.",
        unit="{SR}",
        source="ISO 5267-1 (from memory); the weighting: common practice, no source",
        nullable=True,
    )
    canadian_freeness_ml: float = column(
        "Canadian standard freeness of the furnish: as logged for the whole blend, else the pulps' mean weighted by "
        "their shares, which is an index of the blend because drainability does not blend linearly.",
        unit="mL",
        source="ISO 5267-2 (from memory); the weighting: common practice, no source",
        nullable=True,
    )
    additive_dose_kg_t: float = column(
        "Sum of the furnish's additive doses per tonne of dry fibre; 0 where the furnish log lists no additive.",
        unit="kg/t",
        nullable=True,
    )
    additives: str = column(
        "Additives of the furnish with their doses; none where the furnish log lists no additive.",
        nullable=True,
    )
    recipe_wire_speed_m_min: float = column(f"{RECIPE}wire speed.", unit="m/min", nullable=True)
    recipe_flow_rate_l_min: float = column(f"{RECIPE}flow rate.", unit="L/min", nullable=True)
    recipe_jet_to_wire_ratio: float = column(f"{RECIPE}jet-to-wire ratio.", unit="1", nullable=True)
    recipe_stock_volume_l: float = column(f"{RECIPE}stock volume.", unit="L", nullable=True)
    recipe_nozzle_orifice_mm: float = column(f"{RECIPE}bore of one nozzle.", unit="mm", nullable=True)
    recipe_dewatering_time_s: float = column(f"{RECIPE}dewatering time.", unit="s", nullable=True)
    recipe_compaction_speed_m_min: float = column(f"{RECIPE}compaction speed.", unit="m/min", nullable=True)
    wire_speed_deviation_m_min: float = column(f"{DEVIATION}wire speed.", unit="m/min", nullable=True)
    flow_rate_deviation_l_min: float = column(f"{DEVIATION}flow rate.", unit="L/min", nullable=True)
    jet_to_wire_ratio_deviation: float = column(f"{DEVIATION}jet-to-wire ratio.", unit="1", nullable=True)
    stock_volume_deviation_l: float = column(f"{DEVIATION}stock volume.", unit="L", nullable=True)
    nozzle_orifice_deviation_mm: float = column(f"{DEVIATION}bore of one nozzle.", unit="mm", nullable=True)
    dewatering_time_deviation_s: float = column(f"{DEVIATION}dewatering time.", unit="s", nullable=True)
    compaction_speed_deviation_m_min: float = column(
        f"{DEVIATION}compaction speed.", unit="m/min", nullable=True
    )
    tank_fill_no: Integer = column(
        "Number of the tank fill that the layer was sprayed from: the last one that began before the layer "
        "was formed.",
        unit="1",
        nullable=True,
    )
    tank_furnish: str = column("Furnish of the tank fill, from the tank log.", nullable=True)
    tank_fill_had_ended: Flag = column(
        "Whether the tank fill had been drained before the layer was formed; then one of the logs is wrong.",
        nullable=True,
    )
    carry_over: Flag = shared.carry_over
    furnish_differs_from_tank: Flag = column(
        "Whether forming log and tank log give different furnishes.", nullable=True
    )

    class Config:
        name = "layer"
        strict = True
