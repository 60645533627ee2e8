"""The settings that the numbers of a snapshot were made with."""

import pandera.pandas as pa

from schemas.columns import Numbers, column


class Setting(pa.DataFrameModel):
    """One row: the laboratory's settings that enter into numbers, as lab.toml had them in this night's run."""

    laboratory: str = column("Name of the laboratory.")
    time_zone: str = column("Zone of local times in exports whose profile states none.")
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
        "Area of the jet over the area of the orifice, where the forming log states none.", unit="1"
    )
    stock_density_kg_m3: float = column("Density of the stock.", unit="kg/m3")
    grammage_basis: str = column(
        "Basis of the grammage that indices are computed on.",
        isin=("conditioned", "oven_dry", "as_received"),
    )
    thickness_kind: str = column(
        "Thickness that density and modulus are computed on.", isin=("single", "stack")
    )
    thickness_pressure_kpa: float = column("Preferred pressure of the thickness readings.", unit="kPa")
    left_out_remarks: str = column("Remarks whose tests are left out of means, separated by commas.")

    lowest_temperature_c: float = column(
        "Lowest temperature of the atmosphere that tests must be made in.", unit="Cel"
    )
    highest_temperature_c: float = column("Highest temperature of that atmosphere.", unit="Cel")
    lowest_humidity_pct: float = column("Lowest relative humidity of that atmosphere.", unit="%")
    highest_humidity_pct: float = column("Highest relative humidity of that atmosphere.", unit="%")
    stay_from_grammage_g_m2: Numbers = column(
        "Grammages from which the stays of stay_h are required before a test.", unit="g/m2"
    )
    stay_h: Numbers = column("Stays in the atmosphere required from those grammages on.", unit="h")
    longest_gap_min: float = column("Longest time between two readings of a room that proves it.", unit="min")
    averaging_min: float = column(
        "Time over which the mean of a room's readings is held against the limits; 0: each by itself.",
        unit="min",
    )
    preconditioning_required: bool = column("Whether a sheet must have come up from the dry side.")
    admitted_verdicts: str = column(
        "Verdicts on the atmosphere whose tests enter means, separated by commas."
    )
    mass_constancy_pct: float = column(
        "Change between two weighings up to which the mass is taken as constant.",
        unit="%",
        source="ISO 187 (from memory)",
    )
    mass_constancy_h: float = column(
        "Least time between those weighings.", unit="h", source="ISO 187 (from memory)"
    )
    left_out_findings: str = column(
        "Findings in raw curves whose tests are left out of means, separated by commas."
    )
    curve_results_used: bool = column(
        "Whether a piece's raw curve gives its numbers where there is one, or the tester does."
    )
    curve_force_limit_pct: float = column(
        "Difference of a curve's maximum force from the tester's that is reported.", unit="%"
    )
    curve_elongation_limit_pct: float = column(
        "Difference of a curve's elongation from the tester's that is reported.", unit="%"
    )
    curve_energy_limit_pct: float = column(
        "Difference of a curve's energy from the tester's that is reported.", unit="%"
    )
    curve_slope_limit_pct: float = column(
        "Difference of a curve's maximum slope from the tester's that is reported.", unit="%"
    )
    reference_moisture_pct: float = column(
        "Moisture content that the laboratory's own correction takes properties to; missing without one.",
        unit="%",
        nullable=True,
    )
    corrected_properties: str = column("Properties that it corrects, separated by commas.")
    corrections_pct: Numbers = column(
        "Change of each of them per point of moisture, in percent of the measured value.", unit="%"
    )

    class Config:
        name = "setting"
        strict = True
