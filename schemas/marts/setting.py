"""Setting: the settings with which the numbers of a snapshot were computed."""

import pandera.pandas as pa

from schemas.columns import Numbers, column


class Setting(pa.DataFrameModel):
    """One row: the settings that the numbers depend on, as set in lab.toml in this run."""

    laboratory: str = column("Name of the laboratory.")
    time_zone: str = column("Time zone of the laboratory, used for exports whose profile gives none.")
    drum_radius_mm: float = column(
        "Radius of the former's drum at the forming fabric; missing until the settings state it.",
        unit="mm",
        nullable=True,
    )
    forming_length_mm: float = column(
        "Length of the formed sheet along the drum; missing until the settings state it.",
        unit="mm",
        nullable=True,
    )
    forming_width_mm: float = column(
        "Width of the formed sheet across the drum; missing until the settings state it.",
        unit="mm",
        nullable=True,
    )
    contraction_coefficient: float = column(
        "Area of the jet over the area of the orifice, used where the forming log gives none.", unit="1"
    )
    stock_density_kg_m3: float = column("Density of the stock.", unit="kg/m3")
    grammage_basis: str = column(
        "Grammage basis that indices are computed with.",
        isin=("conditioned", "oven_dry", "as_received"),
    )
    thickness_kind: str = column(
        "Thickness that density and modulus are computed with.", isin=("single", "stack")
    )
    thickness_pressure_kpa: float = column(
        "Pressure of the thickness readings that is used where a sheet has readings at several.", unit="kPa"
    )
    left_out_remarks: str = column("Remarks whose tests are left out of the means, separated by commas.")

    lowest_temperature_c: float = column("Lowest temperature of the chosen test atmosphere.", unit="Cel")
    highest_temperature_c: float = column("Highest temperature of the chosen test atmosphere.", unit="Cel")
    lowest_humidity_pct: float = column("Lowest relative humidity of the chosen test atmosphere.", unit="%")
    highest_humidity_pct: float = column("Highest relative humidity of the chosen test atmosphere.", unit="%")
    stay_from_grammage_g_m2: Numbers = column(
        "Lower limits of the grammage classes to which the conditioning times in stay_h apply.", unit="g/m2"
    )
    stay_h: Numbers = column(
        "Conditioning time required before a test, for each class in stay_from_grammage_g_m2.", unit="h"
    )
    longest_gap_min: float = column(
        "Longest time allowed between two climate readings of a room.", unit="min"
    )
    averaging_min: float = column(
        "Time over which a room's readings are averaged before they are compared with the limits; 0: each "
        "reading by itself.",
        unit="min",
    )
    preconditioning_required: bool = column("Whether a sheet must be conditioned from the dry side.")
    admitted_verdicts: str = column(
        "Atmosphere verdicts whose tests count in the means, separated by commas."
    )
    mass_constancy_pct: float = column(
        "Largest change between two weighings of a piece whose mass is constant.",
        unit="%",
        source="ISO 187 (from memory)",
    )
    mass_constancy_h: float = column(
        "Shortest time between the two weighings.", unit="h", source="ISO 187 (from memory)"
    )
    left_out_findings: str = column(
        "Findings in raw curves whose tests are left out of the means, separated by commas."
    )
    curve_results_used: bool = column(
        "Whether a piece's results come from its raw curve where there is one; else from the tester."
    )
    curve_force_limit_pct: float = column(
        "Difference between the maximum forces of curve and tester above which it is reported.", unit="%"
    )
    curve_elongation_limit_pct: float = column(
        "Difference between the elongations of curve and tester above which it is reported.", unit="%"
    )
    curve_energy_limit_pct: float = column(
        "Difference between the energies of curve and tester above which it is reported.", unit="%"
    )
    curve_slope_limit_pct: float = column(
        "Difference between the maximum slopes of curve and tester above which it is reported.", unit="%"
    )
    reference_moisture_pct: float = column(
        "Moisture content to which the laboratory's own correction converts properties; missing without a "
        "correction.",
        unit="%",
        nullable=True,
    )
    corrected_properties: str = column(
        "Properties that the moisture correction applies to, separated by commas."
    )
    corrections_pct: Numbers = column(
        "Change of each property in corrected_properties per point of moisture, in percent of the measured "
        "value.",
        unit="%",
    )

    class Config:
        name = "setting"
        strict = True
