"""Furnish property: what tests of stock found of each furnish."""

import pandera.pandas as pa

from schemas.columns import Integer, column


class FurnishProperty(pa.DataFrameModel):
    """One row per furnish, property and method of test."""

    furnish: str = column("Name of the furnish batch, as in the tables layer and records.furnish.")
    property: str = column("Name of the property, as in the table property.")
    method: str = column("Method of the test, where the export names it.", nullable=True)
    n: Integer = column("Number of readings in the mean.", unit="1")
    value: float = column("Mean of the readings.")
    unit: str = column("Unit of the value (UCUM).")
    s: float = column(
        "Sample standard deviation between readings; missing for fewer than two.", nullable=True
    )
    cv_pct: float = column(
        "Coefficient of variation; missing where the mean is not positive.", unit="%", nullable=True
    )

    class Config:
        name = "furnish_property"
        strict = True
