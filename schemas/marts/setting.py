"""The settings that the numbers of a snapshot were made with."""

import pandera.pandas as pa

from schemas.columns import column


class Setting(pa.DataFrameModel):
    """One row: the laboratory's settings that enter into numbers, as lab.toml had them in this night's run."""

    laboratory: str = column("Name of the laboratory.")
    time_zone: str = column("Zone of local times in exports whose profile states none.")
    drum_radius_mm: float = column("Radius of the former's drum at the forming fabric.", unit="mm")
    forming_length_mm: float = column("Length of the formed sheet along the drum.", unit="mm")
    forming_width_mm: float = column("Width of the formed sheet across the drum.", unit="mm")
    contraction_coefficient: float = column(
        "Area of the jet over the area of the orifice, where the forming log states none.", unit="1"
    )
    stock_density_kg_m3: float = column("Density of the stock.", unit="kg/m3")
    grammage_basis: str = column(
        "Basis of the grammage that indices are computed on.",
        isin=("conditioned", "oven_dry", "as_taken"),
    )
    thickness_kind: str = column(
        "Thickness that density and modulus are computed on.", isin=("single", "stack")
    )
    thickness_pressure_kpa: float = column("Preferred pressure of the thickness readings.", unit="kPa")
    left_out_remarks: str = column("Remarks whose tests are left out of means, separated by commas.")

    class Config:
        name = "setting"
        strict = True
